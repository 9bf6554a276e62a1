"""Tier tags: one a tier to hang on the column, what stands when, levels, blanks, what to weigh."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from crops.solution.strength import SALTY, STARVED
from scheduler.garden.model import Column, Garden, Tier
from scheduler.mix.fills import LEAST_LOST, solution_of
from scheduler.outputs import work
from scheduler.outputs.cautions import due
from scheduler.outputs.paper.season import by_tier
from scheduler.outputs.paper.sheet import GREY, MARGIN, Sheet
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.together import HARD, depth, glued
from scheduler.outputs.work import Work
from scheduler.plans.model import Batch, Plan
from scheduler.words.words import (
    Shown,
    Units,
    _,
    plan_mark,
    short_date,
    short_span,
    tier_label,
    top_up,
)

_GAP = 14.0  # between the tags of a page [pt]
_SIZE, _LEAD = 7.6, 9.3  # letters and lines of a tag [pt]
_TITLE = 44.0  # height of what stands above the batches [pt]
_ACROSS = 2  # readings side by side

Readings = Mapping[str, Sequence[Work]]  # level readings by batch id


def draw(sheet: Sheet, garden: Garden, plan: Plan, items: Sequence[Work], units: Units) -> None:
    """Four tags a page, to cut apart; tiers that hold nothing have none."""
    wide = (sheet.paper[0] - 2 * MARGIN - _GAP) / 2
    tall = (sheet.paper[1] - 2 * MARGIN - 16 - _GAP) / 2
    standing = by_tier(plan)
    by_batch: dict[str, list[Work]] = {}
    for w in items:
        if w.kind == work.LEVEL:
            by_batch.setdefault(w.batch, []).append(w)
    mark = plan_mark(plan)
    foot = _foot(sheet, units, wide - 8)
    room = tall - _TITLE - _LEAD * len(foot) - 6
    place, top = 0, 0.0
    for column in garden.columns:
        for tier in column.tiers:
            label = tier_label(column.name, tier.number)
            mine = standing.get((column.name, tier.number), [])
            heads = {b.id: _head_lines(sheet, garden, b, units, wide - 8) for b in mine}
            for part in _parts(mine, by_batch, heads, room):
                if place % 4 == 0:
                    top = sheet.new_page(_("Tier tags from {tier}").format(tier=label))
                    _cuts(sheet, top, tall)
                x = sheet.left + place % 2 * (wide + _GAP)
                y = top - place // 2 % 2 * (tall + _GAP)
                _title(sheet, garden, column, tier, units, mark, x, y, wide)
                _table(sheet, by_batch, heads, part, units, x + 4, y - _TITLE, wide - 8)
                for n, said in enumerate(foot):
                    sheet.text(x + 4, y - tall + 4 + _LEAD * (len(foot) - 1 - n), said, _SIZE - 0.8)
                place += 1


def _cuts(sheet: Sheet, top: float, tall: float) -> None:
    """Where to cut a page apart."""
    middle, cut = (sheet.left + sheet.right) / 2, top - tall - _GAP / 2
    sheet.line(middle, sheet.bottom, middle, top, width=0.5, grey=GREY, dash=(3, 3))
    sheet.line(sheet.left, cut, sheet.right, cut, width=0.5, grey=GREY, dash=(3, 3))


def _foot(sheet: Sheet, units: Units, wide: float) -> list[str]:
    """The cautions at the foot of each tag."""
    caution = " ".join(f"{_(c.name)}: {_(c.short)}" for c in due([work.LEVEL]))
    size = _SIZE - 0.8
    said = _("Levels [{unit}]: expected, < act below, and a blank for yours.").format(
        unit=units.depth_unit
    )
    return [
        *sheet.wrap(said, wide, size),
        *sheet.wrap(f"! {top_up(units)}", wide, size),
        *sheet.wrap(f"! {caution}", wide, size),
    ]


def _rows(batch: Batch, readings: Readings) -> int:
    return -(-len(readings.get(batch.id, ())) // _ACROSS)


def _parts(
    batches: Sequence[Batch], readings: Readings, heads: Mapping[str, Sequence[str]], room: float
) -> list[list[Batch]]:
    """Batches shared out over as many tags as their readings need."""
    parts: list[list[Batch]] = []
    left = 0.0
    for batch in batches:
        need = _LEAD * (len(heads[batch.id]) + _rows(batch, readings)) + 5
        if not parts or need > left:
            parts.append([])
            left = room
        parts[-1].append(batch)
        left -= need
    return parts


def _title(
    sheet: Sheet,
    garden: Garden,
    column: Column,
    tier: Tier,
    units: Units,
    mark: str,
    x: float,
    top: float,
    wide: float,
) -> None:
    """A hole to hang it by, the tier's label, its vessel and depths, and the plan."""
    vessel = garden.vessels[tier.vessel]
    sheet.canvas.setLineWidth(0.8)
    sheet.tag(x + 2, top - 22, tier_label(column.name, tier.number), 18, 0.42 * wide, 34)
    says = [
        _("{vessel}, {n} holes").format(vessel=vessel.name, n=tier.plants),
        _("fill {litres}, {depth} deep; keep {keep}").format(
            litres=units.volume_text(vessel.fill_l),
            depth=units.depth_text(float(vessel.depth(vessel.fill_l))),
            keep=units.depth_text(float(vessel.depth(vessel.floor_l))),
        ),
        mark,  # the foot of the page stays with one of the tags when they are cut apart
    ]
    for n, said in enumerate(filter(None, says)):
        size, _lines = sheet.inside(said, 0.54 * wide, 8.5)
        sheet.text(x + wide - 4, top - 11 - 11 * n, said, size, align="right")
    sheet.line(x + 2, top - _TITLE + 5, x + wide - 2, top - _TITLE + 5, width=0.8)


