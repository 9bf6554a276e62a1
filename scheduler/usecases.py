"""A season planned, and planned again: from the grower's files to a plan that keeps every rule.

Whoever plans (a command, the page, many gardens at once) calls `plan_season`; whoever plans a
season that is under way calls `plan_again`. What is loaded, searched, mixed, checked and refused is
the same everywhere. Nothing here writes a file.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.garden.season_weather import WeatherOf
    from scheduler.log.model import Log
    from scheduler.plans.model import Plan
    from scheduler.replanning.rebalance import Rebalanced
    from scheduler.risk.limit import RiskLimit
    from scheduler.solvers.cp_sat import Phases, Report, Settings

CHANGES_TEXT, CHANGES_JSON = "changes.txt", "changes.json"


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
    busy : that the machine had too little room for the search, in a sentence; empty if it had.
    """

    garden: Garden
    plan: Plan
    weather: WeatherOf
    limit: RiskLimit | None
    sources: Mapping[str, bytes] = field(repr=False)
    phases: Phases = field(repr=False)
    busy: str = ""


def plan_season(
    garden_file: str | Path | Garden,
    settings: Settings,
    within: Within | None = None,
    report: Report | None = None,
    stop: threading.Event | None = None,
    number: int = 1,
) -> Planned:
    """Load a garden, search, mix the fills, check every rule; refuse a plan that gives nothing.

    ``number`` is the plan's. A `Garden` instead of a file is planned as it is: its plan has no
    sources, and past weather is not for it, as only a file tells whether the site is coastal.

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
    from scheduler.garden.model import Garden
    from scheduler.garden.season_weather import weather_in_hand, weather_of
    from scheduler.mix.fills import with_solution
    from scheduler.risk.limit import RiskLimit
    from scheduler.schedule.masses import Standing
    from scheduler.search.lighter import lighter
    from scheduler.search.solve import solve
    from scheduler.shortfall.no_plan import explained, refuse_empty
    from scheduler.solvers.cp_sat import CHECKING, READING, SEARCH, Phases

    phases = Phases(report)
    with phases.phase(READING):
        past, limit = None if within is None else within.past, None
        file = None if isinstance(garden_file, Garden) else garden_file
        garden = garden_file if isinstance(garden_file, Garden) else load_garden(garden_file)
        if file is None and past is not None:
            raise ValueError("past weather goes with the file of a garden only")
        if within is not None:
            limit = RiskLimit(garden, within.most, settings.seed, past, file or "")
        sources = {} if file is None else sources_of(garden, file, past)
        weather = weather_in_hand(garden) if file is None else weather_of(file)
    try:
        season = solve(garden, settings, report, stop, limit)
    except NoPlan:
        if limit is not None and limit.offered:  # it is the risk that leaves nothing
            raise
        raise NoPlan("\n".join(explained(garden, weather, stop=stop))) from None
    phases.seconds |= season.seconds
    began = time.monotonic()
    left = settings.time_limit - sum(season.seconds.values())
    plan = lighter(garden, season, settings, min(left, settings.time_limit / 3), stop, limit)
    phases.seconds[SEARCH] += time.monotonic() - began
    with phases.phase(CHECKING):
        refuse_empty(garden, plan, weather, limit, stop)
        plan = with_solution(garden, plan)
        lifted = Standing(garden, plan).lifted(plan)
        plan = replace(plan, lifted=lifted, number=number, made=date.today())
        if limit is not None:
            plan = replace(plan, risk=limit.taken)
        refuse_broken(garden, plan)
    return Planned(garden, plan, weather, limit, sources, phases, season.busy)


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


@dataclass(frozen=True)
class Ask:
    """What a grower asks of a plan made again; see `scheduler.replanning.rebalance.rebalance`.

    ``most`` is the risk to plant within [0..1], 1 for none; None: as the plan was made.
    """

    on: date
    freeze: int = 0
    change_grams: float | None = None
    complete: bool = False
    rest_days: int | None = None
    most: float | None = None


@dataclass(frozen=True)
class PlannedAgain:
    """A plan made again that keeps every rule, and the risk it was made within.

    ``busy``: as in `Planned`.
    """

    done: Rebalanced
    limit: RiskLimit | None
    busy: str = ""


def plan_again(
    folder: Path,
    garden: Garden,
    plan: Plan,
    log: Log,
    ask: Ask,
    settings: Settings,
    report: Report | None = None,
    stop: threading.Event | None = None,
    made: date | None = None,
) -> PlannedAgain:
    """Plan what is left of a season, mix the new fills, check every rule.

    Parameters
    ----------
    folder : of ``plan``; garden : with the weather as it is known now.
    made : day on which it is made; default: the clock's.

    Raises
    ------
    BadInput
        A day outside the season, entries that cannot be, past weather that is gone.
    NoPlan
        What stands cannot be brought to an end within the garden's rules.
    OwnFault
        The plan found breaks a rule.
    """
    from scheduler.log.state import DISEASE_REST_DAYS
    from scheduler.mix.fills import renewed
    from scheduler.replanning.rebalance import CHANGE_GRAMS, rebalance
    from scheduler.schedule.masses import Standing
    from scheduler.solvers.cp_sat import Load

    limit = _risk_kept(folder, garden, plan, ask.most, settings.seed)
    load = Load(settings.workers)
    done = rebalance(
        garden,
        plan,
        log,
        ask.on,
        settings,
        ask.freeze,
        CHANGE_GRAMS if ask.change_grams is None else ask.change_grams,
        ask.complete,
        DISEASE_REST_DAYS if ask.rest_days is None else ask.rest_days,
        report,
        stop,
        limit,
    )
    busy = load.sentence() if done.searched else ""
    new = renewed(garden, plan, done.plan)
    new = replace(
        new,
        lifted=Standing(garden, new).lifted(new),
        number=max(plan.number, 1) + 1,
        made=made or date.today(),
    )
    done = replace(done, plan=new)
    refuse_broken(garden, done.plan)
    return PlannedAgain(done, limit, busy)


def _risk_kept(
    folder: Path, garden: Garden, plan: Plan, asked: float | None, seed: int
) -> RiskLimit | None:
    """The risk to keep within: as asked, or else as the plan was made."""
    from scheduler.base.faults import BadInput, Fault
    from scheduler.plans.folder import GARDEN_FILE, PAST_FILE
    from scheduler.risk.limit import YEARS, RiskLimit

    old = plan.risk
    most = asked if asked is not None else 1.0 if old is None else old.most
    if most >= 1:
        return None
    past = folder / PAST_FILE if old is not None and old.past else None
    if past is not None and not past.is_file():
        raise BadInput(
            [
                Fault(
                    str(past), None, "", "not there", "the past weather that the plan was made with"
                )
            ]
        )
    seed, years = (seed, YEARS) if old is None else (old.seed, old.years)
    return RiskLimit(garden, most, seed, past, folder / GARDEN_FILE, years)


def season_sources(folder: Path, garden: Garden) -> dict[str, bytes]:
    """`sources_of` a plan's folder, with the past weather that lies there."""
    from scheduler.plans.folder import GARDEN_FILE, PAST_FILE

    past = folder / PAST_FILE
    return sources_of(garden, folder / GARDEN_FILE, past if past.is_file() else None)


def files_again(garden: Garden, again: PlannedAgain, target: Path) -> dict[str, bytes]:
    """Name to content of what is made from a plan made again: the calendar, what has changed.

    ``target`` is the folder that they are for.
    """
    import json

    from scheduler.outputs.files import calendar_files
    from scheduler.replanning.text import outcome, report_lines

    text = json.dumps(outcome(again, target), indent=1, ensure_ascii=False)
    return {
        **calendar_files(garden, again.done.plan),
        CHANGES_TEXT: ("\n".join(report_lines(again.done, garden.units)) + "\n").encode(),
        CHANGES_JSON: f"{text}\n".encode(),
    }
