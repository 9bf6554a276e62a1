"""Of plans that are worth the same, one that lifts lighter vessels and fewer kilograms.

The search counts vessels lifted, not what they weigh. A small garden is planned again with a lift
limit just below the heaviest vessel of the plan there is, as long as that costs no produce and no
evenness and fewer kilograms are lifted; what is best of the kind by hand is asked of the solver.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace

from scheduler.batches.candidates import Candidates
from scheduler.garden.model import Garden
from scheduler.plans.model import Lifted, Plan
from scheduler.schedule.masses import Standing
from scheduler.schedule.stages import PRODUCE
from scheduler.search.goal import ENOUGH
from scheduler.search.solve import Season, by_tier_size, solve, status
from scheduler.solvers.cp_sat import Settings

SMALL = 4_000  # decisions, tier by tier: gardens that are solved to the end in seconds
TRIES = 4
LESS_KG = 0.05  # than the heaviest vessel
SECONDS = 10.0  # at most for one try


def lighter(
    garden: Garden,
    season: Season,
    settings: Settings,
    seconds: float,
    stop: threading.Event | None = None,
    admit: Callable[[Candidates], Candidates] | None = None,
) -> Plan:
    """The plan of ``season``, or one like it in the first two stages that lifts less.

    Parameters
    ----------
    seconds : that there are; keep : as in `solve`.
    """
    plan, until = season.plan, time.monotonic() + seconds
    if by_tier_size(season.cand) > SMALL:
        return plan
    lifted = Standing(garden, plan).lifted(plan)
    for _ in range(TRIES):
        left = min(until - time.monotonic(), SECONDS)
        if left < 1.0 or not _can_be_less(garden, lifted) or (stop is not None and stop.is_set()):
            break
        limits = replace(garden.limits, lift_kg=lifted.heaviest_kg - LESS_KG)
        tried = replace(settings, time_limit=left, gap=0.0)
        other = solve(replace(garden, limits=limits), tried, None, stop, admit).plan
        now = Standing(garden, other).lifted(other)
        if not _as_good(other, plan) or now.kg > lifted.kg:
            break
        plan, lifted = _with_bounds(other, plan, settings.gap), now
    return plan


def _can_be_less(garden: Garden, lifted: Lifted) -> bool:
    """Whether the heaviest vessel lifted holds anything."""
    empty = max(garden.vessels[t.vessel].mass_kg for c in garden.columns for t in c.tiers)
    return lifted.vessels > 0 and lifted.heaviest_kg - LESS_KG > empty


def _as_good(one: Plan, other: Plan) -> bool:
    """Whether a plan is worth at least as much as another in the first two stages."""
    (produce, evenness), (wanted, most) = (p.stages[:2] for p in (one, other))
    return produce.value >= wanted.value - 1e-6 and evenness.value <= most.value + 1e-6


def _with_bounds(plan: Plan, known: Plan, gap: float) -> Plan:
    """A plan with the bounds of the one it replaces: those hold for every plan of the garden."""
    bound = {s.name: s.bound for s in known.stages}
    stages = tuple(
        replace(
            s,
            bound=bound.get(s.name),
            status=status(s.value, bound.get(s.name), gap if s.name == PRODUCE else ENOUGH),
        )
        for s in plan.stages
    )
    return replace(plan, stages=stages, status=stages[0].status, by_hand=known.by_hand)
