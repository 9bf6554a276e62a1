"""Vessels of common sizes to begin with, by volume and depth; or one of the grower's own.

Inside sizes, common practice, no source: every maker's differ, and a grower measures once.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from scheduler.words.words import N_

FULL = 0.8  # share of the volume that is filled at most
# Plugs as they sit in stacks: in holes at the side, leaning inwards. Sizes [cm], [degree]: common
# practice, no source; the air below a hole is above half an inch (`crops.vessel.LEAST_GAP_CM`).
PLUG, LEAN, HOLE, AIR = 6.0, 45, 4.5, 2.0
KEEP = 2.0  # depth that must be left at harvest [cm]


@dataclass(frozen=True)
class Kind:
    """A vessel: ``name``, shape and inside sizes as garden.yaml has them [cm].

    ``litres`` : brim-full; ``mass`` : empty [kg]; ``plants`` : holes to begin with.
    """

    name: str
    shape: str
    sizes: dict[str, float]
    litres: float
    depth: float
    mass: float
    plants: int

    @property
    def fill(self) -> float:
        """Fill to begin with [L]."""
        return round(self._litres(self.fill_depth), 1)

    @property
    def fill_depth(self) -> float:
        """How deep that stands [cm]: a hole and the air below it fit above."""
        low, high = 0.0, self.depth
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (
                (middle, high) if self._litres(middle) < FULL * self.litres else (low, middle)
            )
        return min(high, self.depth - HOLE - AIR) if self.plugged else high

    @property
    def plugged(self) -> bool:
        """Whether it is deep enough for plugs at the side."""
        return self.depth - HOLE - AIR > PLUG

    @property
    def hole(self) -> float:
        """Height of the holes' lower edges above the bottom [cm]."""
        return self.fill_depth + AIR

    def _litres(self, depth: float) -> float:
        """Volume up to a depth [cm]."""
        if self.shape != "round":
            return self.litres * depth / self.depth
        bottom, top = self.sizes["bottom"], self.sizes["top"]
        d = bottom + (top - bottom) * depth / self.depth
        return pi / 12 * depth * (bottom**2 + bottom * d + d**2) / 1000

    @property
    def width(self) -> float:
        """How broad it is [cm]."""
        return max(v for k, v in self.sizes.items() if k != "height")

    def text(self) -> str:
        return f"{self.name}, {self.litres:g} L, {self.depth:g} cm deep"


def _round(name: str, bottom: float, top: float, height: float, mass: float, plants: int) -> Kind:
    litres = pi / 12 * height * (bottom**2 + bottom * top + top**2) / 1000
    sizes = {"bottom": bottom, "top": top, "height": height}
    return Kind(name, "round", sizes, round(litres, 1), height, mass, plants)


def _box(name: str, length: float, width: float, height: float, mass: float, plants: int) -> Kind:
    sizes = {"length": length, "width": width, "height": height}
    litres = round(length * width * height / 1000, 1)
    return Kind(name, "rectangular", sizes, litres, height, mass, plants)


COMMON = (
    _round(N_("small pail"), 20, 23, 23, 0.6, 2),
    _round(N_("pail"), 24, 28, 32, 1.1, 3),
    _round(N_("large pail"), 28, 32, 38, 1.6, 4),
    _box(N_("flat box"), 50, 35, 17, 1.8, 5),
    _box(N_("deep box"), 48, 33, 28, 2.2, 5),
)


def own(litres: float, depth: float) -> Kind:
    """A vessel of the grower's own: as a straight round one of that volume and depth [L], [cm]."""
    diameter = round(sqrt(4000 * litres / (pi * depth)), 1)
    sizes = {"diameter": diameter, "height": depth}
    plants = max(1, min(round(diameter / 8), 6))
    return Kind("own", "straight", sizes, litres, depth, round(0.4 + 0.05 * litres, 1), plants)
