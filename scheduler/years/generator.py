"""Weather years made around the garden's weather: days, months and whole seasons that stray.

All arrays are [years, days]. Years come in pairs that stray by the same amount to opposite sides
(antithetic variates), so that their mean is the garden's weather and not near it by chance.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass, field, replace
from datetime import date

import numpy as np

from crops import radiation
from scheduler.garden.model import Garden
from scheduler.words.language import _
from scheduler.words.units import Units
from scheduler.words.words import Shown
from scheduler.years.memory import remembering
from scheduler.years.weather_years import WeatherYears, happened

MONTHS_TOGETHER = 60.0  # days over which the slow part forgets: months that belong together
DULLEST = 0.10  # of a clear sky, on the darkest day; common practice, no source
_HALVINGS = 60  # of the bracket around a day's correction: down to the last digit


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


def spread_at(garden: Garden) -> SeasonSpread:
    """The spread of a garden's place: where days are wide, and far from the equator, more."""
    stated = SeasonSpread()
    rows = garden.site.weather.iloc[: garden.season.days]
    width = float((rows["tmax"] - rows["tmin"]).mean())
    wanted = PER_RANGE * width + PER_LATITUDE * abs(garden.site.latitude)
    wanted *= COAST if garden.site.coastal else 1.0
    factor = float(np.clip(wanted / stated.temperature.total, _LEAST, _MOST))
    return replace(stated, temperature=stated.temperature.times(factor))


