"""What is checked before the season and closed after it, and the cautions in full, on one page."""

from __future__ import annotations

from collections.abc import Iterable

from scheduler.outputs.cautions import CAUTIONS, due
from scheduler.outputs.paper.sheet import MARGIN, Sheet
from scheduler.words.words import N_, _

# Common practice, no source.
BEFORE = (
    N_("Fill each vessel to its fill line with plain water, mark the line, leave it for two days: "
       "one that has lost more than a finger's breadth leaks. Empty it before the season."),
    N_("Level each stack, heaviest vessel at the bottom, tied to a post or wall."),
    N_("Check the meters in fresh standard solutions, EC and pH, and write down what they read."),
    N_("Check the scale with something of known mass."),
    N_("Try the nursery's light, fan or heat mat, and its residual-current device."),
    N_("Close or mesh every gap against mosquitoes."),
    N_("Hang each tag on its tier and this page in the shed."),
)  # fmt: skip
AFTER = (
    N_("Write the last levels, masses and readings into the log."),
    N_("Empty, scrub, disinfect and rinse every vessel, lid and pot; store them dry and dark."),
    N_("Take covers, canes and wires down; store tall stacks flat, so that nothing can tip."),
    N_("Rinse the probes and store them wet as their maker says."),
    N_("Close and label salts and acid; lock them away, apart from food and from bleach."),
    N_("Unplug the nursery."),
    N_("Ask dryline review what the season teaches, before the next plan is made."),
)


def draw(sheet: Sheet, kinds: Iterable[str]) -> None:
    """Both lists and the cautions that go with these kinds of work, in letters that fit a page."""
    present = [c for c in CAUTIONS if c in due(kinds)]
    room = sheet.paper[1] - 2 * MARGIN - 16
    for size in (10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0):
        parts = [
            (_("Before the season"), [(True, _(t)) for t in BEFORE]),
            (_("After the season"), [(True, _(t)) for t in AFTER]),
            (_("Cautions"), [(False, f"{_(c.name)}. {_(c.full)}") for c in present]),
        ]
        tall = sum(_height(sheet, said, size) for _t, said in parts) + len(parts) * 30
        if tall <= room:
            break
    y = sheet.new_page(_("Cautions"))
    for title, said in parts:
        y -= 20
        sheet.text(sheet.left, y, title, 15, sheet.heading)
        sheet.line(sheet.left, y - 4, sheet.right, y - 4, width=0.8)
        y -= 10
        for tick, text in said:
            x = sheet.left + (size * 1.5 if tick else 0)
            for i, part in enumerate(sheet.wrap(text, sheet.right - x, size)):
                y -= size * 1.2
                if tick and i == 0:
                    sheet.box(sheet.left, y - size * 0.1, size * 0.85)
                sheet.text(x, y, part, size)
            y -= size * 0.35


def _height(sheet: Sheet, said: list[tuple[bool, str]], size: float) -> float:
    wide = sheet.right - sheet.left
    lines = sum(len(sheet.wrap(t, wide - (size * 1.5 if tick else 0), size)) for tick, t in said)
    return lines * size * 1.2 + len(said) * size * 0.35
