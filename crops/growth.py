"""How a plant's mass and its leaves go with its progress: one curve, that of expolinear growth.

Goudriaan & Monteith 1990, Annals of Botany 66:695-701 (abstract): while leaves are few, growth goes
with their area and is exponential; once they shade each other, with the light that falls, and is
linear. Progress is the time of that curve: a day counts by its warmth and light
(`development.daily_rate`), 0 is transplanting, 1 ready. The numbers below are fitted to published
ratios of mass, together with the responses to warmth and light, by
``tests/reference/fit_growth.py``; ``tests/reference/growth_fit.md`` tells what they leave over.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from crops.radiation import Array

# Relative growth while exponential, a unit of progress; progress at which growth turns linear.
RELATIVE, TURN = 6.4, 0.30
# A ripe head goes on growing in the hold, in a line, up to here: common practice, no source.
LATEST = 1.5
FULL = math.log1p(math.exp(RELATIVE * (1 - TURN)))

# Progress between which leaf area, and what a plant drinks, is a straight line: so that running
# sums tell what is drunk from any day on. Off the curve by 1.3 % of the full area at most.
KNOTS = (0.0, 0.25, 0.5, 1.0, LATEST)


def mass_share(progress: ArrayLike) -> Array:
    """Mass of a plant over its harvest mass [-] at a progress; past 1 it goes on in a line."""
    x = np.clip(np.asarray(progress, float), 0, LATEST)
    share: Array = np.log1p(np.exp(RELATIVE * (x - TURN))) / FULL
    return share


def harvest_share(progress: ArrayLike) -> Array:
    """Share of the harvest mass that a pick brings [0..1]: no more is promised of a late one."""
    share: Array = np.minimum(mass_share(progress), 1.0)
    return share


def progress_at(share: float) -> float:
    """Progress at which a plant has a ``share`` (0..1] of its harvest mass."""
    return TURN + math.log(math.expm1(share * FULL)) / RELATIVE


def leaf_area(mass: ArrayLike) -> Array:
    """Leaf area over that at harvest [-]: a plant keeps its shape, so area goes with mass^(2/3)."""
    area: Array = np.asarray(mass, float) ** (2 / 3)
    return area


AREAS = leaf_area(mass_share(KNOTS))  # at `KNOTS`
