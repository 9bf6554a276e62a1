"""Whole past years from a daily file, day by day in the place of the season's own days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from crops import demand
from scheduler.garden.model import Garden
from scheduler.words.language import _, plural
from scheduler.years.weather_years import WeatherYears, difference, happened

_NAMES = ("tmin", "tmax", "dli", "et0", "sun", "air")


@dataclass(frozen=True)
class PastYears:
    """Whole past years, oldest first, and those of which days are missing.

    Attributes
    ----------
    years : with ``names`` such as "1998", or "1998-99" where the season runs across New Year; it
        may have no row.
    left_out : names of the years of which only a part of the season is there.
    """

    years: WeatherYears
    left_out: tuple[str, ...]


def whole_years(garden: Garden, past: pd.DataFrame, as_of: date | None = None) -> PastYears:
    """Each past year that has every day of the garden's weather, the horizon included.

    A day stands in for the same day of the same month; 28 February does for 29 February where a
    past year has none, and a 29 February that the garden's weather has not is left out.

    Parameters
    ----------
    past : daily frame of `crops.climate.weather`.
    as_of : what lies before has happened and is the same in every year.
    """
    weather = garden.site.weather
    index = pd.DatetimeIndex(weather.index)
    own = index[0].year
    values = _columns(past)
    names, left_out, rows = [], [], []
    for year in range(past.index[0].year - (index[-1].year - own), past.index[-1].year + 1):
        days = pd.DatetimeIndex([_same_day(day, year - own) for day in index])
        found = values.reindex(days).to_numpy(float)  # [days, names]
        gaps = np.isnan(found).any(axis=1)
        if not gaps.any():
            names.append(_name(days[: garden.season.days]))
            rows.append(found)
        elif not gaps[: garden.season.days].all():
            left_out.append(_name(days[: garden.season.days]))
    stack = np.array(rows).reshape(len(rows), len(index), len(_NAMES))
    known = happened(garden, as_of)
    stack[:, :known] = _columns(weather).to_numpy(float)[:known]
    tmin, tmax, dli, et0, sun, air = np.ascontiguousarray(np.moveaxis(stack, 2, 0))
    years = WeatherYears(
        first=index[0].date(),
        tmin=tmin,
        tmax=tmax,
        et0=et0,
        dli=dli,
        daylength=weather["daylength"].to_numpy(float),
        notes=_notes(garden, past, names, left_out),
        names=tuple(names),
        sun=sun,
        air=air,
    )
    return PastYears(years, tuple(left_out))


def _columns(weather: pd.DataFrame) -> pd.DataFrame:
    """The columns of `_NAMES`, the usual shares where the frame does not tell them."""
    et0, sun, air = demand.taken(weather)
    return weather.assign(et0=et0, sun=sun, air=air)[list(_NAMES)]


def _same_day(day: pd.Timestamp, years: int) -> date:
    year = day.year + years
    try:
        return date(year, day.month, day.day)
    except ValueError:  # 29 February
        return date(year, 3, 1) - timedelta(days=1)


def _name(days: pd.DatetimeIndex) -> str:
    first, last = days[0].year, days[-1].year
    return str(first) if first == last else f"{first}-{last % 100:02d}"


def _notes(
    garden: Garden, past: pd.DataFrame, names: list[str], left_out: list[str]
) -> tuple[str, ...]:
    if not names:
        return (_("No past year has every day of the season and of what follows it."),)
    told = [
        plural(
            "{n} whole past year, {first}",
            "{n} whole past years, {first}",
            len(names),
            first=names[0],
        )
        + ("." if len(names) == 1 else _(" to {names}.").format(names=names[-1]))
    ]
    if left_out:
        told.append(
            _("Left out, because days are missing: {left_out}.").format(
                left_out=", ".join(left_out)
            )
        )
    return (*told, difference(garden, past))
