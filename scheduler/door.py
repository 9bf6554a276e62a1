"""The door for notebooks: plan a season, plan it again, look at it, save and load it.

What is planned here goes the same way as in the commands (`scheduler.usecases`): every rule is
checked again, and a plan that breaks one is never handed out. ``scheduler/README.md`` shows it all.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date
from html import escape
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scheduler.base.faults import BadInput, Fault
from scheduler.commands.running import ctrl_c
from scheduler.commands.share import MOST_THREADS, cores
from scheduler.commands.summary import summary
from scheduler.explanation import Explanation
from scheduler.garden.model import Garden
from scheduler.plans.folder import (
    LOG_FILE,
    holds_plan,
    read_plan,
    read_plan_dir,
    refuse_other_folders,
    write_plan_dir,
)
from scheduler.plans.model import Plan
from scheduler.usecases import (
    Ask,
    PlannedAgain,
    Within,
    explain_plan,
    files_again,
    plan_again,
    plan_season,
    season_sources,
)

if TYPE_CHECKING:
    import pandas as pd

    from scheduler.solvers.cp_sat import Settings
    from scheduler.verify import Verdict

SHOWN = 20  # rows of the table that a notebook shows


@dataclass(frozen=True, repr=False)
class Season:
    """A season's plan with its garden, as `plan`, `replan` and `load` give it.

    Attributes
    ----------
    garden : what it was planned for.
    plan : the plan, as it stands in plan.json.
    changes : what a plan made again changes and why, a line each; empty for any other.
    """

    garden: Garden
    plan: Plan
    changes: tuple[str, ...] = ()
    _sources: dict[str, bytes] = field(default_factory=dict)
    _again: PlannedAgain | None = None
    _log: Path | None = None

    @property
    def met(self) -> float | None:
        """Share of all wishes that is met [0..1], by the garden's weights; None without a wish."""
        from scheduler.schedule.assemble import wish_met

        return wish_met(self.garden, self.plan)

    def batches(self) -> pd.DataFrame:
        """One row a batch: crop, place, plants, days, mass [g], fill [L]; see `Plan.to_frame`."""
        return self.plan.to_frame()

    def work(self) -> pd.DataFrame:
        """One row an item of work, in order; columns as in `work_to_frame`."""
        from scheduler.outputs.frames import work_to_frame

        return work_to_frame(self.garden, self.plan)

    def levels(self) -> pd.DataFrame:
        """One row a batch and day: what is left in its vessel [L] and how deep it stands [cm]."""
        from scheduler.outputs.frames import levels_to_frame

        return levels_to_frame(self.plan)

    def produce(self) -> pd.DataFrame:
        """One row a week and group: picked, served, wished and short [g]."""
        from scheduler.outputs.frames import produce_to_frame

        return produce_to_frame(self.garden, self.plan)

    def verify(self) -> Verdict:
        """Check every rule again; a plan that was loaded may have been changed by hand.

        Returns
        -------
        Its ``ok`` tells whether all rules hold, ``broken`` which do not and by how much.
        """
        from scheduler.verify import verify

        return verify(self.garden, self.plan)

    def save(self, folder: str | Path) -> Path:
        """Write the plan, its calendar and what it was made from, as ``dryline plan`` does.

        A log that it was planned again from, or that lay beside it, is copied too.

        Parameters
        ----------
        folder : new, empty, or that of an earlier plan, which is replaced; the plan then gets the
            number after that one's.

        Returns
        -------
        The folder, for `load`, `replan` and every command.

        Raises
        ------
        BadInput
            The folder holds something else, or a plan of which a log tells something; or the
            garden comes from no file.
        OSError
            It could not be written; the folder holds what it held before.
        """
        from scheduler.log.append import copy_log
        from scheduler.log.set_aside import next_number, refuse_logged
        from scheduler.outputs.files import calendar_files

        folder = Path(folder)
        self._refuse_without_file()
        refuse_other_folders(folder)
        if self._log is None or self._log.resolve() != (folder / LOG_FILE).resolve():
            refuse_logged(folder)
        plan, again = self.plan, self._again
        if folder.is_dir() and holds_plan(folder) and read_plan(folder) != plan:
            plan = replace(plan, number=max(plan.number, next_number(folder)))
        if again is None:
            made = calendar_files(self.garden, plan)
        else:
            again = replace(again, done=replace(again.done, plan=plan))
            made = files_again(self.garden, again, folder)
        if self._log is not None:  # first: a log that is ahead of its plan is fine
            copy_log(self._log, folder / LOG_FILE)
        write_plan_dir(folder, plan, self._sources, made)
        return folder

    def _refuse_without_file(self) -> None:
        """Raise BadInput for the season of a garden that comes from no file."""
        if not self._sources:
            raise BadInput(
                [
                    _fault(
                        "season",
                        self,
                        "one of a garden.yaml: write what was changed into one, and plan that",
                    )
                ]
            )

    def __str__(self) -> str:
        """A dozen lines: what the plan is worth."""
        return "\n".join(summary(self.garden, self.plan))

    def __repr__(self) -> str:
        from scheduler.words.units import of_the_wish, share

        p = self.plan
        worth = ""
        if self.met is not None:
            from scheduler.schedule.assemble import by_weights

            worth = f", {share(self.met)} {of_the_wish(by_weights(self.garden))}"
        return (
            f"<Season {self.garden.name}: {len(p.batches)} batches from {p.start} to {p.end}"
            f"{worth}, {p.status}>"
        )

    def _repr_html_(self) -> str:
        """The plan as a table, a row a batch, in the garden's units; the first ones of many."""
        from scheduler.words.units import mass

        head = ("crop", "column", "tier", "plants", "sow", "transplant", "pick", "clear", "mass")
        rows = []
        for b in sorted(self.plan.batches, key=lambda b: (b.transplant, b.id))[:SHOWN]:
            picks = ", ".join(str(p.date) for p in b.picks)
            rows.append(
                (
                    b.crop,
                    b.column,
                    b.tier,
                    b.plants,
                    b.sow,
                    b.transplant,
                    picks,
                    b.clear,
                    mass(b.grams, self.garden.units),
                )
            )
        more = len(self.plan.batches) - len(rows)
        caption = repr(self)[len("<Season ") : -1]
        if self.garden.invented:
            caption += "; an invented garden"
        if more > 0:
            caption += f"; {more} more in batches()"
        body = "".join(f"<tr>{_cells('td', row)}</tr>" for row in rows)
        return (
            f"<table><caption>{escape(caption)}</caption><thead><tr>{_cells('th', head)}</tr>"
            f"</thead><tbody>{body}</tbody></table>"
        )


