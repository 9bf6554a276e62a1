"""Bounds for the stages of a rebalance: over every way to go on from the day.

`model.reduced.bound` over all that can still be done, mostly without stack access, alike tiers
pooled. The later stages are bounded among the ways that meet at least as much
produce; effort is not, as not all days to sow and to pick on are offered (`batches.patterns`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scheduler.model.build import Built
from scheduler.model.reduced import bound, most_produce
from scheduler.model.variables import Expr
from scheduler.replanning.changes import Changes
from scheduler.replanning.layout import Layout
from scheduler.schedule.problem import Choice, Problem
from scheduler.schedule.stages import PRODUCE
from scheduler.schedule.value import worth
from scheduler.search.improve import lock

EACH = 1.0  # seconds at most for each of the later bounds, by each method


@dataclass
class Bounds:
    """What was proven of each stage; None where nothing was."""

    produce: float | None = None
    evenness: float | None = None
    changes: float | None = None


def produce_bound(layout: Layout, seconds: float | None = None) -> int | None:
    """A bound for stage 1 over every way to go on [scaled weights]; None if not had in time."""
    return bound(layout.pooled(), most_produce, True, seconds)


def access_bound(problem: Problem, seconds: float) -> int | None:
    """The same with every tier apart and stack access kept: no higher, but slower."""
    return bound(problem, most_produce, True, seconds, access=True)


def later_bounds(
    bounds: Bounds,
    layout: Layout,
    problem: Problem,
    changes: Changes,
    choices: Sequence[Choice],
    left: Callable[[], float],
) -> None:
    """Bounds of the later stages for a schedule that keeps every rule, put into ``bounds``.

    ``left`` tells the seconds left; a bound that is not had in time is left out.
    """
    met = round(worth(problem, PRODUCE, choices))
    pooled = layout.pooled()

    def least(what: Callable[[Built], Expr]) -> float | None:
        def aim(built: Built) -> None:
            lock(built.model, built.produce.value(), True, met)
            built.model.minimize(what(built))

        if left() <= 0:
            return None
        return bound(pooled, aim, False, max(min(left(), EACH), 0.1))

    bounds.evenness = least(lambda built: built.produce.unevenness(built.model))
    bounds.changes = 0.0
    if changes.count(problem, choices):
        bounds.changes = least(lambda built: _fewest(built, layout, changes))


def _fewest(built: Built, layout: Layout, changes: Changes) -> Expr:
    """Weight of the batches not kept; on which day a tier is cleared is not seen here."""
    v, problem = built.v, built.v.problem
    out: Expr = 0
    for place, row, _, weight in changes.known:
        i = problem.decision_of.get((layout.places[place].kind, row))
        if i is None:
            out = out + weight
            continue
        built.model.add(v.take[i] <= 1)
        out = out + weight - weight * v.take[i]
    return out
