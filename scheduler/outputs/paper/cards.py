"""Level cards: one a tier to hang on the column, expected depth against date, blanks to fill."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from crops.solution.strength import SALTY, STARVED
from crops.vessel import Vessel
from scheduler.garden.model import Column, Garden, Tier
from scheduler.mix.fills import LEAST_LOST, solution_of
from scheduler.outputs import work
from scheduler.outputs.act import act_note, level_text
from scheduler.outputs.cautions import due
from scheduler.outputs.paper.season import by_tier
from scheduler.outputs.paper.sheet import GREY, Sheet
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.work import Work
from scheduler.plans.model import Batch, Plan
from scheduler.words.words import MONTHS, Shown, Units, _, plan_mark, short_date, tier_label, top_up

_CHART = 118.0  # height of the curve [pt]
_ABOVE = 52.0 + _CHART + 30  # from the top of a card to its readings [pt]
_FOOT_LEAD = 9.5  # height of a line of the cautions [pt]
_HEAD, _ROW, _GAP = 13.0, 13.5, 17.0  # readings: line heights [pt]
_ACROSS, _WITH_ACT = 4, 2  # blanks side by side, and where a level to act on stands with them

_LETTERS = 9.0  # of readings and what stands above them [pt]

Readings = Mapping[str, Sequence[Work]]  # level readings by batch id


def draw(sheet: Sheet, garden: Garden, plan: Plan, items: Sequence[Work], units: Units) -> None:
    """Two cards a page, to cut apart; tiers that hold nothing have none."""
    half = (sheet.paper[1] - 2 * 40) / 2
    standing = by_tier(plan)
    by_batch: dict[str, list[Work]] = {}
    for w in items:
        if w.kind == work.LEVEL:
            by_batch.setdefault(w.batch, []).append(w)
    mark = plan_mark(plan)
    place = 0
    top = 0.0
    for column in garden.columns:
        for tier in column.tiers:
            label = tier_label(column.name, tier.number)
            mine = standing.get((column.name, tier.number), [])
            heads = {b.id: _head_lines(sheet, garden, b) for b in mine}
            act = any(w.act_cm is not None for b in mine for w in by_batch.get(b.id, ()))
            room = half - 14 - _ABOVE - 4 - _FOOT_LEAD * len(_foot(sheet, units, act))
            for part in _parts(mine, by_batch, heads, room):
                if place % 2 == 0:
                    top = sheet.new_page(_("Level cards from {tier}").format(tier=label))
                else:
                    cut = top - half
                    sheet.line(0, cut, sheet.width, cut, width=0.5, grey=GREY, dash=(3, 3))
                _card(
                    sheet,
                    garden,
                    column,
                    tier,
                    part,
                    by_batch,
                    heads,
                    units,
                    mark,
                    top - (place % 2) * (half + 6),
                    half - 14,
                )
                place += 1


def _foot(sheet: Sheet, units: Units, act: bool) -> list[str]:
    """The cautions at the foot of each card; ``act``: levels to act on stand on it."""
    caution = " ".join(f"{_(c.name)}: {_(c.short)}" for c in due([work.LEVEL]))
    wide = sheet.right - sheet.left
    note = sheet.wrap(f"! {act_note()}", wide, 8) if act else []
    return [*note, *sheet.wrap(f"! {top_up(units)}", wide, 8), *sheet.wrap(f"! {caution}", wide, 8)]


def _across(readings: Sequence[Work]) -> int:
    return _WITH_ACT if any(w.act_cm is not None for w in readings) else _ACROSS


def _parts(
    batches: Sequence[Batch], readings: Readings, heads: Mapping[str, Sequence[str]], room: float
) -> list[list[Batch]]:
    """Batches shared out over as many cards as their readings need."""
    parts: list[list[Batch]] = []
    left = 0.0
    for batch in batches:
        mine = readings.get(batch.id, ())
        lines = -(-len(mine) // _across(mine))
        need = _HEAD * len(heads[batch.id]) + _ROW * max(0, lines - 1) + _GAP
        if not parts or need > left:
            parts.append([])
            left = room
        parts[-1].append(batch)
        left -= need
    return parts


def _card(
    sheet: Sheet,
    garden: Garden,
    column: Column,
    tier: Tier,
    batches: Sequence[Batch],
    readings: Readings,
    heads: Mapping[str, Sequence[str]],
    units: Units,
    mark: str,
    top: float,
    tall: float,
) -> None:
    vessel = garden.vessels[tier.vessel]
    keep = float(vessel.depth(vessel.floor_l))
    middle = (sheet.left + sheet.right) / 2
    sheet.canvas.setLineWidth(0.8)
    sheet.canvas.circle(middle, top - 8, 5, stroke=1, fill=0)  # punch a hole here
    sheet.tag(sheet.left, top - 22, tier_label(column.name, tier.number), 20, 200)
    says = _("fill {litres}, {depth} deep; keep {keep}").format(
        litres=units.volume_text(vessel.fill_l),
        depth=units.depth_text(float(vessel.depth(vessel.fill_l))),
        keep=units.depth_text(keep),
    )
    holes = _("{vessel}, {n} holes").format(vessel=vessel.name, n=tier.plants)
    sheet.text(sheet.right, top - 16, holes, 10, align="right")
    sheet.text(sheet.right, top - 30, says, 10, align="right")
    if mark:  # the foot of the page stays with the lower card when they are cut apart
        sheet.text(sheet.right, top - 42, mark, 8, grey=GREY, align="right")
    _curve(sheet, garden, vessel, batches, units, top - 52)
    low = top - tall + 2
    act = any(w.act_cm is not None for b in batches for w in readings.get(b.id, ()))
    for part in reversed(_foot(sheet, units, act)):
        sheet.text(sheet.left, low, part, 8)
        low += _FOOT_LEAD
    _table(sheet, readings, heads, batches, units, top - _ABOVE)


def _curve(
    sheet: Sheet, garden: Garden, vessel: Vessel, batches: Sequence[Batch], units: Units, top: float
) -> None:
    """Depth against date over the tier's batches, keep level, dry dates."""
    left, right, low = sheet.left + 30, sheet.right - 8, top - _CHART
    first = min(b.transplant for b in batches)
    last = max(
        max(b.clear, min(b.dry_date, garden.season.end) if b.dry_date else b.clear) for b in batches
    )
    days = max((last - first).days, 1)
    full = max(units.depth(float(vessel.depth(vessel.fill_l))), 1e-9)

    def x(day: date) -> float:
        return left + (day - first).days / days * (right - left)

    def y(cm: float) -> float:
        return low + units.depth(cm) / full * (_CHART - 14)

    step = next(s for s in (1, 2, 5, 10, 20, 50) if full / s <= 7)
    mark = 0
    while mark <= full:
        at = low + mark / full * (_CHART - 14)
        sheet.line(left, at, right, at, width=0.25, grey=0.7)
        sheet.text(left - 4, at - 3, str(mark), 8, align="right")
        mark += step
    sheet.text(left - 4, top - 6, units.depth_unit, 8, align="right")
    monday = first + timedelta(days=-first.weekday() % 7)
    month = 0
    while monday <= last:
        sheet.line(x(monday), low, x(monday), low + _CHART - 14, width=0.25, grey=0.75)
        sheet.text(x(monday), low - 9, str(monday.day), 7, align="middle")
        if monday.month != month:
            name = _(MONTHS[monday.month - 1])
            start = min(x(monday) - 2, sheet.right - sheet.measure(name, 8, sheet.bold))
            sheet.text(start, low - 19, name, 8, sheet.bold)
            month = monday.month
        monday += timedelta(days=7)
    keep = y(float(vessel.depth(vessel.floor_l)))
    sheet.line(left, keep, right, keep, width=0.9, dash=(4, 2))
    sheet.text(left + 3, keep + 2.5, _("keep"), 7)
    c = sheet.canvas
    for batch in batches:
        path = c.beginPath()
        for i, level in enumerate(batch.levels):
            (path.lineTo if i else path.moveTo)(x(level.date), y(level.depth_cm))
        c.setLineWidth(1.5)
        c.drawPath(path, stroke=1, fill=0)
        room = x(batch.clear) - x(batch.transplant)
        title = crop_title(garden, batch.crop)
        size, parts = sheet.inside(title, room - 2, 9, sheet.bold, 16)
        for i, part in enumerate(parts):
            at = top - 7 + 1.15 * size * (len(parts) - 1 - i)
            sheet.text(x(batch.transplant) + 2, at, part, size, sheet.bold)
        if batch.dry_date and batch.dry_date <= last:
            at = x(batch.dry_date)
            path = c.beginPath()
            for i, (dx, dy) in enumerate(((-4, 8), (4, 8), (0, 1))):
                (path.lineTo if i else path.moveTo)(at + dx, keep + dy)
            path.close()
            c.setLineWidth(0.8)
            c.drawPath(path, stroke=1, fill=0)
    sheet.line(left, low, right, low, width=0.8)


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


