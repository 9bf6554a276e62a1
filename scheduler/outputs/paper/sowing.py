"""The sowing list that hangs in the nursery."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.garden.model import Garden
from scheduler.outputs import work
from scheduler.outputs.cautions import due
from scheduler.outputs.paper.sheet import GREY, Sheet
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.work import Work
from scheduler.words.words import Units, _, short_date, short_weekday, tier_label

_SIZE, _LEAD = 11.0, 19.0


def draw(sheet: Sheet, garden: Garden, items: Sequence[Work], units: Units) -> None:
    """All sowings by day, with a box to tick, a blank for what came up, and the day they leave."""
    sowings = [w for w in items if w.kind == work.SOW]
    y = _head(sheet, garden, units)
    before = None
    for w in sowings:
        if y - _LEAD < sheet.bottom + 30:
            _foot(sheet)
            y = _head(sheet, garden, units)
            before = None
        y -= _LEAD
        x = _columns(sheet)
        if w.date != before:
            sheet.line(sheet.left, y + _LEAD - 5, sheet.right, y + _LEAD - 5, width=0.4, grey=GREY)
            day = f"{short_weekday(w.date)} {short_date(w.date)}"
            _in(sheet, x[1], y, day, x[2] - x[1] - 4, sheet.bold)
            before = w.date
        sheet.box(x[0], y - 1, 10)
        _in(sheet, x[2], y, crop_title(garden, w.crop), x[3] - x[2] - 46)
        sheet.text(x[3], y, str(w.seeds), _SIZE, align="right")
        sheet.text(x[4], y, str(w.cells), _SIZE, align="right")
        sheet.line(x[5] - 32, y - 2, x[5], y - 2, width=0.5, grey=GREY)
        sheet.tag(x[6], y, tier_label(w.column, w.tier), 9.5, 76, _LEAD - 2)
        if w.until:
            sheet.text(sheet.right, y, short_date(w.until), _SIZE, align="right")
    _foot(sheet)


def _in(sheet: Sheet, x: float, y: float, text: str, width: float, font: str = "") -> None:
    """A text in its column, in two lines or in smaller letters where it is long."""
    size, lines = sheet.inside(text, width, _SIZE, font, _LEAD - 2)
    for i, part in enumerate(lines):
        sheet.text(x, y - 1.15 * size * (i - (len(lines) - 1) / 2), part, size, font)


def _columns(sheet: Sheet) -> list[float]:
    """Left edges of box, day, crop; right edges of seeds, cells, blank; left edge of the tag."""
    left, wide = sheet.left, sheet.right - sheet.left
    return [
        left,
        left + 18,
        left + 0.22 * wide,
        left + 0.51 * wide,
        left + 0.58 * wide,
        left + 0.67 * wide,
        left + 0.70 * wide,
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
    sheet.text(sheet.right, y, _("transplant"), 9, grey=GREY, align="right")
    sheet.line(sheet.left, y - 5, sheet.right, y - 5, width=1.2)
    return y - 4


def _foot(sheet: Sheet) -> None:
    y = sheet.bottom
    for caution in due([work.SOW]):
        for line in reversed(
            sheet.wrap(f"! {_(caution.name)}: {_(caution.full)}", sheet.right - sheet.left, 8)
        ):
            sheet.text(sheet.left, y - 6, line, 8)
            y += 10
