"""A garden that was changed a little, searched anew by living it: what it brings over the years.

Runs in a process of its own where there are several; everything that goes in and out is plain data.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np

from scheduler.batches.fixed import fixed_rows
from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks, wish
from scheduler.lived.doubt import Doubt
from scheduler.lived.live import live, worth_of
from scheduler.lived.worth import TASTES
from scheduler.plans.model import Batch, Plan
from scheduler.schedule.assemble import wish_total
from scheduler.search.living import improved, taken_over
from scheduler.search.living.cohorts import keeps_will
from scheduler.search.solve import make_plan
from scheduler.shortfall.solve_again import Task, candidates
from scheduler.verify import verify
from scheduler.years import CHOOSING, JUDGED, PLANNED
from scheduler.years.expected import without_years
from scheduler.years.purposes import Purpose, cut, years_for
from scheduler.years.weather_years import WeatherYears


@dataclass(frozen=True)
class Ahead:
    """The years of a plan: how many it was made with, their seed, how the worth of a gram falls."""

    planned: int
    seed: int
    worth: str


@dataclass(frozen=True)
class Again:
    """A garden to search from plans, of another one perhaps.

    Attributes
    ----------
    others : plans to begin with if they are better than that of ``task``.
    draw : searches of one garden with different numbers make different moves.
    least : weighted grams on average that a plan must bring more than, to be looked at.
    """

    task: Task
    ahead: Ahead
    others: tuple[tuple[Batch, ...], ...] = ()
    draw: int = 0
    least: float = -inf


@dataclass(frozen=True)
class Eaten:
    """What a plan brings to the table in years that made none.

    Attributes
    ----------
    grams : weighted [g, years]; groups : of each wish [g], served : by group and week [g], means
        of the years; short : share of the years in which a week's wish is not met in full [0..1].
    real : how many of the years are past years.
    """

    grams: np.ndarray
    groups: dict[str, float]
    served: dict[tuple[str, str], float]
    short: dict[tuple[str, str], float]
    real: int


@dataclass(frozen=True)
class LivedAgain:
    """What came of it.

    Attributes
    ----------
    plan : keeps every rule of the garden; None: there is none, or none that brings enough.
    chosen : its mean worth in the years to choose with (`lived.worth`), by which plans of one
        garden are told apart; eaten : in the years to judge by.
    broken : rules that a plan broke; there is no plan then, and a fault of ours.
    """

    plan: Plan | None
    chosen: float
    eaten: Eaten | None
    seconds: float
    broken: tuple[str, ...] = ()


def years_of(garden: Garden, ahead: Ahead, count: int, purpose: Purpose) -> WeatherYears:
    """The years of a garden for one purpose, as its plan has them."""
    mean = without_years(garden)
    return years_for(mean, count, ahead.seed, purpose, mean.site.past)


def chosen(garden: Garden, batches: tuple[Batch, ...], ahead: Ahead) -> float:
    """Mean worth of a plan in the years to choose with, as a share of the wish."""
    years, mean = years_of(garden, ahead, CHOOSING, "choose"), without_years(garden)
    lived = live(mean, batches, years, doubt=Doubt(), seed=ahead.seed)
    return float(worth_of(mean, lived, TASTES[ahead.worth]).mean())


def eaten(
    garden: Garden, batches: tuple[Batch, ...], ahead: Ahead, season: Garden | None = None
) -> Eaten:
    """Live a plan in the years of its promise.

    ``season`` : a garden whose season is longer: in the same days of the years made for it, so
    that its plans have the same weather.
    """
    mean = without_years(garden)
    years = years_of(garden if season is None else season, ahead, JUDGED, "promise")
    if season is not None:
        weather = garden.site.weather
        years = cut(years, weather.index[0].date(), len(weather))
    lived = live(mean, batches, years, doubt=Doubt(), seed=ahead.seed)
    want, weeks = wish(mean), season_weeks(mean.season)
    served, short = {}, {}
    for g, demand in enumerate(mean.demands):
        for w, week in enumerate(weeks):
            asked = want.get((demand.group, week), 0)
            if asked:
                served[demand.group, week] = float(lived.met[g, w].mean())
                # Grams are whole in the garden, and half a gram nobody misses.
                short[demand.group, week] = float((lived.met[g, w] < asked - 0.5).mean())
    groups = {d.group: float(lived.met[g].sum(axis=0).mean()) for g, d in enumerate(mean.demands)}
    return Eaten(lived.share * wish_total(mean), groups, served, short, years.real)


def live_again(again: Again, stop: Any = None) -> LivedAgain:
    """The plan found within the settings that brings most to the table; verified.

    ``stop`` is set from outside (anything with ``is_set``).
    """
    began = time.monotonic()
    task, ahead = again.task, again.ahead
    garden = task.garden

    def none(*broken: str) -> LivedAgain:
        return LivedAgain(None, 0.0, None, time.monotonic() - began, broken)

    cand = candidates(task)
    # With what is fixed the changed garden may have no plan.
    if not len(cand) or any(not len(rows) for _, rows in fixed_rows(cand)):
        return none()
    there = {(column.name, tier.number) for column in garden.columns for tier in column.tiers}
    starts = [
        [b for b in batches if (b.column, b.tier) in there]
        for batches in (task.batches, *again.others)
    ]
    found = improved(
        cand,
        years_of(garden, ahead, ahead.planned or PLANNED, "plan"),
        [taken_over(cand, batches) for batches in starts],
        task.settings,
        task.settings.time_limit,
        stop=stop,
        taste=TASTES[ahead.worth],
        draw=again.draw,
    )
    if not keeps_will(cand, found.stands):
        return none()
    plan = make_plan(garden, cand, found.stands, task.settings)
    judged = eaten(garden, plan.batches, ahead)
    if judged.grams.mean() <= again.least:
        return LivedAgain(None, 0.0, judged, time.monotonic() - began)
    verdict = verify(garden, plan)
    if not verdict.ok:
        return none(*{b.rule: 0 for b in verdict.broken})
    worth = chosen(garden, plan.batches, ahead)
    return LivedAgain(plan, worth, judged, time.monotonic() - began)
