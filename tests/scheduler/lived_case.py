"""Gardens, plans and years for tests of living a plan."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from verify_case import LETTUCE, day, garden
from verify_case import heads as heads_of

from crops.crop import Parameter
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Tier
from scheduler.plans.model import Batch, Pick
from scheduler.years.mean_year import mean_year
from scheduler.years.weather_years import WeatherYears


def mean_years(garden: Garden, count: int = 1) -> WeatherYears:
    """Years that are all the garden's own weather."""
    one = mean_year(garden)
    rows = {n: np.tile(getattr(one, n), (count, 1)) for n in ("tmin", "tmax", "et0", "dli")}
    return replace(one, **rows, sun=one.sun[:1], air=one.air[:1])


def warmer(years: WeatherYears, by: float) -> WeatherYears:
    """The same years, warmer by so many degrees on every day."""
    return replace(years, tmin=years.tmin + by, tmax=years.tmax + by)


def thirstier(years: WeatherYears, times: float) -> WeatherYears:
    return replace(years, et0=years.et0 * times)


KNOWN = {k: Parameter("", "learned from 9 crops") for k in ("days_to_harvest", "peak_demand")}


def bed() -> Garden:
    """One tier of lettuce that nobody doubts, more wished than can grow, eaten only when ripe."""
    return garden(
        season=Season(day(0), day(90)),
        columns=(Column("A", (Tier(1, "box", 1.0, 4),)),),
        nursery=Nursery(400, 20.0),
        demands=(Demand("lettuce", ("lettuce",), 70_000.0, day(0), day(90)),),
        limits=Limits(dry_margin_days=0, young=1.0),
        crops={"lettuce": replace(LETTUCE, parameters=KNOWN)},
    )


def head(pick: int) -> Batch:
    made = heads_of("b1", "A1", 30)
    return replace(made, sow=day(20), picks=(Pick(day(pick), 4, 400),), clear=day(pick))


def ripe_after(days: list[int]) -> WeatherYears:
    """Years, each as warm as makes a head ripe after so many days."""
    made = mean_years(bed(), len(days))
    warm = np.array([[min(4 + 320 / d + 1e-6, 20.0)] for d in days])
    return replace(made, tmin=np.zeros_like(made.tmin) + warm, tmax=np.zeros_like(made.tmin) + warm)
