"""Month sheets: tiers down, days across, a letter for each work; what stands where, by name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from scheduler.garden.model import Column, Garden, Tier
from scheduler.outputs import work
from scheduler.outputs.paper.season import by_tier
from scheduler.outputs.paper.sheet import GREY, PALE, Sheet
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.work import Work
from scheduler.plans.model import Batch, Plan
from scheduler.words.words import MONTHS, N_, VERB, _, habit, short_weekday, tier_label

# The letter that stands for each kind of work; the translation changes what is behind the colon.
MARKS = {
    work.LEVEL: N_("letter of level:L"),
    work.SHELTER: N_("letter of cover:V"),
    work.PROTECT: N_("letter of protect:T"),
    work.SHADE: N_("letter of shade:D"),
    work.SUPPORT: N_("letter of support:U"),
    work.PICK: N_("letter of pick:P"),
    work.CLEAR: N_("letter of clear:C"),
    work.MOVE: N_("letter of move:M"),
    work.FILL: N_("letter of fill:F"),
    work.HARDEN: N_("letter of harden:H"),
    work.SOW: N_("letter of sow:S"),
}
_LABEL, _HEAD, _KEY = 58.0, 34.0, 16.0  # width of the tags, heights of a head and of the key [pt]
_LEAST, _MOST = 13.5, 22.0  # height of a tier's row [pt]

Place = tuple[Column, Tier]
Marks = Mapping[tuple[str, int, date], str]


def draw(
    sheet: Sheet, garden: Garden, plan: Plan, items: Sequence[Work], first: date, last: date
) -> None:
    """The months with these days, as many on a page lying on its side as there is room for."""
    if last < first:  # days outside the season
        return
    with sheet.landscape():
        letters = marks(items)
        rows = [(c, t) for c in garden.columns for t in c.tiers]
        room = min(sheet.paper) - 2 * 40 - 16 - _KEY
        fits = max(1, int((room - _HEAD) / _LEAST))
        parts = [rows[i : i + fits] for i in range(0, len(rows), fits)]
        months = _months(first, last)
        each = _HEAD + len(parts[0]) * _LEAST + 10
        together = 1 if len(parts) > 1 else min(len(months), max(1, int(room / each)))
        tall = min(_MOST, (room / together - _HEAD - 10) / len(parts[0]))
        for i in range(0, len(months), together):
            for part in parts:
                y = sheet.new_page(_(MONTHS[months[i].month - 1]))
                for month in months[i : i + together]:
                    y = _month(sheet, garden, plan, part, month, letters, y, tall)
                _key(sheet)


def _months(first: date, last: date) -> list[date]:
    """First days of the months from one day to another."""
    month, out = first.replace(day=1), []
    while month <= last:
        out.append(month)
        month = (month + timedelta(days=32)).replace(day=1)
    return out


def marks(items: Sequence[Work]) -> Marks:
    """The letters of each tier and day, in the order of the work."""
    found: dict[tuple[str, int, date], dict[str, None]] = defaultdict(dict)
    for w in items:
        if w.kind in MARKS:  # what is planted is filled on that day
            found[w.column, w.tier or 1, w.date][habit(MARKS[w.kind])] = None
    return {key: "".join(letters) for key, letters in found.items()}


def _month(
    sheet: Sheet,
    garden: Garden,
    plan: Plan,
    rows: Sequence[Place],
    month: date,
    letters: Marks,
    top: float,
    tall: float,
) -> float:
    """One month below ``top``; returns where the next one may begin."""
    end = (month + timedelta(days=32)).replace(day=1)
    days = [month + timedelta(days=n) for n in range((end - month).days)]
    left = sheet.left + _LABEL
    wide = (sheet.right - left) / 31
    title = f"{_(MONTHS[month.month - 1])} {month.year}"
    sheet.text(sheet.left, top - 12, title, 15, sheet.heading)
    y = top - _HEAD
    low = y - tall * len(rows)
    for n, day in enumerate(days):
        x = left + n * wide
        if not garden.season.is_work_day(day):
            sheet.canvas.setFillGray(PALE + 0.06)
            sheet.canvas.rect(x, low, wide, y - low, stroke=0, fill=1)
            sheet.canvas.setFillGray(0)
        sheet.line(x, low, x, y + 3, width=0.25, grey=0.7)
        sheet.text(x + wide / 2, y + 11, short_weekday(day)[:2], 6.5, grey=GREY, align="middle")
        sheet.text(x + wide / 2, y + 3, str(day.day), 7.5, align="middle")
    sheet.line(left + len(days) * wide, low, left + len(days) * wide, y + 3, width=0.25, grey=0.7)
    standing = by_tier(plan)
    high = min(8.5, (tall - 9.4) / 0.68)  # capitals stay below the name of the crop
    before: Column | None = None
    for column, tier in rows:
        heavy = column is not before
        sheet.line(sheet.left, y, sheet.right, y, width=1.0 if heavy else 0.3)
        before = column
        label = tier_label(column.name, tier.number)
        size, lines = sheet.inside(label, _LABEL - 6, 9, sheet.bold, tall - 2)
        for i, part in enumerate(lines):
            at = y - tall / 2 - 0.3 * size - 1.15 * size * (i - (len(lines) - 1) / 2)
            sheet.text(sheet.left + 2, at, part, size, sheet.bold)
        for batch in standing.get((column.name, tier.number), ()):
            _stand(sheet, garden, batch, days, left, wide, y, tall)
        for n, day in enumerate(days):
            if said := letters.get((column.name, tier.number, day)):
                size, _lines = sheet.inside(said, wide - 2, high, sheet.bold)
                sheet.text(
                    left + (n + 0.5) * wide, y - tall + 1.6, said, size, sheet.bold, align="middle"
                )
        y -= tall
    sheet.line(sheet.left, y, sheet.right, y, width=1.0)
    return y - 10


def _stand(
    sheet: Sheet,
    garden: Garden,
    batch: Batch,
    days: Sequence[date],
    left: float,
    wide: float,
    top: float,
    tall: float,
) -> None:
    """A crop's name above a line from transplanting to clearing, as far as it is in the month."""
    if batch.clear < days[0] or batch.transplant > days[-1]:
        return
    start, end = max(batch.transplant, days[0]), min(batch.clear, days[-1])
    x1 = left + (start - days[0]).days * wide
    x2 = left + ((end - days[0]).days + 1) * wide
    sheet.line(x1 + 1, top - 1.6, x2 - 1, top - 1.6, width=1.6, grey=0.72)
    title = crop_title(garden, batch.crop)
    size, _lines = sheet.inside(title, x2 - x1 - 3, max(5.8, min(8.0, 0.9 * (tall - 9.4))))
    size = max(size, 4.0)
    at = min(x1 + 2, sheet.right - sheet.measure(title, size))  # near the end of a month
    sheet.text(at, top - 2.6 - size * 0.85, title, size)


def _key(sheet: Sheet) -> None:
    """What the letters mean."""
    listed = ", ".join(f"{habit(mark)} {_(VERB[kind])}" for kind, mark in MARKS.items())
    said = _(
        "Letters: {list}. A line runs from filling to clearing; shaded days are not worked."
    ).format(list=listed)
    size, _lines = sheet.inside(said, sheet.right - sheet.left, 9)
    sheet.text(sheet.left, sheet.bottom - 2, said, size)
