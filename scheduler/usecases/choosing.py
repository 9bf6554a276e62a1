"""Several plans of a season, the best searched on by living it, and the one kept that brings most.

What is best for the courses to expect need not be best when years come as they come. So where time
allows, plans are made in several ways, each for some of the time, and the rest goes into making the
best of them better by living it in the planning years. All are then lived in years that made none
of them.
"""

from __future__ import annotations

import math
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from scheduler.years.expected import LIVED_TIERS

if TYPE_CHECKING:
    import numpy as np

    from scheduler.batches.candidates import Candidates
    from scheduler.garden.model import Garden
    from scheduler.lived.worth import Taste
    from scheduler.plans.model import Plan, Stage
    from scheduler.search.solve import Season
    from scheduler.solvers.cp_sat import Report, Settings
    from scheduler.usecases.liking import Like
    from scheduler.years.weather_years import WeatherYears

Admit = Callable[["Candidates"], "Candidates"]
# Share of the time for a plan in each way; what is left is for living the best of them.
FIRST_LOOK = 0.07
LEAST_LIVING = 4.0  # seconds left below which that is not begun
LEAST_SECONDS = 2.0  # below which no other way is tried
LARGE_LOOK, LEAST_SAMPLED = 0.3, 20.0  # share of the time for that plan; seconds of time for both


@dataclass(frozen=True)
class Made:
    """A plan made in one way.

    Attributes
    ----------
    garden : as it was planned for: with young heads or without, with the years or their mean.
    worth : mean worth of what it brings in the years to choose with (`lived.worth`); NaN if it
        was the only one; by_year : in each of them.
    years : planning years that it was made with; 0: the mean year.
    reachable : share of the wish in weeks that some batch of any of the ways could serve [0..1].
    sample : columns that were planned by living, each other as one like it; None: not so.
    seconds : by part of the run, over all ways.
    """

    garden: Garden
    season: Season
    plan: Plan
    worth: float
    years: int
    reachable: float
    sample: int | None = None
    seconds: Mapping[str, float] = field(default_factory=dict)
    by_year: np.ndarray | None = field(default=None, repr=False, compare=False)


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
    from scheduler.search.solve import solve

    season = solve(garden, settings, report, stop, limit)
    return season, _lighter(garden, season, settings, stop, limit)


