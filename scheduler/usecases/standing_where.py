"""Which of the places that a garden lists its columns stand in: short plans, lived, the best kept.

Every allowed way for the whole season is planned where there are few; of more, one entry of columns
after another. Then, from the best of them, the changes of place after which crops come on faster.
A change must bring something for its work. What was tried is told, whatever came of it.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from itertools import permutations, product
from math import prod
from typing import TYPE_CHECKING, Any

import numpy as np

from crops.years import KILLED, carried_by
from scheduler.garden.may_stand import Way, settled
from scheduler.garden.model import Choice, Garden, Stay
from scheduler.usecases.stood import LEAST_GAIN, Look, Stood

if TYPE_CHECKING:
    from scheduler.risk.limit import RiskLimit
    from scheduler.solvers.cp_sat import Settings

MOST_WAYS = 6  # planned each by each; of more, one entry of columns after another
MOST_CHANGES = 3  # of place that are planned
LOOKS = 0.5  # share of the time for all looks together
LEAST_FASTER = 0.02  # more progress in a season that a change must let expect to be looked at
EDGE = 14  # days at either end of the season in which no change is tried


def stand_well(
    garden: Garden,
    years: int,
    settings: Settings,
    lost: float | None = None,
    limit: RiskLimit | None = None,
    stop: threading.Event | None = None,
    worth: str = "falling",
) -> Stood:
    """Where the columns of a garden with something to choose stand.

    Parameters
    ----------
    years : weather years to plan with, 0: the mean year; ``lost`` : share of them in which a batch
        may be lost [0..1]. ``settings``: half of its time goes into the looks. ``worth`` : of a
        gram where plans are lived (`lived.worth`).
    """
    from scheduler.usecases.choosing import LEAST_SECONDS

    choices = garden.may_stand
    whole: list[list[tuple[Stay, ...]]] = [
        [(_whole(garden, p),) for p in choice.places] for choice in choices
    ]
    ways = prod(len(w) for w in whole)
    first: Way = tuple(w[0] for w in whole)
    if garden.today is not None:
        return Stood(choices, first, (), ways, 0.0, 0, under_way=True)
    some = ways if ways <= MOST_WAYS else 1 + sum(len(w) - 1 for w in whole)
    room = int(settings.time_limit * LOOKS / LEAST_SECONDS)
    seconds = max(settings.time_limit * LOOKS / (some + MOST_CHANGES), LEAST_SECONDS)
    if room < 2:
        return Stood(choices, first, (), ways, seconds, 0)
    mine = replace(settings, time_limit=seconds)
    looking = _Looks(garden, years, mine, lost, limit, stop, room, worth)
    if ways <= MOST_WAYS:
        for way in product(*whole):
            looking.at(way)
    else:
        looking.at(first)
        for n, others in enumerate(whole):
            base = looking.best
            for other in others:
                looking.at((*base[:n], other, *base[n + 1 :]))
    base = looking.best
    for way in _changes(looking.garden, base):
        looking.at(way)
    return Stood(choices, looking.best, tuple(looking.made), ways, seconds, looking.lived_in)


def _whole(garden: Garden, place: Any) -> Stay:
    """A whole season in a place, and as long after it as the weather goes."""
    from scheduler.garden.file import AFTER

    return Stay(garden.season.start, garden.season.end + AFTER, place)


class _Looks:
    """Ways planned in a short time each, the best so far.

    Attributes
    ----------
    garden : with the years to plan with; made : the looks so far.
    """

    def __init__(
        self,
        garden: Garden,
        years: int,
        settings: Settings,
        lost: float | None,
        limit: RiskLimit | None,
        stop: threading.Event | None,
        room: int,
        worth: str,
    ) -> None:
        from scheduler.usecases.promising import YearsOf

        known = YearsOf(garden, years, settings.seed, lost=lost, worth=worth) if years else None
        self.garden = garden if known is None else known.garden
        self.plain, self.settings, self.limit, self.stop = garden, settings, limit, stop
        self.known = known
        self.lived_in = 0 if known is None else known.choosing.count
        self.made: list[Look] = []
        self.room = room

    @property
    def best(self) -> Way:
        """The way that brings most; a change of place counts only with what it must bring."""

        def worth(look: Look) -> float:
            moved = any(len(stays) > 1 for stays in look.way)
            return -1.0 if look.worth is None else look.worth - (LEAST_GAIN if moved else 0.0)

        return max(self.made, key=worth).way

    def at(self, way: Way) -> None:
        """Plan a way and see what it brings, where there is time and it is new."""
        stopped = self.stop is not None and self.stop.is_set()
        if len(self.made) >= self.room or (stopped and self.made):
            return
        if all(look.way != way for look in self.made):
            self.made.append(self._look(way))

    def _look(self, way: Way) -> Look:
        from scheduler.base.faults import NoPlan, OutOfTime
        from scheduler.lived.doubt import Doubt
        from scheduler.lived.live import live, worth_of
        from scheduler.plans.part import lived_part
        from scheduler.schedule.assemble import wish_met
        from scheduler.usecases.choosing import one_plan

        there = settled(self.garden, way)
        try:
            plan = one_plan(there, self.settings, None, self.stop, self.limit)[1]
        except (NoPlan, OutOfTime):
            return Look(way, None, None)
        if self.known is None:
            met = wish_met(there, plan)
            return Look(way, met, met)
        part, batches = lived_part(settled(self.plain, way), plan.batches)
        lived = live(part, batches, self.known.choosing, doubt=Doubt(), seed=self.settings.seed)
        worth = float(worth_of(part, lived, self.known.taste).mean())
        return Look(way, float(lived.share.mean()), worth)


def _changes(garden: Garden, base: Way) -> Iterator[Way]:
    """The ways with one change of place that let most be expected, the most promising first."""
    found = []
    for n, choice in enumerate(garden.may_stand):
        if not _can_be_carried(garden, choice):
            continue
        pace = {place: _pace(garden, n, base, place) for place in choice.places}
        for one, two in permutations(choice.places, 2):
            if base[n][0].place not in (one, two):
                continue
            sums = np.cumsum(pace[one]) - np.cumsum(pace[two]) + pace[two].sum()
            days = np.flatnonzero(garden.season.work_mask)
            days = days[(days >= EDGE) & (days < garden.season.days - EDGE)]
            if not len(days):
                continue
            day = int(days[np.argmax(sums[days - 1])])
            still = max(pace[one].sum(), pace[two].sum())
            gain = sums[day - 1] / max(still, 1e-9) - 1
            if gain > LEAST_FASTER:
                moved = _moved(garden, one, two, day)
                found.append((gain, (*base[:n], moved, *base[n + 1 :])))
    found.sort(key=lambda f: -f[0])
    yield from (way for _gain, way in found[:MOST_CHANGES])


def _moved(garden: Garden, one: Any, two: Any, day: int) -> tuple[Stay, Stay]:
    """In place ``one`` until the evening before a day of the season, from then on in ``two``."""
    on = garden.season.date(day)
    before, after = _whole(garden, one), _whole(garden, two)
    return replace(before, end=on - timedelta(days=1)), replace(after, start=on)


def _can_be_carried(garden: Garden, choice: Choice) -> bool:
    """Whether empty vessels of the columns are light enough: garden.yaml asks for the same."""
    most = garden.limits.lift_kg
    masses = (
        garden.vessels[t.vessel].mass_kg
        for c in garden.columns
        if c.name in choice.columns
        for t in c.tiers
    )
    return most is None or all(mass <= most + 1e-9 for mass in masses)


def _pace(garden: Garden, n: int, base: Way, place: Any) -> np.ndarray:
    """Progress a day in a place, mean over crops and tiers [days]; none on days that kill.

    A day kills what dies at what one night of ten at that time of the year has.
    """
    from crops.development import daily_rate
    from scheduler.garden.placed import weather_at

    there = settled(garden, (*base[:n], (_whole(garden, place),), *base[n + 1 :]))
    column = next(c for c in there.columns if c.name in garden.may_stand[n].columns)
    days = there.season.days
    out = np.zeros(days)
    for tier in column.tiers:
        weather = weather_at(there, tier).iloc[:days]
        years = carried_by(weather)
        low = weather["tmin"].to_numpy(float)
        if years is not None:
            low = np.quantile(years.tmin[:, years.columns(weather.index)], KILLED, axis=0)
        for crop in there.crops.values():
            rate = daily_rate(crop, weather, tier.light)
            out += np.where(low > crop.kill_temperature, rate, 0.0)
    return out / (len(column.tiers) * len(there.crops))
