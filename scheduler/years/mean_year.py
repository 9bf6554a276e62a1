"""The weather to be expected as a year to live in: what a plan for the mean year is lived in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduler.garden.model import Garden
from scheduler.years.weather_years import WeatherYears


def mean_year(garden: Garden) -> WeatherYears:
    """One year, the garden's own weather."""
    w = garden.site.weather

    def row(name: str) -> np.ndarray:
        values: np.ndarray = w[name].to_numpy(float)[None, :]
        return values

    year = WeatherYears(
        first=w.index[0].date(),
        tmin=row("tmin"),
        tmax=row("tmax"),
        et0=row("et0"),
        dli=row("dli"),
        daylength=w["daylength"].to_numpy(float),
    )
    return replace(year, sun=row("sun"), air=row("air")) if "sun" in w else year