def _strength(garden: Garden, batch: Batch) -> str:
    """EC filled and expected at the last pick, with a word where that passes the crop's limits."""
    if batch.fill_ec is None or batch.harvest_ec is None:
        return ""
    found = solution_of(garden, batch)
    text = _("; EC {fill:.1f}, about {end:.1f} at the last pick").format(
        fill=Shown(batch.fill_ec), end=Shown(batch.harvest_ec)
    )
    if found.state == SALTY:
        if found.lost < LEAST_LOST:
            return text + _(": salt costs under 1 %")
        return text + _(": salt costs {share} %").format(share=round(100 * found.lost))
    return text + _(": too weak") if found.state == STARVED else text


def _head_lines(sheet: Sheet, garden: Garden, batch: Batch, units: Units, wide: float) -> list[str]:
    """What stands above a batch's readings: its dates, its strength, what to weigh."""
    head = _("{crop}: planted {planted}, last pick {picked}").format(
        crop=crop_title(garden, batch.crop),
        planted=short_date(batch.transplant),
        picked=short_date(batch.picks[-1].date) if batch.picks else "-",
    )
    if batch.dry_date:
        said = _(", dry {dry}")
        if batch.chances is not None:
            said = _(", dry by {dry} in 1 year of 10")
        head += said.format(dry=short_date(batch.dry_date))
    head += _strength(garden, batch)
    weighed = []
    for pick in batch.picks:
        said = glued(f"{units.mass_text(pick.grams)} ____")
        if pick.from_ is not None and pick.to is not None and pick.from_ < pick.to:
            said = _("{span}: {mass}").format(span=short_span(pick.from_, pick.to), mass=said)
        weighed.append(said)
    lines = sheet.wrap(head, wide, _SIZE, sheet.bold)
    if weighed:
        lines += sheet.wrap(
            _("Weigh: {picks}; left in the vessel {blank}")
            .format(picks=", ".join(weighed), blank="____")
            .replace(" ____", f"{HARD}____"),
            wide,
            _SIZE,
            sheet.bold,
        )
    return lines


def _table(
    sheet: Sheet,
    readings: Readings,
    heads: Mapping[str, Sequence[str]],
    batches: Sequence[Batch],
    units: Units,
    x: float,
    y: float,
    wide: float,
) -> None:
    """The readings batch by batch: date, expected depth, depth to act below, blank."""
    cell = wide / _ACROSS
    for batch in batches:
        for n, part in enumerate(heads[batch.id]):
            sheet.text(x, y - _SIZE, part, _SIZE, sheet.bold if n == 0 else "")
            y -= _LEAD
        for n, w in enumerate(readings.get(batch.id, ())):
            at = x + n % _ACROSS * cell
            line = y - _SIZE - n // _ACROSS * _LEAD
            day = short_date(w.date)
            size, _lines = sheet.inside(day, 0.38 * cell, _SIZE)
            sheet.text(at, line, day, size)
            sheet.text(at + 0.55 * cell, line, depth(w.depth_cm or 0, units), _SIZE, align="right")
            if w.act_cm is not None:
                said = f"< {depth(w.act_cm, units)}"
                size, _lines = sheet.inside(said, 0.19 * cell, _SIZE, sheet.bold)
                sheet.text(at + 0.76 * cell, line, said, size, sheet.bold, align="right")
            end = at + cell - 6
            sheet.line(at + 0.79 * cell, line - 1.5, end, line - 1.5, width=0.5, grey=GREY)
        y -= _rows(batch, readings) * _LEAD + 5
