"""Some columns of a garden as a problem of their own; what all others do is settled.

What the others use of what all share is taken off the limits, and what is picked from them counts
as produce that is there. So a model of a few columns has the same size whatever the garden's, and
its objective is still the whole garden's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.batches.courses import NEVER
from scheduler.schedule.effort import points
from scheduler.schedule.problem import Choice, Problem, Used


@dataclass(frozen=True)
class ColumnSubset:
    """Columns cut out of a problem.

    Attributes
    ----------
    holds : places inside [bool, by place]; outside : choices elsewhere; used : by them.
    stock : what they give: (group, first week, last week, grams).
    """

    holds: np.ndarray
    outside: list[Choice]
    used: Used
    stock: tuple[tuple[int, int, int, int], ...]

    def of(self, problem: Problem) -> Problem:
        """The part of ``problem``, whose decisions must all lie inside."""
        places = np.flatnonzero(self.holds)
        at = np.full(len(self.holds), -1)
        at[places] = np.arange(len(places))
        subset = replace(
            problem,
            places=tuple(problem.places[p] for p in places.tolist()),
            place_of=at[problem.place_of],
            opens=tuple(problem.opens[p] for p in places.tolist()) if problem.opens else (),
            stock=problem.stock + self.stock,
            used=self.used,
        )
        subset.__dict__["supply"] = problem.supply.with_stock(self.stock)
        return subset


def cut_out(problem: Problem, choices: Sequence[Choice], columns: frozenset[str]) -> ColumnSubset:
    """Cut ``columns`` out of a problem laid out by tier, all other ``choices`` settled."""
    holds = np.array([place.column in columns for place in problem.places])
    outside = [c for c in choices if not holds[problem.place_of[c.decision]]]
    slots = len(problem.days)
    which = np.array([c.decision for c in outside], dtype=int)
    rows = problem.row_of[which]
    table = problem.cand.table
    sow = problem.slot(table["sow"].to_numpy()[rows])
    start = problem.slot(table["transplant"].to_numpy()[rows])
    clear = problem.slot(np.array([c.clear for c in outside], dtype=int))
    days = problem.cand.pick_day[rows]
    picked = problem.slot(days[days < NEVER])
    works = np.zeros(slots + 1, dtype=bool)
    for slot in (sow, start, clear, picked):
        works[np.minimum(slot, slots)] = True
    above, fresh = problem.above[problem.place_of[which]], ~problem.started[which]
    shared = {}
    for resource in problem.resources:
        level = np.append(resource.level(resource.uses_of(which), slots), 0)
        np.add.at(level, start[fresh], resource.filling(above[fresh]))
        np.add.at(level, clear, resource.clearing(above))
        shared[resource.name] = level[:slots]
    return ColumnSubset(
        holds,
        outside,
        Used(shared, works[:slots], int(points(above, fresh.astype(int)).sum())),
        _stock(problem, which),
    )


def _stock(problem: Problem, which: np.ndarray) -> tuple[tuple[int, int, int, int], ...]:
    supply = problem.supply
    taken = np.zeros(len(problem), dtype=int)
    np.add.at(taken, which, 1)
    grams = np.zeros(len(supply.classes), dtype=int)
    np.add.at(grams, supply.week_class, supply.grams * taken[supply.decision])
    return tuple((*supply.classes[k], int(grams[k])) for k in np.flatnonzero(grams).tolist())
