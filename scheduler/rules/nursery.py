"""Nursery cells: seedlings never need more cells than there are.

    cells[w] = cells[w-1] + sown[w] - transplanted[w],   0 <= cells[w] <= nursery cells

Cells change on work days only, so those are the only days to look at. A cell is free again on
the day its seedling is transplanted.
"""

from __future__ import annotations

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
    before: Expr = 0
    for w in range(v.slots):
        now = model.new_int_var(0, room, f"cells{w}")
        v.cells.append(now)
        model.add(now == before + sown[w] - gone[w])
        before = now
