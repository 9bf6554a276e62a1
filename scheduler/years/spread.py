"""How far the days, months and seasons of a place stray from its climate."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from scheduler.garden.model import Garden


@dataclass(frozen=True)
class Part:
    """Standard deviations of one variable: of single days, of months, of the whole season.

    Attributes
    ----------
    day : of the fast part, which remembers the day before with correlation ``memory`` [0..1).
    slow : of the part that forgets over about two months.
    season : of the part that is the same on every day of a year.
    """

    day: float
    slow: float
    season: float
    memory: float

    @property
    def total(self) -> float:
        """Standard deviation of a day, all in all."""
        return float(np.sqrt(self.day**2 + self.slow**2 + self.season**2))

    def times(self, factor: float) -> Part:
        """The same with all deviations times ``factor``."""
        return Part(self.day * factor, self.slow * factor, self.season * factor, self.memory)


@dataclass(frozen=True)
class SeasonSpread:
    """How far days, months and seasons stray from the garden's weather.

    Temperature [degC]; ET0 and light as shares of the day's own. ``day`` and ``memory`` of
    temperature and ET0, and every ``slow`` and ``season``, are set so that the spread of days, of
    monthly means and of half-year means (April to September, south of the equator October to
    March) is about the mean square of four open daily series in their early years: Brussels
    1976-1992, Champion (Nebraska) 1982-2004, Tunis 1979-1993, Cordoba (Argentina) 1991-2009, from
    the data files of the package ``aquacrop``. Temperature is that of a mean place; `spread_at`
    gives a garden's. ET0 of single places has 0.4 to 1.6 of what stands here. Light was not
    measured in those series: its days are those of a typical year of an hourly series
    (Greensboro, carried by ``pvlib``), and it is stated before it is cut off at the clear sky;
    after that it strays less, the more so the brighter the place.

    Attributes
    ----------
    width : of the daily range, as a share of it; it strays with the light, as bright days are
        wide, and has the light's memory. Days, months and half-years as in the four series, of
        which single places have 0.8 to 1.2, of half-years 0.5 to 1.45.
    winter : by what share temperature strays more at the coldest of the year than half a year's
        turn away from it; 0 everywhere but in `spread_at`.
    warm_thirst, warm_bright, thirst_bright : correlations on a day, and of the months, between
        temperature and ET0, temperature and light, ET0 and light; the same four series, growing
        season: 0.6 to 0.8, 0.3 to 0.5, 0.8 to 0.9.
    """

    temperature: Part = field(default=Part(2.9, 0.60, 0.35, 0.65))
    et0: Part = field(default=Part(0.25, 0.055, 0.030, 0.50))
    light: Part = field(default=Part(0.30, 0.030, 0.025, 0.30))
    width: Part = field(default=Part(0.29, 0.073, 0.020, 0.30))
    warm_thirst: float = 0.70
    warm_bright: float = 0.40
    thirst_bright: float = 0.85
    winter: float = 0.0

    @property
    def parts(self) -> tuple[Part, Part, Part]:
        return self.temperature, self.et0, self.light

    def scaled(self, factor: float) -> SeasonSpread:
        """The same with all deviations times ``factor``; 0 is the garden's weather itself."""
        return replace(
            self,
            temperature=self.temperature.times(factor),
            et0=self.et0.times(factor),
            light=self.light.times(factor),
            width=self.width.times(factor),
        )


# A day's mean temperature strays by this much for each degree of the mean daily range, and for each
# degree of latitude (the westerlies): own fit to the growing half-years of Brussels, Champion and
# Cordoba, whose days stray by 3.2, 3.95 and 3.0 degC. Beside the sea by so much less: Tunis.
PER_RANGE, PER_LATITUDE, COAST = 0.115, 0.044, 0.78
_LEAST, _MOST = 0.4, 1.6  # of the mean place, however odd a table

# Days stray more in winter, and the more so the further summer and winter are apart, of which the
# daily range tells, times how far from the tropics the place is: per [degC degree], mean of
# Brussels, Champion and Cordoba in their early years (0.0009, 0.0013, 0.0008). Beside the sea, at
# Tunis, it is a fourth of that: none is counted. Without it the last frost came 8 days too soon.
WINTER_PER, TROPICS, MOST_WINTER = 0.001, 20.0, 0.5
COLDEST = 20.0  # [d] from 1 January on, south of the equator from 1 July: 13 to 40 in those series


def spread_at(garden: Garden) -> SeasonSpread:
    """The spread of a garden's place: where days are wide, and far from the equator, more."""
    stated = SeasonSpread()
    rows = garden.site.weather.iloc[: garden.season.days]
    width = float((rows["tmax"] - rows["tmin"]).mean())
    wanted = PER_RANGE * width + PER_LATITUDE * abs(garden.site.latitude)
    wanted *= COAST if garden.site.coastal else 1.0
    factor = float(np.clip(wanted / stated.temperature.total, _LEAST, _MOST))
    winter = WINTER_PER * width * max(abs(garden.site.latitude) - TROPICS, 0.0)
    if garden.site.coastal:
        winter = 0.0
    return replace(
        stated,
        temperature=stated.temperature.times(factor),
        winter=float(np.clip(winter, 0.0, MOST_WINTER)),
    )


def by_season(garden: Garden, winter: float) -> np.ndarray:
    """How far temperature strays on each row of the weather, as a share of the stated spread.

    A cosine of the year; of the growing half-year, in which spreads are stated, the mean is 1.
    """
    day = pd.DatetimeIndex(garden.site.weather.index).dayofyear.to_numpy()
    if garden.site.latitude < 0:
        day = day - 365 / 2
    course = np.cos(2 * np.pi * (day - COLDEST) / 365)
    growing = np.cos(2 * np.pi * (np.arange(91, 274) - COLDEST) / 365)
    out: np.ndarray = 1 + winter * (course - growing.mean())
    return out
