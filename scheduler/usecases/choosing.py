"""Several plans of a season, and the one kept that brings most when it is lived.

What is best for the courses to expect need not be best when years come as they come. So where time
allows, plans are made in several ways and lived in years that made none of them.
"""

from __future__ import annotations

import threading
import time
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.batches.candidates import Candidates
    from scheduler.garden.model import Garden
    from scheduler.plans.model import Plan
    from scheduler.search.solve import Season
    from scheduler.solvers.cp_sat import Report, Settings
    from scheduler.years.weather_years import WeatherYears

Admit = Callable[["Candidates"], "Candidates"]
# Shares of the time: what a first way leaves over goes to the next.
TIMES = (0.5, 0.5, 1.0)
LEAST_SECONDS = 2.0  # below which no other way is tried
MOST_TIERS = 200  # of larger gardens one plan is made


@dataclass(frozen=True)
class Made:
    """A plan made in one way.

    Attributes
    ----------
    garden : as it was planned for: with young heads or without, with the years or their mean.
    worth : mean share of the wishes that it brings in the years to choose with [0..1]; NaN if it
        was the only one.
    years : planning years that it was made with; 0: the mean year.
    reachable : share of the wish in weeks that some batch of any of the ways could serve [0..1].
    seconds : by part of the run, over all ways.
    """

    garden: Garden
    season: Season
    plan: Plan
    worth: float
    years: int
    reachable: float
    seconds: Mapping[str, float] = field(default_factory=dict)


def one_plan(
    garden: Garden,
    settings: Settings,
    report: Report | None = None,
    stop: threading.Event | None = None,
    limit: Admit | None = None,
) -> tuple[Season, Plan]:
    """Search, then plan a small garden again under a lower lift limit, as `lighter` tells.

    The seconds of the season count both.
    """
    from scheduler.search.lighter import lighter
    from scheduler.search.solve import solve
    from scheduler.solvers.cp_sat import SEARCH

    season = solve(garden, settings, report, stop, limit)
    began = time.monotonic()
    left = settings.time_limit - sum(season.seconds.values())
    plan = lighter(garden, season, settings, min(left, settings.time_limit / 3), stop, limit)
    season.seconds[SEARCH] += time.monotonic() - began
    return season, plan


def best_lived(
    garden: Garden,
    plain: Garden,
    count: int,
    choosing: WeatherYears,
    settings: Settings,
    seed: int,
    report: Report | None = None,
    stop: threading.Event | None = None,
    limit: Admit | None = None,
) -> Made:
    """Plan ``garden`` with its years, ripe heads only and young ones too, and its mean year.

    Parameters
    ----------
    garden : carries ``count`` planning years; plain : the same of the mean year.
    choosing : years in which the plans are lived.

    Raises
    ------
    NoPlan, OutOfTime
        As `search.solve.solve`, from the first way.
    """
    from scheduler.lived.doubt import Doubt
    from scheduler.lived.live import live
    from scheduler.lived.promise import reachable_share
    from scheduler.plans.part import lived_part
    from scheduler.solvers.cp_sat import LIVING

    ripe = replace(garden, limits=replace(garden.limits, young=1.0))
    ways = [(ripe, count)]
    if sum(len(c.tiers) for c in garden.columns) <= MOST_TIERS:
        ways += [(garden, count)] if garden.limits.young < 1 else []
        ways += [(plain, 0)]
    if settings.time_limit < 2 * LEAST_SECONDS:
        ways = ways[:1]
    began, made = time.monotonic(), []
    spent: defaultdict[str, float] = defaultdict(float)
    for number, (way, years) in enumerate(ways):
        left = settings.time_limit - (time.monotonic() - began)
        if number and (left < LEAST_SECONDS or (stop is not None and stop.is_set())):
            break
        share = TIMES[number] if len(ways) > 1 else 1.0
        mine = replace(settings, time_limit=left * share)
        season, plan = one_plan(way, mine, report, stop, limit)
        for name, seconds in season.seconds.items():
            spent[name] += seconds
        then = time.monotonic()
        worth, reachable = float("nan"), reachable_share(plain, season.cand)
        if len(ways) > 1:
            part, batches = lived_part(plain, plan.batches)
            lived = live(part, batches, choosing, doubt=Doubt(), seed=seed)
            worth = float(lived.share.mean())
            spent[LIVING] += time.monotonic() - then
        made.append(Made(way, season, plan, worth, years, reachable))
    best = max(made, key=lambda m: m.worth)
    return replace(best, reachable=max(m.reachable for m in made), seconds=dict(spent))
