"""One window: some decisions free to change, the rest held, solved as a small model.

A window is drawn first, with all that chance decides about it, and then solved: the solving
touches nothing that others use, so that several windows may be solved at once.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from ortools.sat.python import cp_model

from scheduler.batches.courses import NEVER
from scheduler.model.build import Built, build_model, read_choices
from scheduler.model.hints import complete
from scheduler.schedule.column_subset import ColumnSubset
from scheduler.schedule.problem import Choice, Problem
from scheduler.search.goal import Goal, aim
from scheduler.solvers.cp_sat import Settings, hint_all, run

DETERMINISTIC = 0.4  # the solver's deterministic seconds for one window, for repeatable runs
TIE = 100  # so many days of holding a tier weigh as much as the smallest gain


@dataclass(frozen=True)
class Window:
    """What may change.

    Attributes
    ----------
    begin, end : days of transplanting that are free, the last one excluded.
    plain : without batches that are picked on several days; cheap : only with what is cheap in the
        relaxation (`scheduler.search.priced_window`); seed : of the solver.
    subset : the columns that are free; None: all of them. columns : their names.
    """

    begin: int
    end: int
    plain: bool
    cheap: bool
    seed: int
    subset: ColumnSubset | None = None
    columns: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Found:
    """What a window gives.

    Attributes
    ----------
    inside : its columns' choices; None if nothing was found.
    value : of the goal, with the choices elsewhere as they were when the window was drawn.
    settled : whether it is the best the window can; deterministic : seconds of the solver.
    """

    inside: list[Choice] | None
    value: float
    settled: bool
    deterministic: float


def days_held(problem: Problem) -> np.ndarray:
    """Days each decision holds its tier [v]."""
    days: np.ndarray = (problem.column("last") - problem.column("transplant")).astype(int)
    return days


class Opener:
    """Solves windows over one problem. It changes nothing, so that threads may share it.

    ``cheap`` names the decisions that cheap windows offer [v, bool]; None: there are none such.
    """

    def __init__(self, problem: Problem, access: bool, settings: Settings) -> None:
        self.problem, self.access, self.settings = problem, access, settings
        self.cheap: np.ndarray | None = None
        self.start = problem.column("transplant")
        self.heavy_after = problem.heavy[2]
        cand = problem.cand
        cuts = np.array([cand.garden.crops[n].cuts for n in cand.crop_names], dtype=int)
        events = (cand.pick_day < NEVER).sum(axis=1)
        crop = cand.table["crop"].to_numpy(dtype=int)
        # Picks spread over several days help little and double the candidates: tried now and then.
        self.plain = ((cuts[crop] > 1) | (events == 1))[problem.row_of]
        self.held = np.zeros(len(problem), bool)
        for group in problem.committed:
            self.held[list(group)] = True

    def solve(
        self,
        goal: Goal,
        choices: Sequence[Choice],
        window: Window,
        seconds: float,
        stop: threading.Event | None,
    ) -> Found:
        """The best that is found for ``goal`` when ``window`` may change and the rest stays."""
        subset = window.subset
        inside = [
            c for c in choices if subset is None or subset.holds[self.problem.place_of[c.decision]]
        ]
        offered_rows, built = self._model(window, choices)
        at = {int(old): new for new, old in enumerate(offered_rows)}
        mine = [Choice(at[c.decision], c.clear) for c in inside]
        self._hold(built, window, inside, mine)
        aim(built, goal)
        if goal.maximise:
            # Of equal schedules the one whose tiers are free sooner leaves more to later windows.
            stay = cp_model.LinearExpr.weighted_sum(
                built.v.take, days_held(built.v.problem).tolist()
            )
            built.model.maximize(goal.expression(built) * TIE - stay)
        hint_all(built.model, complete(built, mine))
        settings = replace(self.settings, seed=window.seed)
        if settings.deterministic is not None:
            settings = replace(settings, deterministic=DETERMINISTIC)
            seconds = max(seconds, 60.0)
        answer = run(built.model, goal.name, settings, seconds, gap=5e-4, stop=stop, quick=True)
        settled = answer.status == cp_model.OPTIMAL
        if not answer.found or answer.value is None:
            return Found(None, 0.0, settled, answer.deterministic)
        found = [
            Choice(int(offered_rows[c.decision]), c.clear)
            for c in read_choices(built, answer.values)
        ]
        value = answer.value
        if goal.maximise:
            taken = np.array([answer.values[x.index] for x in built.v.take], dtype=int)
            value = round((value + int(taken @ days_held(built.v.problem))) / TIE)
        return Found(found, value, settled, answer.deterministic)

    def _model(self, window: Window, choices: Sequence[Choice]) -> tuple[np.ndarray, Built]:
        """The decisions a window offers, and the model of them."""
        offered = (self.start >= window.begin) & (self.start < window.end)
        if window.plain:
            offered &= self.plain
        if window.cheap and self.cheap is not None:
            offered &= self.cheap
        offered |= self.held
        offered[[c.decision for c in choices]] = True
        subset = window.subset
        if subset is not None:
            offered &= subset.holds[self.problem.place_of]
        offered_rows = np.flatnonzero(offered)
        whole = self.problem.restricted(offered_rows)
        return offered_rows, build_model(whole if subset is None else subset.of(whole), self.access)

    def _hold(
        self, built: Built, window: Window, old: Sequence[Choice], new: Sequence[Choice]
    ) -> None:
        """Hold the choices outside the days that are free, by their old and new numbers."""
        v, counts = built.v, np.bincount([c.decision for c in new], minlength=len(built.v.take))
        for was, now in zip(old, new, strict=True):
            i = was.decision
            if window.begin <= self.start[i] < window.end or self.held[i]:
                continue
            built.model.add(v.take[now.decision] == int(counts[now.decision]))
            if self.access and (was.clear < window.begin or self.start[i] > window.end):
                slot = int(self.problem.slot(np.array(was.clear)))
                place = int(v.problem.place_of[now.decision])
                built.model.add(v.clear[bool(self.heavy_after[i])][place][slot] == 1)
