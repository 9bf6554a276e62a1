"""What goes with every recipe: the order of mixing and what keeps hands, eyes and children safe.

Common practice, no source, but where one stands beside it. Nothing here replaces the label, the
safety data sheet, local codes, or licensed practice.
"""

from __future__ import annotations

from collections.abc import Sequence

from crops.solution.acid import Dose
from crops.solution.salts import Salt

SALTS = (
    "Goggles and gloves on before a bag is opened; do not breathe the dust.",
    "Weigh and mix in vessels never used for food or drink; label them with content and date.",
    "Keep calcium salts apart from sulfates and phosphates until both are thinned in the full "
    "water: as concentrates they fall out as gypsum and phosphate.",
    "Nitrates feed fire: keep them dry, away from heat, fuel, sulfur and sawdust. Lock salts away "
    "from children, animals and food.",
    "Swallowed or in the eye: rinse with much water and ask a poison centre or doctor.",
    "The label and the safety data sheet come first, and so do local rules on storing salts and "
    "on pouring solution away.",
)
# Order of hazard: trade table; fumes and oxidizing: UMass Extension, Adjusting alkalinity with
# acids. Acid into water: standard laboratory rule.
ACID = (
    "Pour acid into water, never water into acid: it heats and spits.",
    "Acid: goggles, acid-proof gloves and an apron, in the open air, with running water at hand "
    "for eyes and skin.",
    "Never let acid meet chlorine bleach: the gas is poisonous.",
    "Keep acid in its own bottle, upright, locked away from children, below eye height, and apart "
    "from bleach and metal. Local rules may ask for more, or for a licence.",
)
STRONG_ACID = (
    "This acid burns on touch. If you have never handled it, let someone trained do it, or mix the "
    "water with rain water, which needs no acid."
)
NITRIC = "Nitric acid gives off poisonous fumes and sets cloth and wood on fire."
CITRIC = (
    "Citric acid feeds microbes: they take the oxygen from the roots, and the pH creeps back in "
    "days. Never add more of it than the recipe says; measure the pH again; keep the vessel dark."
)


def texts(dose: Dose | None) -> tuple[str, ...]:
    """The cautions of a recipe, with those of its acid."""
    if dose is None:
        return SALTS
    more: list[str] = list(ACID)
    if dose.acid.hazard >= 3:
        more.append(STRONG_ACID)
    if dose.acid.element == "N":
        more.append(NITRIC)
    if dose.acid.name == "citric":
        more.append(CITRIC)
    return (*more, *SALTS)


def dissolving_order(salts: Sequence[Salt]) -> list[Salt]:
    """Order in which to dissolve: those without calcium, phosphates before sulfates; calcium last.

    Extension practice, from memory: the complete fertilizer, then magnesium sulfate, then calcium
    nitrate, each fully dissolved.
    """
    return sorted(salts, key=lambda s: (s.calcium, -s.shares.get("P", 0.0), s.name))


def steps(salts: Sequence[Salt], dose: Dose | None) -> list[str]:
    """How to mix, one step a line; the amounts stand elsewhere."""
    out = ["Fill three quarters of the water into a clean vessel that stands where it will stay."]
    if dose is not None:
        verb = "Stir in" if dose.acid.powder else "Pour in, slowly and stirring,"
        out.append(f"{verb} the {dose.acid.name} acid.")
    for salt in dissolving_order(salts):
        last = " last, when all else is clear" if salt.calcium and len(salts) > 1 else ""
        out.append(f"Dissolve {salt.name}{last}; stir until nothing is left to see.")
    out.append("Fill up to the full volume, stir, wait half an hour, then measure EC and pH.")
    return out
