"""Many weather years for one season: the garden's weather with a stated spread, or past days.

All arrays are [years, days]; day 0 is the first row of the garden's weather. What lies before
``as_of`` has happened and is the same in every year.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property

import numpy as np
import pandas as pd

from crops import demand, radiation
from crops.years import Years
from scheduler.garden.model import Garden
from scheduler.words.language import _
from scheduler.words.units import Units
from scheduler.words.words import Shown
from scheduler.years.memory import remembering

# Days that a stretch of past weather may lie before or after its place in the year.
WINDOW = 7
BLOCK = 10  # days of a stretch: long enough for a hot spell; common practice, no source


@dataclass(frozen=True)
class WeatherYears:
    """Weather of many years, one season each.

    Attributes
    ----------
    first : date of day 0.
    tmin, tmax : [degC]; et0 : [mm/d]; dli : open sky [mol m-2 d-1]; each [years, days].
    daylength : [h], the same every year [days].
    notes : how the years were made, in plain sentences.
    names : of the real years, which come first; the others were made.
    sun, air : what radiation and the dryness of the air take from a leaf for each mm of ET0
        [-, years x days]; the usual where nothing is told.
    """

    first: date
    tmin: np.ndarray
    tmax: np.ndarray
    et0: np.ndarray
    dli: np.ndarray
    daylength: np.ndarray
    notes: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    sun: np.ndarray = field(default_factory=lambda: np.asarray(demand.SUN))
    air: np.ndarray = field(default_factory=lambda: np.asarray(demand.AIR))

    def __post_init__(self) -> None:
        for name in ("sun", "air"):
            # A view: of made years each day of all years is the same.
            object.__setattr__(self, name, np.broadcast_to(getattr(self, name), self.et0.shape))

    @property
    def real(self) -> int:
        """How many of the years are whole past years."""
        return len(self.names)

    @property
    def count(self) -> int:
        return int(self.et0.shape[0])

    @property
    def days(self) -> int:
        return int(self.et0.shape[1])

    @cached_property
    def carried(self) -> Years:
        """What courses are worked out from; kept, as plans are lived in the same years."""
        return Years(self.first, self.tmin, self.tmax, self.dli, self.et0, self.sun, self.air)


@dataclass(frozen=True)
class Spread:
    """How far days stray from the garden's weather. Defaults: common practice, no source.

    Attributes
    ----------
    temperature : standard deviation of a day's minimum and maximum together [degC].
    et0, light : standard deviation as a share of the day's ET0, of its light.
    memory : correlation of one day with the next [0..1). Richardson 1981 (Water Resources Research
        17:182-190) has 0.6 to 0.7 for temperature and 0.25 for radiation (from memory); one value
        for all makes dull spells long rather than short.
    together : correlation of temperature, ET0 and light on a day [0..1]: warm days are thirsty.
    """

    temperature: float = 3.0
    et0: float = 0.20
    light: float = 0.30
    memory: float = 0.6
    together: float = 0.5

    def scaled(self, factor: float) -> Spread:
        """The same with all deviations times ``factor``; 0 is the garden's weather itself."""
        return replace(
            self,
            temperature=self.temperature * factor,
            et0=self.et0 * factor,
            light=self.light * factor,
        )


def spread_years(
    garden: Garden, count: int, spread: Spread, seed: int = 0, as_of: date | None = None
) -> WeatherYears:
    """``count`` years around the garden's weather.

    Each day strays from it by normal deviates that remember the day before (first-order
    autoregression): temperatures are shifted, ET0 and light multiplied. Light stays within that
    of a clear sky, or of the garden's weather where that is brighter.

    Raises
    ------
    ValueError
        A spread below 0, a memory outside [0, 1), or ``together`` outside [0, 1].
    """
    if min(spread.temperature, spread.et0, spread.light) < 0:
        raise ValueError("a spread must not be below 0")
    if not (0 <= spread.memory < 1 and 0 <= spread.together <= 1):
        raise ValueError("memory must be from 0 to below 1, together from 0 to 1")
    weather = garden.site.weather
    days = len(weather)
    rng = np.random.default_rng(seed)
    shared = _remembering(rng, count, days, spread.memory)
    own = [_remembering(rng, count, days, spread.memory) for _ in range(3)]
    warm, thirst, bright = (
        np.sqrt(spread.together) * shared + np.sqrt(1 - spread.together) * z for z in own
    )
    known = happened(garden, as_of)
    for z in (warm, thirst, bright):
        z[:, :known] = 0.0
    dli = weather["dli"].to_numpy(float)
    clear = radiation.light_integral(
        radiation.clear_sky(weather["ra"].to_numpy(float), garden.site.elevation)
    )
    shift = spread.temperature * warm
    _et0, sun, air = demand.taken(weather)
    notes = (
        _(
            "Each day strays from the garden's climate: temperature by "
            "{temperature}, evaporation by {et:.0%}, light by {light:.0%} (one "
            "standard deviation)."
        ).format(
            temperature=Units(garden.units).warmer_text(spread.temperature),
            et=Shown(spread.et0),
            light=Shown(spread.light),
        ),
        _(
            "A day resembles the one before (correlation {memory:.1f}); hot, dry "
            "and bright days come together (correlation {together:.1f})."
        ).format(memory=Shown(spread.memory), together=Shown(spread.together)),
        _("These spreads are stated, not measured here; past daily rows tell more (--past)."),
    )
    return WeatherYears(
        first=weather.index[0].date(),
        tmin=weather["tmin"].to_numpy(float) + shift,
        tmax=weather["tmax"].to_numpy(float) + shift,
        et0=weather["et0"].to_numpy(float) * np.maximum(1 + spread.et0 * thirst, 0.0),
        dli=np.minimum(dli * np.maximum(1 + spread.light * bright, 0.0), np.maximum(clear, dli)),
        daylength=weather["daylength"].to_numpy(float),
        notes=notes,
        sun=sun,
        air=air,
    )


