"""Stack access the other way: plan alike tiers pooled, assign to columns, repair what was lost.

1. The season is planned without the lift limit, by our own search.
2. A second model gives each batch of that plan a tier of its kind, every rule kept and stack access
   among them; what finds no place is left out. It is solved by HiGHS, for the most produce.
3. Windows tier by tier, with the exact rule, fill what was left free.

It is measured here and not part of the program: see ``tried.md``.
"""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from scheduler.model.build import build_model, read_choices, stands
from scheduler.model.highs import race
from scheduler.plans.model import Plan
from scheduler.plans.rules import LIFT
from scheduler.schedule.problem import Choice, by_tier
from scheduler.search.solve import make_plan, optimise, solve
from scheduler.search.warm_start import rows_of
from scheduler.solvers.cp_sat import Report, Settings
from scheduler.verify import verify

POOLED, ASSIGN = 0.4, 0.25  # shares of the limit


@dataclass
class Assigned:
    """The plan, and what each step came to [weighted g]; ``over``: faults of stack access before
    the second model."""

    plan: Plan
    pooled: float
    over: int
    kept: float


def plan_pooled(garden: Any, cand: Any, settings: Settings, report: Report) -> Assigned:
    """Plan ``garden``, whose candidates are ``cand``, in the three steps."""
    began = time.monotonic()
    free = replace(garden, limits=replace(garden.limits, lift_kg=None))
    first = replace(settings, time_limit=settings.time_limit * POOLED)
    pooled = solve(free, first).plan
    over = sum(b.rule == LIFT.name for b in verify(garden, pooled).broken)
    offered = Counter(rows_of(pooled.batches, cand))
    problem = by_tier(cand)
    keep = np.flatnonzero(np.isin(problem.row_of, list(offered)))
    part = problem.restricted(keep)
    built = build_model(part, access=True)
    for row, count in offered.items():
        same = np.flatnonzero(part.row_of == row).tolist()
        if same:
            built.model.add(sum(built.v.take[i] for i in same) <= count)
    built.model.maximize(built.produce.value())
    seconds = settings.time_limit * ASSIGN
    found = race(built.model, True, seconds, seeds=range(settings.workers))
    choices: list[Choice] = []
    if found.values is not None:
        choices = [
            Choice(int(keep[c.decision]), c.clear) for c in read_choices(built, found.values)
        ]
    kept = make_plan(garden, cand, stands(problem, choices), settings).stages[0].value
    done = optimise(problem, choices, settings, report, began=began)
    plan = make_plan(garden, cand, stands(problem, done.choices), settings, done.stages)
    return Assigned(plan, pooled.stages[0].value, over, kept)
