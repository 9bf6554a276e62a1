"""The season on one landscape page: columns and tiers down, weeks across, what stands where."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from scheduler.base.weeks import week_start
from scheduler.garden.model import Column, Garden, Season, Tier
from scheduler.garden.weekly import season_weeks
from scheduler.outputs.energy_text import lamp_sentences
from scheduler.outputs.nursery_light import nursery_sentences
from scheduler.outputs.paper.sheet import GREY, PALE, Sheet
from scheduler.outputs.sentences import crop_title
from scheduler.plans.model import FAILED, Batch, Plan
from scheduler.words.words import MONTHS, _, group_title, span, tier_label

_LABEL = 74.0  # width of the tags at the left [pt]
_HEAD = 84.0  # height of title and scale [pt]
_LEAST = 14.0  # least height of a tier's row [pt]


Standing = dict[tuple[str, int], list[Batch]]


def by_tier(plan: Plan) -> Standing:
    """The batches of each tier, by transplanting day."""
    out: Standing = {}
    for batch in sorted(plan.batches, key=lambda b: b.transplant):
        out.setdefault((batch.column, batch.tier), []).append(batch)
    return out


def draw(sheet: Sheet, garden: Garden, plan: Plan) -> None:
    """As many pages as the tiers need, on their side; columns are kept together where they fit."""
    with sheet.landscape():
        _draw(sheet, garden, plan)


def _draw(sheet: Sheet, garden: Garden, plan: Plan) -> None:
    standing = by_tier(plan)
    page: list[tuple[Column, Tier]] = []
    fits = int((min(sheet.paper) - 2 * 40 - _HEAD - 30) / _LEAST)
    for column in garden.columns:
        mine = [(column, tier) for tier in column.tiers]
        if page and len(page) + len(mine) > fits:
            _page(sheet, garden, plan, standing, page)
            page = []
        page += mine
        while len(page) > fits:
            _page(sheet, garden, plan, standing, page[:fits])
            page = page[fits:]
    if page:
        _page(sheet, garden, plan, standing, page)


def _page(
    sheet: Sheet,
    garden: Garden,
    plan: Plan,
    standing: Standing,
    rows: Sequence[tuple[Column, Tier]],
) -> None:
    top = sheet.new_page(_("Season"))
    scale = _Scale(sheet, garden.season)
    sheet.text(sheet.left, top - 20, _("The season"), 22, sheet.heading)
    name = garden.name + (" " + _("(an invented garden)") if garden.invented else "")
    dates = span(garden.first, plan.end)
    sheet.text(sheet.right, top - 18, f"{name}, {dates}", 10, align="right")
    y = top - _HEAD
    said = [*lamp_sentences(garden, plan), *nursery_sentences(garden, plan)]
    lit = sheet.wrap(" ".join(said), sheet.right - scale.left, 9)
    tall = min(26.0, (y - sheet.bottom - 18 - 11 * len(lit)) / len(rows))
    low = y - tall * len(rows)
    _calendar_lines(sheet, garden.season, scale, y, low)
    before: Column | None = None
    for column, tier in rows:
        if column is not before:
            sheet.line(sheet.left, y, sheet.right, y, width=1.2)
            before = column
        else:
            sheet.line(scale.left, y, sheet.right, y, width=0.3, grey=GREY)
        label = tier_label(column.name, tier.number)
        sheet.tag(sheet.left, y - tall / 2 - 3, label, 8.5, _LABEL - 6, tall - 1)
        for batch in standing.get((column.name, tier.number), ()):
            _bar(sheet, garden, scale, batch, y - tall, tall)
        y -= tall
    sheet.line(sheet.left, y, sheet.right, y, width=1.2)
    _key(sheet, garden, low - 15)
    for n, part in enumerate(lit, 1):
        sheet.text(scale.left, low - 15 - 11 * n, part, 9)


class _Scale:
    """Days to points along the season."""

    def __init__(self, sheet: Sheet, season: Season) -> None:
        self.left = sheet.left + _LABEL
        self._start = season.start
        self._day = (sheet.right - self.left) / season.days

    def __call__(self, day: date) -> float:
        return self.left + (day - self._start).days * self._day


def _calendar_lines(sheet: Sheet, season: Season, scale: _Scale, top: float, low: float) -> None:
    """Months and week numbers above, a thin line each Monday, away days shaded."""
    for away in season.away:
        x1 = scale(max(away.start, season.start))
        x2 = scale(min(away.end, season.end) + timedelta(days=1))
        if x2 > x1:
            sheet.canvas.setFillGray(PALE)
            sheet.canvas.rect(x1, low, x2 - x1, top - low + 12, stroke=0, fill=1)
            sheet.canvas.setFillGray(0)
            sheet.text((x1 + x2) / 2, top + 3, _("away"), 6.5, align="middle")
    weeks = season_weeks(season)
    gap = 7 * (scale(season.start + timedelta(days=1)) - scale.left)
    step = max(1, round(16 / gap))
    for i, week in enumerate(weeks):
        monday = week_start(week)
        x = max(scale(monday), scale.left)
        sheet.line(x, low, x, top + 12, width=0.25, grey=0.6)
        if i % step == 0 and x + 10 < sheet.right:
            sheet.text(x + 2, top + 14, str(int(week[-2:])), 7.5)
    sheet.text(scale.left - 4, top + 14, _("week"), 7.5, align="right")
    day = season.start
    while day <= season.end:
        nxt = (day.replace(day=1) + timedelta(days=32)).replace(day=1)
        end = min(nxt, season.end + timedelta(days=1))
        sheet.line(scale(day), top + 12, scale(day), top + 36, width=0.8)
        room = scale(end) - scale(day) - 6
        title = _(MONTHS[day.month - 1])
        if sheet.measure(title, 10, sheet.bold) > room:
            title = title[:3]
        if sheet.measure(title, 10, sheet.bold) <= room:
            sheet.text(scale(day) + 3, top + 26, title, 10, sheet.bold)
        day = nxt


def _bar(sheet: Sheet, garden: Garden, scale: Any, batch: Batch, y: float, tall: float) -> None:
    """One batch from transplanting to clearing: shaded by group, named, a notch for each pick."""
    c = sheet.canvas
    x1, x2 = scale(batch.transplant), scale(batch.clear + timedelta(days=1))
    low, high = y + 2, tall - 4
    c.setLineWidth(0.8)
    c.setFillGray(1)
    c.rect(x1, low, x2 - x1, high, stroke=1, fill=1)
    c.setFillGray(0)
    _shade(sheet, _group_number(garden, batch.crop), x1, low, x2 - x1, high)
    for pick in batch.picks:
        x = min(scale(pick.date) + 1.5, x2 - 3)
        path = c.beginPath()
        path.moveTo(x - 2.5, low)
        path.lineTo(x + 2.5, low)
        path.lineTo(x, low + 4.5)
        path.close()
        c.drawPath(path, stroke=0, fill=1)
    title = crop_title(garden, batch.crop)
    size, lines = sheet.inside(title, x2 - x1 - 6, 8.5 if tall > 15 else 7, tall=high - 2)
    step = size * 1.1
    base = low + high / 2 - size * 0.3 + step * (len(lines) - 1) / 2
    for i, part in enumerate(lines):
        wide = sheet.measure(part, size)
        c.setFillGray(1)
        c.rect(x1 + 2, base - i * step - size * 0.12, wide + 3, size * 1.05, stroke=0, fill=1)
        c.setFillGray(0)
        sheet.text(x1 + 3.5, base - i * step, part, size)
    if batch.state == FAILED:
        sheet.line(x1, low, x2, low + high, width=1.2)
        sheet.line(x1, low + high, x2, low, width=1.2)


def _group_number(garden: Garden, crop: str) -> int:
    names = [d.group for d in garden.demands]
    demand = garden.demand_of(crop)
    return names.index(demand.group) if demand else len(names)


def _shade(sheet: Sheet, number: int, x: float, y: float, wide: float, high: float) -> None:
    """White, rising strokes, dots, falling strokes, upright strokes: distinct without colour."""
    c = sheet.canvas
    c.saveState()
    path = c.beginPath()
    path.rect(x, y, wide, high)
    c.clipPath(path, stroke=0, fill=0)
    c.setStrokeGray(0.5)
    c.setFillGray(0.5)
    c.setLineWidth(0.5)
    kind = number % 5
    if kind in (1, 3):
        n, slope = 0.0, high if kind == 1 else -high
        while n < wide + high:
            c.line(x + n - high, y if slope > 0 else y + high, x + n, y + high if slope > 0 else y)
            n += 4.5
    elif kind == 2:
        row = 0
        dy = 2.0
        while dy < high:
            dx = 2.0 + (row % 2) * 2
            while dx < wide:
                c.circle(x + dx, y + dy, 0.5, stroke=0, fill=1)
                dx += 4
            row, dy = row + 1, dy + 3
    elif kind == 4:
        n = 3.0
        while n < wide:
            c.line(x + n, y, x + n, y + high)
            n += 3
    c.restoreState()


def _key(sheet: Sheet, garden: Garden, y: float) -> None:
    """What the shades and notches mean."""
    x, size = sheet.left + _LABEL, 9.0
    says = _("pick; a bar runs from transplanting to clearing")
    groups = [group_title(d.group) for d in garden.demands]
    used = {_group_number(garden, crop) for crop in garden.crops}
    names = [*groups, *([_("no wish")] if len(groups) in used else [])]
    places = x + 44 * len(names) + 10
    while places + sum(sheet.measure(t, size) for t in (*names, says)) > sheet.right and size > 2:
        size -= 0.5  # all in one line
    for i, group in enumerate(names):
        sheet.canvas.setLineWidth(0.8)
        sheet.canvas.rect(x, y - 2, 22, 10)
        _shade(sheet, i, x, y - 2, 22, 10)
        x += 26 + sheet.text(x + 26, y, group, size) + 18
    c = sheet.canvas
    path = c.beginPath()
    path.moveTo(x, y)
    path.lineTo(x + 6, y)
    path.lineTo(x + 3, y + 6)
    path.close()
    c.drawPath(path, stroke=0, fill=1)
    sheet.text(x + 10, y, says, size)