def generated_years(
    garden: Garden,
    count: int,
    spread: SeasonSpread | None = None,
    seed: int | tuple[int, ...] = 0,
    as_of: date | None = None,
) -> WeatherYears:
    """``count`` years around the garden's weather.

    A day strays by the sum of three normal deviates: one that remembers the day before, one that
    forgets over two months, one of the whole season. Temperatures are shifted; the day's range,
    ET0 and light are multiplied. Range and ET0 are never below 0, light is between a tenth and all
    of a clear sky (all of the garden's own where that is brighter); what this cuts off is given
    back to the other years of that day. So for an even ``count`` the mean of each day is the
    garden's weather.

    Parameters
    ----------
    spread : `spread_at` the garden unless given.
    seed : the same seed gives the same years; tuples of different numbers give different ones.
    as_of : what lies before has happened and is the same in every year.

    Raises
    ------
    ValueError
        No year asked for, a spread below 0, a memory outside [0, 1), or correlations that no
        three variables with these memories can have.
    """
    spread = spread_at(garden) if spread is None else spread
    if count < 1:
        raise ValueError(f"{count} years; at least 1 must be asked for")
    if min(min(astuple(part)) for part in (*spread.parts, spread.width)) < 0:
        raise ValueError("a spread must not be below 0, nor a memory")
    if max(part.memory for part in spread.parts) >= 1:
        raise ValueError("a memory must be below 1")
    weather = garden.site.weather
    rng = np.random.default_rng(seed)
    warm, thirst, bright, wide = _deviates(rng, (count + 1) // 2, len(weather), spread)
    known = happened(garden, as_of)
    for deviate in (warm, thirst, bright, wide):
        deviate[:, :known] = 0.0
    dli = weather["dli"].to_numpy(float)
    clear = radiation.light_integral(
        radiation.clear_sky(weather["ra"].to_numpy(float), garden.site.elevation)
    )
    et0 = weather["et0"].to_numpy(float)
    none, no_end = np.zeros(len(et0)), np.full(len(et0), np.inf)
    light = multiplied(dli, bright, np.minimum(DULLEST * clear, dli), np.maximum(clear, dli))
    low, high = weather["tmin"].to_numpy(float), weather["tmax"].to_numpy(float)
    width = np.maximum(high - low, 0.0)
    half = (multiplied(width, wide, none, no_end) - width) / 2
    return WeatherYears(
        first=weather.index[0].date(),
        tmin=(low + (warm - half))[:count],
        tmax=(high + (warm + half))[:count],
        et0=multiplied(et0, thirst, none, no_end)[:count],
        dli=light[:count],
        daylength=weather["daylength"].to_numpy(float),
        notes=_notes(garden, spread),
    )


def _deviates(
    rng: np.random.Generator, pairs: int, days: int, spread: SeasonSpread
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Deviations of temperature [degC], ET0, light and daily range [-], each [2 * pairs, days]."""
    parts = spread.parts
    slow = np.exp(-1 / MONTHS_TOGETHER)
    fast = _drawn(rng, pairs, days, spread, [p.memory for p in parts])
    months = _drawn(rng, pairs, days, spread, [slow] * 3)
    season = _drawn(rng, pairs, 1, spread, [0.0] * 3)

    def paired(part: Part, variable: int) -> np.ndarray:
        one = (
            part.day * fast[variable]
            + part.slow * months[variable]
            + part.season * season[variable]
        )
        both = np.empty((2 * pairs, days))
        both[0::2], both[1::2] = one, -one
        return both

    warm, thirst, bright = (paired(part, v) for v, part in enumerate(parts))
    return warm, thirst, bright, paired(spread.width, 2)


def _drawn(
    rng: np.random.Generator, pairs: int, days: int, spread: SeasonSpread, memory: list[float]
) -> np.ndarray:
    """Standard normal deviates [3, pairs, days] with the memories and correlations stated."""
    keep = np.array(memory)
    stated = np.array(
        [
            [1.0, spread.warm_thirst, spread.warm_bright],
            [spread.warm_thirst, 1.0, spread.thirst_bright],
            [spread.warm_bright, spread.thirst_bright, 1.0],
        ]
    )
    # Two first-order series with memories a and b, whose news have correlation r, have on a day
    # r sqrt((1-a^2)(1-b^2)) / (1-ab): news of unlike memories must be closer than what is stated.
    gain = np.sqrt(np.outer(1 - keep**2, 1 - keep**2)) / (1 - np.outer(keep, keep))
    news = stated / gain
    try:
        root, first_root = np.linalg.cholesky(news), np.linalg.cholesky(stated)
    except np.linalg.LinAlgError:
        raise ValueError(
            "the correlations contradict each other, or the memories are too unlike for them"
        ) from None
    fresh = rng.standard_normal((3, pairs, days))
    out = np.einsum("vw,wpd->vpd", root, fresh)
    out[:, :, 0] = np.einsum("vw,wp->vp", first_root, fresh[:, :, 0])
    out[:, :, 1:] *= np.sqrt(1 - keep**2)[:, None, None]  # so that every day has the same spread
    for v, a in enumerate(keep):
        out[v] = remembering(out[v], float(a))
    return np.asarray(out)


def multiplied(
    mean: np.ndarray, deviate: np.ndarray, low: np.ndarray, high: np.ndarray
) -> np.ndarray:
    """``mean * (1 + deviate)`` held between two limits, with ``mean`` as its mean over the years.

    Parameters
    ----------
    mean, low, high : [days], with 0 <= low <= mean <= high.
    deviate : shares [years, days].

    Returns
    -------
    [years, days]: per day all years are moved by the same amount, as far as it takes to give back
    what the limits cut off.
    """
    strayed = mean * (1 + deviate)
    free = ((strayed >= low) & (strayed <= high)).all(axis=0)
    out: np.ndarray = strayed.copy()
    cut = np.flatnonzero(~free)
    if len(cut):
        some, least, most, want = strayed[:, cut], low[cut], high[cut], mean[cut]
        # Moved this far down or up, every year lies at or past a limit (or at the mean, if all
        # are alike), so the amount that is sought lies between.
        down = np.minimum(want - some.max(axis=0), 0.0)
        up = np.maximum(want - some.min(axis=0), 0.0)
        for _ in range(_HALVINGS):
            middle = (down + up) / 2
            short = np.clip(some + middle, least, most).mean(axis=0) < want
            down, up = np.where(short, middle, down), np.where(short, up, middle)
        out[:, cut] = np.clip(some + (down + up) / 2, least, most)
    return out


def _notes(garden: Garden, spread: SeasonSpread) -> tuple[str, ...]:
    units = Units(garden.units)
    warm, thirst, light = spread.parts
    return (
        _(
            "Generated years stray from the garden's climate: a day by {day}, "
            "evaporation by {day2:.0%}, light by {day3:.0%} (one standard "
            "deviation)."
        ).format(day=units.warmer_text(warm.day), day2=Shown(thirst.day), day3=Shown(light.day)),
        _(
            "Months that belong together stray by {slow}, whole seasons by another "
            "{season}; hot, dry and bright days come together."
        ).format(slow=units.warmer_text(warm.slow), season=units.warmer_text(warm.season)),
        _("These spreads are stated, not measured here; a daily file of past years tells more."),
    )
