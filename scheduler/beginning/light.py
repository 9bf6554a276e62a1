"""How much of the open sky's light reaches a tier, from where its column stands.

A stated simple geometry, no measurement. The sky is equally bright all over (overcast), plants
grow out of the vessel's side and their leaves lie level, `OUT` from it. What stands in front of the
sky takes the share of it that a level leaf would see there: its view factor. The vessels above are
a rectangle beside the plant; a wall is one behind the column that goes on to both sides; a balcony
shows the sky through the gap between railing and ceiling only. View factors of a small level plate
and a rectangle upright beside it: textbooks of radiative heat transfer (from memory), tested
against sums over the hemisphere.
"""

from __future__ import annotations

from math import atan, hypot, pi

OPEN, WALL, BALCONY = "open", "wall", "balcony"
STANDS = (OPEN, WALL, BALCONY)

# Invented but usual measures [m]; measure light where it matters.
OUT = 0.12  # of the leaves' middle from the vessel's side
FLOOR = 0.3  # of the lowest vessel's foot over the floor
WALL_HEIGHT, WALL_BEHIND = 2.5, 0.5
RAILING, CEILING, FROM_RAILING = 1.0, 2.6, 0.4


def beside(width: float, height: float, away: float) -> float:
    """Share of the sky's light [0..1] that an upright rectangle takes from a level leaf.

    The rectangle stands on the leaf's level, the leaf ``away`` [m] from the middle of its foot.
    """
    if height <= 0:
        return 0.0
    half = width / 2
    far = hypot(height, away)
    corner = atan(half / away) - away / far * atan(half / far)
    return corner / pi


def endless(low: float, high: float, away: float) -> float:
    """The same of a wall without ends, from ``low`` to ``high`` over the leaf [m]."""
    low, high = max(low, 0.0), max(high, 0.0)
    return max(away / hypot(low, away) - away / hypot(high, away), 0.0) / 2


TALL = 1.6  # a stack of this height must be tied [m]; common practice, no source


def height_of(tiers: int, height: float) -> float:
    """How tall a column stands [m]; ``height`` of a vessel [m]."""
    return FLOOR + tiers * height


def shares(stand: str, tiers: int, width: float, height: float) -> list[float]:
    """Share of the open sky's light in each tier from the top [0..1].

    Parameters
    ----------
    stand : one of `STANDS`; width, height : of a vessel [m].
    """
    out = []
    for k in range(tiers):
        over = FLOOR + (tiers - k - 0.5) * height  # of the leaf over the floor
        above = beside(width, k * height, OUT)
        if stand == BALCONY:
            # The gap between railing and ceiling is all there is; half of it is at the plant's back
            # for those on the inner side, which are not counted apart.
            sky = endless(RAILING - over, CEILING - over, FROM_RAILING)
            sky *= 1 - above
        else:
            sky = 1 - above
            if stand == WALL:
                sky -= endless(0.0, WALL_HEIGHT - over, WALL_BEHIND)
        out.append(round(max(sky, 0.02), 2))
    return out