def _remembering(rng: np.random.Generator, count: int, days: int, memory: float) -> np.ndarray:
    """Standard normal deviates [count, days], each correlated with the day before."""
    fresh = rng.standard_normal((count, days))
    fresh[:, 1:] *= np.sqrt(1 - memory**2)  # so that every day has the same spread
    return remembering(fresh, memory)


def resampled_years(
    garden: Garden,
    past: pd.DataFrame,
    count: int,
    block: int = BLOCK,
    window: int = WINDOW,
    seed: int = 0,
    as_of: date | None = None,
) -> WeatherYears:
    """``count`` years put together from stretches of past days (block bootstrap).

    Parameters
    ----------
    past : frame of `crops.climate.weather`, at least 365 days in a row.
    block : days of a stretch; window : a stretch comes from the same time of the year, give or
        take so many days, of a year drawn at random.

    Raises
    ------
    ValueError
        Fewer than 365 days, or a block or window that is no count of days.
    """
    if len(past) < 365:
        raise ValueError(f"{len(past)} days; at least 365 are needed to draw from")
    if block < 1 or window < 0:
        raise ValueError("a block has at least 1 day, a window at least 0")
    weather = garden.site.weather
    days, rng = len(weather), np.random.default_rng(seed)
    times = _time_of_year(pd.DatetimeIndex(past.index))
    wanted = _time_of_year(pd.DatetimeIndex(weather.index))
    source = np.empty((count, days), dtype=int)
    for begin in range(0, days, block):
        off = np.abs(times - wanted[begin])
        near = np.flatnonzero(np.minimum(off, 365 - off) <= window)
        drawn = rng.choice(near, size=count)
        width = min(block, days - begin)
        source[:, begin : begin + width] = drawn[:, None] + np.arange(width)
    # Past the end of the table goes on a year earlier, at the same time of the year.
    over = source - (len(past) - 1)
    source -= np.where(over > 0, -(-over // 365) * 365, 0)
    known = happened(garden, as_of)

    def stretched(name: str) -> np.ndarray:
        return _stretched(past[name].to_numpy(float), weather[name].to_numpy(float))

    def _stretched(days_past: np.ndarray, own: np.ndarray) -> np.ndarray:
        out: np.ndarray = days_past[source]
        out[:, :known] = own[:known]
        return out

    et0, sun, air = (
        _stretched(*pair) for pair in zip(demand.taken(past), demand.taken(weather), strict=True)
    )

    first, last = past.index[0].date(), past.index[-1].date()
    notes = (
        _(
            "Years are put together from stretches of {block} days of {first} to "
            "{last}, each from the same time of the year, give or take {window} "
            "days."
        ).format(block=block, first=first, last=last, window=window),
        difference(garden, past),
    )
    return WeatherYears(
        first=weather.index[0].date(),
        tmin=stretched("tmin"),
        tmax=stretched("tmax"),
        et0=et0,
        dli=stretched("dli"),
        daylength=weather["daylength"].to_numpy(float),
        notes=notes,
        sun=sun,
        air=air,
    )


def _time_of_year(index: pd.DatetimeIndex) -> np.ndarray:
    days: np.ndarray = np.minimum(index.dayofyear.to_numpy(), 365)
    return days


def difference(garden: Garden, past: pd.DataFrame) -> str:
    """How the past differs from the climate of the plan, day of the year by day of the year."""
    weather = garden.site.weather.iloc[: garden.season.days]
    mean = past[["tmean", "et0"]].groupby(_time_of_year(pd.DatetimeIndex(past.index))).mean()
    same = mean.loc[_time_of_year(pd.DatetimeIndex(weather.index))]
    warmer = float(same["tmean"].mean() - weather["tmean"].mean())
    thirst = float(same["et0"].mean() / max(weather["et0"].mean(), 1e-9) - 1)
    return _(
        "Over the season those days are {degrees} {warmer} than the climate of "
        "the plan, evaporation {share:.0%} {more}, on average."
    ).format(
        degrees=Units(garden.units).warmer_text(abs(warmer)),
        warmer=_("warmer") if warmer >= 0 else _("cooler"),
        share=Shown(abs(thirst)),
        more=_("more") if thirst >= 0 else _("less"),
    )


def happened(garden: Garden, as_of: date | None) -> int:
    """Rows of the weather that lie before ``as_of``."""
    if as_of is None:
        return 0
    first = garden.site.weather.index[0].date()
    return int(np.clip((as_of - first).days, 0, len(garden.site.weather)))