def _cells(kind: str, values: tuple[Any, ...]) -> str:
    return "".join(f"<{kind}>{escape(str(v))}</{kind}>" for v in values)


def plan(
    garden: Garden | str | Path,
    *,
    time_limit: float = 60.0,
    gap: float = 0.01,
    seed: int = 0,
    workers: int = 2,
    risk: float | None = None,
    past: str | Path | None = None,
    years: int = 20,
) -> Season:
    """Plan the season of a garden.

    An interrupt (Ctrl-C, or a notebook's stop button) ends the search and keeps the best plan.

    Parameters
    ----------
    garden : path of a garden.yaml; or a garden, to try what a change would bring
        (``dataclasses.replace``). That is not checked as a file is, and its season cannot be saved.
    time_limit : seconds to search [s], 0.1 to 86400; reading and checking come on top.
    gap : share of the produce that may stay unproven [0..1].
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
        faults.append(_fault("past", past, "a risk or years beside it"))
    if not 0 <= years <= 200:
        faults.append(_fault("years", years, "a whole number from 0 to 200"))
    if past is not None and isinstance(garden, Garden):
        faults.append(_fault("past", past, "the path of a garden.yaml beside it, not a garden"))
    settings = _settings(faults, time_limit, gap, seed, workers, risk)
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
    climate : daily rows of newer weather: a forecast, a heat wave.
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
    day = _day(faults, on)
    if not _whole(freeze, 0, 366):
        faults.append(_fault("freeze", freeze, "a whole number of days, 0 to 366"))
    settings = _settings(faults, time_limit, gap, seed, workers, risk)
    ask = Ask(day, freeze, complete=complete, most=risk)
    with _folder_of(season) as (folder, old), ctrl_c() as stop:
        garden, sources = old.garden, old._sources
        entries = read_log_file(log, garden)
        if climate is not None:
            garden, sources = with_weather(garden, sources, Path(climate))
        again = plan_again(folder, garden, old.plan, entries, ask, settings, None, stop)
    changes = tuple(report_lines(again.done, garden.units))
    return Season(again.garden, again.done.plan, changes, dict(sources), again, Path(log))


def explain(
    season: Season | Garden | str | Path,
    *,
    time_limit: float = 300.0,
    seed: int | None = None,
    workers: int = 2,
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
    settings = _settings([], time_limit, 0.0, 0 if seed is None else seed, workers, None)
    own = seed is None
    with ctrl_c() as stop:
        if not isinstance(season, Season):
            return Explanation(explain_plan(season, settings, None, stop, as_planned=own))
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


def _settings(
    faults: list[Fault], time_limit: float, gap: float, seed: int, workers: int, risk: float | None
) -> Settings:
    """Settings of a search; BadInput with these faults and its own, all at once."""
    if not _number(time_limit, 0.1, 86400):
        faults.append(_fault("time_limit", time_limit, "seconds, 0.1 to 86400"))
    if not _number(gap, 0, 1):
        faults.append(_fault("gap", gap, "a share, 0 to 1"))
    if not _whole(seed, 0, 2**31 - 1):
        faults.append(_fault("seed", seed, f"a whole number, 0 to {2**31 - 1}"))
    if not _whole(workers, 1, MOST_THREADS):
        faults.append(_fault("workers", workers, f"a whole number, 1 to {MOST_THREADS}"))
    if risk is not None and not _number(risk, 0, 1):
        faults.append(_fault("risk", risk, "a share, 0 to 1, such as 0.05"))
    if faults:
        raise BadInput(faults)
    from scheduler.solvers.cp_sat import Settings

    return Settings(time_limit=time_limit, gap=gap, seed=seed, workers=min(workers, cores()))


def _day(faults: list[Fault], on: date | str) -> date:
    try:
        # A time stamp of pandas or datetime is a date too; its day counts.
        return date(on.year, on.month, on.day) if isinstance(on, date) else date.fromisoformat(on)
    except (TypeError, ValueError):
        faults.append(_fault("on", on, "a day such as 2027-06-03"))
        return date.min


def _number(value: Any, least: float, most: float) -> bool:
    known = isinstance(value, int | float) and not isinstance(value, bool)
    return known and isfinite(value) and least <= value <= most


def _whole(value: Any, least: int, most: int) -> bool:
    return _number(value, least, most) and isinstance(value, int)


def _fault(name: str, value: Any, expected: str) -> Fault:
    """A fault of a parameter, named like a place in a file."""
    return Fault("parameters", None, name, repr(value)[:40], expected)
