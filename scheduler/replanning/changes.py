"""What a re-plan changes of what the grower knows: counted for the search, and where it begins."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from scheduler.model.build import Built
from scheduler.replanning.baseline import Kept
from scheduler.replanning.commitments import Commitments
from scheduler.replanning.layout import Layout, is_kept
from scheduler.schedule.problem import Choice, Problem


class Changes:
    """Counts what a season changes of what the grower knows: the nearer, the more."""

    def __init__(self, commitments: Commitments, layout: Layout) -> None:
        self.known = [
            (layout.where[o.place], o.row, item.clear, item.weight)
            for item in commitments.items
            if item.as_known is not None and item.weight and (o := item.options[item.as_known])
        ]

    @property
    def most(self) -> int:
        """What `lost` can be at most."""
        return sum(weight + 1 for *_, weight in self.known)

    def lost(self, built: Built) -> Any:
        """Weight of the batches not kept, and 1 for each tier cleared on another day.

        Linear in the model's own variables, so that a hint stays complete.
        """
        v, problem = built.v, built.v.problem
        out: Any = 0
        for place, row, clear, weight in self.known:
            i = problem.decision_of.get((place, row))
            out = out + weight
            if i is not None:
                out = out - weight * v.take[i]
            slot = int(problem.slot(np.array(clear)))
            if slot < v.slots:
                cleared: Any = v.clear[False][place][slot] + v.clear[True][place][slot]
                out = out + 1 - cleared
        return out

    def count(self, problem: Problem, choices: Sequence[Choice]) -> int:
        """`lost` of a fixed schedule, by arithmetic."""
        taken = {
            (int(problem.place_of[c.decision]), int(problem.row_of[c.decision])) for c in choices
        }
        cleared = {
            (int(problem.place_of[c.decision]), int(problem.slot(np.array(c.clear))))
            for c in choices
        }
        out = 0
        for place, row, clear, weight in self.known:
            out += weight * ((place, row) not in taken)
            slot = int(problem.slot(np.array(clear)))
            out += slot < len(problem.days) and (place, slot) not in cleared
        return out


def near_loss(commitments: Commitments, kept: Kept, problem: Problem) -> np.ndarray:
    """Which decisions lie in a column that has a loss or a change in any case [v], as booleans."""
    columns = {commitments.items[n].batch.column for n in kept.dropped}
    columns |= {b.column for b in commitments.gone}
    columns |= {
        item.batch.column
        for n, item in enumerate(commitments.items)
        if not is_kept(item, kept.taken.get(n))
    }
    columns |= {place[0] for place, day in commitments.opens.items() if day > commitments.today}
    inside = np.array([p.column in columns for p in problem.places], dtype=bool)
    near: np.ndarray = inside[problem.place_of]
    return near
