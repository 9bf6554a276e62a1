"""What to add to a mix in the tub, as text and as data."""

from __future__ import annotations

from typing import Any

from crops.solution.recipe import Recipe
from crops.solution.tub import FITS, SOUR, WEAK, Correction
from scheduler.mix.text import wrapped
from scheduler.words.words import Units


def correction_lines(found: Correction, recipe: Recipe, title: str, units: Units) -> list[str]:
    """Measured against wanted, what to add, and what to mind."""
    lines = [*wrapped(f"{title}: {units.volume_text(found.litres)} in the tub"), ""]
    rows = []
    if found.ec is not None:
        rows.append(f"EC {found.ec:.1f} mS/cm measured, {found.wanted_ec:.1f} wanted: ")
        rows[-1] += _strength(found, units)
    if found.ph is not None and found.wanted_ph is not None:
        low, high = found.wanted_ph
        goal = f"{low:.1f} to {high:.1f}" if high > low else f"{low:.1f}"
        rows.append(f"pH {found.ph:.1f} measured, {goal} wanted: ")
        rows[-1] += _acidity(found)
    for row in rows:
        lines += wrapped(row, "  ", "    ")
    if all(part == FITS for part in (found.strength, found.acidity)):
        return lines
    lines += ["", "Take care"]
    for caution in (
        "This is for the tub, before it is filled. Never add salts or acid where a crop stands.",
        *(("Half of the acid first: stir, wait, measure, then the rest.",) if found.acid else ()),
        "Stir until all is dissolved, and measure again.",
        *recipe.cautions,
    ):
        lines += wrapped(caution, "  ! ", "    ")
    return lines


def _strength(found: Correction, units: Units) -> str:
    if found.strength == FITS:
        return "it fits."
    if found.strength == WEAK:
        weighed = [(s.name, w) for s, _, w in found.salts if w > 0]
        if not weighed:
            return "the scale shows nothing of what is missing; leave it."
        amounts = " + ".join(units.weighed_text(w, "g") for _, w in weighed)
        return f"add {amounts} ({', '.join(name for name, _ in weighed)})."
    return (
        f"add {units.volume_text(found.water)} of water, or pour off "
        f"{units.volume_text(found.swap)} and fill up with water."
    )


def _acidity(found: Correction) -> str:
    if found.acidity == FITS:
        return "it fits."
    if found.acidity == SOUR:
        return (
            "too sour. Replace a part by water without acid, and measure again; was acid measured "
            "twice?"
        )
    if found.acid is None:
        return f"too high, but no acid can be reckoned: {found.why}."
    told = f"add {found.acid.amount:.1f} {found.acid.unit} {found.acid.acid.name} acid"
    return told + (
        ", no more for the roots' sake (it will not come down to what is wanted)."
        if found.acid.held
        else "."
    )


def correction_data(found: Correction) -> dict[str, Any]:
    """The same for machines: grams, millilitres, litres, mS/cm."""
    acid = found.acid
    return {
        "litres": found.litres,
        "ec": found.ec,
        "ec_wanted": found.wanted_ec,
        "ph": found.ph,
        "ph_wanted": found.wanted_ph,
        "strength": found.strength,
        "acidity": found.acidity,
        "add": [{"name": s.name, "grams": g, "weighed": w} for s, g, w in found.salts],
        "water_litres": found.water,
        "or_replace_litres": found.swap,
        "acid": None
        if acid is None
        else {"name": acid.acid.name, "amount": acid.amount, "unit": acid.unit},
        "why_no_acid": found.why,
    }
