"""The course of a tier for its estimate from that of its batch, where no table of years is at hand.

`watch` has a table of forecasts beside the plan, made from weather years. A season planned again,
or looked back on, has a batch's course in the weather of its garden alone; how far years stray from
it is then taken from what is usual. Simulated tiers are foretold as well with these numbers as with
the tables of their own plans (tests/bench/tier_thirst.md).
"""

from __future__ import annotations

import numpy as np

from crops.radiation import Array
from scheduler.levels.estimate import Course

# What the weather of days and weeks adds to a day, one standard deviation as a share of what is
# drunk on it; how level, slope and pace differ from year to year, and how they go together. Middle
# of the tables of the plans for the two examples (of a day 0.35 to 0.50; level 0.09 to 0.25, slope
# 0.02 to 0.40, pace 0.09 to 0.20: wide in spring and autumn, narrow in summer).
OF_A_DAY = 0.41
LEVEL, SLOPE, PACE = 0.15, 0.20, 0.12
TOGETHER = {"level, slope": -0.7, "level, pace": 0.7, "slope, pace": -0.7}
# Progress strays from its own pace by this much: the same tables, 0.01 to 0.06.
STRAYS = 0.03


def year_spread() -> list[list[float]]:
    """Covariance over the years of level, slope and pace [3 x 3]."""
    sd = np.array([LEVEL, SLOPE, PACE])
    r = np.eye(3)
    for (i, j), both in zip(((0, 1), (0, 2), (1, 2)), TOGETHER.values(), strict=True):
        r[i, j] = r[j, i] = both
    spread: list[list[float]] = (r * np.outer(sd, sd)).tolist()
    return spread


def course_from(drinks: Array, progress: Array) -> Course:
    """A tier's course from what it is expected to drink [L; n] and its progress [-; n + 1]."""
    leaf = np.minimum(progress[:-1], 1.0) - 0.5
    return Course(
        drinks.tolist(),
        (drinks * leaf).tolist(),
        ((OF_A_DAY * drinks) ** 2).tolist(),
        progress.tolist(),
        (STRAYS * progress).tolist(),
        year_spread(),
    )
