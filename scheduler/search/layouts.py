"""A garden's candidates laid out for a search: pooled or tier by tier, and schedules as choices."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.schedule import value as worth
from scheduler.schedule.access import never_liftable
from scheduler.schedule.assemble import Stand
from scheduler.schedule.problem import Choice, Problem, by_tier, pooled, row_by_row


def access_matters(cand: Candidates) -> bool:
    """Whether tiers must be told apart.

    One could be too heavy above another, or the day of a clearing counts.
    """
    garden = cand.garden
    if any(r.clears for r in row_by_row(cand).resources):
        return True
    if garden.limits.lift_kg is None or all(len(c.tiers) < 2 for c in garden.columns):
        return False
    table = cand.table
    heavy = (table["heavy_until"] > table["transplant"]).any()
    return bool(heavy) or any(never_liftable(garden, v) for v in garden.vessels)


def laid_out(cand: Candidates, pool: Problem | None = None) -> tuple[Problem, bool]:
    """The problem to be searched, and whether stack access counts in it.

    Then tiers stand apart; else alike tiers are pooled (``pool``, where that was made already).
    """
    if access_matters(cand):
        return by_tier(cand), True
    return pooled(cand) if pool is None else pool, False


def by_tier_size(cand: Candidates) -> int:
    """Decisions there would be if every tier were a place of its own."""
    rows = np.bincount(cand.table["kind"].to_numpy(dtype=int), minlength=len(cand.kinds))
    return int(rows @ np.array([kind.count for kind in cand.kinds]))


def choices_of(problem: Problem, made: Sequence[Stand]) -> list[Choice]:
    """Batches in tiers as choices of a problem."""
    if not problem.places or not problem.places[0].column:
        at = {int(row): i for i, row in enumerate(problem.row_of)}
        last = problem.column("last")
        return [Choice(at[s.row], int(last[at[s.row]])) for s in made]
    place = {(p.column, p.number): i for i, p in enumerate(problem.places)}
    most = len(problem.cand)
    keys = problem.place_of * most + problem.row_of  # rising, place by place
    wanted = np.array([place[s.column, s.tier] * most + s.row for s in made], dtype=int)
    return [
        Choice(int(i), s.clear)
        for i, s in zip(np.searchsorted(keys, wanted).tolist(), made, strict=True)
    ]


def worth_of(problem: Problem, choices: Sequence[Choice]) -> float:
    """Stage 1 of a schedule [weighted g]."""
    supply = problem.supply
    met = worth.met(supply, worth.picked(problem, choices), supply.wish)
    return float(sum(w * g for w, g in zip(supply.weights, met, strict=True)))
