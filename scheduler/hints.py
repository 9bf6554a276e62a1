"""A full assignment of a model's variables from a list of choices.

A hint that leaves variables open is often dropped by the solver; one that fills them all is a
first solution.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scheduler.by_hand import Choice

if TYPE_CHECKING:
    from scheduler.solve import Built


def complete(built: Built, choices: Sequence[Choice]) -> list[int]:
    """Values of all variables [by index] for a problem laid out by tier with stack access.

    The values of ``cells`` and of the produce flow follow from the rest; the flow is filled week
    by week, what spoils first going first.
    """
    model, v, produce = built.model, built.v, built.produce
    problem = v.problem
    values = [0] * len(model.proto.variables)
    taken = np.zeros(len(problem), dtype=int)
    by_place: dict[int, list[Choice]] = {}
    for choice in choices:
        taken[choice.decision] += 1
        values[v.take[choice.decision].index] = 1
        by_place.setdefault(int(problem.place_of[choice.decision]), []).append(choice)
    start, last = problem.column("transplant"), problem.column("last")
    until = np.minimum(problem.column("heavy_until"), last)
    heavy_after = problem.column("heavy_after").astype(bool)
    turnaround = problem.cand.garden.limits.turnaround_days
    opens = problem.opens or (0,) * len(problem.places)
    for p in range(len(problem.places)):
        busy = np.zeros(v.slots, dtype=int)  # 1 where the vessel is not standing empty
        busy[: int(problem.slot(np.array(opens[p])))] = 1
        for choice in by_place.get(p, []):
            i = choice.decision
            t, e = int(problem.slot(start[i])), int(problem.slot(last[i]))
            c = int(problem.slot(np.array(choice.clear)))
            h = bool(heavy_after[i])
            if not v.started[i]:
                values[v.fill[p][t].index] = 1
            values[v.clear[h][p][c].index] = 1
            for w in range(e, c):
                values[v.wait[h][p][w].index] = 1
            first = 0 if v.started[i] else int(problem.slot(start[i] + 1))
            end = max(int(problem.slot(until[i])), first)
            for w in range(first, end):
                values[v.heavy[p][w].index] = 1
            busy[(0 if v.started[i] else t) : int(problem.slot(np.array(choice.clear + turnaround)))] = 1
        for w in range(v.slots):
            values[v.empty[p][w].index] = int(1 - busy[w])
    _cells(built, taken, values)
    _flows(produce, taken, values)
    return values


def _cells(built: Built, taken: np.ndarray, values: list[int]) -> None:
    v, problem = built.v, built.v.problem
    change = np.zeros(v.slots + 1, dtype=int)
    cells = problem.column("cells") * taken * ~v.started
    np.add.at(change, np.minimum(problem.slot(problem.column("sow")), v.slots), cells)
    np.add.at(change, np.minimum(problem.slot(problem.column("transplant")), v.slots), -cells)
    level = np.cumsum(change)
    for w, var in enumerate(v.cells):
        values[var.index] = int(level[w])


def _flows(produce: object, taken: np.ndarray, values: list[int]) -> None:
    supply = produce.supply  # type: ignore[attr-defined]
    stock = supply.given.copy()
    np.add.at(stock, supply.klass, supply.grams * taken[supply.decision])
    order = sorted(range(len(supply.classes)), key=lambda k: supply.classes[k][2])
    for (group, week), served in sorted(produce.served.items()):  # type: ignore[attr-defined]
        need = int(supply.wish[group, week])
        for k in order:
            flow = produce.flow.get((k, week))  # type: ignore[attr-defined]
            if flow is None or supply.classes[k][0] != group:
                continue
            used = min(need, int(stock[k]))
            values[flow.index] = used
            stock[k] -= used
            need -= used
        values[served.index] = int(supply.wish[group, week]) - need
