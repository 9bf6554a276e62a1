"""The weeks one after the other: each day's work with boxes to tick, like work together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby

from scheduler.garden.model import Garden
from scheduler.outputs import labour, work
from scheduler.outputs.blanks import meters_too
from scheduler.outputs.in_brief import (
    Common,
    common,
    lines_in_brief,
    notes_in_brief,
    without_spans,
)
from scheduler.outputs.paper.sheet import GREY, Sheet
from scheduler.outputs.together import heaviest, level_cell, notes
from scheduler.outputs.weeks import TableWeek, produce
from scheduler.outputs.work import Work
from scheduler.words.words import (
    VERB,
    Units,
    _,
    about,
    on_the_table,
    sheet_start,
    short_date,
    span,
    weekday,
)

_SIZE = 9.1  # letters of the work [pt]
_LEAD = 1.22  # height of a line, in letter sizes
Row = tuple[float, Callable[[float], None]]  # height [pt], and what draws it below a y


@dataclass(frozen=True)
class Week:
    """A week on paper: its name, work, produce, what to look at before its day, what is beside."""

    name: str
    items: Sequence[Work]
    table: Sequence[TableWeek]
    look: str = ""
    beside: Sequence[str] = ()


def draw(
    sheet: Sheet,
    garden: Garden,
    weeks: Sequence[Week],
    items: Sequence[Work],
    units: Units,
    head: str = "",
) -> None:
    """The weeks in one flow; a day stays on one page.

    ``items``: all work of the plan; ``head`` stands above how to read it.
    """
    shared = common(items)
    todo = [w for week in weeks for w in week.items]
    y = sheet.new_page(_("Week by week")) - 20
    sheet.text(sheet.left, y, _("Week by week"), 20, sheet.heading)
    y -= 8
    for text in filter(None, [head, *_notes(garden, todo, shared, units)]):
        y = _put(sheet, _paragraph(sheet, text, 8.5), y)
    for week in weeks:
        rows = _week_head(sheet, week, units)
        if not week.items:
            y = _block(sheet, rows, y)
            continue
        for n, (day, work_of_day) in enumerate(groupby(week.items, key=lambda w: w.date)):
            block = _day(sheet, garden, day, list(work_of_day), units, shared)
            # The head of a week is not left alone at the foot of a page.
            y = _block(sheet, [*rows, *block] if n == 0 else block, y)


def _notes(garden: Garden, items: Sequence[Work], shared: Common, units: Units) -> list[str]:
    """How to read the lines; meters are asked for in a line of their own, with blanks."""
    plain = [replace(w, meters=False) for w in items]
    return [
        *notes(garden, without_spans(items), shared.fills, units),
        *notes_in_brief(garden, shared, plain, units),
    ]


def _block(sheet: Sheet, rows: Sequence[Row], y: float) -> float:
    """Draw rows that stay together, on the next page where this one has no room; new y."""
    if y - sum(height for height, _paint in rows) < sheet.bottom:
        y = sheet.new_page()
    for row in rows:
        y = _put(sheet, row, y)
    return y


def _put(sheet: Sheet, row: Row, y: float) -> float:
    """Draw a row; a block longer than a page goes on on the next one."""
    height, paint = row
    if y - height < sheet.bottom:
        y = sheet.new_page()
    paint(y)
    return y - height


def _paragraph(sheet: Sheet, text: str, size: float) -> Row:
    lines = sheet.wrap(text, sheet.right - sheet.left, size)

    def paint(y: float) -> None:
        for i, part in enumerate(lines):
            sheet.text(sheet.left, y - size * _LEAD * (i + 0.9), part, size)

    return size * _LEAD * len(lines) + 3, paint


def _week_head(sheet: Sheet, week: Week, units: Units) -> list[Row]:
    first = sheet_start(week.name)
    title = _("Week {number}").format(number=int(week.name[-2:]))
    dates = span(first, first + timedelta(days=6))
    if not week.items:
        dates += ". " + _("No work this week.")

    def paint(y: float) -> None:
        wide = sheet.text(sheet.left, y - 19, title, 13, sheet.heading)
        sheet.text(sheet.left + wide + 10, y - 19, dates, 10)
        sheet.line(sheet.left, y - 23, sheet.right, y - 23, width=1.2)

    rows: list[Row] = [(25, paint)]
    if week.table:
        said = "; ".join([produce(week.table, units), *week.beside])
        rows.append(_paragraph(sheet, f"{on_the_table()}: {said}", 9))
    if week.look:
        rows.append(_paragraph(sheet, week.look, 9))
    return rows


def _day(
    sheet: Sheet, garden: Garden, day: date, items: Sequence[Work], units: Units, shared: Common
) -> list[Row]:
    took = about(labour.of_items(garden, items))
    if kg := heaviest(items):
        took = ", ".join(filter(None, [took, _("lift {kg}").format(kg=units.weight_text(kg))]))

    def paint(y: float) -> None:
        wide = sheet.text(sheet.left, y - 12, weekday(day), 10, sheet.heading)
        sheet.text(sheet.left + wide + 5, y - 12, short_date(day), 10)
        sheet.text(sheet.right, y - 12, took, 8.5, grey=GREY, align="right")
        sheet.line(sheet.left, y - 14.5, sheet.right, y - 14.5, width=0.4)

    rows: list[Row] = [(16, paint)]
    for line in lines_in_brief(garden, items, units, shared):
        if line.kind == work.LEVEL:
            rows += levels(sheet, line.items, units, _SIZE)
            if too := meters_too(line.items):
                rows.append(_paragraph(sheet, too, _SIZE))
        else:
            rows.append(item(sheet, line.kind, line.text, _SIZE))
    return rows


def item(sheet: Sheet, kind: str, text: str, size: float) -> Row:
    """A line of work: a box to tick, the verb, what to do."""
    verb = _(VERB[kind])
    x_verb = sheet.left + size * 1.4
    room = max(sheet.measure(_(v), size, sheet.bold) for v in VERB.values())
    x_text = x_verb + room + size * 0.6
    lines = sheet.wrap(text, sheet.right - x_text, size)

    def paint(y: float) -> None:
        line = y - size * 1.05
        sheet.box(sheet.left, line - size * 0.1, size * 0.85)
        sheet.text(x_verb, line, verb, size, sheet.bold)
        for i, part in enumerate(lines):
            sheet.text(x_text, line - i * size * _LEAD, part, size)

    return size * _LEAD * len(lines) + 2.2, paint


def levels(sheet: Sheet, items: Sequence[Work], units: Units, size: float) -> list[Row]:
    """Tier, expected level, level to act below and a blank, as many side by side as fit."""
    cells = [level_cell(w, units) for w in items]
    x_verb = sheet.left + size * 1.4
    x0 = x_verb + max(sheet.measure(_(v), size, sheet.bold) for v in VERB.values()) + size * 0.6
    blank = size * 2.6
    wide = max(sheet.measure(c, size) for c in cells) + 3
    across = max(1, int((sheet.right - x0 + size) / (wide + blank + size)))
    rows: list[Row] = []
    for i in range(0, len(cells), across):
        part = cells[i : i + across]

        def paint(y: float, part: Sequence[str] = part, first: bool = i == 0) -> None:
            line = y - size * 1.05
            if first:
                sheet.box(sheet.left, line - size * 0.1, size * 0.85)
                sheet.text(x_verb, line, _(VERB[work.LEVEL]), size, sheet.bold)
            for n, cell in enumerate(part):
                x = x0 + n * (wide + blank + size)
                shown, _lines = sheet.inside(cell, sheet.right - x0 - blank, size)
                sheet.text(x, line, cell, shown)
                at = min(x + wide, sheet.right - blank)
                sheet.line(at, line - 2, at + blank, line - 2, width=0.5, grey=GREY)

        rows.append((size * 1.5, paint))
    return rows