def _head_lines(sheet: Sheet, garden: Garden, batch: Batch) -> list[str]:
    """What stands above a batch's readings."""
    head = _("{crop}: planted {planted}, last pick {picked}").format(
        crop=crop_title(garden, batch.crop),
        planted=short_date(batch.transplant),
        picked=short_date(batch.picks[-1].date) if batch.picks else "-",
    )
    if batch.dry_date:
        said = _(", dry {dry} (triangle)")
        if batch.chances is not None:
            said = _(", dry by {dry} in 1 year of 10 (triangle)")
        head += said.format(dry=short_date(batch.dry_date))
    head += _strength(garden, batch)
    return sheet.wrap(head, sheet.right - sheet.left, _LETTERS, sheet.bold)


def _table(
    sheet: Sheet,
    readings: Readings,
    heads: Mapping[str, Sequence[str]],
    batches: Sequence[Batch],
    units: Units,
    y: float,
) -> None:
    """The readings batch by batch: date, expected depth, blank."""
    size = _LETTERS
    for batch in batches:
        across = _across(readings.get(batch.id, ()))
        wide = (sheet.right - sheet.left) / across
        for part in heads[batch.id]:
            sheet.text(sheet.left, y, part, size, sheet.bold)
            y -= _HEAD
        for n, w in enumerate(readings.get(batch.id, ())):
            if n and n % across == 0:
                y -= _ROW
            x = sheet.left + (n % across) * wide
            sheet.text(x, y, short_date(w.date), size)
            depth = level_text(w, units)
            beside = wide * 0.74 - sheet.measure(short_date(w.date), size) - 6
            fit, _lines = sheet.inside(depth, beside, size)
            sheet.text(x + wide * 0.74, y, depth, fit, align="right")
            sheet.line(x + wide * 0.77, y - 2, x + wide - 8, y - 2, width=0.5, grey=GREY)
        y -= _GAP
