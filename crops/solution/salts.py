"""Fertilizers: what one gram holds, from a guaranteed analysis or from a formula.

Labels state nitrogen as N, phosphorus as P2O5, potassium as K2O; calcium, magnesium and sulfur as
elements (United States) or as CaO, MgO, SO3 (Europe).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from crops.solution import formula

N_NITRATE, N_AMMONIUM, N_OTHER = "N_NO3", "N_NH4", "N_other"
NITROGEN = (N_NITRATE, N_AMMONIUM, N_OTHER)
MAIN = ("N", "P", "K", "Ca", "Mg", "S")  # what a target is written in
ELEMENTS = (*NITROGEN, "P", "K", "Ca", "Mg", "S", "Cl", "Na", "Fe", "Mn", "Zn", "Cu", "B", "Mo")

Composition = Mapping[str, float]

OXIDES = {
    "P2O5": ("P", formula.oxide_factor("P2O5", "P")),
    "K2O": ("K", formula.oxide_factor("K2O", "K")),
    "CaO": ("Ca", formula.oxide_factor("CaO", "Ca")),
    "MgO": ("Mg", formula.oxide_factor("MgO", "Mg")),
    "SO3": ("S", formula.oxide_factor("SO3", "S")),
}
_GRADE = re.compile(r"(\d{1,2}(?:\.\d+)?)\s*-\s*(\d{1,2}(?:\.\d+)?)\s*-\s*(\d{1,2}(?:\.\d+)?)")

# Grams that dissolve in a litre of water at 20 degC: handbook values, from memory. Double and
# mixed fertilizers without a figure of their own are taken at the cautious last value.
_SOLUBLE = {
    "Ca(NO3)2.4H2O": 1200.0,
    "5Ca(NO3)2.NH4NO3.10H2O": 1100.0,
    "KNO3": 316.0,
    "KH2PO4": 226.0,
    "MgSO4.7H2O": 700.0,
    "NH4H2PO4": 370.0,
    "K2SO4": 111.0,
    "CaCl2.2H2O": 900.0,
    "KCl": 340.0,
    "NH4NO3": 1900.0,
    "(NH4)2SO4": 750.0,
    "Mg(NO3)2.6H2O": 1200.0,
    "KHCO3": 330.0,
}
UNKNOWN_SOLUBILITY = 100.0


class SaltFault(ValueError):
    """A fertilizer that cannot be; says why."""


@dataclass(frozen=True)
class Salt:
    """A fertilizer.

    Attributes
    ----------
    name : the grower's name for it.
    shares : names of `ELEMENTS` to mass shares [g/g]; what is not named is not in it.
    parts : its share by mass in a fixed way of mixing [-]; None: the computation decides.
    solubility : grams that dissolve in a litre of water at 20 degC [g/L].
    stated : how it was written, such as ``4-18-38`` or ``KNO3``.
    """

    name: str
    shares: Composition
    parts: float | None = None
    solubility: float = UNKNOWN_SOLUBILITY
    stated: str = ""

    @property
    def calcium(self) -> bool:
        """Whether calcium is a main part of it."""
        return self.shares.get("Ca", 0) > 0.01

    @property
    def clouds_calcium(self) -> bool:
        """Whether its concentrate makes a calcium concentrate cloudy: sulfate or phosphate."""
        return self.shares.get("S", 0) > 0.005 or self.shares.get("P", 0) > 0.005


def from_formula(name: str, text: str, parts: float | None = None) -> Salt:
    """A salt from its chemical formula.

    Raises
    ------
    SaltFault
        No formula, or nothing in it that feeds a plant.
    """
    try:
        found = formula.mass_shares(text)
    except formula.FormulaFault as error:
        raise SaltFault(str(error)) from error
    nitrate, ammonium = found.pop("NO3", 0.0), found.pop("NH4", 0.0)
    shares = {
        N_NITRATE: nitrate,
        N_AMMONIUM: ammonium,
        N_OTHER: found.get("N", 0.0) - nitrate - ammonium,
    }
    shares |= {e: found.get(e, 0.0) for e in ELEMENTS if e not in NITROGEN}
    shares = {e: v for e, v in shares.items() if v > 1e-9}
    if not shares:
        raise SaltFault(f"{text!r} holds none of {', '.join(MAIN)}")
    soluble = {"".join(k.split()): v for k, v in _SOLUBLE.items()}
    plain = re.sub(r"[\u00b7\u2022*]", ".", "".join(text.split()))
    return Salt(name, shares, parts, soluble.get(plain, UNKNOWN_SOLUBILITY), text)


def from_analysis(
    name: str,
    grade: str,
    others: Composition | None = None,
    ammonium: float = 0.0,
    urea: float = 0.0,
    parts: float | None = None,
) -> Salt:
    """A fertilizer from its guaranteed analysis.

    Parameters
    ----------
    grade : N-P2O5-K2O in percent by mass, such as ``15.5-0-0``.
    others : further lines of the label in percent: elements, or CaO, MgO, SO3.
    ammonium, urea : of the nitrogen, percent of the product as ammonium and as urea; the rest is
        taken as nitrate, as in the fertilizers made for hydroponics (common practice, no source).

    Raises
    ------
    SaltFault
        No grade, an unknown line, or shares that cannot be.
    """
    match = _GRADE.fullmatch(grade.strip())
    if match is None:
        raise SaltFault(f"{grade!r}; expected N-P2O5-K2O in percent, such as 15.5-0-0")
    n, p2o5, k2o = (float(g) for g in match.groups())
    if ammonium + urea > n + 1e-9:
        raise SaltFault(f"{ammonium + urea:g} % ammonium and urea nitrogen of {n:g} % nitrogen")
    percent = {
        N_NITRATE: n - ammonium - urea,
        N_AMMONIUM: ammonium,
        N_OTHER: urea,
        "P": p2o5 * OXIDES["P2O5"][1],
        "K": k2o * OXIDES["K2O"][1],
    }
    for line, value in (others or {}).items():
        element, factor = OXIDES.get(line, (line, 1.0))
        if element not in ELEMENTS or element in NITROGEN:
            raise SaltFault(f"{line!r}; expected one of {', '.join(ELEMENTS[3:])}, CaO, MgO, SO3")
        if percent.get(element, 0) > 0:
            raise SaltFault(f"{element} is stated twice")
        percent[element] = value * factor
    if any(v < 0 for v in percent.values()) or n + p2o5 + k2o > 100 or sum(percent.values()) > 100:
        raise SaltFault("shares of more than 100 % or below 0 %")
    shares = {e: v / 100 for e, v in percent.items() if v > 1e-9}
    if not shares:
        raise SaltFault("a fertilizer of which nothing feeds a plant")
    return Salt(name, shares, parts, UNKNOWN_SOLUBILITY, grade)


@dataclass(frozen=True)
class Way:
    """A common way of mixing: which fertilizers, in which proportion by mass, and what it is."""

    name: str
    salts: tuple[Salt, ...]
    meaning: str
    notes: tuple[str, ...] = field(default_factory=tuple)


def _calcium_nitrate(parts: float) -> Salt:
    # The usual granular calcium nitrate, 15.5-0-0 with 19 % Ca and 1.1 % of it ammonium nitrogen:
    # label figures from memory; the formula 5Ca(NO3)2.NH4NO3.10H2O gives 15.55 % N, 18.5 % Ca.
    salt = from_analysis("calcium nitrate", "15.5-0-0", {"Ca": 19.0}, ammonium=1.1, parts=parts)
    return Salt(salt.name, salt.shares, parts, _SOLUBLE["5Ca(NO3)2.NH4NO3.10H2O"], salt.stated)


# Ratios: 4-18-38, calcium nitrate and magnesium sulfate 2:2:1 seen on a secondary page; 0.98 g/L
# of 5-12-26 with 0.65 g/L of calcium nitrate from memory, its magnesium and sulfur (6 and 8 %)
# too; the one-bag grade, and iron to molybdenum of all, from memory. Generic grades, no product.
THREE_SALT = Way(
    "three-salt",
    (
        from_analysis(
            "complete fertilizer 4-18-38",
            "4-18-38",
            {"Fe": 0.40, "Mn": 0.20, "Zn": 0.05, "Cu": 0.05, "B": 0.20, "Mo": 0.01},
            parts=2,
        ),
        from_formula("magnesium sulfate", "MgSO4.7H2O", parts=1),
        _calcium_nitrate(2),
    ),
    "complete fertilizer without calcium, calcium nitrate and magnesium sulfate 2:2:1",
)
TWO_PART = Way(
    "two-part",
    (
        from_analysis(
            "complete fertilizer 5-12-26",
            "5-12-26",
            {
                "Mg": 6.0,
                "S": 8.0,
                "Fe": 0.30,
                "Mn": 0.05,
                "Zn": 0.015,
                "Cu": 0.015,
                "B": 0.05,
                "Mo": 0.01,
            },
            parts=0.98,
        ),
        _calcium_nitrate(0.65),
    ),
    "complete fertilizer with magnesium and sulfur, and calcium nitrate 3:2",
)
ONE_BAG = Way(
    "one-bag",
    (
        from_analysis(
            "one-bag 10-5-14",
            "10-5-14",
            {
                "Ca": 7.0,
                "Mg": 2.0,
                "S": 1.0,
                "Fe": 0.15,
                "Mn": 0.04,
                "Zn": 0.01,
                "Cu": 0.005,
                "B": 0.02,
                "Mo": 0.003,
            },
            ammonium=0.5,
            parts=1,
        ),
    ),
    "one fertilizer with everything in it",
    ("Shake the bag before weighing: its grains part on the way.",),
)
WAYS: dict[str, Way] = {w.name: w for w in (THREE_SALT, TWO_PART, ONE_BAG)}


def nitrogen(composition: Composition) -> float:
    """All nitrogen of a composition, whatever its form."""
    return sum(composition.get(n, 0.0) for n in NITROGEN)


def main_elements(composition: Composition) -> dict[str, float]:
    """N, P, K, Ca, Mg, S of a composition."""
    return {e: nitrogen(composition) if e == "N" else composition.get(e, 0.0) for e in MAIN}


# Named targets [mg/L] at full strength. Hoagland & Arnon 1950, California Agricultural Experiment
# Station Circular 347: KH2PO4 1, KNO3 5 (6), Ca(NO3)2 5 (4), MgSO4 2 mmol/L; No. 2 with NH4H2PO4
# in place of KH2PO4. Recipes from memory, totals published elsewhere as 210/31/235/200/48.6/64.
TARGETS: dict[str, dict[str, float]] = {
    "hoagland-1": {"N": 210.1, "P": 31.0, "K": 234.6, "Ca": 200.4, "Mg": 48.6, "S": 64.1},
    "hoagland-2": {"N": 210.1, "P": 31.0, "K": 234.6, "Ca": 160.3, "Mg": 48.6, "S": 64.1},
    # Middle of the lettuce recipes of handbooks, from memory: N 125-190, P 30-50, K 130-235,
    # Ca 90-200, Mg 24-50, S 30-65 mg/L.
    "leafy": {"N": 150.0, "P": 40.0, "K": 190.0, "Ca": 140.0, "Mg": 35.0, "S": 45.0},
}
