"""Nursery cells: seedlings never need more cells than there are.

    cells[w] = cells[w-1] + sown[w] - transplanted[w],   0 <= cells[w] <= nursery cells

Cells change on work days only, so those are the only days to look at. A cell is free again on
the day its seedling is transplanted. Seedlings in hand when planning begins take the cells they
take, be it more than there are; nothing is sown beside them until there is room again.
"""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from scheduler.variables import Expr, Variables


def build(model: cp_model.CpModel, v: Variables) -> None:
    """Add the rule."""
    problem = v.problem
    room = problem.cand.garden.nursery.cells
    cells = problem.column("cells")
    sow, start = problem.column("sow"), problem.column("transplant")
    # Seedlings sown before the first day planned are in the nursery from its first slot.
    sown = v.sums(problem.slot(sow), ~v.started, by_place=False, coefficients=cells)
    gone = v.sums(problem.slot(start), ~v.started, by_place=False, coefficients=cells)
    taken = np.zeros(v.slots, dtype=int) if problem.used is None else problem.used.cells
    in_hand = ~v.started & (sow < problem.free_from)
    held = sum(int(cells[g[0]]) for g in problem.committed if in_hand[g[0]])
    before: Expr = 0
    for w in range(v.slots):
        now = model.new_int_var(0, max(room - int(taken[w]), held, 0), f"cells{w}")
        v.cells.append(now)
        model.add(now == before + sown[w] - gone[w])
        before = now
    if held > room - int(taken.max(initial=0)):
        _crowded(model, v, in_hand, room - taken)


def _crowded(
    model: cp_model.CpModel, v: Variables, in_hand: np.ndarray, room: np.ndarray
) -> None:
    """While seedlings in hand take more cells than there are, no others stand beside them.

    ``room`` is the number of cells by slot [w].
    """
    problem = v.problem
    cells, mask = problem.column("cells"), ~v.started & ~in_hand
    sown = v.sums(problem.slot(problem.column("sow")), mask, by_place=False, coefficients=cells)
    gone = v.sums(
        problem.slot(problem.column("transplant")), mask, by_place=False, coefficients=cells
    )
    most = int(problem.cand.garden.nursery.cells)
    now_most = most + int(cells[in_hand].sum(initial=0))
    before: Expr = 0
    for w, now in enumerate(v.cells):
        others = model.new_int_var(0, most, f"others{w}")
        model.add(others == before + sown[w] - gone[w])
        full = model.new_bool_var(f"full{w}")
        model.add(now <= max(int(room[w]), 0) + now_most * full)  # linear: a bound relies on it
        model.add(others <= most * (1 - full))
        v.crowded.append((others, full))
        before = others
