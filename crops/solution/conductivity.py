"""How a solution conducts: EC from its composition, by two published methods, with their spread."""

from __future__ import annotations

import math
from dataclasses import dataclass

from crops.solution.formula import ATOMIC_WEIGHTS
from crops.solution.salts import N_AMMONIUM, N_NITRATE, Composition

# mg of CaCO3 to one milliequivalent.
CACO3 = (ATOMIC_WEIGHTS["Ca"] + ATOMIC_WEIGHTS["C"] + 3 * ATOMIC_WEIGHTS["O"]) / 2

# Name of the element, charge of the ion it stands in near pH 6 (phosphate as H2PO4-).
_CATIONS = ((N_AMMONIUM, "N", 1), ("K", "K", 1), ("Na", "Na", 1), ("Ca", "Ca", 2), ("Mg", "Mg", 2))
_ANIONS = ((N_NITRATE, "N", 1), ("P", "P", 1), ("Cl", "Cl", 1), ("S", "S", 2))

# How far a meter in a solution made to composition may stand from the mean of both methods.
# Common practice, no source; the methods themselves agree within 10 % on Hoagland solutions.
METHOD_SHARE = 0.10


@dataclass(frozen=True)
class Conductivity:
    """EC [mS/cm] at 25 degC.

    Attributes
    ----------
    handbook : USDA Handbook 60 (1954): sum of the cations [meq/L] over 10.
    ionic : Marion & Babcock 1976, Soil Science 122:181-187: from the ionic strength.
    """

    handbook: float
    ionic: float

    @property
    def value(self) -> float:
        """Mean of both methods."""
        return (self.handbook + self.ionic) / 2

    @property
    def spread(self) -> float:
        """Half the distance between the methods, and never under a tenth of the value."""
        return max(abs(self.handbook - self.ionic) / 2, METHOD_SHARE * self.value)


def equivalents(
    composition: Composition, alkalinity: float = 0.0
) -> tuple[dict[str, float], dict[str, float]]:
    """Cations and anions [meq/L] of a composition [mg/L]; alkalinity [mg/L CaCO3] as HCO3-."""
    cations = {
        name: composition.get(name, 0.0) / ATOMIC_WEIGHTS[element] * charge
        for name, element, charge in _CATIONS
    }
    anions = {
        name: composition.get(name, 0.0) / ATOMIC_WEIGHTS[element] * charge
        for name, element, charge in _ANIONS
    }
    anions["HCO3"] = alkalinity / CACO3
    return cations, anions


def conductivity(composition: Composition, alkalinity: float = 0.0) -> Conductivity:
    """EC of a solution.

    Parameters
    ----------
    composition : [mg/L] by names of `salts.ELEMENTS`; urea does not conduct.
    alkalinity : [mg/L CaCO3] left in it.

    A label seldom names every ion. What is missing to balance the charges is counted as ions of
    one charge, and equivalents are taken from the side on which there are more.
    """
    cations, anions = equivalents(composition, alkalinity)
    plus, minus = sum(cations.values()), sum(anions.values())
    double = cations["Ca"] + cations["Mg"] + anions["S"]
    # Half the sum of concentration times charge squared: an ion of two charges counts its meq twice
    strength = (plus + minus + double + abs(plus - minus)) / 2
    ionic = 10 ** ((math.log10(strength) - 1.159) / 1.009) if strength > 1e-6 else 0.0
    return Conductivity(max(plus, minus) / 10, ionic)
