"""A day sheet: one page for one date, work by order and place, blanks for what is measured."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from scheduler.garden.model import Garden
from scheduler.outputs import by_person, labour, work
from scheduler.outputs.act import act_note
from scheduler.outputs.cautions import due
from scheduler.outputs.legend import column_note
from scheduler.outputs.paper.sheet import GREY, MARGIN, Sheet
from scheduler.outputs.paper.week import Row, item
from scheduler.outputs.together import Legend, day_lines, heaviest, notes, tiers
from scheduler.outputs.work import Work
from scheduler.words.words import Units, _, about, long_date, tier_label, top_up

_SIZES = (13.0, 12.0, 11.0, 10.0, 9.0, 8.0, 7.0, 6.0, 5.0, 4.0)  # the largest that fits one page
_RULED, _APART = 8, 22.0  # lines for notes, and how far apart they are [pt]


def draw(
    sheet: Sheet,
    garden: Garden,
    day: date,
    items: Sequence[Work],
    beside: Sequence[str],
    units: Units,
) -> None:
    """The page; ``items``: the work of this day, ``beside``: what else is said of it."""
    room = sheet.paper[1] - 2 * MARGIN - 16 - 44 - _APART
    rows: list[Row] = []
    for size in _SIZES:
        rows = _rows(sheet, garden, items, beside, units, size)
        if sum(height for height, _paint in rows) <= room:
            break
    top = sheet.new_page(long_date(day))
    sheet.text(sheet.left, top - 22, long_date(day), 22, sheet.heading)
    took = about(labour.of_items(garden, items))
    if kg := heaviest(items):
        took = ", ".join(filter(None, [took, _("lift {kg}").format(kg=units.weight_text(kg))]))
    sheet.text(sheet.right, top - 34, took, 10, align="right")
    sheet.line(sheet.left, top - 40, sheet.right, top - 40, width=1.4)
    y = top - 44
    for height, paint in rows:
        paint(y)
        y -= height
    for n in range(_RULED):  # to write on, as far as there is room
        if (line := y - n * _APART - _APART / 2) > sheet.bottom:
            sheet.line(sheet.left, line, sheet.right, line, width=0.5, grey=GREY)


def _rows(
    sheet: Sheet,
    garden: Garden,
    items: Sequence[Work],
    beside: Sequence[str],
    units: Units,
    size: float,
) -> list[Row]:
    rows: list[Row] = []
    if not items:
        rows.append(_text(sheet, _("No work on this day."), size))
    rows += [_text(sheet, said, size) for said in beside if said]
    levels = [w for w in items if w.kind == work.LEVEL]
    if levels:
        rows += _readings(sheet, levels, units, size)
    meters = tiers(w for w in levels if w.meters)
    if meters:
        rows.append(_text(sheet, _("EC and pH too: {tiers}").format(tiers=meters), size))
    for line in day_lines(garden, items, units):
        if line.kind != work.LEVEL:
            rows.append(item(sheet, line.kind, line.text, size))
        if line.kind == work.PICK:
            rows += _masses(sheet, line.items, units, size)
        if line.kind == work.CLEAR:
            rows += _measured(sheet, line.items, size, (_("depth"), "EC", "pH"))
        if line.kind == work.FILL:
            filled = [w for w in line.items if w.kind == work.FILL]
            rows += _measured(sheet, filled, size, ("EC", "pH"))
    people = by_person.shares(garden, items[0].date, items, units) if items else []
    if people:
        rows.append(_text(sheet, _("Due by person"), size))
        rows += [_text(sheet, by_person.said(garden, one), size) for one in people]
    rows += [_text(sheet, said, 0.85 * size) for said in _how_to_read(garden, items, units)]
    said = [top_up(units)] if levels else []
    said += [f"{_(c.name)}: {_(c.short)}" for c in due(w.kind for w in items)]
    rows += [_text(sheet, f"! {text}", 0.85 * size) for text in said]
    rows.append(_text(sheet, _("Notes") + ":", size))
    return rows


def _how_to_read(garden: Garden, items: Sequence[Work], units: Units) -> list[str]:
    """Notes for a helper who has seen no other sheet; the lines of fills explain themselves."""
    rest = [w for w in items if w.kind not in (work.LEVEL, work.FILL, work.TRANSPLANT)]
    said = [column_note(garden)] if items else []
    if any(w.act_cm is not None for w in items):
        said.append(act_note())
    if any(w.first is not None and w.last is not None and w.first < w.last for w in items):
        said.append(_("PICK: from the first to the last of the days given it may be ready."))
    weighed = [name for w in items for name, _n, unit in w.weigh if unit == "mL"]
    if any(w.ph for w in items) and not weighed:
        said.append(_("FILL: measure the pH; acid as your water needs (dryline mix)."))
    return [*filter(None, said), *notes(garden, rest, Legend(), units)]


def _text(sheet: Sheet, text: str, size: float) -> Row:
    lines = sheet.wrap(text, sheet.right - sheet.left, size)

    def paint(y: float) -> None:
        for i, part in enumerate(lines):
            sheet.text(sheet.left, y - size * 1.2 * (i + 0.95), part, size)

    return size * 1.2 * len(lines) + 0.3 * size, paint


def _readings(sheet: Sheet, items: Sequence[Work], units: Units, size: float) -> list[Row]:
    """A line a tier: depth to expect, depth to act below, blanks for level, EC and pH."""
    wide = sheet.right - sheet.left
    at = [sheet.left + share * wide for share in (0.0, 0.30, 0.46, 0.62, 0.74, 0.86)]
    heads = (
        _("level"),
        _("expected"),
        _("act below"),
        _("level") + f" [{units.depth_unit}]",
        "EC",
        "pH",
    )

    def head(y: float) -> None:
        for x, said in zip(at, heads, strict=True):
            shown, _lines = sheet.inside(said, 0.14 * wide, 0.85 * size)
            sheet.text(x, y - size, said, shown, grey=GREY)

    rows: list[Row] = [(size * 1.4, head)]
    for w in items:

        def paint(y: float, w: Work = w) -> None:
            line = y - size * 1.1
            label = tier_label(w.column, w.tier)
            sheet.box(sheet.left, line - size * 0.1, size * 0.85)
            room = 0.30 * wide - size * 1.4 - 6
            shown, parts = sheet.inside(label, room, size, sheet.bold, size * 1.5)
            for i, part in enumerate(parts):
                up = 1.15 * shown * ((len(parts) - 1) / 2 - i)
                sheet.text(sheet.left + size * 1.4, line + up, part, shown, sheet.bold)
            sheet.text(at[1], line, units.depth_text(w.depth_cm or 0), size)
            if w.act_cm is not None:
                sheet.text(at[2], line, units.depth_text(w.act_cm), size, sheet.bold)
            for x in at[3:]:
                sheet.line(x, line - 2, x + 0.11 * wide, line - 2, width=0.5, grey=GREY)

        rows.append((size * 1.6, paint))
    return rows


def _masses(sheet: Sheet, items: Sequence[Work], units: Units, size: float) -> list[Row]:
    """A blank for the mass of each pick, beside what is expected."""
    cells = [
        f"{tier_label(w.column, w.tier)}  {units.mass_text(w.grams)}  {_('picked')}" for w in items
    ]
    return _blanks(sheet, cells, size)


def _measured(sheet: Sheet, items: Sequence[Work], size: float, what: Sequence[str]) -> list[Row]:
    """Blanks for what is measured in each tier; those of a tier stand side by side."""
    cells = [f"{tier_label(w.column, w.tier)}  {said}" for w in items for said in what]
    return _blanks(sheet, cells, size, len(what))


def _blanks(sheet: Sheet, cells: Sequence[str], size: float, together: int = 1) -> list[Row]:
    """Cells with a blank behind each; ``together``: cells of one tier, which share a line."""
    left, blank = sheet.left + size * 1.4, size * 4
    wide = max(sheet.measure(c, size) for c in cells) + 4
    across = max(1, int((sheet.right - left + size) / (wide + blank + size)))
    across -= across % together if across > together else 0
    rows: list[Row] = []
    for i in range(0, len(cells), across):
        part = cells[i : i + across]

        def paint(y: float, part: Sequence[str] = part) -> None:
            line = y - size * 1.2
            for n, cell in enumerate(part):
                x = left + n * (wide + blank + size)
                shown, _lines = sheet.inside(cell, sheet.right - left - blank - 4, size)
                at = x + min(wide, sheet.right - left - blank)
                sheet.text(x, line, cell, shown)
                sheet.line(at, line - 2, at + blank, line - 2, width=0.5, grey=GREY)

        rows.append((size * 1.7, paint))
    return rows
