"""A season planned: a garden is loaded, searched, mixed, checked; what gives nothing is refused."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.garden.season_weather import WeatherOf
    from scheduler.plans.model import Plan
    from scheduler.risk.limit import RiskLimit
    from scheduler.solvers.cp_sat import Phases, Report, Settings
    from scheduler.usecases.liking import Like
    from scheduler.usecases.stood import Stood

# Gardens of so many tiers are told what who knew the years beforehand could bring at most. That
# takes a share of the time, and no more than so many seconds.
SMALL, APART, MOST_APART = 6, 0.25, 20.0


@dataclass(frozen=True)
class Within:
    """The risk of running dry to plan within: most share of years [0..1], past weather."""

    most: float
    past: str | Path | None = None


@dataclass(frozen=True)
class Planned:
    """A season's plan that keeps every rule and gives some of what is wished.

    Attributes
    ----------
    sources : file name to content: what the plan was made from.
    limit : the risk it was made within; None: the weather as expected.
    parts : how long reading, candidates, search and checking took.
    stands : what becomes of each crop that stands today, one sentence each.
    stood : what was tried of places to choose from; None: the garden has nothing to choose.
    busy : that the machine had too little room for the search, in a sentence; empty if it had.
    """

    garden: Garden
    plan: Plan
    weather: WeatherOf
    limit: RiskLimit | None
    sources: Mapping[str, bytes] = field(repr=False)
    phases: Phases = field(repr=False)
    busy: str = ""
    stands: tuple[str, ...] = ()
    stood: Stood | None = None


def plan_season(
    garden_file: str | Path | Garden,
    settings: Settings,
    within: Within | None = None,
    report: Report | None = None,
    stop: threading.Event | None = None,
    number: int = 1,
    years: int = 0,
    past: str | Path | None = None,
    worth: str = "falling",
    like: Like | None = None,
) -> Planned:
    """Load a garden, search, mix the fills, check every rule; refuse a plan that gives nothing.

    ``years`` : weather years to plan with; several plans are then made, the one that brings most
    when it is lived is kept, and what it promises is judged in years apart. 0: one plan for the
    mean year, which promises nothing. ``past``: a daily table of past weather. ``worth`` : of a
    gram where plans are lived: falling, or flat (`lived.worth`). ``number`` is the plan's. A
    `Garden` instead of a file is planned as it is: its plan has no sources, and past weather is not
    for it, as only a file tells whether the site is coastal. ``like`` : a plan to change as little
    of as pays, of a season that has not begun and of years.

    Raises
    ------
    BadInput
        Every fault of the input.
    NoPlan
        No plan gives anything; with the rules that stand against it and what would help.
    OutOfTime
        None was found in the time.
    OwnFault
        The plan found breaks a rule.
    """
    from scheduler.base.faults import NoPlan
    from scheduler.garden.file import load_garden
    from scheduler.garden.may_stand import settled, written
    from scheduler.garden.model import Garden
    from scheduler.garden.past_file import read_past
    from scheduler.garden.season_weather import weather_in_hand, weather_of
    from scheduler.mix.fills import with_solution
    from scheduler.plans.folder import GARDEN_FILE
    from scheduler.risk.limit import RiskLimit
    from scheduler.schedule.masses import Standing
    from scheduler.search.fixed_first import CannotFix
    from scheduler.shortfall.no_plan import explained, refuse_empty
    from scheduler.solvers.cp_sat import CHECKING, LIVING, PLACES, READING, Phases
    from scheduler.usecases.choosing import best_lived, one_plan
    from scheduler.usecases.fixed import refuse_fixed
    from scheduler.usecases.liking import fitting, named_alike
    from scheduler.usecases.promising import YearsOf
    from scheduler.usecases.standing_where import stand_well
    from scheduler.years.expected import with_past

    phases = Phases(report)
    with phases.phase(READING):
        limit = None
        if past is None and within is not None:
            past = within.past
        file = None if isinstance(garden_file, Garden) else garden_file
        garden = garden_file if isinstance(garden_file, Garden) else load_garden(garden_file)
        if file is None and past is not None:
            raise ValueError("past weather goes with the file of a garden only")
        if file is not None and past is not None and years:
            rows = read_past(past, garden, file)
            garden = with_past(garden, lambda: rows)
        if within is not None:
            limit = RiskLimit(garden, within.most, settings.seed, past, file or "")
        sources = {} if file is None else sources_of(garden, file, past)
        weather = weather_in_hand(garden) if file is None else weather_of(file)
    stood = None
    if garden.may_stand:
        with phases.phase(PLACES):
            lost = None if within is None else within.most
            stood = stand_well(garden, years, settings, lost, limit, stop, worth)
        if file is not None:
            sources[GARDEN_FILE] = written(sources[GARDEN_FILE], stood.choices, stood.way)
        garden = settled(garden, stood.way)
        settings = replace(settings, time_limit=settings.time_limit - stood.spent)
    if garden.today is not None:
        done = _from_today(
            garden,
            settings,
            years,
            limit,
            str(file or garden.name),
            report,
            stop,
            number,
            weather,
            sources,
            phases,
            None if within is None else within.most,
            worth,
        )
        return replace(done, stood=stood)
    known, apart = None, 0.0
    if years:
        with phases.phase(READING):
            lost = None if within is None else within.most
            known = YearsOf(garden, years, settings.seed, lost=lost, worth=worth)
        if sum(len(column.tiers) for column in garden.columns) <= SMALL:
            apart = min(settings.time_limit * APART, MOST_APART)
            settings = replace(settings, time_limit=settings.time_limit - apart)
    refuse_fixed(garden if known is None else known.garden, file or garden.name)
    try:
        if known is not None:
            if like is not None:
                like = replace(like, plan=fitting(garden, like.plan))
            made = best_lived(
                known.garden,
                garden,
                years,
                known.choosing,
                settings,
                settings.seed,
                report,
                stop,
                limit,
                known.planning,
                known.taste,
                like,
            )
            # Whatever way was kept, the grower eats young heads from the garden's own share on.
            garden = replace(made.garden, limits=garden.limits)
            season = made.season
            plan = made.plan if like is None else named_alike(garden.season, like.plan, made.plan)
        else:
            season, plan = one_plan(garden, settings, report, stop, limit)
    except NoPlan as error:
        if isinstance(error, CannotFix) or (limit is not None and limit.offered):
            raise  # it is what is fixed, or the risk, that leaves nothing
        raise NoPlan("\n".join(explained(garden, weather, stop=stop))) from None
    if known is None:
        phases.seconds |= season.seconds
    else:
        phases.seconds |= made.seconds
        with phases.phase(LIVING):
            plan = known.promised(plan, made)
            if apart:
                plan = known.foreseen(plan, apart, settings.nodes, stop)
    with phases.phase(CHECKING):
        refuse_empty(garden, plan, weather, limit, stop)
        plan = with_solution(garden, plan)
        lifted = Standing(garden, plan).lifted(plan)
        plan = replace(plan, lifted=lifted, number=number, made=date.today())
        if limit is not None:
            plan = replace(plan, risk=limit.taken)
        refuse_broken(garden, plan)
    return Planned(garden, plan, weather, limit, sources, phases, season.busy, stood=stood)


def _from_today(
    garden: Garden,
    settings: Settings,
    years: int,
    limit: RiskLimit | None,
    file: str,
    report: Report | None,
    stop: threading.Event | None,
    number: int,
    weather: WeatherOf,
    sources: Mapping[str, bytes],
    phases: Phases,
    lost: float | None,
    worth: str,
) -> Planned:
    """The same where something stands: see `usecases.planning_standing`."""
    from scheduler.lived.promise import reachable_share
    from scheduler.mix.fills import with_solution
    from scheduler.schedule.masses import Standing
    from scheduler.shortfall.no_plan import refuse_empty
    from scheduler.solvers.cp_sat import CHECKING, LIVING, SEARCH, Load
    from scheduler.usecases.fixed import refuse_fixed
    from scheduler.usecases.planning_standing import of_what_stands, plan_from_today
    from scheduler.usecases.promising import YearsOf

    def known(of: Garden, count: int) -> YearsOf:
        return YearsOf(of, count, settings.seed, of.today, lost, worth)

    load = Load(settings.workers)
    refuse_fixed(known(garden, years).garden if years else garden, file)
    with phases.phase(SEARCH):
        found = plan_from_today(garden, years, settings, file, known, report, stop, limit)
    # Whatever way was kept, the grower eats young heads from the garden's own share on.
    there, plan = replace(found.garden, limits=garden.limits), found.plan
    with phases.phase(CHECKING):
        refuse_empty(there, plan, weather, limit, stop)
        plan = with_solution(there, plan)
        lifted = Standing(there, plan).lifted(plan)
        plan = replace(plan, lifted=lifted, number=number, made=date.today())
        if limit is not None:
            plan = replace(plan, risk=limit.taken)
    if years:
        with phases.phase(LIVING):
            reachable = reachable_share(there, found.done.commitments.cand)
            plan = known(garden, years).from_today(plan, found.years, reachable)
    with phases.phase(CHECKING):
        refuse_broken(there, plan)
    return Planned(
        there, plan, weather, limit, sources, phases, load.sentence(), of_what_stands(garden, found)
    )


def sources_of(
    garden: Garden, garden_file: str | Path, past: str | Path | None = None
) -> dict[str, bytes]:
    """Name to content of what a plan is made from: the garden's files, its crops, past weather."""
    from scheduler.garden.file import garden_sources
    from scheduler.plans.folder import CROPS_FILE, PAST_FILE, crops_source

    sources = {**garden_sources(garden_file), CROPS_FILE: crops_source(garden)}
    if past is not None:
        sources[PAST_FILE] = Path(past).read_bytes()
    return sources


def refuse_broken(garden: Garden, plan: Plan) -> None:
    """Raise OwnFault if a plan of ours breaks a rule: no such plan leaves the program."""
    from scheduler.base.faults import OwnFault
    from scheduler.verify import verify
    from scheduler.verify.text import lines

    verdict = verify(garden, plan)
    if not verdict.ok:
        head = "This plan breaks a rule, so it was not written. Please report it:"
        raise OwnFault("\n".join([head, *lines(verdict, garden.units)]))
