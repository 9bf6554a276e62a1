"""The door for notebooks: plan a season, plan it again, look at it, save and load it.

What is planned here goes the same way as in the commands (`scheduler.usecases`): every rule is
checked again, and a plan that breaks one is never handed out. ``scheduler/README.md`` shows it all.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from scheduler.base.faults import Fault
from scheduler.commands.running import ctrl_c
from scheduler.explanation import Explanation
from scheduler.garden.model import Garden
from scheduler.parameters import day_of, fault, settings_of, whole
from scheduler.plans.folder import LOG_FILE, read_plan_dir, write_plan_dir
from scheduler.season import Season
from scheduler.usecases import (
    Ask,
    Within,
    explain_plan,
    plan_again,
    plan_season,
    season_sources,
)
from scheduler.years import PLANNED


def plan(
    garden: Garden | str | Path,
    *,
    time_limit: float = 60.0,
    gap: float = 0.01,
    seed: int = 0,
    workers: int = 2,
    risk: float | None = None,
    past: str | Path | None = None,
    years: int = PLANNED,
) -> Season:
    """Plan the season of a garden.

    An interrupt (Ctrl-C, or a notebook's stop button) ends the search and keeps the best plan.

    Parameters
    ----------
    garden : path of a garden.yaml; or a garden, to try what a change would bring
        (``dataclasses.replace``). That is not checked as a file is, and its season cannot be saved.
    time_limit : seconds to search [s], 0.1 to 86400; reading and checking come on top.
    gap : stop when within this share of the proven best [0..1].
    seed : random seed.
    workers : threads of the search; no more than there are cores are used.
    risk : most weather years in which a batch may run dry [0..1]; None: the weather as expected.
    past : daily climate table of past years, from which the years are drawn; the garden's own
        (``site.past``) unless given.
    years : weather years to plan with; 0: the mean year, and no promise.

    Raises
    ------
    BadInput
        Every fault of the garden, or of these parameters.
    NoPlan
        No plan gives anything; the message names the rules against it and what would help.
    OutOfTime
        None was found in the time.
    OwnFault
        The plan found breaks a rule; please report it.
    """
    faults = []
    if past is not None and risk is None and not years:
        faults.append(fault("past", past, "a risk or years beside it"))
    if not 0 <= years <= 200:
        faults.append(fault("years", years, "a whole number from 0 to 200"))
    if past is not None and isinstance(garden, Garden):
        faults.append(fault("past", past, "the path of a garden.yaml beside it, not a garden"))
    settings = settings_of(faults, time_limit, gap, seed, workers, risk)
    with ctrl_c() as stop:
        within = None if risk is None else Within(risk, past)
        made = plan_season(garden, settings, within, None, stop, years=years, past=past)
    return Season(made.garden, made.plan, _sources=dict(made.sources))


def replan(
    season: Season | str | Path,
    log: str | Path,
    on: date | str,
    *,
    climate: str | Path | None = None,
    freeze: int = 0,
    complete: bool = False,
    risk: float | None = None,
    time_limit: float = 6.0,
    gap: float = 0.01,
    seed: int = 0,
    workers: int = 2,
) -> Season:
    """Plan what is left of a season again, from what happened, changing as little as need be.

    Parameters
    ----------
    season : from `plan`, `load` or `replan`, or the folder of a saved one.
    log : path of the log.csv that tells what happened.
    on : plan from the morning of this day, a date or a text such as ``2027-06-03``.
    climate : daily rows of newer weather: before ``on`` as it was, from then on a forecast, which
        the weather years follow less the further ahead it lies.
    freeze : days from then on in which nothing planned changes.
    complete : the log tells everything; what is not in it was not done.
    risk : as in `plan`; None: as it was planned, 1: no limit.
    time_limit, gap, seed, workers : as in `plan`.

    Raises
    ------
    BadInput
        Every fault of the log, the weather or these parameters; a day outside the season.
    NoPlan
        What stands cannot be brought to an end within the garden's rules.
    OwnFault
        The plan found breaks a rule; please report it.
    """
    from scheduler.log.model import read_log_file
    from scheduler.replanning.new_weather import with_weather
    from scheduler.replanning.text import report_lines

    faults: list[Fault] = []
    day = day_of(faults, on)
    if not whole(freeze, 0, 366):
        faults.append(fault("freeze", freeze, "a whole number of days, 0 to 366"))
    settings = settings_of(faults, time_limit, gap, seed, workers, risk)
    ask = Ask(day, freeze, complete=complete, most=risk)
    with _folder_of(season) as (folder, old), ctrl_c() as stop:
        garden, sources = old.garden, old._sources
        entries = read_log_file(log, garden)
        if climate is not None:
            forecast_on = day if old.plan.years is not None else None
            garden, sources = with_weather(garden, sources, Path(climate), forecast_on)
        again = plan_again(folder, garden, old.plan, entries, ask, settings, None, stop)
    changes = tuple(report_lines(again.done, garden.units))
    return Season(again.garden, again.done.plan, changes, dict(sources), again, Path(log))


def explain(
    season: Season | Garden | str | Path,
    *,
    time_limit: float = 300.0,
    seed: int | None = None,
    workers: int = 2,
    years: int = PLANNED,
) -> Explanation:
    """Tell what holds a season back, and which small change would help most.

    The garden is changed in one thing at a time (four more nursery cells, a further work day,
    another tier, ...) and planned anew from the season's plan. An interrupt (Ctrl-C, or a
    notebook's stop button) ends the search and keeps what is known so far.

    Parameters
    ----------
    season : from `plan` or `load`, or the folder of a saved one; or a garden, or the path of a
        garden.yaml, of which a plan is made first, in a third of the time.
    time_limit : seconds for everything [s], 0.1 to 86400.
    seed : random seed; None: the plan's own.
    workers : gardens planned side by side; no more than there are cores.
    years : weather years to plan with, where a plan is made first; 0: the mean year.

    A season made for weather years is judged over years that made no plan, each change paired with
    the season as it is.

    Raises
    ------
    BadInput
        Every fault of the plan, the garden or these parameters.
    NoPlan
        No plan gives anything; the message names the rules against it and what would help.
    OutOfTime
        None was found in the time.
    DrylineError
        The season is under way, or its plan breaks a rule: nothing can be compared with it.
    """
    faults = [] if 0 <= years <= 200 else [fault("years", years, "a whole number from 0 to 200")]
    settings = settings_of(faults, time_limit, 0.0, 0 if seed is None else seed, workers, None)
    own = seed is None
    with ctrl_c() as stop:
        if not isinstance(season, Season):
            told = explain_plan(season, settings, None, stop, as_planned=own, years=years)
            return Explanation(told)
        if not season._sources:  # of a garden in hand
            told = explain_plan(season.garden, settings, None, stop, season.plan, own)
            return Explanation(told)
        with _folder_of(season) as (folder, _):
            return Explanation(explain_plan(folder, settings, None, stop, as_planned=own))


def load(folder: str | Path) -> Season:
    """A season from the folder that `Season.save` or ``dryline plan`` has written.

    Raises
    ------
    BadInput
        No plan there, or every fault of the plan or of the garden beside it.
    """
    folder = Path(folder)
    garden, made = read_plan_dir(folder)
    log = folder / LOG_FILE
    sources = season_sources(folder, garden)
    return Season(garden, made, _sources=sources, _log=log if log.is_file() else None)


@contextmanager
def _folder_of(season: Season | str | Path) -> Iterator[tuple[Path, Season]]:
    """A folder in which a season's files lie, for as long as it is asked for."""
    if not isinstance(season, Season):
        yield Path(season), load(season)
        return
    season._refuse_without_file()
    with tempfile.TemporaryDirectory() as name:
        write_plan_dir(name, season.plan, season._sources)
        yield Path(name), season
