"""A full assignment of a model's variables from a list of choices.

A hint that leaves variables open is often dropped by the solver; one that fills them all is a
first solution.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scheduler.batches.courses import NEVER
from scheduler.model.objective import Produce
from scheduler.schedule.problem import Choice
from scheduler.schedule.produce import Lot, most_even, shared_out
from scheduler.schedule.value import lots

if TYPE_CHECKING:
    from scheduler.model.build import Built


def complete(built: Built, choices: Sequence[Choice]) -> list[int]:
    """Values of all variables [by index] that a list of choices stands for.

    The values of what is held and of the produce flow follow from the rest, as do those of the
    stages that the model was given so far.
    """
    model, v, produce = built.model, built.v, built.produce
    problem = v.problem
    values = [0] * len(model.proto.variables)
    taken = np.zeros(len(problem), dtype=int)
    start, last = problem.column("transplant"), problem.column("last")
    heavy_from, heavy_to, heavy_after = problem.heavy
    turnaround = problem.cand.garden.limits.turnaround_days
    opens = problem.opens or (0,) * len(problem.places)
    standing = np.array([place.count for place in problem.places])
    busy = np.zeros((len(problem.places), v.slots + 1), dtype=int)  # vessels not standing empty
    for p, day in enumerate(opens):
        busy[p, : int(problem.slot(np.array(day)))] += standing[p]
    for choice in choices:
        i = choice.decision
        p = int(problem.place_of[i])
        taken[i] += 1
        values[v.take[i].index] += 1
        first = 0 if v.started[i] else int(problem.slot(start[i]))
        if not v.started[i]:
            values[v.fill[p][first].index] += 1
        busy[p, first : int(problem.slot(np.array(choice.clear + turnaround)))] += 1
        if v.access:
            done, heavy = int(problem.slot(np.array(choice.clear))), bool(heavy_after[i])
            values[v.clear[heavy][p][done].index] += 1
            for w in range(int(problem.slot(last[i])), done):
                values[v.wait[heavy][p][w].index] += 1
            for w in range(int(heavy_from[i]), int(heavy_to[i])):
                values[v.heavy[p][w].index] += 1
    for p in range(len(problem.places)):
        for w in range(v.slots):
            values[v.empty[p][w].index] = max(int(standing[p] - busy[p, w]), 0)
    _held(built, taken, values)
    _flows(produce, taken, values)
    for short, half, served in produce.shorts:
        values[short.index] = max(half - values[served.index], 0)
    works = _works(built, choices)
    for w, used in v.used:
        values[used.index] = int(works[w])
    return values


def _works(built: Built, choices: Sequence[Choice]) -> np.ndarray:
    """Slots with work of any kind [bool]."""
    v, problem = built.v, built.v.problem
    works = np.zeros(v.slots + 1, dtype=bool)
    if problem.used is not None:
        works[: v.slots] |= problem.used.works
    for choice in choices:
        i = choice.decision
        row = problem.row_of[i]
        days = problem.cand.pick_day[row]
        done = [problem.cand.at("sow", row), *days[days < NEVER].tolist()]
        if not v.started[i]:
            done.append(problem.cand.at("transplant", row))
        if v.access:
            done.append(choice.clear)
        works[problem.slot(np.array(done))] = True
    return works


def _held(built: Built, taken: np.ndarray, values: list[int]) -> None:
    """What is held of each resource, and where what is in hand leaves no room for others."""
    v, problem = built.v, built.v.problem
    for resource in problem.resources:
        if resource.name not in v.held:
            continue
        uses = np.repeat(np.arange(len(resource.which)), taken[resource.which])
        level = resource.level(uses, v.slots)
        for w, var in enumerate(v.held[resource.name]):
            values[var.index] = int(level[w])
        fresh = resource.level(uses[~resource.begun[uses]], v.slots)
        left = problem.left(resource)
        for w, (others, full) in enumerate(v.crowded.get(resource.name, ())):
            values[others.index] = int(fresh[w])
            values[full.index] = int(level[w] > max(int(left[w]), 0))


def _flows(produce: Produce, taken: np.ndarray, values: list[int]) -> None:
    """The flow of produce that meets the most; with the stage of evenness the most even of those.

    Week by week, what spoils first going first, meets the most of any wish. The most even way
    meets the most of half the wishes first, then raises week after week as far as all the others
    stay met.
    """
    supply = produce.supply
    grams = supply.given.copy()
    np.add.at(grams, supply.week_class, supply.grams * taken[supply.decision])
    for group, mine in enumerate(lots(supply, grams)):
        wish = supply.wish[group]
        flow, met = shared_out(mine, wish)
        if produce.shorts:
            flow = _even(mine, wish, flow, met)
        for (k, week), used in flow.items():
            values[produce.flow[k, week].index] = used
            values[produce.served[group, week].index] += used


Flow = dict[tuple[int, int], int]


def _even(mine: list[Lot], wish: np.ndarray, flow: Flow, met: np.ndarray) -> Flow:
    """The most even of the flows that meet as much as ``flow``, which meets ``met`` [weeks]."""
    half = wish // 2
    if np.minimum(met, half).sum() == shared_out(mine, half)[1].sum():
        return flow
    return shared_out(mine, most_even(mine, wish))[0]
