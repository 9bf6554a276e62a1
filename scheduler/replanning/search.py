"""The search of a rebalance: how to go on with each batch in hand, and what to grow beside it.

Produce is weighed against changes: a change to the plan that the grower knows must bring at least
the grams that the grower set. The search starts from the plan as far as it can go on, or from the
shifted plan (`replanning.shift`), whichever meets more, and never returns less. First it searches
the columns near the loss, in one small model. While the produce is further from its bound than the
gap asked for, it then searches the season, all at once or window by window
(`scheduler.search.improve`).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from scheduler.base.faults import NoPlan
from scheduler.model import objective
from scheduler.model.build import Built, build_model, read_choices
from scheduler.model.hints import complete
from scheduler.replanning.baseline import Kept, Taken
from scheduler.replanning.bounds import Bounds, access_bound, later_bounds, produce_bound
from scheduler.replanning.changes import Changes, near_loss
from scheduler.replanning.commitments import Commitments, Option
from scheduler.replanning.layout import Layout
from scheduler.replanning.shift import shifted
from scheduler.schedule.check import broken
from scheduler.schedule.problem import Choice, Problem
from scheduler.schedule.stages import EFFORT, EVENNESS, PRODUCE, whole_weights
from scheduler.schedule.value import worth
from scheduler.search.improve import Expression, Goal, Improver, Incumbent, aim
from scheduler.solvers.cp_sat import Either, Report, Settings, hint_all, run

WHOLE = 6000  # decisions up to which all are tried in one model as well
NEAR = 0.25  # share of the time for what lies near the loss
BESIDE = 0.5  # share of the time that is left for a bound beside the search
POLISH = 0.08  # share of the time limit for each later stage


@dataclass
class Found:
    """A season to go on with.

    Attributes
    ----------
    taken : by item number; new : free candidates taken.
    bounds : of the stages; seconds : of the search.
    begun : what the search began with: the plan as far as it goes on, and shifted.
    """

    taken: dict[int, Taken]
    new: list[Taken] = field(default_factory=list)
    bounds: Bounds = field(default_factory=Bounds)
    seconds: float = 0.0
    begun: tuple[Found, ...] = ()


def search(
    commitments: Commitments,
    kept: Kept,
    settings: Settings,
    price: float,
    report: Report | None = None,
    stop: threading.Event | None = None,
    began: float | None = None,
    first: Callable[[Problem], list[Choice]] | None = None,
) -> Found:
    """The best way to go on that is found in time, beginning with ``kept``.

    Parameters
    ----------
    price : weighted grams that one change must bring (times the change's weight).
    began : when the time limit started to run [s, monotonic clock]; default: now.
    first : makes another schedule to begin with; it is left aside if it breaks a rule.

    Raises
    ------
    NoPlan
        What is in hand fits no plan at all.
    """
    began = time.monotonic() if began is None else began
    layout = Layout(commitments)
    problem = layout.by_tier(kept)
    if not len(problem.days):
        if kept.whole:
            return Found(dict(kept.taken))
        raise NoPlan(
            "there is no work day left in the season for what must still be done:\n"
            + _no_way(commitments, kept)
        )
    if not len(problem):
        return Found({})
    changes = Changes(commitments, layout)
    s = _Search(problem, changes, price, settings, report, stop, began)
    s.bound = produce_bound(layout, max(s.left / 2, 1.0))
    near = near_loss(commitments, kept, problem)
    begun = [choices_of(problem, layout, way) for way in (kept, *shifted(commitments, kept))]
    begun = [choices for choices in begun if not broken(problem, True, choices)]
    # Nothing that meets less than the best of these is returned, whatever the time.
    choices = max(begun, key=lambda c: (s.met(c), s.value(c)), default=None)
    if first is not None and not broken(problem, True, other := first(problem)):
        choices = other
    if choices is not None:
        s.floor(choices)
    if choices is not None and problem.optional:
        choices = s.place_seedlings(choices, near)
    try:
        best = s.produce(choices, near)
    finally:
        s.join()
    if best is None:
        raise NoPlan(_no_way(commitments, kept))
    best = s.grown_on(best, commitments.forgone)
    best = s.polish(best)
    found = found_of(problem, layout, best)
    if s.bound is not None:
        found.bounds.produce = s.bound / s.scale
        later_bounds(found.bounds, layout, problem, changes, best, lambda: s.left)
    found.seconds = time.monotonic() - began
    # A bound of the produce is one for every plan; those of later stages are for this one's.
    known = Bounds(produce=found.bounds.produce)
    others = (found_of(problem, layout, way) for way in begun)
    found.begun = tuple(replace(w, bounds=known, seconds=found.seconds) for w in others)
    return found


class _Search:
    """The stages of one search over one problem."""

    def __init__(
        self,
        problem: Problem,
        changes: Changes,
        price: float,
        settings: Settings,
        report: Report | None,
        stop: threading.Event | None,
        began: float,
    ) -> None:
        self.problem, self.changes, self.settings = problem, changes, settings
        self.report, self.stop, self.began = report, stop, began
        self.scale, _ = whole_weights(problem.supply.weights)
        self.price = max(0, round(price * self.scale))
        self.bound: float | None = None
        self.beside: threading.Thread | None = None
        self.bounded = Either(stop)  # set when a better bound has come in
        self.improver = Improver(problem, True, settings, self.bounded)
        self.locks: list[tuple[Expression, bool, int]] = []

    @property
    def left(self) -> float:
        """Seconds left; none once the search was asked to stop."""
        if self.stop is not None and self.stop.is_set():
            return 0.0
        return self.settings.time_limit - (time.monotonic() - self.began)

    def met(self, choices: Sequence[Choice]) -> float:
        return worth(self.problem, PRODUCE, choices)

    def good_enough(self, choices: Sequence[Choice]) -> bool:
        """Whether the produce is within the gap of its bound."""
        return self.bound is not None and (
            self.met(choices) >= self.bound * (1 - self.settings.gap) - 1e-6
        )

    def target(self, choices: Sequence[Choice]) -> float | None:
        """Stage 1's value at which the produce is good enough, with as many changes as now."""
        if self.bound is None:
            return None
        return self.bound * (1 - self.settings.gap) - self.price * self.changes.count(
            self.problem, choices
        )

    def tighten(self) -> None:
        """Take stack access into the bound as well, all tiers apart: slower, and a little lower.

        Beside the search of a large garden, which runs on one core; the solver of the bound lets
        other threads run.
        """

        def bound() -> None:
            self._lower(access_bound(self.problem, max(self.left * BESIDE, 0.5)))

        if len(self.problem) <= WHOLE or self.settings.deterministic is not None:
            bound()
        else:
            self.beside = threading.Thread(target=bound)
            self.beside.start()

    def join(self) -> None:
        """Wait for the bound beside: its solver must not be cut off by the program's end."""
        if self.beside is not None:
            self.beside.join()

    def _lower(self, bound: float | None) -> None:
        if bound is not None and (self.bound is None or bound < self.bound):
            self.bound = bound
            self.bounded.set()

    def floor(self, choices: Sequence[Choice]) -> None:
        """From now on take nothing that meets less than a schedule, however few its changes."""
        met = round(self.met(choices))
        self.locks.append((lambda built: built.produce.value(), True, met))

    def less_changes(self, built: Built) -> Any:
        """What the first stage wants the most of: produce less the price of changes."""
        produce: Any = built.produce.value()
        return produce - self.price * self.changes.lost(built)

    def value(self, choices: Sequence[Choice]) -> float:
        """The same of a schedule."""
        return self.met(choices) - self.price * self.changes.count(self.problem, choices)

    def place_seedlings(self, choices: list[Choice], near: np.ndarray) -> list[Choice]:
        """Find a tier for as many lots of seedlings as can be; of the ways to, the best found."""
        optional = self.problem.optional
        supply = self.problem.supply
        _, weights = whole_weights(supply.weights)
        most = int((np.array(weights) * supply.wish.sum(axis=1)).sum())
        lot = most + self.price * self.changes.most + 1  # outweighs all else

        def placed(built: Built) -> Any:
            groups = [g for n, g in enumerate(built.v.problem.committed) if n in optional]
            return sum(built.v.take[i] for g in groups for i in g)

        def first(built: Built) -> Any:
            return lot * placed(built) + self.less_changes(built)

        value = self.value(choices)  # none of them is placed yet
        goal = Goal("seedlings", first, True, locks=tuple(self.locks))
        best = self._restricted(goal, Incumbent(choices, value), near, self.left * NEAR, None)
        self.locks.append((placed, True, max(0, round((best.value - value) / lot))))
        return best.choices

    def produce(self, choices: list[Choice] | None, near: np.ndarray) -> list[Choice] | None:
        """The first stage. None: no way to go on is found."""
        goal = Goal(PRODUCE, self.less_changes, True, self.scale, tuple(self.locks))
        if choices is None:
            # Whatever the time: without a first way to go on there is nothing to return.
            best = self._whole(goal, None, max(self.left * 0.9, 1.0), None)
            if best is None:
                return None
        else:
            best = Incumbent(choices, self.value(choices))
            if near.any() and (len(self.problem) > WHOLE or self.good_enough(choices)):
                best = self._restricted(goal, best, near, self.left * NEAR, None)
        if not self.good_enough(best.choices):
            self.tighten()
        if not self.good_enough(best.choices) and len(self.problem) <= WHOLE and self.left > 0.1:
            best = self._whole(goal, best, self.left * 0.5, self.target(best.choices)) or best
        while not self.good_enough(best.choices) and (left := self.left - self.spare) > 0.1:
            before = best.value
            self.bounded.clear()
            best = self.improver.run(
                goal, best, left, self.target(best.choices), self.bound, self.report
            )
            done = best.value == before or self.settings.deterministic is not None
            if done and not self.bounded.is_set():
                break
        self.locks.append((self.less_changes, True, round(best.value)))
        return best.choices

    @property
    def spare(self) -> float:
        """Seconds kept for the later stages."""
        return 2 * POLISH * self.settings.time_limit

    def grown_on(self, choices: list[Choice], forgone: dict[int, int]) -> list[Choice]:
        """What must be picked early grows as long as it can where that loses nothing.

        Less picked in vain is not better because it was picked young: the later stages must not
        choose so either.
        """
        rows = self.problem.row_of

        def lost(decision: int) -> int:
            return forgone.get(int(rows[decision]), 0)

        for k, choice in enumerate(choices):
            if not lost(choice.decision):
                continue
            group = next((g for g in self.problem.committed if choice.decision in g), ())
            last = self.problem.column("last")
            for other in sorted(group, key=lost):
                if lost(other) >= lost(choice.decision):
                    break
                mine = Choice(other, max(choice.clear, int(last[other])))
                new = [*choices[:k], mine, *choices[k + 1 :]]
                if not broken(self.problem, True, new) and self.value(new) >= self.value(choices):
                    choices = new
                    break
        if forgone:
            most = sum(lost(c.decision) for c in choices)
            self.locks.append(
                (
                    lambda built: sum(
                        forgone.get(int(row), 0) * built.v.take[i]
                        for i, row in enumerate(built.v.problem.row_of.tolist())
                        if row in forgone
                    ),
                    False,
                    most,
                )
            )
        return choices

    def polish(self, choices: list[Choice]) -> list[Choice]:
        """The later stages, in what little time a rebalance has for them."""
        goals = (
            Goal(EVENNESS, lambda b: b.produce.unevenness(b.model), False),
            Goal(EFFORT, lambda b: objective.effort(b.model, b.v), False),
        )
        for goal in goals:
            seconds = min(self.left, POLISH * self.settings.time_limit)
            value = worth(self.problem, goal.name, choices)
            if seconds > 0.1:
                goal = replace(goal, locks=tuple(self.locks))
                best = self.improver.run(goal, Incumbent(choices, value), seconds)
                choices, value = best.choices, best.value
            self.locks.append((goal.expression, False, round(value)))
        return choices

    def _whole(
        self,
        goal: Goal,
        best: Incumbent | None,
        seconds: float,
        target: float | None,
        problem: Problem | None = None,
    ) -> Incumbent | None:
        """One model of all that is left of the season; None if it finds nothing better.

        Ends at ``target``, if the goal has one.
        """
        built = build_model(problem or self.problem, True)
        aim(built, goal)
        if best is not None:
            hint_all(built.model, complete(built, best.choices))
        answer = run(
            built.model,
            goal.name,
            self.settings,
            seconds,
            gap=self.settings.gap / 4,
            stop=self.stop,
            goal=lambda value: target is not None and value >= target,
        )
        if not answer.found or answer.value is None:
            return None
        if best is not None and answer.value <= best.value:
            return None
        return Incumbent(read_choices(built, answer.values), answer.value)

    def _restricted(
        self,
        goal: Goal,
        best: Incumbent,
        offered: np.ndarray,
        seconds: float,
        target: float | None,
    ) -> Incumbent:
        """A model with only some decisions beside those taken and those in hand."""
        wanted = offered.copy()
        wanted[[c.decision for c in best.choices]] = True
        for group in self.problem.committed:
            wanted[list(group)] = True
        wanted_rows = np.flatnonzero(wanted)
        at = {int(old): new for new, old in enumerate(wanted_rows)}
        mine = Incumbent([Choice(at[c.decision], c.clear) for c in best.choices], best.value)
        small = self.problem.restricted(wanted_rows)
        found = self._whole(goal, mine, seconds, target, small)
        if found is None:
            return best
        return Incumbent(
            [Choice(int(wanted_rows[c.decision]), c.clear) for c in found.choices], found.value
        )


def choices_of(problem: Problem, layout: Layout, kept: Kept) -> list[Choice]:
    """What is kept as choices of a problem."""
    return [
        Choice(problem.decision_of[layout.where[t.option.place], t.option.row], t.clear)
        for t in kept.taken.values()
    ]


def found_of(problem: Problem, layout: Layout, choices: Sequence[Choice]) -> Found:
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


def _no_way(commitments: Commitments, kept: Kept) -> str:
    lines = ["what stands and what is sown cannot be brought to an end within the garden's rules:"]
    for n, item in enumerate(commitments.items):
        if item.begun and n not in kept.taken:
            b = item.batch
            lines.append(f"  {b.id} ({b.crop}) in {b.column} {b.tier} cannot be cleared in time")
    return "\n".join(lines)
