"""A garden that was changed a little, solved anew from a plan: what it gives, and its bound.

Runs in a process of its own where there are several; everything that goes in and out is plain data.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass
from typing import Any

from scheduler.batches.candidates import Candidates, build
from scheduler.batches.fixed import fixed_rows
from scheduler.garden.model import Garden
from scheduler.model.build import stands
from scheduler.model.reduced import bound, most_produce
from scheduler.plans.model import Batch, Plan
from scheduler.schedule.problem import Choice, Problem, by_tier, pooled
from scheduler.schedule.stages import EFFORT, EVENNESS, whole_weights
from scheduler.search import warm_start as warm_start
from scheduler.search.fixed_first import CannotFix
from scheduler.search.layouts import access_matters, choices_of
from scheduler.search.solve import make_plan, optimise
from scheduler.solvers.cp_sat import Progress, Settings
from scheduler.verify import verify


@dataclass(frozen=True)
class Task:
    """A garden to solve from a plan of another one.

    Attributes
    ----------
    garden : to solve; before : the garden of the batches.
    batches : where the search begins; loosens : every plan of ``before`` is one of ``garden``.
    """

    garden: Garden
    before: Garden
    batches: tuple[Batch, ...]
    settings: Settings
    loosens: bool = True


@dataclass(frozen=True)
class Solved:
    """What came of it.

    Attributes
    ----------
    plan : keeps every rule of the garden; value : its produce [weighted g].
    bound : no plan of the garden is worth more [weighted g]; None if none is known.
    broken : rules that a plan broke; there is no plan then, and a fault of ours.
    """

    plan: Plan | None
    value: float
    bound: float | None
    seconds: float
    broken: tuple[str, ...] = ()


def candidates(task: Task) -> Candidates:
    """The candidates of a task's garden; with work days added, those of the garden before too."""
    garden, before = task.garden, task.before
    cand, _ = build(garden)
    days, earlier = garden.season, before.season
    moved = (days.work_days, days.pick_days, days.away) != (
        earlier.work_days,
        earlier.pick_days,
        earlier.away,
    )
    if task.loosens and moved and len(cand):
        old, _ = build(before)
        if len(old):
            cand = warm_start.with_rows_of(old, cand)
    return cand


def linear_bound(task: Task) -> float | None:
    """No plan of a garden is worth more [weighted g]; 0 where nothing can grow; None: unknown."""
    cand = candidates(task)
    if not len(cand):
        return 0.0
    if any(not len(rows) for _, rows in fixed_rows(cand)):
        return 0.0
    problem = pooled(cand)
    scale, _ = whole_weights(problem.supply.weights)
    got = bound(problem, most_produce, maximise=True)
    return None if got is None else got / scale


def solve_again(task: Task, stop: Any = None) -> Solved:
    """The most produce found within the settings, from the plan at hand; verified.

    ``stop`` is set from outside (anything with ``is_set``).
    """
    began = time.monotonic()
    garden = task.garden
    cand = candidates(task)
    if not len(cand):
        return Solved(None, 0.0, 0.0, time.monotonic() - began)
    halt = threading.Event()

    def report(progress: Progress) -> None:
        if progress.stage in (EVENNESS, EFFORT) or (stop and stop.is_set()):
            halt.set()  # only the produce is asked for

    try:
        problem, first = _start(task, cand)
    except CannotFix:  # with what is fixed the changed garden has no plan
        return Solved(None, 0.0, None, time.monotonic() - began)
    if not access_matters(cand):
        made, problem = stands(problem, first), pooled(cand)
        first = choices_of(problem, made)
    if stop is not None and stop.is_set():
        halt.set()
    # Only the search is limited, so that it is as long for every garden.
    found = optimise(problem, first, task.settings, report, halt)
    plan = make_plan(garden, cand, stands(problem, found.choices), task.settings, found.stages)
    verdict = verify(garden, plan)
    took = time.monotonic() - began
    most = plan.stages[0].bound
    if not verdict.ok:
        return Solved(None, 0.0, most, took, tuple({b.rule: 0 for b in verdict.broken}))
    return Solved(plan, verdict.values["produce"], most, took)


def _start(task: Task, cand: Candidates) -> tuple[Problem, list[Choice]]:
    """The problem by tier, and the best schedule to begin with."""
    problem = by_tier(cand)
    access = access_matters(cand)
    rows = warm_start.rows_of(task.batches, cand)
    choices = warm_start.choices_of(task.batches, rows, problem)
    sound = bool(choices) and warm_start.keeps_every_rule(problem, access, choices)
    if sound and len(choices) == len(task.batches):
        return problem, choices
    starts = warm_start.by_simple_rules(problem, access)
    if sound:
        starts.append(choices)

    def value(start: list[Choice]) -> float:
        plan = make_plan(task.garden, cand, stands(problem, start), task.settings)
        return plan.stages[0].value

    return problem, max(starts, key=value)
