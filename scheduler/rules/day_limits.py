"""At most so many fills, so many picks a day."""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from scheduler.courses import NEVER
from scheduler.variables import Sums, Variables


def build(model: cp_model.CpModel, v: Variables) -> None:
    """Add the rules."""
    problem = v.problem
    limits = problem.cand.garden.limits
    none = np.zeros(v.slots, dtype=int)
    fills = none if problem.used is None else problem.used.fills
    picked = none if problem.used is None else problem.used.picks
    if limits.fills_per_day is not None:
        for w in range(v.slots):
            model.add(sum(row[w] for row in v.fill) <= limits.fills_per_day - int(fills[w]))
    if limits.picks_per_day is not None:
        days = problem.cand.pick_day[problem.row_of]
        which, event = np.nonzero(days < NEVER)
        picks = Sums(v.take, problem.slot(days[which, event]), which)
        for w in picks.keys():  # noqa: SIM118
            model.add(picks[w] <= limits.picks_per_day - int(picked[w]))
