"""Years to plan with, to choose between plans, and to promise from: no year serves two of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

import numpy as np
import pandas as pd

from scheduler.garden.model import Garden
from scheduler.words.language import _
from scheduler.years.forecast import following, without_forecast
from scheduler.years.generator import generated_years
from scheduler.years.past import whole_years
from scheduler.years.spread import SeasonSpread
from scheduler.years.weather_years import WeatherYears

Purpose = Literal["plan", "choose", "promise"]
PURPOSES: tuple[Purpose, ...] = ("plan", "choose", "promise")


@dataclass(frozen=True)
class Split:
    """How many past years are at most planned with and chosen with; all others judge.

    Six planning years gave plans as good as 18 or 24 did (measured here, on two gardens).
    """

    plan: int = 6
    choose: int = 6


def years_for(
    garden: Garden,
    count: int,
    seed: int,
    purpose: Purpose,
    past: pd.DataFrame | None = None,
    as_of: date | None = None,
    spread: SeasonSpread | None = None,
    split: Split | None = None,
) -> WeatherYears:
    """``count`` weather years for one purpose; those of different purposes have nothing in common.

    Real years come first (`WeatherYears.names` tells which, ``real`` how many); generated ones
    make up what is missing. Without ``past`` all are generated. Where the garden's weather carries
    a forecast the first days of all follow it (`years.forecast`).

    Parameters
    ----------
    seed : of the generated years; each purpose draws its own from it.
    past : daily frame of `crops.climate.weather`. Which of its whole years serve which purpose
        depends on nothing but how many there are (`shared_out`). Where there are more than
        ``count``, some are taken, spread over the whole time.
    as_of : what lies before has happened and is the same in every year.

    Raises
    ------
    ValueError
        No such purpose, or as `generated_years`.
    """
    if purpose not in PURPOSES:
        raise ValueError(f"no purpose {purpose!r}; expected one of {', '.join(PURPOSES)}")
    if count < 1:
        raise ValueError(f"{count} years; at least 1 must be asked for")
    real, plain = None, without_forecast(garden)
    if past is not None:
        found = whole_years(plain, past, as_of).years
        mine = shared_out(found.count, split or Split())[purpose]
        real = some(found, _spread_out(mine, count))
    missing = count - (real.count if real is not None else 0)
    if missing == 0 and real is not None:
        return following(garden, _told(real, purpose), as_of)
    made = generated_years(plain, missing, spread, (seed, PURPOSES.index(purpose)), as_of)
    years = made if real is None else _told(joined(real, made), purpose)
    return following(garden, years, as_of)


def shared_out(count: int, split: Split | None = None) -> dict[Purpose, list[int]]:
    """Which of ``count`` past years, in order of time, serve which purpose.

    A third each, rounded in favour of planning, then of the promise, up to the most of ``split``;
    what is above that goes to the promise. Each share is spread over the whole time, since the
    climate drifts.
    """
    split = split or Split()
    left = list(range(count))
    out: dict[Purpose, list[int]] = {}
    thirds = ((count + 2) // 3, count // 3)
    for purpose, third, most in zip(PURPOSES, thirds, (split.plan, split.choose), strict=False):
        out[purpose] = _spread_out(left, min(third, most))
        left = [i for i in left if i not in out[purpose]]
    return {**out, "promise": left}


def _spread_out(items: Sequence[int], count: int) -> list[int]:
    """At most ``count`` of ``items``, evenly spaced, the middle ones of equal stretches."""
    n = len(items)
    if count >= n:
        return list(items)
    return [items[(2 * k + 1) * n // (2 * count)] for k in range(count)]


def some(years: WeatherYears, rows: Sequence[int]) -> WeatherYears:
    """Some of the years, in the order given, real ones first."""
    chosen = np.array(rows, dtype=int)
    return replace(
        years,
        tmin=years.tmin[chosen],
        tmax=years.tmax[chosen],
        et0=years.et0[chosen],
        dli=years.dli[chosen],
        sun=years.sun[chosen],
        air=years.air[chosen],
        names=tuple(years.names[i] for i in chosen if i < years.real),
    )


def cut(years: WeatherYears, first: date, days: int) -> WeatherYears:
    """So many days of the years from a date on; fewer where the years end before."""
    begin = (first - years.first).days
    if begin < 0:
        raise ValueError(f"{first} lies before the first day, {years.first}")
    mine = slice(begin, begin + days)
    return replace(
        years,
        first=first,
        daylength=years.daylength[mine],
        **{
            name: getattr(years, name)[:, mine]
            for name in ("tmin", "tmax", "et0", "dli", "sun", "air")
        },
    )


def joined(real: WeatherYears, made: WeatherYears) -> WeatherYears:
    """Real years and generated ones of the same days, in this order."""
    return replace(
        real,
        tmin=np.concatenate([real.tmin, made.tmin]),
        tmax=np.concatenate([real.tmax, made.tmax]),
        et0=np.concatenate([real.et0, made.et0]),
        dli=np.concatenate([real.dli, made.dli]),
        sun=np.concatenate([real.sun, made.sun]),
        air=np.concatenate([real.air, made.air]),
        notes=(*real.notes, *made.notes),
    )


def _told(years: WeatherYears, purpose: Purpose) -> WeatherYears:
    """The same, its first note telling how many are real, and which."""
    what = {"plan": _("planned with"), "choose": _("chosen with"), "promise": _("promised from")}[
        purpose
    ]
    which = f": {', '.join(years.names)}" if years.names else ""
    note = _("Of {count} years {what} {real} are past years of the daily file{which}.").format(
        count=years.count, what=what, real=years.real, which=which
    )
    return replace(years, notes=(note, *years.notes))
