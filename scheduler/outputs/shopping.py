"""What to buy for a season: seeds, cells, and how much solution of which strength."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date

from scheduler.garden.model import ONE_DAY, Garden
from scheduler.mix.fills import season_total, solution_of
from scheduler.plans.model import Plan


@dataclass(frozen=True)
class Seeds:
    """Seeds of one crop: how many, in how many sowings and cells; the germination counted on."""

    crop: str
    seeds: int
    sowings: int
    cells: int
    germination: float


@dataclass(frozen=True)
class Solution:
    """Solution of one strength over the season [L], EC [mS/cm], pH, the crops it is for."""

    ec: float
    ph: tuple[float, float]
    litres: float
    fills: int
    crops: tuple[str, ...]


@dataclass(frozen=True)
class Shopping:
    """All of it.

    Attributes
    ----------
    salts : (fertilizer, mass [g]) for all fills, as `dryline mix` weighs them out; acid :
        (acid, amount, g or mL). Empty where the garden's water and fertilizers make no recipe.
    way : what the way of mixing is called; empty for the grower's own.
    known_water : whether the garden tells of its water; else it is reckoned as rain water.
    cells : the most in use on one day; heads_to_support : the most standing on one day.
    """

    seeds: tuple[Seeds, ...]
    solutions: tuple[Solution, ...]
    salts: tuple[tuple[str, float], ...]
    acid: tuple[tuple[str, float, str], ...]
    way: str
    known_water: bool
    cells: int
    heads_to_support: int


def shopping(garden: Garden, plan: Plan) -> Shopping:
    """What the plan needs, crops and strengths in order; not what stood before it was made."""
    seeds: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    fills: dict[tuple[float, tuple[float, float]], list[float]] = {}
    users: dict[tuple[float, tuple[float, float]], set[str]] = defaultdict(set)
    most = heads = 0
    filled = tuple(b for b in plan.batches if b.transplant >= garden.first)
    for b in plan.batches:
        crop = garden.crops[b.crop]
        if b.sow >= garden.first:
            count = seeds[b.crop]
            count[0], count[1], count[2] = count[0] + b.seeds, count[1] + 1, count[2] + b.cells
        if b.transplant < garden.first:
            continue
        key = (round(solution_of(garden, b).fill, 1), (crop.ph_low, crop.ph_high))
        total = fills.setdefault(key, [0.0, 0])
        total[0], total[1] = total[0] + b.fill_litres, total[1] + 1
        users[key].add(b.crop)
        if crop.support_mass is not None:
            heads = max(heads, _standing(garden, plan, b.transplant))
    for _, cells in nursery_load(plan):
        most = max(most, cells)
    solutions = tuple(
        Solution(key[0], key[1], litres, int(n), tuple(sorted(users[key])))
        for key, (litres, n) in sorted(fills.items())
    )
    bought = season_total(garden, replace(plan, batches=filled))
    names = {salt.name for salt in garden.solution.salts}
    return Shopping(
        tuple(
            Seeds(name, n, sowings, cells, garden.crops[name].germination)
            for name, (n, sowings, cells) in sorted(seeds.items())
        ),
        solutions,
        tuple((name, grams) for name, grams, _ in bought if name in names),
        tuple(b for b in bought if b[0] not in names),
        garden.solution.way,
        garden.solution.known,
        most,
        heads,
    )


def _standing(garden: Garden, plan: Plan, day: date) -> int:
    """Plants that need support among those in tiers on ``day``."""
    return sum(
        b.plants
        for b in plan.batches
        if garden.crops[b.crop].support_mass is not None and b.transplant <= day <= b.clear
    )


def nursery_load(plan: Plan) -> list[tuple[date, int]]:
    """Cells in use on each day of the season, as (date, cells)."""
    change: dict[date, int] = defaultdict(int)
    for b in plan.batches:
        change[b.sow] += b.cells
        change[b.transplant] -= b.cells
    out: list[tuple[date, int]] = []
    used = sum(n for d, n in change.items() if d < plan.start)
    day = plan.start
    while day <= plan.end:
        used += change.get(day, 0)
        out.append((day, used))
        day += ONE_DAY
    return out
