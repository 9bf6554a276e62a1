"""Gardens and measures for the tests of the search over whole columns (`scheduler.search.columns`)."""

from __future__ import annotations

from collections.abc import Sequence as Many
from dataclasses import replace
from typing import Any

import numpy as np
from ortools.sat.python import cp_model
from solver_case import rows_of

from scheduler.garden.model import Garden
from scheduler.model import objective
from scheduler.model.build import build_model
from scheduler.schedule.assemble import Stand
from scheduler.schedule.check import broken
from scheduler.schedule.problem import by_tier, pooled
from scheduler.search.columns.layout import Layout, Sequence
from scheduler.search.columns.prices import Aim, Prices
from scheduler.search.columns.search import Search
from scheduler.search.layouts import access_matters, choices_of
from scheduler.solvers.cp_sat import Answer, Settings, run

# Whole numbers, so that CP-SAT can have them as its objective.
AIMS = {"produce": Aim(1, 0, 0), "evenness": Aim(3, 1, 0), "effort": Aim(3, 1, 2)}
FOREVER = 1e18  # on the monotonic clock


def free(g: Garden, **limits: Any) -> Garden:
    """The garden with other limits."""
    return replace(g, limits=replace(g.limits, **limits))


def shared_price(layout: Layout, prices: Prices, name: str) -> np.ndarray:
    """The price of a resource by slot; 0 where there is no limit of it."""
    names = [r.name for r in layout.resources]
    return prices.shared[names.index(name)] if name in names else np.zeros(layout.slots)


def aimed(g: Garden, aim: Aim, loose: bool) -> cp_model.CpModel:
    """The model with ``aim`` as objective, work days left out; loose: pooled, no stack access."""
    cand = rows_of(g)
    built = build_model(
        pooled(cand) if loose else by_tier(cand), False if loose else access_matters(cand)
    )
    goal: Any = int(aim.produce) * built.produce.value()
    if aim.uneven:
        goal = goal - int(aim.uneven) * built.produce.unevenness(built.model)
    if aim.effort:
        effort = objective.effort(built.model, built.v)
        goal = goal - int(aim.effort) * (effort - sum(var for _, var in built.v.used))
    built.model.maximize(goal)
    return built.model


def best_plan(g: Garden, aim: Aim) -> Answer:
    """The best plan CP-SAT finds in some time, proven or not."""
    return run(aimed(g, aim, False), "aim", Settings(workers=1, deterministic=0.1), 30.0)


def search_of(layout: Layout) -> Search:
    return Search(layout, 1, FOREVER)


def one_column(layout: Layout, sequence: Sequence) -> list[Stand]:
    """The batches of a sequence, in the first column of its kind."""
    column = layout.columns[sequence.kind]
    days, row_of = layout.problem.days, layout.problem.row_of
    return [
        Stand(int(row_of[row]), column.names[0], column.numbers[j], int(days[clear]))
        for j, row, clear in sequence.batches
    ]


def faults(layout: Layout, made: Many[Stand]) -> list[str]:
    """Every rule that batches in tiers break."""
    problem = by_tier(layout.cand)
    return broken(problem, True, choices_of(problem, made))


def random_values(layout: Layout, seed: int) -> np.ndarray:
    """What each row may be worth, by chance: whole numbers, some below 0 [rows]."""
    return np.random.default_rng(seed).integers(-20, 100, len(layout)).astype(float)
