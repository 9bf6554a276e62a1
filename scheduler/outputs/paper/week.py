"""One page a week: each day's work with boxes to tick, levels beside blanks, room for notes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from itertools import groupby

from scheduler.garden.model import Garden
from scheduler.outputs import work
from scheduler.outputs.act import act_note, level_text
from scheduler.outputs.cautions import due
from scheduler.outputs.paper.sheet import GREY, MARGIN, PALE, Sheet
from scheduler.outputs.sentences import fill_and_plant, sentence
from scheduler.outputs.weeks import TableWeek
from scheduler.outputs.work import Work
from scheduler.words.words import (
    VERB,
    Units,
    _,
    on_the_table,
    sheet_start,
    short_date,
    span,
    tier_label,
    weekday,
)

# Letters are as large as the week's work allows; a week too full for the smallest takes two pages,
# in letters that can be read at arm's length.
_SIZES = (13.0, 12.0, 11.0, 10.0, 9.0)
_TWO_PAGES = 11.0
_LEAD = {True: 1.65, False: 1.52}  # height of a line of work, in letter sizes; closer where small
Row = tuple[float, Callable[[float], None]]  # height [pt], and what draws it below a y


def draw(
    sheet: Sheet,
    garden: Garden,
    week: str,
    items: Sequence[Work],
    table: Sequence[TableWeek],
    units: Units,
    look: str = "",
) -> None:
    """The page of one week; ``look`` stands above its days."""
    room = sheet.paper[1] - 2 * MARGIN - 16 - 72 - 16 * len(table)
    rows: list[Row] = []
    for size in _SIZES:
        rows = _rows(sheet, garden, items, units, size, look)
        notes = 0 if size == _SIZES[-1] else 60  # the smallest letters may take the notes' room
        if sum(row[0] for row in rows) <= room - notes:
            break
    else:
        rows = _rows(sheet, garden, items, units, _TWO_PAGES, look)
    y = _head(sheet, garden, week, table, units)
    for height, paint in rows:
        if y - height < sheet.bottom:
            y = _head(sheet, garden, week, (), units, again=True)
        paint(y)
        y -= height
    _notes(sheet, y)


def _head(
    sheet: Sheet,
    garden: Garden,
    week: str,
    table: Sequence[TableWeek],
    units: Units,
    again: bool = False,
) -> float:
    first = sheet_start(week)
    title = _("Week {number}").format(number=int(week[-2:]))
    title += _(", continued") if again else ""
    dates = span(first, first + timedelta(days=6))
    top = sheet.new_page(f"{title}, {dates}")
    sheet.text(sheet.left, top - 24, title, 28, sheet.heading)
    sheet.text(sheet.right, top - 22, dates, 16, sheet.heading, align="right")
    sheet.line(sheet.left, top - 34, sheet.right, top - 34, width=1.4)
    y = top - 50
    if table:
        columns = [sheet.right - 231, sheet.right - 154, sheet.right - 77, sheet.right]
        sheet.text(sheet.left, y, on_the_table(), 9, grey=GREY)
        heads = (_("picked"), _("served"), _("wish"), _("short"))
        for x, head in zip(columns, heads, strict=True):
            sheet.text(x, y, head, 9, grey=GREY, align="right")
        for row in table:
            y -= 15
            short = units.mass_text(row.short) if row.short else "-"
            group = row.group or _("no wish")
            size, _lines = sheet.inside(group, columns[0] - sheet.left - 56, 11, sheet.bold)
            sheet.text(sheet.left, y, group, size, sheet.bold)
            masses = [units.mass_text(m) for m in (row.picked, row.served, row.wish)]
            for x, mass in zip(columns, [*masses, short], strict=True):
                sheet.text(x, y, mass, 11, align="right")
        sheet.line(sheet.left, y - 6, sheet.right, y - 6, width=0.4, grey=GREY)
        y -= 14
    return y


def _rows(
    sheet: Sheet, garden: Garden, items: Sequence[Work], units: Units, size: float, look: str
) -> list[Row]:
    rows: list[Row] = [_look(sheet, look, size)] if look else []
    for day, todo in groupby(items, key=lambda w: w.date):
        day_items = list(todo)
        rows.append(_day_head(sheet, day, size))
        levels = [w for w in day_items if w.kind == work.LEVEL]
        rows += _levels(sheet, levels, units, size)
        plants = {w.batch: w for w in day_items if w.kind == work.TRANSPLANT}
        filled = {w.batch for w in day_items if w.kind == work.FILL}
        for w in day_items:
            if w.kind == work.FILL and w.batch in plants:
                text = fill_and_plant(garden, w, plants[w.batch], units)
                rows.append(_item(sheet, w, text, size))
            elif w.kind != work.LEVEL and not (w.kind == work.TRANSPLANT and w.batch in filled):
                rows.append(_item(sheet, w, sentence(garden, w, units), size))
    if not items:
        rows.append((30, lambda y: _say(sheet, y - 22, _("No work this week."), 13)))
    if any(w.act_cm is not None for w in items):
        rows.append(_look(sheet, act_note(), max(size - 2.5, 8.5)))
    rows += _cautions(sheet, items, max(size - 2.5, 8.5))
    return rows


def _look(sheet: Sheet, text: str, size: float) -> Row:
    lines = sheet.wrap(text, sheet.right - sheet.left, size)

    def paint(y: float) -> None:
        for i, part in enumerate(lines):
            _say(sheet, y - size * 1.2 * (i + 1), part, size)

    return size * 1.2 * len(lines) + 6, paint


def _say(sheet: Sheet, y: float, text: str, size: float) -> None:
    sheet.text(sheet.left, y, text, size)


def _day_head(sheet: Sheet, day: date, size: float) -> Row:
    def paint(y: float) -> None:
        line = y - size * 1.7
        wide = sheet.text(sheet.left, line, weekday(day), size * 1.2, sheet.heading)
        sheet.text(sheet.left + wide + 6, line, short_date(day), size * 1.2)
        sheet.line(sheet.left, line - 4, sheet.right, line - 4, width=0.8)

    return size * 1.7 + 8, paint


def _item(sheet: Sheet, item: Work, text: str, size: float) -> Row:
    verb = _(VERB[item.kind])
    x_verb = sheet.left + size * 1.5
    x_tag = x_verb + size * 4.6
    label = "" if item.kind == work.SOW else tier_label(item.column, item.tier)
    most = 150.0
    tag_wide = min(sheet.measure(label, size * 0.92, sheet.bold) + size * 1.4, most) if label else 0
    x_text = x_tag + max(tag_wide + 8, size * 4.2)
    lines = sheet.wrap(text, sheet.right - x_text, size)

    def paint(y: float) -> None:
        line = y - size * 1.15
        sheet.box(sheet.left, line - size * 0.12, size * 0.9)
        sheet.text(x_verb, line, verb, size, sheet.bold)
        if label:
            sheet.tag(x_tag, line, label, size * 0.92, most, size * 1.4)
        for i, part in enumerate(lines):
            sheet.text(x_text, line - i * size * 1.2, part, size)

    return size * 1.2 * (len(lines) - 1) + size * _LEAD[size > 9], paint


def _levels(sheet: Sheet, items: Sequence[Work], units: Units, size: float) -> list[Row]:
    """Tier, expected level and a blank for the measured one, as many side by side as fit."""
    if not items:
        return []
    x0 = sheet.left + size * 1.5 + size * 4.6
    small = size * 0.92
    tags = [tier_label(w.column, w.tier) for w in items]
    tag = min(max(sheet.measure(t, small, sheet.bold) for t in tags) + size * 1.4, 150.0)
    depths = [level_text(w, units) for w in items]
    deep = max(sheet.measure(d, size) for d in depths)
    blank_wide = size * 3.4
    cell = tag + 6 + deep + 4 + blank_wide + size
    across = max(1, int((sheet.right - x0 + size) / cell))
    rows: list[Row] = []
    for i in range(0, len(items), across):
        part = list(zip(tags[i : i + across], depths[i : i + across], strict=True))

        def paint(y: float, part: list[tuple[str, str]] = part, first: bool = i == 0) -> None:
            line = y - size * 1.15
            if first:
                sheet.box(sheet.left, line - size * 0.12, size * 0.9)
                sheet.text(sheet.left + size * 1.5, line, _(VERB[work.LEVEL]), size, sheet.bold)
            for n, (label, depth) in enumerate(part):
                x = x0 + n * cell
                sheet.tag(x, line, label, small, tag, size * 1.4)
                sheet.text(x + tag + 6 + deep, line, depth, size, align="right")
                blank = x + tag + 6 + deep + 4
                sheet.line(blank, line - 2, blank + blank_wide, line - 2, width=0.6, grey=GREY)

        rows.append((size * _LEAD[size > 9], paint))
    meters = ", ".join(tier_label(w.column, w.tier) + " ____ ____" for w in items if w.meters)
    if meters:
        rows.append(_look(sheet, _("EC and pH too: {tiers}").format(tiers=meters), size))
    return rows


def _cautions(sheet: Sheet, items: Sequence[Work], size: float) -> list[Row]:
    present = due(w.kind for w in items)
    if not present:
        return []
    wide = sheet.right - sheet.left - 16
    lines = [
        (i == 0, part, c.name)
        for c in present
        for i, part in enumerate(sheet.wrap(f"{_(c.name)}: {_(c.short)}", wide - 14, size))
    ]
    height = len(lines) * size * 1.25 + 7

    def paint(y: float) -> None:
        c = sheet.canvas
        c.setFillGray(PALE + 0.07)
        c.setLineWidth(0.8)
        c.rect(sheet.left, y - height - 6, sheet.right - sheet.left, height, stroke=1, fill=1)
        c.setFillGray(0)
        line = y - 7 - size * 1.05
        for first, part, _name in lines:
            if first:
                sheet.text(sheet.left + 8, line, "!", size * 1.1, sheet.bold)
            sheet.text(sheet.left + 22, line, part, size)
            line -= size * 1.25

    return [(height + 14, paint)]


def _notes(sheet: Sheet, y: float) -> None:
    """Ruled lines in what room is left."""
    y -= 16
    if y - 24 < sheet.bottom:
        return
    sheet.text(sheet.left, y, _("Notes"), 11, sheet.heading)
    y -= 24
    while y >= sheet.bottom:
        sheet.line(sheet.left, y, sheet.right, y, width=0.3, grey=0.6)
        y -= 24
