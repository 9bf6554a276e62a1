"""What a solution may hold: too little is told, too much is told, what poisons is refused.

All in mg/L of the mix as it stands. Short and high are the ends of what handbooks on nutrient
solutions give for leaf crops, rounded outwards (from memory), where no source stands beside them.
Roots stand in it for weeks and it grows stronger as it is drunk, so the limits are narrow.
"""

from __future__ import annotations

from dataclasses import dataclass

from crops.solution.salts import MAIN, N_AMMONIUM, N_OTHER, Composition, nitrogen


@dataclass(frozen=True)
class Limit:
    """Limits of one element [mg/L]; None: no such limit.

    Attributes
    ----------
    name : in words; low : below it a crop goes short; high : above it there is too much; toxic :
        above it the mix is refused; source : where ``toxic`` is from.
    """

    name: str
    low: float | None = None
    high: float | None = None
    toxic: float | None = None
    source: str = ""


OWN = "own judgement"
FAO = "FAO Irrigation and Drainage Paper 29"
# FAO 29, Table 21 (from memory): copper is toxic to a number of plants at 0.1 to 1.0 mg/L in
# nutrient solutions, zinc at widely varying concentrations, 2.0 recommended as the most; manganese
# at a few tenths to a few mg/L. FAO 29, Table 1 (seen in a copy): boron above 3.0 mg/L and
# chloride above 10 meq/L (355 mg/L) are a severe restriction, 0.7 and 4 meq/L (142 mg/L) none;
# sodium is held to the same 10 meq/L (230 mg/L). Iron and molybdenum: own judgement, far above any
# recipe. Sodium up to 50 mg/L: advice for hydroponic lettuce (seen in a secondary copy).
# Lettuce grew best at 160 N, 4 P and 80 K mg/L in a dissertation on its response (Brigham Young
# University 2016, abstract): low limits of P and K lie at or above that.
LIMITS: dict[str, Limit] = {
    "N": Limit("nitrogen", 50.0, 300.0),
    "P": Limit("phosphorus", 10.0, 100.0),
    "K": Limit("potassium", 80.0, 500.0),
    "Ca": Limit("calcium", 50.0, 400.0),
    "Mg": Limit("magnesium", 12.0, 120.0),
    "S": Limit("sulfur", 10.0, 400.0),
    "Fe": Limit("iron", 0.5, 6.0, 20.0, OWN),
    "Mn": Limit("manganese", 0.1, 2.0, 5.0, FAO),
    "Zn": Limit("zinc", 0.02, 0.6, 2.0, FAO),
    "Cu": Limit("copper", 0.01, 0.4, 1.0, FAO),
    "B": Limit("boron", 0.1, 2.0, 3.0, FAO),
    "Mo": Limit("molybdenum", 0.005, 0.2, 1.0, OWN),
    "Cl": Limit("chloride", None, 142.0, 355.0, FAO),
    "Na": Limit("sodium", None, 50.0, 230.0, FAO),
}
# Of the nitrogen: leaf crops fed with more ammonium suffer, above all in warm water; urea feeds
# microbes before it feeds roots, and what they make of it is ammonia. Handbooks, from memory; half
# of the nitrogen as the limit of both: own judgement.
AMMONIUM_HIGH, MOST_SHARE = 30.0, 0.5
UREA_HIGH = 10.0


def toxic(composition: Composition) -> tuple[str, ...]:
    """What in a mix poisons a crop, one sentence each; empty: nothing."""
    out = []
    for element, limit in LIMITS.items():
        have = _have(composition, element)
        if limit.toxic is not None and have > limit.toxic * (1 + 1e-9):
            out.append(
                f"{_amount(have)} mg/L of {limit.name}; expected at most "
                f"{_amount(limit.toxic)} ({limit.source})"
            )
    whole = nitrogen(composition)
    for form, name in ((N_AMMONIUM, "ammonium"), (N_OTHER, "urea")):
        have = composition.get(form, 0.0)
        if have > 1.0 and have > MOST_SHARE * whole * (1 + 1e-9):
            out.append(
                f"{have:.0f} of {whole:.0f} mg/L of nitrogen are {name}; expected at most "
                f"half, the rest as nitrate ({OWN})"
            )
    return tuple(out)


def remarks(composition: Composition, stated: frozenset[str]) -> tuple[str, ...]:
    """What in a mix is short or high, one sentence each.

    Parameters
    ----------
    stated : elements that some label or the water's analysis names; of the others nobody has told.
    """
    short, unknown, out = [], [], []
    for element, limit in LIMITS.items():
        have = _have(composition, element)
        if limit.low is not None and have < limit.low * (1 - 1e-9):
            if element in stated or element in MAIN:
                short.append(
                    f"{limit.name} ({_amount(have)} mg/L, {_amount(limit.low)} or more is usual)"
                )
            else:
                unknown.append(limit.name)
        if limit.high is not None and have > limit.high * (1 + 1e-9):
            out.append(
                f"Much {limit.name}: {_amount(have)} mg/L, usual is up to {_amount(limit.high)}."
            )
    if short:
        out.insert(0, f"Short of {', '.join(short)}.")
    if unknown:
        out.insert(
            0,
            f"No label names {', '.join(unknown)}: a crop starves without. Look at the "
            "bag, and put what it says into the garden.",
        )
    ammonium, urea = composition.get(N_AMMONIUM, 0.0), composition.get(N_OTHER, 0.0)
    if ammonium > AMMONIUM_HIGH:
        out.append(
            f"Much ammonium: {ammonium:.0f} mg/L of nitrogen, usual is up to {AMMONIUM_HIGH:.0f}."
        )
    if urea > UREA_HIGH:
        out.append(
            f"{urea:.0f} mg/L of nitrogen are urea, of which roots get little until "
            "microbes have turned it to ammonia."
        )
    return tuple(out)


def _have(composition: Composition, element: str) -> float:
    return nitrogen(composition) if element == "N" else composition.get(element, 0.0)


def _amount(mg_per_l: float) -> str:
    """Two digits that count, nothing after the point from 10 on."""
    return f"{mg_per_l:.0f}" if mg_per_l >= 10 else f"{mg_per_l:.2g}"
