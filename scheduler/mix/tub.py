"""What to add to a mix in the tub, as text and as data."""

from __future__ import annotations

from typing import Any

from crops.solution.recipe import Recipe
from crops.solution.tub import FITS, SOUR, WEAK, Correction
from scheduler.mix.text import wrapped
from scheduler.words.words import Shown, Units, _


def correction_lines(found: Correction, recipe: Recipe, title: str, units: Units) -> list[str]:
    """Measured against wanted, what to add, and what to mind."""
    lines = [
        *wrapped(
            _("{title}: {litres} in the tub").format(
                title=title, litres=units.volume_text(found.litres)
            )
        ),
        "",
    ]
    rows = []
    if found.ec is not None:
        rows.append(
            _("EC {ec:.1f} mS/cm measured, {wanted_ec:.1f} wanted: ").format(
                ec=Shown(found.ec), wanted_ec=Shown(found.wanted_ec)
            )
        )
        rows[-1] += _strength(found, units)
    if found.ph is not None and found.wanted_ph is not None:
        low, high = found.wanted_ph
        goal = (
            _("{low:.1f} to {high:.1f}").format(low=Shown(low), high=Shown(high))
            if high > low
            else f"{low:.1f}"
        )
        rows.append(
            _("pH {ph:.1f} measured, {goal} wanted: ").format(ph=Shown(found.ph), goal=goal)
        )
        rows[-1] += _acidity(found)
    for row in rows:
        lines += wrapped(row, "  ", "    ")
    if all(part == FITS for part in (found.strength, found.acidity)):
        return lines
    lines += ["", _("Take care")]
    for caution in (
        _("This is for the tub, before it is filled. Never add salts or acid where a crop stands."),
        *(
            (_("Half of the acid first: stir, wait, measure, then the rest."),)
            if found.acid
            else ()
        ),
        _("Stir until all is dissolved, and measure again."),
        *recipe.cautions,
    ):
        lines += wrapped(caution, "  ! ", "    ")
    return lines


def _strength(found: Correction, units: Units) -> str:
    if found.strength == FITS:
        return _("it fits.")
    if found.strength == WEAK:
        weighed = [(s.name, w) for s, _, w in found.salts if w > 0]
        if not weighed:
            return _("the scale shows nothing of what is missing; leave it.")
        amounts = " + ".join(units.weighed_text(w, "g") for _, w in weighed)
        return _("add {amounts} ({weighed}).").format(
            amounts=amounts, weighed=", ".join((name for name, _amount in weighed))
        )
    return _("add {water} of water, or pour off {swap} and fill up with water.").format(
        water=units.volume_text(found.water), swap=units.volume_text(found.swap)
    )


def _acidity(found: Correction) -> str:
    if found.acidity == FITS:
        return _("it fits.")
    if found.acidity == SOUR:
        return _(
            "too sour. Replace a part by water without acid, and measure again; "
            "was acid measured twice?"
        )
    if found.acid is None:
        return _("too high, but no acid can be reckoned: {why}.").format(why=found.why)
    told = _("add {amount:.1f} {unit} {name} acid").format(
        amount=Shown(found.acid.amount), unit=found.acid.unit, name=found.acid.acid.name
    )
    return told + (
        _(", no more for the roots' sake (it will not come down to what is wanted).")
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
