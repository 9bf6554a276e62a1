"""Young heads: picked before they are full, where the grower allows it and years are looked at.

Of the mean year nothing is picked young: plans of that year are those of earlier versions.
"""

from __future__ import annotations

import numpy as np

from crops import development
from crops.crop import Crop
from crops.years import carried_by
from scheduler.batches.courses import NEVER
from scheduler.batches.patterns import Pattern, hold_days, service_class
from scheduler.garden.model import EventWeeks, Garden, Season, Tier
from scheduler.garden.placed import weather_at

MOST_YEARS = 0.8  # in which a head is large enough on the day it is planned for; own judgement


def least_share(garden: Garden, crop: Crop) -> float | None:
    """Share of its full mass [0..1] from which a crop may be picked; None: only when it is ripe."""
    if crop.cuts > 1 or garden.limits.young >= 1 or carried_by(garden.site.weather) is None:
        return None
    return garden.limits.young


def first_day(
    garden: Garden, crop: Crop, tier: Tier, starts: np.ndarray, least: float
) -> np.ndarray:
    """First morning on which four years of five have the share ``least`` of the mass [m].

    A head that is planned young has no days in hand: planned for the mean of the years it would be
    too small in half of them.
    """
    return development.reached_in(
        crop,
        weather_at(garden, tier),
        tier.light,
        starts,
        development.progress_at(least),
        MOST_YEARS,
    )


def patterns(
    season: Season,
    crop: Crop,
    plants: int,
    first: np.ndarray,
    last: np.ndarray,
    events: EventWeeks = (),
) -> list[Pattern]:
    """All heads on one day from ``first`` to ``last`` of each start [m].

    Produce counts by week: of the days that serve the same weeks the first frees the tier soonest,
    the last gives most.
    """
    days = hold_days(season, first, last)
    there = days < NEVER
    m, n = days.shape
    if not there.any():
        return []
    classes = np.where(
        there, service_class(season, crop.storage_life, events)[np.where(there, days, 0)], -1
    )
    opens = there & (np.diff(classes, axis=1, prepend=-2) != 0)
    closes = there & (np.diff(classes, axis=1, append=-2) != 0)
    out = []
    for column in range(n):
        day = np.where((opens | closes)[:, column], days[:, column], NEVER)
        if (day < NEVER).any():
            out.append(Pattern(day[:, None], np.full((m, 1), plants)))
    return out
