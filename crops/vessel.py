"""The reservoir: how depth and volume of solution hang together in one vessel."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from crops.radiation import Array

# A crop ends when under 10 % of the fill remains; a later rise above 2 cm drowns roots that grew in
# moist air: Kratky 2004, Acta Horticulturae 648:83-89, abstract.
STOP_SHARE = 0.10
LATE_RISE_CM = 2.0
# At filling the tip of a plug stands at least half an inch deep: Kratky 2010, CTAHR VC-1, p. 1; and
# as much air stays above the solution, as in a tank 3.5 in high that holds 3 in: Kratky 2005,
# J. Vegetable Science 11(1):35-42, abstract.
LEAST_DIP_CM = 1.27
LEAST_GAP_CM = 1.27
LID, SIDE = "lid", "side"


@dataclass(frozen=True)
class Plugs:
    """Where the plugs or net pots of a vessel sit.

    Attributes
    ----------
    place : ``lid``: they hang straight down from it; ``side``: they lean inwards from a hole.
    depth_cm : length of a plug inside the vessel, along its axis [cm].
    hole_cm : ``side``: height of the hole's lower edge above the bottom inside [cm].
    angle : ``side``: of the plug below the level [degree], 90: straight down.
    holes : of the vessel; None: as many as there are plants.
    """

    place: str
    depth_cm: float
    hole_cm: float = 0.0
    angle: float = 90.0
    holes: int | None = None


@dataclass(frozen=True)
class Vessel:
    """A vessel with its fill.

    Attributes
    ----------
    name : the grower's name for it.
    shape : ``round`` (straight or tapered), ``rectangular`` or ``table``.
    size_cm : round: (bottom, top diameter); rectangular: (length, width); table: depths [cm].
    height_cm : inside height [cm].
    table_l : for ``table``: volumes [L] at the depths of ``size_cm``, rising.
    fill_l : volume filled at transplanting [L].
    keep_cm : depth that must remain at harvest [cm].
    mass_kg : empty mass with lid, pots and medium [kg].
    plugs : where its plugs sit; None: not told. rain : whether rain gets into it.
    wall : of `solution_heat.WALLS`, how much of the sun it takes in.
    """

    name: str
    shape: str
    size_cm: tuple[float, ...]
    height_cm: float
    fill_l: float
    keep_cm: float = 0.0
    mass_kg: float = 1.0
    table_l: tuple[float, ...] = ()
    plugs: Plugs | None = None
    rain: bool = True
    wall: str = "grey"

    def __post_init__(self) -> None:
        if self.shape not in ("round", "rectangular", "table"):
            raise ValueError(f"shape is {self.shape!r}; expected round, rectangular or table")
        if not 0 < self.fill_l <= self.capacity_l * (1 + 1e-9):
            raise ValueError(
                f"fill of {self.fill_l:g} L; expected above 0 and at most "
                f"{self.capacity_l:.1f} L, the vessel's volume"
            )
        if self.floor_l >= self.fill_l:
            raise ValueError(
                f"keep level of {self.keep_cm:g} cm; expected below the fill depth "
                f"of {self.depth_at(self.fill_l):.1f} cm"
            )

    @property
    def capacity_l(self) -> float:
        """Volume up to the inside height [L]."""
        return self.volume_at(self.height_cm)

    @property
    def mouth_cm2(self) -> float:
        """Area of the opening, on which rain falls [cm2]."""
        if self.shape == "rectangular":
            return self.size_cm[0] * self.size_cm[1]
        if self.shape == "round":
            return math.pi * (self.size_cm[1] / 2) ** 2
        (low, high), (less, more) = self.size_cm[-2:], self.table_l[-2:]
        return (more - less) * 1000 / (high - low)

    @property
    def floor_l(self) -> float:
        """Volume at which the tier is dry [L]: keep level or 10 % of the fill, the higher."""
        return max(self.volume_at(self.keep_cm), STOP_SHARE * self.fill_l)

    @property
    def plug_top_cm(self) -> float | None:
        """Height above the bottom at which the plugs begin: the lid, or the holes [cm]."""
        if self.plugs is None:
            return None
        return self.height_cm if self.plugs.place == LID else self.plugs.hole_cm

    @property
    def tip_cm(self) -> float | None:
        """Height of the plugs' tips above the bottom [cm]; None: not told."""
        top = self.plug_top_cm
        if self.plugs is None or top is None:
            return None
        lean = 90.0 if self.plugs.place == LID else self.plugs.angle
        return top - self.plugs.depth_cm * math.sin(math.radians(lean))

    def dip_at(self, volume_l: float) -> float | None:
        """How deep the plugs' tips stand in a volume [cm], below 0 in the air; None: not told."""
        return None if self.tip_cm is None else self.depth_at(volume_l) - self.tip_cm

    @property
    def full_kg(self) -> float:
        """Mass right after filling [kg]; 1 L of solution is taken as 1 kg."""
        return self.mass_kg + self.fill_l

    def volume(self, depth_cm: ArrayLike) -> Array:
        """Volume [L] of solution at a depth [cm]."""
        import numpy as np

        h = np.asarray(depth_cm, float)
        volume: Array = (
            np.interp(h, self.size_cm, self.table_l) if self._is_table else self._volume(h)
        )
        return volume

    def volume_at(self, depth_cm: float) -> float:
        """`volume` at one depth: a line of the log does not wait for arrays to be loaded."""
        if self._is_table:
            return _between(depth_cm, self.size_cm, self.table_l)
        return float(self._volume(depth_cm))

    def depth(self, volume_l: ArrayLike) -> Array:
        """Depth [cm] of a volume [L]; the inverse of `volume`."""
        import numpy as np

        v = np.asarray(volume_l, float)
        depth: Array
        if self._is_table:
            depth = np.interp(v, self.table_l, self.size_cm)
        else:
            depth = self._depth(v, lambda cube: np.cbrt(np.clip(cube, 0, None)))
        return depth

    def depth_at(self, volume_l: float) -> float:
        """`depth` of one volume."""
        if self._is_table:
            return _between(volume_l, self.table_l, self.size_cm)
        return float(self._depth(volume_l, lambda cube: math.cbrt(max(cube, 0.0))))

    @property
    def _is_table(self) -> bool:
        return self.shape == "table"

    def _volume(self, h: Any) -> Any:
        """[L] at a depth [cm] of a vessel that is no table; a number or an array."""
        if self.shape == "rectangular":
            return self.size_cm[0] * self.size_cm[1] * h / 1000
        bottom, top = self.size_cm[0] / 2, self.size_cm[1] / 2
        slope = (top - bottom) / self.height_cm
        radius = bottom + slope * h  # frustum of a cone
        return math.pi * h / 3 * (bottom**2 + bottom * radius + radius * radius) / 1000

    def _depth(self, v: Any, root: Any) -> Any:
        """[cm] of a volume [L] in what is no table; ``root`` is the cube root of 0 or more."""
        if self.shape == "rectangular":
            return v * 1000 / (self.size_cm[0] * self.size_cm[1])
        bottom, top = self.size_cm[0] / 2, self.size_cm[1] / 2
        slope = (top - bottom) / self.height_cm
        if abs(slope) < 1e-9:
            return v * 1000 / (math.pi * bottom**2)
        return (root(3 * slope * v * 1000 / math.pi + bottom**3) - bottom) / slope


def _between(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """Linear interpolation at one place, as `numpy.interp` does it."""
    at = bisect_right(xs, x) - 1
    if at < 0:
        return ys[0]
    if at >= len(xs) - 1:
        return ys[-1]
    return (ys[at + 1] - ys[at]) / (xs[at + 1] - xs[at]) * (x - xs[at]) + ys[at]


def refuse_late_rise(vessel: Vessel, before_l: float, after_l: float) -> None:
    """Refuse an addition that lifts the level of a growing tier too far.

    Raises
    ------
    ValueError
        The level would rise by more than 2 cm: roots grown in moist air would drown
        (Kratky 2004, Acta Hort 648:83-89, abstract).
    """
    rise = float(vessel.depth(after_l) - vessel.depth(before_l))
    if rise > LATE_RISE_CM + 1e-6:  # a hair for the rounding of depth and volume
        raise ValueError(
            f"the level of {vessel.name} would rise by {rise:.1f} cm; at most {LATE_RISE_CM:g} cm, "
            "or roots that grew in moist air drown"
        )
