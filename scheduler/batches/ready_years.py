"""How long a crop takes to be ready in each weather year, for every day it may be planted on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from crops import development
from crops.crop import Crop
from scheduler.garden.kinds import Kind
from scheduler.garden.model import Garden
from scheduler.years.generator import generated_years
from scheduler.years.placed import years_at
from scheduler.years.quantiles import share_below
from scheduler.years.spread import SeasonSpread
from scheduler.years.weather_years import WeatherYears

LEAST = 4  # years that can tell what one in five is: the smallest of four stands for it


@dataclass(frozen=True)
class Spell:
    """Days from planting until ready, per planting day [m]; infinity: not while there is weather.

    ``usual``: in half of the years sooner; one year in five is before ``early``, one after
    ``late``.
    """

    early: np.ndarray
    usual: np.ndarray
    late: np.ndarray


@dataclass(frozen=True)
class ReadyYears:
    """One crop in one kind of tier, planted on each work day of the season.

    Attributes
    ----------
    planted : the days [m].
    climate : days from planting until ready in the garden's own weather [m].
    past, made : the same in each past year [P, m] and each generated one [G, m]; infinity where
        it is not ready while there is weather.
    names : of the past years [P].
    """

    crop: Crop
    kind: Kind
    planted: tuple[date, ...]
    climate: np.ndarray
    past: np.ndarray
    made: np.ndarray
    names: tuple[str, ...]

    @property
    def of_past(self) -> Spell | None:
        """Of the past years; None where they are too few to tell one in five."""
        return spell(self.past) if len(self.past) >= LEAST else None

    @property
    def of_made(self) -> Spell:
        return spell(self.made)


def spell(days: np.ndarray) -> Spell:
    """What a sample of years tells [years, m]."""
    early, usual, late = (share_below(days, share) for share in (0.2, 0.5, 0.8))
    return Spell(early, usual, late)


def ready_years(
    garden: Garden,
    kind: Kind,
    past: WeatherYears | None,
    made: WeatherYears,
    crops: tuple[str, ...] = (),
) -> tuple[ReadyYears, ...]:
    """Every crop of the garden (or of ``crops`` only) in one kind of tier.

    Only warmth and light count: whether the crop dries, bolts or wants more light is not asked.
    """
    starts = np.flatnonzero(garden.season.work_mask)
    days = tuple(garden.season.date(int(i)) for i in starts)
    own = generated_years(garden, 1, SeasonSpread().scaled(0.0))
    out = []
    for crop in garden.crops.values():
        if crops and crop.name not in crops:
            continue
        light = kind.tier.light
        none = np.zeros((0, len(starts)))
        out.append(
            ReadyYears(
                crop,
                kind,
                days,
                days_to_ready(crop, light, years_at(garden, own, kind.tier), starts)[0],
                none
                if past is None
                else days_to_ready(crop, light, years_at(garden, past, kind.tier), starts),
                days_to_ready(crop, light, years_at(garden, made, kind.tier), starts),
                () if past is None else past.names,
            )
        )
    return tuple(out)


def planted_between(one: ReadyYears, first: date | None, last: date | None) -> ReadyYears:
    """Only the planting days from ``first`` to ``last``, both included."""
    kept = [
        i
        for i, day in enumerate(one.planted)
        if (first is None or day >= first) and (last is None or day <= last)
    ]
    return replace(
        one,
        planted=tuple(one.planted[i] for i in kept),
        climate=one.climate[kept],
        past=one.past[:, kept],
        made=one.made[:, kept],
    )


def days_to_ready(crop: Crop, light: float, years: WeatherYears, starts: np.ndarray) -> np.ndarray:
    """Days from each start [m] to the first morning ready [years, m]; infinity: never."""
    rate = years.carried.rates(crop, light)
    out = np.empty((years.count, len(starts)))
    for y in range(years.count):
        total = development.running_sum(rate[y])
        ready = development.first_reach(total, starts)
        out[y] = np.where(ready < years.days, ready - starts, np.inf)
    return out
