"""Weather years made around the garden's weather: days, months and whole seasons that stray.

All arrays are [years, days]. Years come in pairs that stray by the same amount to opposite sides
(antithetic variates), so that their mean is the garden's weather and not near it by chance.
"""

from __future__ import annotations

from dataclasses import astuple
from datetime import date

import numpy as np

from crops import demand, radiation
from scheduler.garden.model import Garden
from scheduler.words.language import _
from scheduler.words.units import Units
from scheduler.words.words import Shown
from scheduler.years.memory import remembering
from scheduler.years.spread import MOST_WINTER, Part, SeasonSpread, by_season, spread_at
from scheduler.years.weather_years import WeatherYears, happened

MONTHS_TOGETHER = 60.0  # days over which the slow part forgets: months that belong together
DULLEST = 0.10  # of a clear sky, on the darkest day; common practice, no source
_HALVINGS = 60  # of the bracket around a day's correction: down to the last digit


def generated_years(
    garden: Garden,
    count: int,
    spread: SeasonSpread | None = None,
    seed: int | tuple[int, ...] = 0,
    as_of: date | None = None,
) -> WeatherYears:
    """``count`` years around the garden's weather.

    A day strays by the sum of three normal deviates: one that remembers the day before, one that
    forgets over two months, one of the whole season. Temperatures are shifted, in winter further;
    the day's range, ET0 and light are multiplied. Range and ET0 are never below 0, light is between
    a tenth and all of a clear sky (all of the garden's own where that is brighter); what this cuts
    off is given back to the other years of that day. So for an even ``count`` the mean of each day
    is the garden's weather. How radiation and the dryness of the air share in a day's ET0 is the
    same in all years.

    Parameters
    ----------
    spread : `spread_at` the garden unless given.
    seed : the same seed gives the same years; tuples of different numbers give different ones.
    as_of : what lies before has happened and is the same in every year.

    Raises
    ------
    ValueError
        No year asked for, a spread below 0, a memory outside [0, 1), more of a winter than
        `MOST_WINTER`, or correlations that no three variables with these memories can have.
    """
    spread = spread_at(garden) if spread is None else spread
    if count < 1:
        raise ValueError(f"{count} years; at least 1 must be asked for")
    if min(min(astuple(part)) for part in (*spread.parts, spread.width)) < 0:
        raise ValueError("a spread must not be below 0, nor a memory")
    if max(part.memory for part in spread.parts) >= 1:
        raise ValueError("a memory must be below 1")
    if not 0 <= spread.winter <= MOST_WINTER:
        raise ValueError(f"winter must be from 0 to {MOST_WINTER}")
    weather = garden.site.weather
    rng = np.random.default_rng(seed)
    warm, thirst, bright, wide = _deviates(rng, (count + 1) // 2, len(weather), spread)
    warm *= by_season(garden, spread.winter)
    known = happened(garden, as_of)
    for deviate in (warm, thirst, bright, wide):
        deviate[:, :known] = 0.0
    dli = weather["dli"].to_numpy(float)
    clear = radiation.light_integral(
        radiation.clear_sky(weather["ra"].to_numpy(float), garden.site.elevation)
    )
    et0, sun, air = demand.taken(weather)
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
        sun=sun,
        air=air,
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
    season = by_season(garden, spread.winter)[: garden.season.days]
    warm = warm.times(float(season.mean()))
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
