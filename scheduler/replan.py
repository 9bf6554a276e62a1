"""The search of a rebalance: what to do with what is in hand, and what to grow beside it.

Produce is weighed against changes: a change of what the grower already knows must bring at least
so many grams as the grower says. The search begins with the plan as far as it goes on, and makes it
better window by window (`scheduler.improve`).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from scheduler import objective
from scheduler.build_model import Built, build_model, read_choices
from scheduler.by_hand import Choice
from scheduler.carried import Carried, Option
from scheduler.changes import Changes, near_loss
from scheduler.engine import Report, Settings, hint_all, run
from scheduler.faults import NoPlan
from scheduler.hints import complete
from scheduler.improve import Expression, Goal, Improver, Incumbent, aim
from scheduler.keep import Kept, Taken
from scheduler.layout import Layout
from scheduler.linear import relax
from scheduler.problem import Problem

WHOLE = 6000  # decisions up to which all are tried in one model as well


@dataclass
class Found:
    """A season to go on with.

    Attributes
    ----------
    taken : by item number; new : free candidates taken.
    bound : of stage 1 [weighted g], None unless proven; seconds : of the search.
    """

    taken: dict[int, Taken]
    new: list[Taken] = field(default_factory=list)
    bound: float | None = None
    seconds: float = 0.0


def search(
    carried: Carried,
    kept: Kept,
    settings: Settings,
    worth: float,
    report: Report | None = None,
    stop: threading.Event | None = None,
    began: float | None = None,
) -> Found:
    """The best way to go on that is found in time, beginning with ``kept``.

    Parameters
    ----------
    worth : weighted grams that one change must bring (times the change's weight).
    began : when the time limit started to run [s, monotonic clock]; default: now.

    Raises
    ------
    NoPlan
        What is in hand fits no plan at all.
    """
    began = time.monotonic() if began is None else began
    layout = Layout(carried)
    problem = layout.by_tier(kept)
    if not len(problem.days):
        if kept.whole:
            return Found(dict(kept.taken))
        raise NoPlan("there is no work day left in the season for what must still be done:\n"
                     + _no_way(carried, kept))  # fmt: skip
    if not len(problem):
        return Found({})
    scale, _ = objective.whole_weights([d.weight for d in carried.garden.demands])
    changes = Changes(carried, layout)
    price = max(0, round(worth * scale))
    bound = produce_bound(layout)

    def worth_of_changes(built: Built) -> Any:
        produce: Any = built.produce.value()
        return produce - price * changes.lost(built)

    goals = [
        Goal(objective.PRODUCE, worth_of_changes, True, scale),
        Goal(objective.EVENNESS, lambda b: b.produce.unevenness(b.model), False),
        Goal(objective.EFFORT, lambda b: objective.effort(b.model, b.v), False),
    ]
    improver = Improver(problem, True, settings, stop)
    near = near_loss(carried, kept, problem)
    choices = _choices(problem, layout, kept) if kept.whole else None
    locks: list[tuple[Expression, bool, int]] = []
    if choices is not None and problem.optional:
        choices, lock = _place_seedlings(problem, choices, settings, stop)
        locks.append(lock)
    target = None if bound is None else bound * (1 - settings.gap)
    for goal, share in zip(goals, (0.8, 0.5, 0.8), strict=True):
        left = settings.time_limit - (time.monotonic() - began)
        over = left < 0.2 or (stop is not None and stop.is_set())
        if over and choices is not None:
            break
        first = goal is goals[0]
        goal = replace(goal, locks=tuple(locks))
        best = _improved(problem, goal, choices, max(left * share, 1.0), improver, settings,
                         near if first else None, target if first else None, report,
                         stop)  # fmt: skip
        if best is None:
            raise NoPlan(_no_way(carried, kept))
        choices = best.choices
        locks.append((goal.expression, goal.maximise, round(best.value)))
    found = _found(problem, layout, choices or [])
    found.bound = None if bound is None else bound / scale
    found.seconds = time.monotonic() - began
    return found


def produce_bound(layout: Layout) -> float | None:
    """A bound for stage 1 over every way to go on [scaled weights], or None."""
    loose = build_model(layout.pooled(), access=False)
    loose.model.maximize(loose.produce.value())
    got = relax(loose.model, True)
    return None if got is None else got.whole(maximise=True)


def _improved(
    problem: Problem, goal: Goal, choices: list[Choice] | None, seconds: float,
    improver: Improver, settings: Settings, near: np.ndarray | None, target: float | None,
    report: Report | None, stop: threading.Event | None,
) -> Incumbent | None:  # fmt: skip
    """A better schedule for a goal, or the same; None where there was none and none is found.

    ``near`` are decisions near the loss [v, bool]: they are tried first, all at once. ``target``
    is a value (to be reached from below) at which the search ends.
    """
    until = time.monotonic() + seconds
    best = None
    if choices is not None:
        best = _held(problem, goal, choices)
    if best is not None and near is not None and near.any() and len(problem) > WHOLE:
        best = _part(problem, goal, best, near, seconds * 0.5, settings, stop, target)
    if best is None or len(problem) <= WHOLE:
        share = seconds * (0.5 if best is not None else 0.9)
        best = _whole(problem, goal, best, share, settings, stop, target) or best
    if best is None:
        return None
    left = until - time.monotonic()
    if left > 0.1:
        best = improver.run(goal, best, left, target, report=report)
    return best


def _place_seedlings(
    problem: Problem, choices: list[Choice], settings: Settings, stop: threading.Event | None
) -> tuple[list[Choice], tuple[Expression, bool, int]]:
    """Find a tier for as many lots of seedlings as can be, before anything else is asked."""

    def placed(built: Built) -> Any:
        groups = [g for n, g in enumerate(built.v.problem.committed) if n in problem.optional]
        return sum(built.v.take[i] for g in groups for i in g)

    goal = Goal("seedlings", placed, True)
    best = Incumbent(list(choices), 0.0)
    nothing_new = np.zeros(len(problem), dtype=bool)
    best = _part(problem, goal, best, nothing_new, settings.time_limit * 0.2, settings, stop,
                 float(len(problem.optional)))  # fmt: skip
    return best.choices, (placed, True, round(best.value))


def _held(problem: Problem, goal: Goal, choices: Sequence[Choice]) -> Incumbent | None:
    """A schedule with its value for a goal; None if it breaks a rule."""
    keep = np.array([c.decision for c in choices], dtype=int)
    groups = [np.array(g, dtype=int) for g in problem.committed]
    keep = np.unique(np.concatenate([keep, *groups]))
    at = {int(old): new for new, old in enumerate(keep)}
    built = build_model(problem.restricted(keep), True)
    mine = [Choice(at[c.decision], c.clear) for c in choices]
    taken = {c.decision for c in mine}
    for i, var in enumerate(built.v.take):
        built.model.add(var == int(i in taken))
    for c in mine:
        place = int(built.v.problem.place_of[c.decision])
        slot = int(built.v.problem.slot(np.array(c.clear)))
        built.model.add(built.v.clear[False][place][slot] + built.v.clear[True][place][slot] == 1)
    aim(built, goal)
    hint_all(built.model, complete(built, mine))
    answer = run(built.model, goal.name, Settings(workers=1), 10.0, quick=True)
    if not answer.found or answer.value is None:
        return None
    return Incumbent(list(choices), answer.value)


def _whole(
    problem: Problem, goal: Goal, best: Incumbent | None, seconds: float, settings: Settings,
    stop: threading.Event | None, target: float | None = None,
) -> Incumbent | None:  # fmt: skip
    """One model of all that is left of the season; None if it finds nothing better."""
    built = build_model(problem, True)
    aim(built, goal)
    if best is not None:
        hint_all(built.model, complete(built, best.choices))
    answer = run(
        built.model, goal.name, settings, seconds, gap=settings.gap / 4, stop=stop,
        goal=lambda value: target is not None and value >= target,
    )  # fmt: skip
    if not answer.found or answer.value is None:
        return None
    if best is not None:
        worse = answer.value <= best.value if goal.maximise else answer.value >= best.value
        if worse:
            return None
    return Incumbent(read_choices(built, answer.values), answer.value)


def _part(
    problem: Problem, goal: Goal, best: Incumbent, offered: np.ndarray, seconds: float,
    settings: Settings, stop: threading.Event | None, target: float | None = None,
) -> Incumbent:  # fmt: skip
    """A model with only some decisions beside those taken and those in hand."""
    wanted = offered.copy()
    wanted[[c.decision for c in best.choices]] = True
    for group in problem.committed:
        wanted[list(group)] = True
    keep = np.flatnonzero(wanted)
    at = {int(old): new for new, old in enumerate(keep)}
    mine = Incumbent([Choice(at[c.decision], c.clear) for c in best.choices], best.value)
    found = _whole(problem.restricted(keep), goal, mine, seconds, settings, stop, target)
    if found is None:
        return best
    return Incumbent([Choice(int(keep[c.decision]), c.clear) for c in found.choices], found.value)


def _choices(problem: Problem, layout: Layout, kept: Kept) -> list[Choice]:
    at = {
        (int(p), int(r)): i
        for i, (p, r) in enumerate(zip(problem.place_of, problem.row_of, strict=True))
    }
    return [
        Choice(at[layout.where[t.option.place], t.option.row], t.clear)
        for t in kept.taken.values()
    ]


def _found(problem: Problem, layout: Layout, choices: Sequence[Choice]) -> Found:
    """Choices as options of items, and what is new."""
    owner = {(o.place, o.row): n for n, item in enumerate(layout.c.items) for o in item.options}
    found = Found({})
    for choice in choices:
        place = layout.places[int(problem.place_of[choice.decision])]
        option = Option((place.column, place.number), int(problem.row_of[choice.decision]))
        number = owner.get((option.place, option.row))
        if number is None:
            found.new.append(Taken(option, choice.clear))
        else:
            found.taken[number] = Taken(option, choice.clear)
    return found


def _no_way(carried: Carried, kept: Kept) -> str:
    lines = ["what stands and what is sown cannot be brought to an end within the garden's rules:"]
    for n, item in enumerate(carried.items):
        if item.begun and n not in kept.taken:
            b = item.batch
            lines.append(f"  {b.id} ({b.crop}) in {b.column} {b.tier} cannot be cleared in time")
    return "\n".join(lines)
