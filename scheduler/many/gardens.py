"""Plan many gardens that have nothing to do with each other.

A job carries its files by value and a result brings the plan's files back, so that it makes no
difference whether a garden is planned here, in another process, or on another machine that shares
no disk. One thread searches one garden; speed comes from planning several at a time.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Protocol

from scheduler.base.faults import BadInput, DrylineError, Fault, NoPlan, OutOfTime, OwnFault
from scheduler.garden.file import GARDEN_FILE, garden_sources
from scheduler.log.set_aside import next_number, refuse_logged
from scheduler.plans.folder import (
    CROPS_FILE,
    INCOMING,
    PLAN_FILE,
    refuse_other_folders,
    write_plan_dir,
)
from scheduler.plans.reading import parse_plan
from scheduler.solvers.cp_sat import Settings

# How a garden came out, beside the status of a plan (proven, within_gap, best_found).
BAD_INPUT, NO_PLAN, OUT_OF_TIME = "bad_input", "no_plan", "out_of_time"
BROKEN, DEFECT = "breaks_a_rule", "defect"  # our own faults
LOST, STOPPED, NOT_WRITTEN = "lost", "stopped", "not_written"

ATTEMPTS = 3  # times a garden is begun, if the worker that plans it is lost


class Stop(Protocol):
    """Anything that tells whether to stop."""

    def is_set(self) -> bool: ...


@dataclass(frozen=True)
class Job:
    """A garden to plan.

    Its name, the files it was read from, where the plan goes, the search, the plan's number, the
    weather years to plan with.
    """

    name: str
    folder: str
    sources: dict[str, bytes]
    settings: Settings
    number: int = 1
    years: int = 0


@dataclass(frozen=True)
class Result:
    """How one garden came out.

    Attributes
    ----------
    outcome : status of the plan, or one of the names above.
    met, most : share of the weighted wish that is met, and that any plan can meet; None: unknown.
    files : the plan's folder by file name; emptied once it is written.
    message : why there is no plan. faults : of its input, as `BadInput.as_dict`.
    attempts : how often it was begun. busy : that the machine had too little room, in a sentence.
    """

    name: str
    folder: str
    outcome: str
    seconds: float = 0.0
    batches: int = 0
    met: float | None = None
    most: float | None = None
    message: str = ""
    faults: tuple[dict[str, Any], ...] = ()
    attempts: int = 1
    busy: str = ""
    files: dict[str, bytes] = field(default_factory=dict, repr=False)

    @property
    def planned(self) -> bool:
        return self.outcome in ("proven", "within_gap", "best_found")


def find_gardens(folder: Path) -> list[Path]:
    """Every garden.yaml below ``folder``, sorted, but for the copies that lie in plans' folders.

    Hidden folders and links to folders are not followed.
    """
    found = []
    for where, below, files in os.walk(folder):
        planned = PLAN_FILE in files or INCOMING in below  # the latter: cut off while moved in
        below[:] = sorted(d for d in below if not d.startswith("."))
        if GARDEN_FILE in files and not planned:
            found.append(Path(where) / GARDEN_FILE)
    return sorted(found)


def prepare(
    folder: Path, out: Path | None, settings: Settings, years: int = 0
) -> tuple[list[Job], list[Result]]:
    """A job for each sound garden below ``folder``, a result for each with faults.

    Parameters
    ----------
    out : plans go into the same folders below it; None: into ``plan`` beside each garden.yaml.

    Raises
    ------
    BadInput
        No folder, or no garden in it.
    """
    if not folder.is_dir():
        what = "a file" if folder.exists() else "not there"
        raise BadInput([Fault(str(folder), None, "", what, "a folder with gardens")])
    paths = find_gardens(folder)
    if not paths:
        raise BadInput([Fault(str(folder), None, "", f"no {GARDEN_FILE}", "one or more below it")])
    jobs, bad = [], []
    for path in paths:
        relative = path.parent.relative_to(folder)
        name = str(relative) if relative.parts else folder.resolve().name
        target = path.parent / "plan" if out is None else out / name
        try:
            refuse_other_folders(target)
            refuse_logged(target)
            number = next_number(target)
            jobs.append(Job(name, str(target), garden_sources(path), settings, number, years))
        except DrylineError as error:
            bad.append(refused(name, str(target), error))
    return jobs, bad


def refused(name: str, folder: str, error: DrylineError) -> Result:
    """The result of a garden that could not be planned."""
    named = ((NoPlan, NO_PLAN), (OutOfTime, OUT_OF_TIME), (OwnFault, BROKEN))
    outcome = next((name for kind, name in named if isinstance(error, kind)), BAD_INPUT)
    faults = tuple(error.as_dict().get("faults", ()))
    return Result(name, folder, outcome, message=error.text(), faults=faults)


def plan_garden(job: Job, stop: Stop | None = None) -> Result:
    """Plan one garden; runs anywhere, touches no file but its own temporary ones, never raises."""
    began = time.monotonic()
    try:
        result = _plan(job, stop)
    except DrylineError as error:
        result = refused(job.name, job.folder, error)
    except Exception as error:  # one garden must not stop the others
        result = Result(
            job.name,
            job.folder,
            DEFECT,
            message=f"{type(error).__name__}: {error}. Please report it.",
        )
    return replace(result, seconds=round(time.monotonic() - began, 2))


def _plan(job: Job, stop: Any) -> Result:
    from scheduler.garden.file import write_sources
    from scheduler.outputs.files import season_files
    from scheduler.schedule.assemble import wish_total
    from scheduler.usecases import plan_season

    with tempfile.TemporaryDirectory() as place:
        here = Path(place)
        write_sources(here, job.sources)
        done = plan_season(
            here / GARDEN_FILE, job.settings, stop=stop, number=job.number, years=job.years
        )
    garden, plan = done.garden, done.plan
    made = season_files(garden, plan)
    made |= {PLAN_FILE: plan.to_json().encode(), CROPS_FILE: done.sources[CROPS_FILE]}
    wish = max(wish_total(garden), 1.0)
    first = plan.stages[0]
    return Result(
        job.name,
        job.folder,
        plan.status,
        batches=len(plan.batches),
        met=first.value / wish,
        most=None if first.bound is None else min(first.bound / wish, 1.0),
        files=made,
        busy=done.busy,
    )


def write(job: Job, result: Result) -> Result:
    """Write the folder of a planned garden; the result without its files, or why not."""
    if not result.planned:
        return result
    files = dict(result.files)
    plan = parse_plan(files.pop(PLAN_FILE), result.name)
    sources = {**job.sources, CROPS_FILE: files.pop(CROPS_FILE)}
    try:
        write_plan_dir(job.folder, plan, sources, files)
    except (OSError, DrylineError) as error:
        return replace(result, outcome=NOT_WRITTEN, files={}, message=f"not written: {error}")
    return replace(result, files={})


Done = Callable[[Result], None]


def lost(job: Job, attempts: int, why: str) -> Result:
    """The result of a garden whose worker was lost each time."""
    return Result(job.name, job.folder, LOST, message=why, attempts=attempts)


def stopped(job: Job) -> Result:
    """The result of a garden that was not begun, or not ended, before the stop."""
    return Result(job.name, job.folder, STOPPED, message="stopped before it was planned")
