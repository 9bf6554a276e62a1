"""Stack access: a tier is filled or cleared only when every vessel above it may be lifted.

For each column, slot w and tiers j above k:   heavy[j,w] + service[k,w] <= 1

heavy[j,w] is 1 while a batch in j weighs more than the lift limit: from the day after its
filling until it has drunk down (decided in the candidates), or while it waits, picked but not
cleared, with too much left. On its own fill day and its own clearing day a tier counts as empty:
the lower tier is filled first, the upper one cleared first.
"""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from scheduler.model.variables import Expr, Variables
from scheduler.schedule.access import never_liftable


def build(model: cp_model.CpModel, v: Variables) -> None:
    """Add the rule; nothing to do without a lift limit."""
    problem = v.problem
    garden = problem.cand.garden
    if not v.access or garden.limits.lift_kg is None:
        return
    first_slot, end_slot, _ = problem.heavy
    weighs = end_slot > first_slot
    begin = v.sums(first_slot, weighs & ~v.started)
    stop = v.sums(end_slot, weighs & (~v.started | (end_slot > 0)))
    initial = {int(problem.place_of[g[0]]) for g in problem.committed if v.started[g[0]]}
    at = {(p.column, p.number): i for i, p in enumerate(problem.places)}
    for column in garden.columns:
        places = [at.get((column.name, tier.number), -1) for tier in column.tiers]
        if -1 in places:
            continue  # a column settled elsewhere
        for j, upper in enumerate(places[:-1]):
            before: Expr = 0
            if upper in initial:
                # A batch that stands already: heavy from the start if it is heavy at all.
                mask = v.started & (problem.place_of == upper) & (end_slot > 0)
                before = sum(v.take[i] for i in np.flatnonzero(mask).tolist())
            always = never_liftable(garden, column.tiers[j].vessel)
            for w in range(v.slots):
                lifted: Expr
                key = int(v.key(np.array(upper), np.array(w)))
                model.add(v.heavy[upper][w] == before + begin[key] - stop[key])
                before = v.heavy[upper][w]
                for lower in places[j + 1 :]:
                    lifted = v.heavy[upper][w] + v.wait[True][upper][w]
                    if always:
                        lifted = 1
                    parts = [
                        v.fill[lower][w],
                        v.clear[False][lower][w] + v.clear[True][lower][w],
                    ]
                    if garden.limits.turnaround_days >= 1:  # never both on one day
                        parts = [v.served_service(lower, w)]
                    for part in parts:
                        model.add(lifted + part <= 1)