def _lighter(
    garden: Garden,
    season: Season,
    settings: Settings,
    stop: threading.Event | None,
    limit: Admit | None,
) -> Plan:
    """The plan of a season, or one that lifts less; its time is added to the season's."""
    from scheduler.search.lighter import lighter
    from scheduler.solvers.cp_sat import SEARCH

    began = time.monotonic()
    left = settings.time_limit - sum(season.seconds.values())
    plan = lighter(garden, season, settings, min(left, settings.time_limit / 3), stop, limit)
    season.seconds[SEARCH] += time.monotonic() - began
    return plan


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
    planning: WeatherYears | None = None,
    taste: Taste | None = None,
    like: Like | None = None,
) -> Made:
    """Plan ``garden`` with its years, ripe heads only and young ones too, and its mean year.

    Then the schedule that brings most is made better by living it; what brings most in the years to
    choose with is kept. What is planned for the mean year is chosen among what lives through
    enough of the years (`usecases.surviving`).

    Parameters
    ----------
    garden : carries ``count`` planning years; plain : the same of the mean year.
    choosing : years in which the plans are lived to choose one of them.
    planning : years in which the best is made better; None: it is not.
    taste : how the worth of a gram falls, for living and choosing; None: it does not.
    like : a plan to come near to: one is made from it by living. No other way is tried then, and it
        is made whatever time is left.

    Raises
    ------
    NoPlan, OutOfTime
        As `search.solve.solve`, from the first way.
    """
    from scheduler.base.faults import NoPlan
    from scheduler.lived.worth import FLAT
    from scheduler.usecases.surviving import surviving

    ripe = replace(garden, limits=replace(garden.limits, young=1.0))
    large = sum(len(c.tiers) for c in garden.columns) > LIVED_TIERS
    sampled = large and planning is not None and settings.deterministic is None
    # What is fixed in one column is not done in those that are like it.
    sampled = sampled and settings.time_limit >= LEAST_SAMPLED and not garden.fixed
    # A batch that is fixed may be one that is picked young.
    ways = [(garden if sampled or garden.fixed else ripe, count)]
    if not large:
        ways += [(garden, count)] if garden.limits.young < 1 and not garden.fixed else []
        ways += [(plain, 0)]
    if settings.time_limit < 2 * LEAST_SECONDS:
        ways = ways[:1]
    if like is not None:
        # Others would find what is far from the plan, or have no place for all of it.
        ways = [(garden, count) if like.of_years else (plain, 0)]
    several = sampled or len(ways) > 1 or like is not None
    looking = _Looking(plain, choosing, seed, several, taste or FLAT, like)

    def spared(cand: Candidates) -> Candidates:
        return surviving(garden, cand if limit is None else limit(cand))

    began = time.monotonic()
    for number, (way, years) in enumerate(ways):
        left = settings.time_limit - (time.monotonic() - began)
        if number and (left < LEAST_SECONDS or (stop is not None and stop.is_set())):
            break
        seconds = min(settings.time_limit * FIRST_LOOK, left) if several else left
        if sampled:
            seconds = settings.time_limit * LARGE_LOOK
        least = LEAST_SECONDS if like is None else min(LEAST_SECONDS, settings.time_limit / 3)
        mine = replace(settings, time_limit=max(seconds, least))
        try:
            made = one_plan(way, mine, report, stop, limit if years else spared)
        except NoPlan:
            if not number:
                raise
            continue  # nothing that the mean year bears lives through the years
        looking.at(way, years, *made)
    left = settings.time_limit - (time.monotonic() - began)
    enough = left >= LEAST_LIVING and not (stop is not None and stop.is_set())
    if planning is not None and several and (enough or like is not None):
        base = max(looking.made, key=lambda m: m.worth)
        if base.years:  # of the ways with years the last has all candidates of the others
            base = [m for m in looking.made if m.years][-1]
        mine = replace(settings, time_limit=max(left, 1.0))
        if like is not None and (as_it_was := like.as_it_was(base.garden, base.season, mine)):
            looking.at(base.garden, base.years, *as_it_was)
            looking.was = looking.made[-1]
        if sampled:
            _sampled(base, looking, planning, mine, report, stop)
        else:
            season, plan = _lived_on(
                base, looking.made, planning, mine, looking.taste, report, stop, like
            )
            looking.at(base.garden, base.years, season, plan)
    best = max(looking.made, key=looking.after_changes) if several else looking.made[0]
    best = looking.surely(best)
    most = max(m.reachable for m in looking.made)
    return replace(best, reachable=most, seconds=dict(looking.spent))


def _lived_on(
    base: Made,
    made: Sequence[Made],
    years: WeatherYears,
    settings: Settings,
    taste: Taste,
    report: Report | None,
    stop: threading.Event | None,
    like: Like | None = None,
) -> tuple[Season, Plan]:
    """What comes of the best of some plans by living it in the planning years.

    Schedules are made of the candidates of ``base``, whose bounds hold for them too.
    """
    from scheduler.search.living import improved, taken_over
    from scheduler.search.living.cohorts import keeps_will
    from scheduler.search.living.known import as_known
    from scheduler.search.solve import make_plan
    from scheduler.solvers.cp_sat import SEARCH

    began = time.monotonic()
    cand = base.season.cand
    rules = [m.season.by_hand for m in made if m.season.by_hand is not None]
    starts = [taken_over(cand, p.batches) for p in (*(m.plan for m in made), *rules)]
    if like is not None:
        starts.append(as_known(cand, like.plan.batches))
    found = improved(
        *(cand, years, starts, settings, settings.time_limit, report, stop),
        taste=taste,
        known=None if like is None else like.known(cand.garden),
    )
    if not keeps_will(cand, found.stands):  # it began with a plan for other courses
        return base.season, base.plan
    plan = make_plan(base.garden, cand, found.stands, settings, bounded(base.plan))
    plan = replace(plan, by_hand=base.season.plan.by_hand)
    took = {SEARCH: time.monotonic() - began}
    return replace(base.season, plan=plan, stands=found.stands, seconds=took), plan


