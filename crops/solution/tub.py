"""A mix that measures otherwise than it should: what to add to it in the tub, before it is filled.

Too weak: the difference between the recipe at the EC wanted and the same recipe at the EC measured.
Too strong: source water, by the balance EC x litres (EC taken as proportional to what is dissolved,
which is so for a small step). Too high a pH: acid against what is left of the water's alkalinity at
the pH measured (`acid`). For the tub alone: what stands under a crop is never corrected with salts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from crops.solution.acid import AcidFault, Dose, alkalinity_left, dose
from crops.solution.recipe import RecipeFault
from crops.solution.salts import Salt
from crops.solution.shelf import Shelf

# What a meter shows may be off by so much: less is not corrected. Common practice, no source.
EC_ERROR, PH_ERROR = 0.1, 0.2
MOST_EC = 10.0  # [mS/cm] of a mix; plausibility only

FITS, WEAK, STRONG, SOUR, ALKALINE = "fits", "weak", "strong", "sour", "alkaline"


@dataclass(frozen=True)
class Correction:
    """What to do with a mix.

    Attributes
    ----------
    litres : in the tub [L]; ec, ph : measured [mS/cm, -]; None: not asked.
    wanted_ec, wanted_ph : [mS/cm], lowest and highest [-]; outside these the middle is aimed at.
    strength, acidity : FITS, WEAK or STRONG; FITS, SOUR or ALKALINE.
    salts : (salt, grams exactly, grams as a scale shows them) to add.
    water : source water to add [L]; swap : or to pour off and replace by it [L].
    acid : to add; None where none is needed, or it can't be reckoned (``why``).
    """

    litres: float
    ec: float | None
    wanted_ec: float
    ph: float | None
    wanted_ph: tuple[float, float] | None
    strength: str = FITS
    acidity: str = FITS
    salts: tuple[tuple[Salt, float, float], ...] = ()
    water: float = 0.0
    swap: float = 0.0
    acid: Dose | None = None
    why: str = ""


def correction(
    shelf: Shelf,
    litres: float,
    wanted_ec: float,
    wanted_ph: tuple[float, float] | None,
    ec: float | None = None,
    ph: float | None = None,
) -> Correction:
    """What to add to a mix of ``litres`` [L] that measures ``ec`` [mS/cm] and ``ph``.

    Raises
    ------
    RecipeFault
        The recipe cannot be made, or what was measured is none of a mix.
    """
    if ec is not None and not 0 <= ec <= MOST_EC:
        raise RecipeFault(f"a measured EC of {ec:g} mS/cm; expected 0 to {MOST_EC:g}")
    if ph is not None and not 0 <= ph <= 14:
        raise RecipeFault(f"a measured pH of {ph:g}; expected 0 to 14")
    found = Correction(litres, ec, wanted_ec, ph, wanted_ph)
    if ec is not None:
        found = _strength(shelf, found, ec)
    if ph is not None and wanted_ph is not None:
        found = _acidity(shelf, found, ph, wanted_ph)
    return found


def _strength(shelf: Shelf, found: Correction, ec: float) -> Correction:
    wanted, litres = found.wanted_ec, found.litres
    if abs(ec - wanted) < EC_ERROR:
        return found
    whole = shelf.recipe(litres, wanted)
    water_ec = whole.water_ec.value
    if ec > wanted:
        fill = (ec - wanted) / (wanted - water_ec) * litres
        swap = (ec - wanted) / (ec - water_ec) * litres
        return replace(found, strength=STRONG, water=fill, swap=swap)
    have = {s.name: 0.0 for s in whole.salts}
    if ec > water_ec + EC_ERROR:
        now = shelf.recipe(litres, ec)
        have |= {s.name: g for s, g in zip(now.salts, now.grams, strict=True)}
    add = []
    for salt, grams in zip(whole.salts, whole.grams, strict=True):
        more = max(grams - have[salt.name], 0.0)
        add.append((salt, more, float(f"{round(more / shelf.scale) * shelf.scale:.10g}")))
    return replace(found, strength=WEAK, salts=tuple(add))


def _acidity(shelf: Shelf, found: Correction, ph: float, wanted: tuple[float, float]) -> Correction:
    low, high = wanted
    if low - PH_ERROR < ph < high + PH_ERROR:
        return found
    if ph < low:
        return replace(found, acidity=SOUR)
    if shelf.acid is None or shelf.water.alkalinity <= 0:
        why = (
            "the garden names no acid"
            if shelf.acid is None
            else "the water's alkalinity is not known"
        )
        return replace(found, acidity=ALKALINE, why=why)
    left = alkalinity_left(shelf.water.alkalinity, shelf.water.ph, ph)
    try:
        acid = dose(shelf.acid, left, ph, (low + high) / 2, found.litres)
    except AcidFault as error:
        raise RecipeFault(str(error)) from error
    return replace(found, acidity=ALKALINE, acid=acid)
