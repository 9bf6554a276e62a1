"""A season under way planned again, within its risk; and the files that tell of it."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.usecases.planning import refuse_broken, sources_of

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.log.model import Log
    from scheduler.plans.model import Plan
    from scheduler.replanning.rebalance import Rebalanced
    from scheduler.risk.limit import RiskLimit
    from scheduler.solvers.cp_sat import Report, Settings

CHANGES_TEXT, CHANGES_JSON = "changes.txt", "changes.json"


@dataclass(frozen=True)
class Ask:
    """What a grower asks of a plan made again; see `scheduler.replanning.rebalance.rebalance`.

    ``most`` is the risk to plant within [0..1], 1 for none; None: as the plan was made.
    ``search``: look for something better even where all can go on as planned.
    """

    on: date
    freeze: int = 0
    change_grams: float | None = None
    complete: bool = False
    rest_days: int | None = None
    most: float | None = None
    search: bool = False


@dataclass(frozen=True)
class PlannedAgain:
    """A plan made again that keeps every rule, its garden as known on the day, the risk within.

    ``busy``: as in `Planned`.
    """

    done: Rebalanced
    garden: Garden
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
    from scheduler.lived.spans import without_spans
    from scheduler.log.state import DISEASE_REST_DAYS
    from scheduler.mix.fills import renewed
    from scheduler.plans.plan_years import expected
    from scheduler.replanning.rebalance import CHANGE_GRAMS, rebalance
    from scheduler.schedule.masses import Standing
    from scheduler.solvers.cp_sat import Load
    from scheduler.usecases.promising import YearsOf
    from scheduler.years.expected import without_years

    known = None
    if plan.years is not None:  # what has happened is the same in every year
        garden = expected(folder, without_years(garden), plan, ask.on, ask.most)
        y = plan.years
        known = YearsOf(without_years(garden), y.planned, y.seed, ask.on, worth=y.worth)
    limit = _risk_kept(folder, garden, plan, ask.most, settings.seed)
    load = Load(settings.workers)
    done = rebalance(
        garden,
        without_spans(plan),
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
        known,
        ask.search,
    )
    busy = load.sentence() if done.searched else ""
    new = renewed(garden, plan, done.plan)
    new = replace(
        new,
        lifted=Standing(garden, new).lifted(new),
        number=max(plan.number, 1) + 1,
        made=made or date.today(),
    )
    if known is not None:
        new = known.again(plan, new)
    done = replace(done, plan=new)
    refuse_broken(garden, done.plan)
    return PlannedAgain(done, garden, limit, busy)


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
    """`sources_of` a plan's folder, with the past weather and the forecast that lie there."""
    from scheduler.plans.folder import GARDEN_FILE, PAST_FILE
    from scheduler.plans.plan_years import FORECAST_FILE

    past, forecast = folder / PAST_FILE, folder / FORECAST_FILE
    sources = sources_of(garden, folder / GARDEN_FILE, past if past.is_file() else None)
    return {**sources, FORECAST_FILE: forecast.read_bytes()} if forecast.is_file() else sources


def files_again(garden: Garden, again: PlannedAgain, target: Path) -> dict[str, bytes]:
    """Name to content of what is made from a plan made again: calendar, forecasts, what changed.

    ``target`` is the folder that they are for.
    """
    import json

    from scheduler.outputs.files import season_files
    from scheduler.replanning.text import outcome, report_lines

    text = json.dumps(outcome(again, target), indent=1, ensure_ascii=False)
    return {
        **season_files(garden, again.done.plan),
        CHANGES_TEXT: ("\n".join(report_lines(again.done, garden.units)) + "\n").encode(),
        CHANGES_JSON: f"{text}\n".encode(),
    }
