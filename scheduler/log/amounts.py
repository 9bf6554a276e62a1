"""Kinds of entry in the log, and the amounts each may tell."""

from __future__ import annotations

import re

from crops.units import UnitFault, converted
from scheduler.words.units import Units

SOWN, TRANSPLANTED, LEVEL, PICKED = "sown", "transplanted", "level", "picked"
CLEARED, FAILED, EC, PH = "cleared", "failed", "ec", "ph"
RAIN, TOPPED, MOVED, COVERED, SHADED, UNCOVERED = (
    "rain",
    "topped",
    "moved",
    "covered",
    "shaded",
    "uncovered",
)
EMERGED, THINNED, LOST, PEST, NOTE = "emerged", "thinned", "lost", "pest", "note"
RIPE, WIDTH = "ripe", "width"
WHATS = (
    *(SOWN, EMERGED, THINNED, TRANSPLANTED, LEVEL, EC, PH, RIPE, WIDTH, PICKED, LOST, FAILED),
    *(CLEARED, RAIN, TOPPED, MOVED, COVERED, SHADED, UNCOVERED, PEST, NOTE),
)
# What may be told of a column, of the whole garden, of seedlings: without a tier, without a column,
# by the crop.
OF_COLUMN = frozenset((FAILED, SOWN, RAIN, MOVED, COVERED, SHADED, UNCOVERED, NOTE))
OF_GARDEN = frozenset((RAIN, MOVED, COVERED, SHADED, UNCOVERED, NOTE))
OF_SEEDLINGS = frozenset((SOWN, FAILED, EMERGED, THINNED, LOST, PEST))
NEEDS_NOTE = {PEST: "what it is, in the note", NOTE: "what is to be remembered, in the note"}

# Units an amount is kept in once read.
LITRES, CM, MM, GRAMS, STRENGTH = "L", "cm", "mm", "g", "mS/cm"
PLANTS, CELLS, SEEDS = "plants", "cells", "seeds"
_COUNTED = {
    "plants": PLANTS,
    "plant": PLANTS,
    "heads": PLANTS,
    "head": PLANTS,
    "plugs": PLANTS,
    "plug": PLANTS,
    "cells": CELLS,
    "cell": CELLS,
    "seeds": SEEDS,
    "seed": SEEDS,
}
# For each kind of entry: units it may be kept in (pint name, unit kept), the first counted unit
# standing for an amount without unit; and whether the amount must be there.
_MEASURED: dict[str, tuple[tuple[str, str], ...]] = {
    LEVEL: (("litre", LITRES), ("cm", CM)),
    PICKED: (("g", GRAMS),),
    EC: (("mS/cm", STRENGTH),),
    RAIN: (("mm", MM), ("litre", LITRES)),
    TOPPED: (("litre", LITRES),),
    WIDTH: (("cm", CM),),
}
_COUNTS: dict[str, tuple[str, ...]] = {
    SOWN: (CELLS, SEEDS),
    TRANSPLANTED: (PLANTS,),
    PICKED: (PLANTS,),
    EMERGED: (CELLS,),
    THINNED: (PLANTS, CELLS),
    LOST: (PLANTS, CELLS),
}
OF_HOW_MANY = (EMERGED, LOST)  # "2 of 6"
# No rain gauge, head or vessel shows more [in the unit kept]; plausibility only, no source.
_MOST = {(EC, STRENGTH): 20.0, (RAIN, MM): 500.0, (WIDTH, CM): 200.0}
EXPECTED = {
    SOWN: "cells or seeds",
    TRANSPLANTED: "plants",
    PICKED: "plants, or a mass such as 350 g or 12 oz",
    LEVEL: "a volume or depth in L, gal, cm or in, such as 24.5 cm or 9 3/8 in",
    EC: "a strength up to 20 mS/cm",
    PH: "a number from 0 to 14",
    RAIN: "what fell, up to 500 mm, such as 12 mm or 1/2 in; or what got in, in L or gal",
    TOPPED: "a volume in L or gal, such as 1.5 L",
    WIDTH: "a width up to 200 cm, such as 18 cm or 7 in",
    EMERGED: "how many cells came up, of how many, such as 9 of 12",
    THINNED: "plants taken out",
    LOST: "how many plants are lost, of how many, such as 2 of 6",
    **dict.fromkeys(
        (CLEARED, FAILED, MOVED, COVERED, SHADED, UNCOVERED, RIPE, PEST, NOTE), "no amount"
    ),
}
NEEDS_AMOUNT = (LEVEL, EC, PH, RAIN, TOPPED, WIDTH, EMERGED, LOST, THINNED)
_OF = re.compile(r"(\d{1,5})\s*(?:of|von|/)\s*(\d{1,5})\b\s*(.*)", re.ASCII)
_UNIT = re.compile(r"[A-Za-zµ][A-Za-zµ/ _.]{0,19}")


def own_unit(what: str, units: Units | None) -> str:
    """The unit of an amount that was written without one: the grower's depth, rain, volume."""
    if what == EC:
        return STRENGTH
    if units is None:
        return ""
    if what == RAIN:
        return units.depth_unit if units.us else MM
    if what == TOPPED:
        return units.volume_unit
    return units.depth_unit if what in (LEVEL, WIDTH) else ""


def of_how_many(what: str, text: str) -> tuple[str, int, bool]:
    """``9 of 12 cells`` as its amount (``9 cells``), of how many (0: not said), whether it can be.

    An amount of another kind is given back as it is.
    """
    found = _OF.fullmatch(text.strip()) if what in OF_HOW_MANY else None
    if found is None:
        return text, 0, True
    n, of, unit = int(found[1]), int(found[2]), found[3]
    return f"{n} {unit}".strip(), of, n <= of


def amount_text(amount: float | None, unit: str, units: Units) -> str:
    """A kept amount in the grower's units; empty for none."""
    if amount is None:
        return ""
    if unit == MM and units.us:
        return units.depth_text(amount / 10)
    say = {LITRES: units.volume_text, CM: units.depth_text, GRAMS: units.mass_text}.get(unit)
    return say(amount) if say else f"{amount:g} {unit}".strip()


def kept(what: str, value: float, unit: str) -> tuple[float, str] | None:
    """An amount in the unit it is kept in, and that unit.

    None if it is nothing an entry of this kind (`WHATS`) can tell.
    """
    if EXPECTED[what] == "no amount":
        return None
    if what == PH:
        return (value, "") if unit.lower() in ("", "ph") and 0 <= value <= 14 else None
    counts = _COUNTS.get(what, ())
    counted = _COUNTED.get(unit.lower(), "") if unit else (counts[0] if counts else "")
    if counted:
        least = 0 if what == EMERGED else 1
        fits = counted in counts and value == int(value) and value >= least
        return (value, counted) if fits else None
    if not _UNIT.fullmatch(unit):
        return None
    for wanted, name in _MEASURED.get(what, ()):
        try:
            got = converted(value, unit, wanted)
        except UnitFault:
            continue
        if got > _MOST.get((what, name), got):
            return None
        return got, name
    return None
