"""What would happen to one crop in one kind of tier, for every transplanting day at once.

Arrays are indexed [start, day after transplanting]; no Python loop runs over days or starts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from crops import demand, development
from crops.crop import Crop
from crops.vessel import Vessel
from scheduler.garden.model import Garden, Tier
from scheduler.garden.placed import weather_at

HORIZON = 150  # days after transplanting that are looked at; no leafy crop stands longer in a tier
NEVER = 1 << 20  # a day index past every season


@dataclass(frozen=True)
class Course:
    """Water and growth of one crop in one kind of tier.

    Attributes
    ----------
    crop, tier : what stands where.
    starts : transplanting days [m], indices from the season's first day.
    ready : first morning on which the crop is ready [m]; `NEVER` if the weather ends first.
    drunk : mL drunk by one plant from filling to the morning of day h [m, H + 1].
    growth : progress on the morning of day h [m, H + 1].
    """

    garden: Garden
    crop: Crop
    tier: Tier
    starts: np.ndarray
    ready: np.ndarray
    drunk: np.ndarray
    growth: np.ndarray

    @cached_property
    def vessel(self) -> Vessel:
        return self.garden.vessels[self.tier.vessel]

    @cached_property
    def known(self) -> np.ndarray:
        """Days after each start for which there is weather [m]."""
        days: np.ndarray = np.minimum(len(self.garden.site.weather) - self.starts, HORIZON)
        return days

    def litres(self, drunk_ml: np.ndarray) -> np.ndarray:
        """Level [L] after ``drunk_ml`` [mL] in all."""
        return np.maximum(self.vessel.fill_l - drunk_ml / 1000, 0.0)

    def tier_drunk(self, events: np.ndarray, left: np.ndarray) -> np.ndarray:
        """mL drunk by the whole tier up to each morning, the last pick not made [m, H + 1].

        Parameters
        ----------
        events : days after transplanting of the picks before the last one [m, e]; `NEVER`: none.
        left : plants (or their demand share) left after each of them [m, e].
        """
        total = self.drunk * self.tier.plants
        before = np.full(len(self.starts), float(self.tier.plants))
        rows = np.arange(len(self.starts))
        for k in range(events.shape[1]):
            day = np.minimum(events[:, k], self.drunk.shape[1] - 1)
            since = np.clip(self.drunk - self.drunk[rows, day][:, None], 0, None)
            less = np.where(events[:, k] < NEVER, before - left[:, k], 0.0)
            total = total - since * less[:, None]
            before = np.where(events[:, k] < NEVER, left[:, k], before)
        return total

    def first_at_or_below(self, litres: np.ndarray, floor: float) -> np.ndarray:
        """First day after transplanting with the level at or below ``floor`` [m], or `NEVER`."""
        low = litres <= floor + 1e-9
        first = np.where(low.any(axis=1), low.argmax(axis=1), NEVER)
        return np.where(first <= self.known, first, NEVER)

    def share_on(self, after: np.ndarray, which: np.ndarray) -> np.ndarray:
        """Share of its full mass that a head has, days ``after`` a start [n, e]; 1 once ripe.

        ``which`` : places of the starts [n].
        """
        at = np.clip(after, 0, self.growth.shape[1] - 1)
        grown = self.growth[which[:, None], at]
        return np.where(grown >= 1 - 1e-9, 1.0, development.harvest_share(grown))

    def plant_kg(self) -> np.ndarray:
        """Mass of one plant on each morning [kg, m x (H + 1)]."""
        return self.crop.fresh_mass * development.weight_share(self.crop, self.growth) / 1000


def course(garden: Garden, crop: Crop, tier: Tier, starts: np.ndarray) -> Course:
    """The course of ``crop`` in ``tier`` for each transplanting day of ``starts`` [m]."""
    weather = weather_at(garden, tier)
    n = len(weather)
    total = development.running_sum(development.daily_rate(crop, weather, tier.light))
    ready = development.first_reach(total, starts)
    ready = np.where(ready <= n - 1, ready, NEVER)
    days = starts[:, None] + np.arange(HORIZON + 1)[None, :]
    growth = total[np.minimum(days, n)] - total[starts][:, None]
    at = np.minimum(days[:, :-1], n - 1)
    et0, sun, air = demand.taken(weather)
    lost = et0 * demand.light_response(tier.light, sun, air)
    per_mm = crop.peak_demand / crop.demand_et0
    drinks = per_mm * demand.leaf_share(crop, growth[:, :-1]) * lost[at]
    drunk = np.concatenate([np.zeros((len(starts), 1)), np.cumsum(drinks, axis=1)], axis=1)
    return Course(garden, crop, tier, starts, ready, drunk, growth)
