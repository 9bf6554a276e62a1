"""Kinds of entry in the log, and the amounts each may tell."""

from __future__ import annotations

import re

from crops.units import UnitFault, converted
from scheduler.words.units import Units

SOWN, TRANSPLANTED, LEVEL, PICKED = "sown", "transplanted", "level", "picked"
CLEARED, FAILED, EC, PH = "cleared", "failed", "ec", "ph"
WHATS = (SOWN, TRANSPLANTED, LEVEL, PICKED, CLEARED, FAILED, EC, PH)

# Units an amount is kept in once read.
LITRES, CM, GRAMS, STRENGTH = "L", "cm", "g", "mS/cm"
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
}
_COUNTS: dict[str, tuple[str, ...]] = {
    SOWN: (CELLS, SEEDS),
    TRANSPLANTED: (PLANTS,),
    PICKED: (PLANTS,),
}
EXPECTED = {
    SOWN: "cells or seeds",
    TRANSPLANTED: "plants",
    PICKED: "plants, or a mass such as 350 g or 12 oz",
    LEVEL: "a volume or depth in L, gal, cm or in, such as 24.5 cm or 9 3/8 in",
    EC: "a strength up to 20 mS/cm",
    PH: "a number from 0 to 14",
    CLEARED: "no amount",
    FAILED: "no amount",
}
NEEDS_AMOUNT = (LEVEL, EC, PH)
_UNIT = re.compile(r"[A-Za-zµ][A-Za-zµ/ _.]{0,19}")
_STRONGEST_EC = 20.0  # [mS/cm] half of sea water; plausibility only, common practice, no source


def own_unit(what: str, units: Units | None) -> str:
    """The unit of an amount that was written without one: the grower's depth, or mS/cm."""
    if what == EC:
        return STRENGTH
    return units.depth_unit if what == LEVEL and units is not None else ""


def amount_text(amount: float | None, unit: str, units: Units) -> str:
    """A kept amount in the grower's units; empty for none."""
    if amount is None:
        return ""
    say = {LITRES: units.volume_text, CM: units.depth_text, GRAMS: units.mass_text}.get(unit)
    return say(amount) if say else f"{amount:g} {unit}".strip()


def kept(what: str, value: float, unit: str) -> tuple[float, str] | None:
    """An amount in the unit it is kept in, and that unit.

    None if it is nothing an entry of this kind (`WHATS`) can tell.
    """
    if what in (CLEARED, FAILED):
        return None
    if what == PH:
        return (value, "") if unit.lower() in ("", "ph") and 0 <= value <= 14 else None
    counts = _COUNTS.get(what, ())
    counted = _COUNTED.get(unit.lower(), "") if unit else (counts[0] if counts else "")
    if counted:
        fits = counted in counts and value == int(value) and value >= 1
        return (value, counted) if fits else None
    if not _UNIT.fullmatch(unit):
        return None
    for wanted, name in _MEASURED.get(what, ()):
        try:
            got = converted(value, unit, wanted)
        except UnitFault:
            continue
        if what == EC and got > _STRONGEST_EC:
            return None
        return got, name
    return None
