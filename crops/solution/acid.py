"""Acid against the alkalinity of source water: how much, and what it brings in.

Alkalinity is taken as bicarbonate in a closed vessel (no carbonic acid escapes while mixing). The
share left at a pH follows from the first dissociation of carbonic acid, pK 6.35 at 25 degC; an
acid of several steps gives what its own steps have given off at that pH (constants from memory,
handbook values). Same reckoning as Whipker et al. 1996, Communications in Soil Science and Plant
Analysis 27:959-976 (abstract).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from crops.solution import formula
from crops.solution.conductivity import CACO3
from crops.solution.formula import ATOMIC_WEIGHTS

CARBONIC_PK = 6.35
# Carbonic acid in water that stands open to the air [mol/L]: Henry's constant 10^-1.47 mol/L/atm at
# 25 degC (handbook value, from memory) times 420 ppm of carbon dioxide.
AIR_CARBONIC = 10**-1.47 * 420e-6
PH_RANGE = (4.0, 8.0)  # targets outside harm roots or hands; refused

# At most 2.25 fl oz of 75 % phosphoric acid in 100 US gal, because of the phosphorus: UMass
# Extension, Adjusting alkalinity with acids. In mL per litre.
PHOSPHORIC_LIMIT = 2.25 * 29.5735 / (100 * 3.785412)

# An acid that microbes eat takes the oxygen of a tank that stands for weeks, and the alkalinity
# comes back: no more of it than this [meq/L]. Own judgement. Water holds about 8 mg/L of oxygen at
# 25 degC (standard tables, from memory).
EATEN_MOST = 0.3
WATER_OXYGEN = 8.0


class AcidFault(ValueError):
    """A dose that is refused; says why and what to do instead."""


@dataclass(frozen=True)
class Acid:
    """An acid as bought.

    Attributes
    ----------
    name, formula : what it is.
    share : mass share of the pure acid [g/g]; density [g/mL], 0 for a powder weighed in grams.
    steps : pK of each hydrogen it gives off; strong steps stand far below any pH here.
    element : the element it feeds and grams of it per gram of pure acid.
    hazard : to hands and eyes, 1 safest to 5 (trade table; nitric also fumes and oxidizes: UMass
        Extension).
    roots : to roots in a tank that stands, 1 harmless to 5. Own judgement: what is eaten takes
        their oxygen; phosphate adds up and ties iron.
    oxygen : moles of oxygen that microbes take to eat a mole of it; 0: they do not.
    """

    name: str
    formula: str
    share: float
    density: float
    steps: tuple[float, ...]
    element: str = ""
    hazard: int = 1
    roots: int = 1
    oxygen: float = 0.0

    @property
    def powder(self) -> bool:
        return self.density == 0

    @property
    def per_gram(self) -> float:
        """Moles of acid in a gram of what is bought [mol/g]."""
        return self.share / formula.molar_mass(self.formula)

    @property
    def element_share(self) -> float:
        """Grams of its element in a gram of what is bought [g/g]."""
        if not self.element:
            return 0.0
        return self.share * formula.mass_shares(self.formula)[self.element]

    def equivalents(self, ph: float) -> float:
        """Hydrogen a mole has given off at a pH [eq/mol]."""
        given = 0.0
        chance = [1.0]
        for pk in self.steps:  # weights of the species, from all hydrogens kept to all given
            chance.append(chance[-1] * 10 ** (ph - pk))
        total = sum(chance)
        for k, weight in enumerate(chance):
            given += k * weight / total
        return given


# Densities at 20 degC and dissociation constants: handbook values, from memory. Sulfuric acid
# stronger than 35 % is left out on purpose: it boils and spits when water meets it.
ACIDS: dict[str, Acid] = {
    a.name: a
    for a in (
        Acid("citric", "C6H8O7", 0.995, 0.0, (3.13, 4.76, 6.40), hazard=1, roots=4, oxygen=4.5),
        Acid("phosphoric 75 %", "H3PO4", 0.75, 1.579, (2.15, 7.20, 12.35), "P", 3, 2),
        Acid("phosphoric 85 %", "H3PO4", 0.85, 1.685, (2.15, 7.20, 12.35), "P", 3, 2),
        Acid("sulfuric 35 %", "H2SO4", 0.35, 1.26, (-3.0, 1.99), "S", 3),
        Acid("nitric 67 %", "HNO3", 0.67, 1.40, (-1.4,), "N", 5),
    )
}
DEFAULT_ACID = "citric"  # the least dangerous to hands, and so the one to take unasked, in little
# By the worse of what they do to hands and to roots, then by both.
RANKED = tuple(
    sorted(
        ACIDS,
        key=lambda n: (max(ACIDS[n].hazard, ACIDS[n].roots), ACIDS[n].hazard + ACIDS[n].roots),
    )
)


@dataclass(frozen=True)
class Dose:
    """Acid for a volume of water.

    Attributes
    ----------
    acid : which; amount : [mL], or [g] for a powder, for the whole volume.
    neutralized, left : alkalinity taken away and left [mg/L CaCO3].
    element, mg_per_l : what it feeds.
    ph : pH it comes to at first, with all carbonic acid still in it.
    open_ph : pH once the carbonic acid has left.
    oxygen : that microbes take to eat it [mg/L]; eaten_ph : pH once they have.
    held : acid is held back, so that the pH wanted is not reached.
    """

    acid: Acid
    amount: float
    neutralized: float
    left: float
    element: str
    mg_per_l: float
    ph: float
    open_ph: float
    oxygen: float = 0.0
    eaten_ph: float | None = None
    held: bool = False

    @property
    def unit(self) -> str:
        return "g" if self.acid.powder else "mL"


def bicarbonate_share(ph: float) -> float:
    """Share of the dissolved carbon that still binds acid at a pH [0..1]."""
    return 1 / (1 + 10 ** (CARBONIC_PK - ph))


def alkalinity_left(alkalinity: float, ph_before: float, ph_after: float) -> float:
    """Alkalinity [mg/L CaCO3] left at ``ph_after``, with all carbon staying in.

    The water had ``alkalinity`` at ``ph_before``; never more than there was.
    """
    share = bicarbonate_share(ph_after) / bicarbonate_share(ph_before)
    return alkalinity * min(share, 1.0)


def ph_of_share(share: float) -> float:
    """The pH at which a share of the carbon binds acid: the inverse of `bicarbonate_share`."""
    return CARBONIC_PK - math.log10(1 / min(max(share, 1e-9), 1 - 1e-9) - 1)


def open_ph(alkalinity: float) -> float:
    """The pH of a solution with an alkalinity [mg/L CaCO3] that stands open to the air.

    Charges: H + alkalinity = HCO3, and HCO3 x H = K x the carbonic acid that air keeps in it.
    """
    given, product = alkalinity / CACO3 / 1000, 10**-CARBONIC_PK * AIR_CARBONIC
    return -math.log10(2 * product / (given + math.sqrt(given**2 + 4 * product)))


def neutralize(acid: Acid, removed: float, litres: float, ph: float = 6.0) -> float:
    """Acid [mL, or g of a powder] that brings ``litres`` of water down to ``ph``.

    ``removed``: what it takes out of the water [mg/L CaCO3].
    """
    moles = removed / CACO3 / 1000 * litres / acid.equivalents(ph)
    grams = moles / acid.per_gram
    return grams if acid.powder else grams / acid.density


def dose(acid: Acid, alkalinity: float, ph_before: float, ph: float, litres: float) -> Dose:
    """Acid that brings source water to a pH, as far as it is good for roots.

    Parameters
    ----------
    alkalinity : of the source water [mg/L CaCO3]; ph_before : its pH; ph : wanted.
    litres : volume [L].

    Raises
    ------
    AcidFault
        A pH outside 4 to 8, no water, an alkalinity below 0, or more phosphoric acid than its
        phosphorus allows.
    """
    low, high = PH_RANGE
    if not low <= ph <= high:
        raise AcidFault(
            f"pH {ph:g} is wanted; expected {low:g} to {high:g}: outside it roots are "
            "harmed and nutrients fall out"
        )
    if not litres > 0:
        raise AcidFault(f"{litres:g} L of water; expected more than 0 L")
    if alkalinity < 0:
        raise AcidFault(f"an alkalinity of {alkalinity:g} mg/L; expected 0 or more")
    left = alkalinity_left(alkalinity, ph_before, ph)
    held = acid.oxygen > 0 and alkalinity - left > EATEN_MOST * CACO3 * (1 + 1e-9)
    if held:
        left = alkalinity - EATEN_MOST * CACO3
        ph = ph_of_share(bicarbonate_share(ph_before) * left / alkalinity)
    removed = alkalinity - left
    amount = neutralize(acid, removed, litres, ph)
    oxygen = removed / CACO3 / acid.equivalents(ph) * acid.oxygen * 2 * ATOMIC_WEIGHTS["O"]
    pure = amount * (1.0 if acid.powder else acid.density)
    brings = pure * acid.element_share * 1000 / litres
    strong = acid.share / ACIDS["phosphoric 75 %"].share * acid.density / 1.579
    if acid.element == "P" and amount / litres * strong > PHOSPHORIC_LIMIT * (1 + 1e-9):
        raise AcidFault(
            f"{amount / litres:.2f} mL of {acid.name} acid per litre would add {brings:.0f} mg/L "
            "of phosphorus; expected at most 2.25 fl oz of 75 % acid per 100 US gal "
            "(0.176 mL/L). Take another acid, or mix the water with rain water"
        )
    return Dose(
        acid,
        amount,
        removed,
        left,
        acid.element,
        brings,
        ph,
        open_ph(left),
        oxygen,
        open_ph(alkalinity) if acid.oxygen else None,
        held,
    )
