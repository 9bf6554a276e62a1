"""Bounds for the stages of a rebalance: over every way to go on from the day.

Whole numbers are left out, and mostly stack access too, alike tiers pooled: a relaxation of all
that can still be done. The later stages are bounded among the ways that meet at least as much
produce; effort is not, as not all days to sow and to pick on are offered (`batches.patterns`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scheduler.model.build import Built, build_model
from scheduler.model.linear import relax
from scheduler.replanning.changes import Changes
from scheduler.replanning.layout import Layout
from scheduler.schedule.problem import Choice, Problem
from scheduler.schedule.stages import CHANGES, EVENNESS, PRODUCE
from scheduler.schedule.value import worth
from scheduler.search.improve import lock

EACH = 1.0  # seconds at most for each of the later bounds, by each method


@dataclass
class Bounds:
    """What was proven of each stage; None where nothing was."""

    produce: float | None = None
    evenness: float | None = None
    changes: float | None = None


def produce_bound(layout: Layout, seconds: float | None = None) -> float | None:
    """A bound for stage 1 over every way to go on [scaled weights]; None if not had in time."""
    return _most(layout.pooled(), False, seconds)


def access_bound(problem: Problem, seconds: float) -> float | None:
    """The same with every tier apart and stack access kept: no higher, but slower."""
    return _most(problem, True, seconds)


def _most(problem: Problem, access: bool, seconds: float | None) -> float | None:
    loose = build_model(problem, access)
    value = loose.produce.value()
    if isinstance(value, int):  # nothing that is wished can be picked any more
        return float(value)
    loose.model.maximize(value)
    got = relax(loose.model, True, seconds)
    return None if got is None else got.whole(maximise=True)


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

    def least(stage: str) -> float | None:
        if left() <= 0:
            return None
        built = build_model(pooled, access=False)
        lock(built.model, built.produce.value(), True, met)
        if stage == EVENNESS:
            value = built.produce.unevenness(built.model)
        else:
            value = _fewest(built, layout, changes)
        if isinstance(value, int):
            return float(value)
        built.model.minimize(value)
        got = relax(built.model, False, max(min(left(), EACH), 0.1))
        return None if got is None else got.whole(maximise=False)

    bounds.evenness = least(EVENNESS)
    bounds.changes = 0.0
    if changes.count(problem, choices):
        bounds.changes = least(CHANGES)


def _fewest(built: Built, layout: Layout, changes: Changes) -> object:
    """Weight of the batches not kept; on which day a tier is cleared is not seen here."""
    v, problem = built.v, built.v.problem
    out: object = 0
    for place, row, _, weight in changes.known:
        i = problem.decision_of.get((layout.places[place].kind, row))
        if i is None:
            out = out + weight  # type: ignore[operator]
            continue
        built.model.add(v.take[i] <= 1)
        out = out + weight - weight * v.take[i]  # type: ignore[operator]
    return out
