"""The sowing list that hangs in the nursery."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from scheduler.garden.model import Garden
from scheduler.outputs import work
from scheduler.outputs.cautions import due
from scheduler.outputs.paper.sheet import GREY, Sheet
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.together import tiers
from scheduler.outputs.work import Work
from scheduler.words.words import Units, _, short_date, short_weekday

_SIZE, _LEAD = 9.5, 14.0


def draw(sheet: Sheet, garden: Garden, items: Sequence[Work], units: Units) -> float:
    """All sowings by day, with a box to tick, a blank for what came up, and the day they leave.

    Sowings of one crop for one day are one line. Returns where the next list may begin.
    """
    sowings: dict[tuple[date, str, date | None], list[Work]] = {}
    for w in items:
        if w.kind == work.SOW:
            sowings.setdefault((w.date, w.crop, w.until), []).append(w)
    y = _head(sheet, garden, units)
    x = _columns(sheet)
    before = None
    for (day, crop, until), group in sowings.items():
        where = tiers(group)
        _size, lines = sheet.inside(where, x[7] - x[6], _SIZE, sheet.bold, 4 * _LEAD)
        tall = max(_LEAD, 1.15 * _SIZE * len(lines) + 3)
        if y - tall < sheet.bottom + 24:
            y = _head(sheet, garden, units)
            before = None
        if day != before:
            sheet.line(sheet.left, y - 3, sheet.right, y - 3, width=0.4, grey=GREY)
            said = f"{short_weekday(day)} {short_date(day)}"
            _in(sheet, x[1], y - _LEAD, said, x[2] - x[1] - 4, sheet.bold)
            before = day
        y -= tall
        at = y + tall - _LEAD  # the first line of a row that has more
        sheet.box(x[0], at - 1, 9)
        _in(sheet, x[2], at, crop_title(garden, crop), x[3] - x[2] - 46)
        sheet.text(x[3], at, str(sum(w.seeds for w in group)), _SIZE, align="right")
        sheet.text(x[4], at, str(sum(w.cells for w in group)), _SIZE, align="right")
        sheet.line(x[5] - 32, at - 2, x[5], at - 2, width=0.5, grey=GREY)
        size, lines = sheet.inside(where, x[7] - x[6], _SIZE, sheet.bold, tall)
        for i, part in enumerate(lines):
            sheet.text(x[6], at - 1.15 * size * i, part, size, sheet.bold)
        if until:
            sheet.text(sheet.right, at, short_date(until), _SIZE, align="right")
    for caution in due([work.SOW]):
        said = f"! {_(caution.name)}: {_(caution.short)}"
        for line in sheet.wrap(said, sheet.right - sheet.left, 8):
            y -= 12
            sheet.text(sheet.left, y - 4, line, 8)
    return y - 6


def _in(sheet: Sheet, x: float, y: float, text: str, width: float, font: str = "") -> None:
    """A text in its column, in two lines or in smaller letters where it is long."""
    size, lines = sheet.inside(text, width, _SIZE, font, _LEAD - 2)
    for i, part in enumerate(lines):
        sheet.text(x, y - 1.15 * size * (i - (len(lines) - 1) / 2), part, size, font)


def _columns(sheet: Sheet) -> list[float]:
    """Left edges of box, day, crop; right edges of seeds, cells, blank; edges of the tiers."""
    left, wide = sheet.left, sheet.right - sheet.left
    return [
        left,
        left + 18,
        left + 0.22 * wide,
        left + 0.51 * wide,
        left + 0.58 * wide,
        left + 0.67 * wide,
        left + 0.70 * wide,
        left + 0.85 * wide,
    ]


def _head(sheet: Sheet, garden: Garden, units: Units) -> float:
    top = sheet.new_page(_("Sowing list"))
    sheet.text(sheet.left, top - 22, _("Sowing list"), 24, sheet.heading)
    cells = _("nursery of {n} cells").format(n=garden.nursery.cells)
    if garden.nursery.temperature is not None:
        cells += ", " + units.temperature_text(garden.nursery.temperature)
    sheet.text(sheet.right, top - 20, cells, 11, align="right")
    y = top - 46
    x = _columns(sheet)
    heads = (_("sow on"), _("crop"))
    for at, head in zip(x[1:3], heads, strict=True):
        sheet.text(at, y, head, 9, grey=GREY)
    counts = (_("seeds"), _("cells"), _("came up"))
    for before, at, head in zip(x[2:5], x[3:6], counts, strict=True):
        size, _lines = sheet.inside(head, at - before - 4, 9)
        sheet.text(at, y, head, size, grey=GREY, align="right")
    sheet.text(x[6], y, _("for tier"), 9, grey=GREY)
    sheet.text(sheet.right, y, _("plant"), 9, grey=GREY, align="right")
    sheet.line(sheet.left, y - 5, sheet.right, y - 5, width=1.2)
    return y - 4