def bounded(plan: Plan) -> list[Stage]:
    """Its stages for another plan: of those after the first the bound is of as much produce."""
    first, *later = plan.stages
    return [first, *(replace(stage, bound=None) for stage in later)]


def _sampled(
    base: Made,
    looking: _Looking,
    years: WeatherYears,
    settings: Settings,
    report: Report | None,
    stop: threading.Event | None,
) -> None:
    """A large garden's plan made better by living a sample of its columns, beside the others."""
    from scheduler.schedule.assemble import wish_total
    from scheduler.schedule.mixed import asks
    from scheduler.search.living import improved
    from scheduler.search.living.cohorts import cohorts, keeps_will, of_the_sample, spread
    from scheduler.search.solve import make_plan
    from scheduler.solvers.cp_sat import SEARCH, Progress

    began = time.monotonic()
    cand = base.season.cand
    them = cohorts(cand)
    # How crops are mixed is asked of the whole garden, of which a sample knows nothing.
    if them is None or any(asks(d) for d in cand.garden.demands):
        return
    start = of_the_sample(them, base.season.stands)
    whole = wish_total(cand.garden) / max(wish_total(them.cand.garden), 1.0)

    def tell(p: Progress) -> None:
        if report is not None:  # of the sample, in grams of the whole garden
            report(replace(p, best=p.best * whole))

    found = improved(
        them.cand, years, [start], settings, settings.time_limit, tell, stop, taste=looking.taste
    )
    stands = spread(cand, them, found.stands)
    if not keeps_will(cand, stands):
        return
    plan = make_plan(base.garden, cand, stands, settings, bounded(base.plan))
    took = {SEARCH: time.monotonic() - began}
    season = replace(base.season, plan=plan, stands=stands, seconds=took)
    looking.at(base.garden, base.years, season, plan, them.columns)


class _Looking:
    """Plans lived in the years to choose with.

    Attributes
    ----------
    made : so far; spent : seconds by part of the run; was : of them the plan to be like, as it was.
    """

    def __init__(
        self,
        plain: Garden,
        choosing: WeatherYears,
        seed: int,
        several: bool,
        taste: Taste,
        like: Like | None,
    ) -> None:
        self.plain, self.choosing, self.seed, self.several = plain, choosing, seed, several
        self.taste, self.like = taste, like
        self.made: list[Made] = []
        self.was: Made | None = None
        self.spent: defaultdict[str, float] = defaultdict(float)

    def after_changes(self, made: Made) -> float:
        """What a plan is worth, less what its changes cost where it is to be like another."""
        if self.like is None:
            return made.worth
        return self.like.after_changes(self.plain, made.plan.batches, made.worth)

    def surely(self, best: Made) -> Made:
        """A plan, or the one to be like where what the other brings more may be chance.

        More than one standard error of the difference, year by year, is taken for no chance.
        """
        if self.was is None or best.by_year is None or self.was.by_year is None:
            return best
        more = best.by_year - self.was.by_year
        chance = float(more.std(ddof=1)) / math.sqrt(len(more)) if len(more) > 1 else 0.0
        gain = self.after_changes(best) - self.after_changes(self.was)
        return best if gain > chance + 1e-12 else self.was

    def at(
        self, way: Garden, years: int, season: Season, plan: Plan, sample: int | None = None
    ) -> None:
        """Live a plan, where there are several to choose from; ``sample`` as in `Made`."""
        from scheduler.lived.doubt import Doubt
        from scheduler.lived.live import live, worth_of
        from scheduler.lived.promise import reachable_share
        from scheduler.plans.part import lived_part
        from scheduler.solvers.cp_sat import LIVING

        for name, seconds in season.seconds.items():
            self.spent[name] += seconds
        began, worth, by_year = time.monotonic(), float("nan"), None
        if self.several:
            part, batches = lived_part(self.plain, plan.batches)
            lived = live(part, batches, self.choosing, doubt=Doubt(), seed=self.seed)
            by_year = worth_of(part, lived, self.taste)
            worth = float(by_year.mean())
            self.spent[LIVING] += time.monotonic() - began
        reachable = reachable_share(self.plain, season.cand)
        made = Made(way, season, plan, worth, years, reachable, sample, by_year=by_year)
        self.made.append(made)
