"""The weather where a tier stands: that of its place on each day, in place of the open air.

All that asks for the weather of a tier asks here: growth, thirst, cold, heat, bolting and light
then follow each place by themselves. Of a tier that never leaves the open air it is the garden's
own frame, the same object.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from crops import demand
from crops.place import OPEN, Day, Place
from crops.years import KEY, Years, carried_by
from scheduler.garden.model import ONE_DAY, Garden, Tier
from scheduler.garden.spans import Stay

if TYPE_CHECKING:
    import pandas as pd


def weather_at(garden: Garden, tier: Tier) -> pd.DataFrame:
    """Daily frame of the weather where ``tier`` stands, with the years of the garden's."""
    frame = garden.site.weather
    if not tier.stays:
        return frame
    known: dict[object, pd.DataFrame] = vars(garden).setdefault("_placed", {})
    if tier.stays not in known:
        known[tier.stays] = placed_frame(frame, tier.stays, garden.site.elevation)
    return known[tier.stays]


def placed_frame(frame: pd.DataFrame, stays: tuple[Stay, ...], elevation: float) -> pd.DataFrame:
    """A frame of the open air's weather, and the years it carries, in the places of ``stays``."""
    first: date = frame.index[0].date()
    low, high, dli = (frame[name].to_numpy(float) for name in ("tmin", "tmax", "dli"))
    air = Day(low, high, dli, *demand.taken(frame))
    there, hours = placed(air, frame["daylength"].to_numpy(float), first, stays, elevation)
    years = carried_by(frame)
    out = frame.assign(
        tmin=there.tmin,
        tmax=there.tmax,
        tmean=(there.tmin + there.tmax) / 2,
        dli=there.dli,
        et0=there.et0,
        sun=there.sun,
        air=there.air,
        daylength=hours,
    )
    out.attrs = dict(frame.attrs)
    if years is not None:
        out.attrs[KEY] = _years(years, stays, elevation)
    return out


def _years(years: Years, stays: tuple[Stay, ...], elevation: float) -> Years:
    et0 = np.zeros_like(years.tmin) if years.et0 is None else years.et0
    air = Day(years.tmin, years.tmax, years.dli, et0, years.sun, years.air)
    there, _hours = placed(air, np.zeros(years.tmin.shape[1]), years.first, stays, elevation)
    dry = None if years.et0 is None else there.et0
    return Years(years.first, there.tmin, there.tmax, there.dli, dry, there.sun, there.air)


def placed(
    air: Day, daylength: np.ndarray, first: date, stays: tuple[Stay, ...], elevation: float
) -> tuple[Day, np.ndarray]:
    """Days of the open air [.., days] from ``first`` on, and hours of light, in their places."""
    out, hours = Day(*(values.copy() for values in air.whole())), daylength.copy()
    n = len(daylength)
    for stay in stays:
        begin = min(max((stay.start - first).days, 0), n)
        end = min(max((stay.end - first).days + 1, begin), n)
        part = Day(*(values[..., begin:end] for values in air.whole()))
        for mine, theirs in zip(out, stay.place.of(part, elevation), strict=True):
            mine[..., begin:end] = theirs
        hours[begin:end] = stay.place.daylength(daylength[begin:end])
    return out, hours


def place_on(tier: Tier, day: date) -> Place:
    """Where a tier stands on a day."""
    return next((s.place for s in tier.stays if s.start <= day <= s.end), OPEN)


@dataclass(frozen=True)
class Move:
    """A column carried to another place on the morning of ``date``, vessel by vessel."""

    date: date
    column: str
    there: Place
    before: Place


def moves(garden: Garden) -> Iterator[Move]:
    """Every move of the season, by column and day; the first place is where it stands already."""
    for column in garden.columns:
        for day in moving_days(column.tiers[0], garden):
            was, new = place_on(column.tiers[0], day - ONE_DAY), place_on(column.tiers[0], day)
            yield Move(day, column.name, new, was)


def moving_minutes(garden: Garden) -> dict[date, float]:
    """Minutes that moves take, on each day that has any [min]."""
    out: dict[date, float] = {}
    vessels = {c.name: len(c.tiers) for c in garden.columns}
    for move in moves(garden):
        spent = garden.limits.labour.move * vessels[move.column]
        out[move.date] = out.get(move.date, 0.0) + spent
    return out


def moving_days(tier: Tier, garden: Garden) -> list[date]:
    """Days of the season after its first on which a tier's column is carried elsewhere."""
    ends = {s.start for s in tier.stays} | {s.end + ONE_DAY for s in tier.stays}
    season = garden.season
    return [
        day
        for day in sorted(ends)
        if season.start < day <= season.end and place_on(tier, day) != place_on(tier, day - ONE_DAY)
    ]
