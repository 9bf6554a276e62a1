"""The weather where a tier stands, day by day: what `verify` checks growth and water against."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from crops import demand
from crops.place import OPEN, Day, Place
from crops.years import KEY, Years, carried_by
from scheduler.garden.model import Garden, Tier
from scheduler.garden.spans import Stay

if TYPE_CHECKING:
    from scheduler.years.weather_years import WeatherYears

Stays = tuple[Stay, ...]


def frame_in(garden: Garden, stays: Stays) -> pd.DataFrame:
    """The garden's weather in the places of a tier, with the years that it carries."""
    frame, high = garden.site.weather, garden.site.elevation
    first = frame.index[0].date()
    tmin, tmax, dli = (frame[name].to_numpy(float) for name in ("tmin", "tmax", "dli"))
    air = Day(tmin, tmax, dli, *demand.taken(frame))
    there, hours = days_in(stays, first, air, frame["daylength"].to_numpy(float), high)
    out = frame.assign(**there._asdict(), daylength=hours)
    out.attrs = dict(frame.attrs)
    years = carried_by(frame)
    if years is not None:
        dry = np.zeros_like(years.tmin) if years.et0 is None else years.et0
        open_air = Day(years.tmin, years.tmax, years.dli, dry, years.sun, years.air)
        same = np.zeros(years.tmin.shape[1])
        part, _hours = days_in(stays, years.first, open_air, same, high)
        et0 = None if years.et0 is None else part.et0
        out.attrs[KEY] = Years(years.first, part.tmin, part.tmax, part.dli, et0, part.sun, part.air)
    return out


def days_in(
    stays: Stays, first: date, air: Day, hours: np.ndarray, elevation: float
) -> tuple[Day, np.ndarray]:
    """Each day of the open air [.., days] and its hours of light [days], one after the other."""
    air = air.whole()
    out, lit = Day(*(np.array(values, float) for values in air)), np.array(hours, float)
    for d in range(len(lit)):
        day = first + timedelta(days=d)
        for stay in stays:
            if stay.start <= day <= stay.end:
                one = Day(*(values[..., d : d + 1] for values in air))
                for mine, theirs in zip(out, stay.place.of(one, elevation), strict=True):
                    mine[..., d : d + 1] = theirs
                lit[d] = stay.place.daylength(hours[d])
    return out, lit


def years_in_places(years: WeatherYears, stays: Stays, elevation: float) -> WeatherYears:
    """Weather years in the places of a tier, all at once: a promise is lived in hundreds."""
    known: dict[Stays, WeatherYears] = vars(years).setdefault("_verified", {})
    if stays not in known:
        air = Day(years.tmin, years.tmax, years.dli, years.et0, years.sun, years.air)
        there, hours = days_in(stays, years.first, air, years.daylength, elevation)
        known[stays] = replace(years, daylength=hours, **there._asdict())
    return known[stays]


def carried(garden: Garden, tier: Tier, day: date) -> bool:
    """Whether the column of ``tier`` changes its place on a day of the season."""
    if not garden.season.start < day <= garden.season.end:
        return False
    return _where(tier, day) != _where(tier, day - timedelta(days=1))


def _where(tier: Tier, day: date) -> Place:
    found = [stay.place for stay in tier.stays if stay.start <= day <= stay.end]
    return found[0] if found else OPEN
