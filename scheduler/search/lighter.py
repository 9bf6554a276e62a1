"""Of plans that are worth the same, one that lifts lighter vessels and fewer kilograms.

The search counts vessels lifted, not what they weigh. So a small garden has its fills and clearings
put in the order that lifts least, be there another day with work, and is planned again with a lift
limit below the heaviest vessel of the plan there is, as long as that costs no produce and no
evenness: fewer days on which a picked tier stands uncleared come first, then fewer kilograms. Its
tiers are cleared as soon as the garden's own limit allows, whatever the limit it was planned with.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from dataclasses import replace

from scheduler.batches.candidates import Candidates
from scheduler.garden.model import Garden
from scheduler.plans.model import Plan
from scheduler.schedule.masses import Standing
from scheduler.schedule.problem import pooled
from scheduler.schedule.stages import PRODUCE
from scheduler.search.goal import ENOUGH
from scheduler.search.layouts import by_tier_size
from scheduler.search.lifting import least_lifted
from scheduler.search.solve import Season, make_plan, solve, status
from scheduler.solvers.cp_sat import Settings

SMALL = 4_000  # decisions, tier by tier: gardens that are solved to the end in seconds
TRIES = 4
LESS_KG = 0.05  # than the heaviest vessel, at least
STEP = 1.05  # between the limits that are tried; own judgement
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
    seconds : that there are; admit : as in `solve`.
    """
    plan, until = season.plan, time.monotonic() + seconds
    if not plan.batches or by_tier_size(season.cand) > SMALL:
        return plan
    plan = _least_lifted(garden, season, plan, settings)
    heaviest = Standing(garden, plan).lifted(plan).heaviest_kg
    for _ in range(TRIES):
        left = min(until - time.monotonic(), SECONDS)
        if left < 1.0 or not _can_be_less(garden, heaviest) or (stop is not None and stop.is_set()):
            break
        limits = replace(garden.limits, lift_kg=_step_below(heaviest))
        tried = replace(settings, time_limit=left, gap=0.0)
        found = solve(replace(garden, limits=limits), tried, None, stop, admit)
        other = _least_lifted(garden, found, plan, settings)
        if other is plan:
            break  # under such a limit less grows
        heaviest = Standing(garden, found.plan).lifted(found.plan).heaviest_kg
        plan = min(plan, other, key=lambda p: _lifts(garden, p))
    return plan


def _step_below(kg: float) -> float:
    """The next lower of the limits that are tried [kg].

    They are the same whatever the garden's own limit: so a higher one does not lead to heavier
    lifts by chance.
    """
    step = math.ceil(math.log(kg - LESS_KG) / math.log(STEP)) - 1
    return float(STEP**step)


def _lifts(garden: Garden, plan: Plan) -> tuple[int, float, float]:
    """Days in all between last picks and clearings; what is lifted in all, the heaviest [kg]."""
    lifted = Standing(garden, plan).lifted(plan)
    waits = sum((b.clear - b.picks[-1].date).days for b in plan.batches if b.picks)
    return waits, round(lifted.kg, 3), lifted.heaviest_kg


def _least_lifted(garden: Garden, season: Season, known: Plan, settings: Settings) -> Plan:
    """The plan of a season with its fills and clearings in the order found that lifts least.

    Under the garden's own limit; the known plan if that is worth more.
    """
    stands = least_lifted(pooled(season.cand), season.stands, garden.limits.lift_kg)
    plan = make_plan(garden, season.cand, stands, settings, season.plan.stages)
    return _with_bounds(plan, known, settings.gap) if _as_good(plan, known) else known


def _can_be_less(garden: Garden, heaviest: float) -> bool:
    """Whether the heaviest vessel lifted [kg] holds anything; 0: none is lifted."""
    empty = max(garden.vessels[t.vessel].mass_kg for c in garden.columns for t in c.tiers)
    return _step_below(heaviest) > empty if heaviest > LESS_KG else False


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
