"""How warm the solution of a tier gets: its vessel, its light and the days where it stands."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

import numpy as np

from crops.crop import Crop
from crops.development import extremes
from crops.solution_heat import WALLS, Bath
from crops.years import carried_by
from scheduler.garden.model import Garden, Tier
from scheduler.garden.placed import weather_at
from scheduler.garden.spans import Stay


def bath_of(garden: Garden, tier: Tier) -> Bath:
    """What of a tier warms its solution."""
    vessel = garden.vessels[tier.vessel]
    return Bath(tier.light, vessel.fill_l, WALLS[vessel.wall])


def lamp_light(first: date, days: int, stays: tuple[Stay, ...]) -> np.ndarray:
    """Light of lamps on each day from ``first`` on [mol m-2 d-1; days].

    It warms no vessel as the sun does: its heat is the room's.
    """
    out = np.zeros(days)
    for stay in stays:
        if stay.place.lamp is not None:
            begin, end = (stay.start - first).days, (stay.end - first).days + 1
            out[max(begin, 0) : max(end, 0)] = stay.place.lamp.dli
    return out


def solution_at(garden: Garden, tier: Tier) -> np.ndarray:
    """Mean of the solution on each day of the garden's weather [degC; years x days].

    One year where the weather carries none.
    """
    bath = bath_of(garden, tier)
    known: dict[object, np.ndarray] = vars(garden).setdefault("_solutions", {})
    key = (tier.stays, bath)
    if key not in known:
        frame = weather_at(garden, tier)
        years = carried_by(frame)
        if years is None:
            low, high = extremes(frame)
            lamp = lamp_light(frame.index[0].date(), len(frame), tier.stays)
            sun = np.maximum(frame["dli"].to_numpy(float) - lamp, 0.0)
            known[key] = bath.solution(low, high, sun[None, :])
        else:
            lamp = lamp_light(years.first, years.tmin.shape[1], tier.stays)
            known[key] = years.solution(bath, lamp)[:, years.columns(frame.index)]
    return known[key]


HOT_DAYS, LEAST = 3, 0.1  # days, and share of the years, from which warm solution is worth a line


class Warm(NamedTuple):
    """Share of the years [0..1] with `HOT_DAYS` of it, and when it is warm in `LEAST` of them.

    ``first``, ``last`` : days of the season.
    """

    share: float
    first: int
    last: int


def warm_days(garden: Garden, crop: Crop, tier: Tier) -> Warm | None:
    """When the solution of a tier is warmer than a crop bears; None: in too few years."""
    warm = solution_at(garden, tier)[:, : garden.season.days] > crop.heat_limit
    share = float((warm.sum(axis=1) >= HOT_DAYS).mean())
    days = np.flatnonzero(warm.mean(axis=0) >= LEAST - 1e-9)
    if share < LEAST - 1e-9 or not len(days):
        return None
    return Warm(share, int(days[0]), int(days[-1]))
