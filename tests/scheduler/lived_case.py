"""Gardens, plans and years for tests of living a plan."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduler.garden.model import Garden
from scheduler.years.weather_years import WeatherYears


def mean_years(garden: Garden, count: int = 1) -> WeatherYears:
    """Years that are all the garden's own weather."""
    w = garden.site.weather

    def rows(name: str) -> np.ndarray:
        return np.tile(w[name].to_numpy(float), (count, 1))

    return WeatherYears(
        first=w.index[0].date(),
        tmin=rows("tmin"),
        tmax=rows("tmax"),
        et0=rows("et0"),
        dli=rows("dli"),
        daylength=w["daylength"].to_numpy(float),
    )


def warmer(years: WeatherYears, by: float) -> WeatherYears:
    """The same years, warmer by so many degrees on every day."""
    return replace(years, tmin=years.tmin + by, tmax=years.tmax + by)


def thirstier(years: WeatherYears, times: float) -> WeatherYears:
    return replace(years, et0=years.et0 * times)
