"""One weather year of a garden, and how far crops are doubted in it: what a promise is lived in."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from crops import development
from crops.crop import Crop
from crops.learning import LEARNED
from crops.vessel import Vessel
from scheduler.garden.model import Garden, Tier
from scheduler.plans.model import Batch
from scheduler.verify.harm import solution
from scheduler.verify.places import Stays, years_in_places

if TYPE_CHECKING:
    from scheduler.years.weather_years import WeatherYears

READY = 1 - 1e-9


class Year:
    """One year of a garden: lists by day."""

    def __init__(
        self,
        garden: Garden,
        years: WeatherYears,
        number: int,
        factors: Mapping[str, tuple[float, float]],
    ) -> None:
        self.garden, self.factors = garden, factors
        self._made_of = years, number
        self._at: dict[Stays, Year] = {}
        self.low = years.tmin[number]
        self.high = years.tmax[number]
        self.dli = years.dli[number]
        self.et0, self.sun, self.air = (
            [float(x) for x in part[number]] for part in (years.et0, years.sun, years.air)
        )
        self.light_hours = years.daylength
        self._rates: dict[tuple[str, float], list[float]] = {}
        self._solutions: dict[tuple[float, str], list[float]] = {}
        self._hot: dict[str, list[float]] = {}
        self._nursery: dict[str, list[float]] = {}

    def at(self, tier: Tier) -> Year:
        """The same year where a tier stands."""
        if not tier.stays:
            return self
        if tier.stays not in self._at:
            years, n = self._made_of
            made = years_in_places(years, tier.stays, self.garden.site.elevation)
            self._at[tier.stays] = Year(self.garden, made, n, self.factors)
        return self._at[tier.stays]

    def rate(self, crop: Crop, light: float) -> list[float]:
        key = (crop.name, light)
        if key not in self._rates:
            warm = development.warmth(crop, self.low, self.high)
            fast = self.factors[crop.name][0] / crop.days_to_harvest
            rates = warm * development.lit(crop, self.dli, light) * fast
            self._rates[key] = rates.tolist()
        return self._rates[key]

    def solution(self, tier: Tier, vessel: Vessel) -> list[float]:
        """Mean of the solution of a tier that stands here on each day [degC]."""
        key = (tier.light, vessel.name)
        if key not in self._solutions:
            first = self._made_of[0].first
            made = solution(self.low, self.high, self.dli, tier, vessel, first)
            self._solutions[key] = made
        return self._solutions[key]

    def hot(self, crop: Crop) -> list[float]:
        """What each day counts as bolting."""
        if crop.name not in self._hot:
            out = []
            low, high = ([float(x) for x in row] for row in (self.low, self.high))
            for d in range(len(high)):
                week = high[max(0, d - 6) : d + 1]
                heat = crop.bolt_heat is not None and sum(week) / len(week) > crop.bolt_heat
                hours = crop.bolt_daylength
                day = float(self.light_hours[d])
                long = float(hours is not None and day > hours)
                if long and hours is not None and crop.bolt_full_daylength > hours:
                    way = min((day - hours) / (crop.bolt_full_daylength - hours), 1.0)
                    mean = float(self.low[d] + self.high[d]) / 2
                    warm = (mean - crop.t_base) / (crop.reference_temperature - crop.t_base)
                    long = way * min(max(warm, 0.0), 1.0)
                if not crop.bolt_both:
                    means = [(low[k] + high[k]) / 2 for k in range(max(0, d - 6), d + 1)]
                    near = crop.bolt_heat is not None and (
                        sum(means) / len(means) > crop.bolt_heat - 3.0
                    )
                    counts = max(float(heat), 0.25 * near, long)
                elif heat and long:
                    counts = 1.0
                else:  # hot alone, or long alone, in full from 16 h on
                    far = (day - (hours or 0.0)) / max(16.0 - (hours or 0.0), 1e-9)
                    counts = 0.25 * max(float(heat), min(max(far, 0.0), 1.0))
                if (self.low[d] + self.high[d]) / 2 < crop.bolt_cold and day > 12:
                    counts = 1.0
                out.append(counts)
            self._hot[crop.name] = out
        return self._hot[crop.name]

    def keeps(self, crop: Crop, sown: int) -> tuple[int | None, int]:
        """First and last morning on which seedlings sown on a day can be transplanted."""
        if crop.name not in self._nursery:
            warm = self.garden.nursery.temperature
            low, high = self.low, self.high
            if warm is not None:
                low = high = np.full(len(self.low), warm)
            self._nursery[crop.name] = development.nursery_rate(crop, low, high).tolist()
        grown = 0.0
        for d in range(sown, len(self.low) + 1):
            if grown >= READY - 1e-12:
                return d, d + int(crop.nursery_wait)
            if d < len(self.low):
                grown += self._nursery[crop.name][d]
        return None, 1 << 30


def doubts(
    garden: Garden, batches: Sequence[Batch], years: int, seed: int, spread: float = 0.10
) -> list[dict[str, tuple[float, float]]]:
    """By year and crop, how much faster and thirstier than its numbers say it was drawn to be.

    What finished crops have taught of a crop is sure, says the source of the number.
    """
    out: list[dict[str, tuple[float, float]]] = [{} for _ in range(years)]
    for name in {b.crop for b in batches}:
        draws = np.random.default_rng([seed, 0x60B7, zlib.crc32(name.encode())])
        fast, thirsty = np.exp(spread * draws.standard_normal((2, years))).tolist()
        written = garden.crops[name].parameters
        for key, drawn in (("days_to_harvest", fast), ("peak_demand", thirsty)):
            if key in written and written[key].source.startswith(LEARNED):
                drawn[:] = [1.0] * years
        for factors, f, t in zip(out, fast, thirsty, strict=True):
            factors[name] = (f, t)
    return out
