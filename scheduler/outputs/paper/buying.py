"""The shopping list."""

from __future__ import annotations

from scheduler.garden.model import Garden
from scheduler.outputs import work
from scheduler.outputs.cautions import due
from scheduler.outputs.paper.sheet import GREY, Sheet
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.shopping import shopping
from scheduler.plans.model import Plan
from scheduler.words.words import Shown, Units, _, plural

_SIZE, _LEAD = 10.5, 16.5


def draw(sheet: Sheet, garden: Garden, plan: Plan, units: Units, y: float = 0.0) -> None:
    """Seeds by crop, solution by strength, what else is needed, the cautions in short.

    ``y``: where it may begin on the page in work, if all of it has room below.
    """
    list_ = shopping(garden, plan)
    rows = len(list_.seeds) + len(list_.salts) + len(list_.acid) + len(list_.solutions) + 4
    y -= 14
    if y - rows * _LEAD - 230 < sheet.bottom:
        y = sheet.new_page(_("Shopping list"))
    y -= 22
    sheet.text(sheet.left, y, _("Shopping list"), 24, sheet.heading)
    y = _heading(sheet, y - 26, _("Seeds"), _("numbers of seeds, for all sowings together"))
    for s in list_.seeds:
        y = _line(
            sheet,
            y,
            crop_title(garden, s.crop),
            plural("{n} seed", "{n} seeds", s.seeds),
            _("{sowings}, {cells}, at {percent:.0f} % germination").format(
                sowings=plural("{n} sowing", "{n} sowings", s.sowings),
                cells=plural("{n} cell", "{n} cells", s.cells),
                percent=100 * s.germination,
            ),
        )
    y = _heading(
        sheet,
        y - 14,
        _("Salts and acid"),
        _("for all fills together; dryline mix weighs out each one"),
    )
    says = _("{way} recipe").format(way=list_.way) if list_.way else _("as your garden names")
    says += (
        ""
        if list_.known_water
        else _(", for water without salts of its own; for other water ask dryline mix")
    )
    for name, grams in list_.salts:
        y = _line(sheet, y, _(name), units.mass_text(grams), says)
        says = ""
    for name, amount, unit in list_.acid:
        y = _line(
            sheet,
            y,
            _(name),
            units.weighed_text(round(amount), unit),
            _("against the alkalinity of your water"),
        )
    if not list_.known_water:
        y = _line(sheet, y, _("acid"), "", _("as your water needs: dryline mix"))
    y = _heading(sheet, y - 14, _("Solution to mix"), "")
    for n in list_.solutions:
        y = _line(
            sheet,
            y,
            _("EC {ec:.1f}, pH {low:g} to {high:g}").format(
                ec=Shown(n.ec), low=Shown(n.ph[0]), high=Shown(n.ph[1])
            ),
            units.volume_text(n.litres),
            plural("{n} fill", "{n} fills", n.fills)
            + ": "
            + ", ".join(crop_title(garden, c) for c in n.crops),
        )
    y = _heading(sheet, y - 14, _("Nursery and columns"), "")
    y = _line(sheet, y, _("cells"), str(list_.cells), _("most in use on one day"))
    if list_.heads_to_support:
        y = _line(
            sheet,
            y,
            _("head supports"),
            str(list_.heads_to_support),
            _("most heads standing on one day"),
        )
    y = _line(sheet, y, _("mesh, covers"), "", _("against mosquitoes and heavy rain, each column"))
    y -= 8
    for caution in due([work.FILL]):
        said = f"! {_(caution.name)}: {_(caution.short)}"
        for part in sheet.wrap(said, sheet.right - sheet.left, 9):
            y = _room(sheet, y, 12)
            sheet.text(sheet.left, y, part, 9)


def _room(sheet: Sheet, y: float, need: float) -> float:
    y -= need
    return sheet.new_page() - 24 if y < sheet.bottom else y


def _heading(sheet: Sheet, y: float, title: str, says: str) -> float:
    y = _room(sheet, y, 20)
    wide = sheet.text(sheet.left, y, title, 15, sheet.heading)
    sheet.text(sheet.left + wide + 10, y, says, 9.5, grey=GREY)
    sheet.line(sheet.left, y - 5, sheet.right, y - 5, width=1.0)
    return y - 4


def _line(sheet: Sheet, y: float, what: str, amount: str, says: str) -> float:
    first, second = sheet.left + 240, sheet.left + 250
    lines = sheet.wrap(says, sheet.right - second, 9)
    y = _room(sheet, y, _LEAD)
    sheet.box(sheet.left, y - 1, 10)
    size, parts = sheet.inside(what, 165, _SIZE, sheet.bold, _LEAD)
    for i, part in enumerate(parts):
        sheet.text(
            sheet.left + 18, y - 1.15 * size * (i - (len(parts) - 1) / 2), part, size, sheet.bold
        )
    sheet.text(first, y, amount, _SIZE, align="right")
    for i, part in enumerate(lines):
        if i:
            y = _room(sheet, y, 11.5)
        sheet.text(second, y, part, 9)
    return y
