"""What to buy for a season: seeds, cells, and how much solution of which strength."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from scheduler.garden import ONE_DAY, Garden
from scheduler.plan import Plan


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

    ec: tuple[float, float]
    ph: tuple[float, float]
    litres: float
    fills: int
    crops: tuple[str, ...]


@dataclass(frozen=True)
class Shopping:
    """All of it.

    Attributes
    ----------
    salts : (fertilizer, mass [g]) by one common way of mixing, in water without salts of its own.
    cells : the most in use on one day; heads_to_support : the most standing on one day.
    """

    seeds: tuple[Seeds, ...]
    solutions: tuple[Solution, ...]
    salts: tuple[tuple[str, float], ...]
    cells: int
    heads_to_support: int


def shopping(garden: Garden, plan: Plan) -> Shopping:
    """What the plan needs, crops and strengths in order."""
    seeds: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    fills: dict[tuple[tuple[float, float], tuple[float, float]], list[float]] = {}
    users: dict[tuple[tuple[float, float], tuple[float, float]], set[str]] = defaultdict(set)
    most = heads = 0
    for b in plan.batches:
        crop = garden.crops[b.crop]
        count = seeds[b.crop]
        count[0], count[1], count[2] = count[0] + b.seeds, count[1] + 1, count[2] + b.cells
        key = ((crop.ec_low, crop.ec_high), (crop.ph_low, crop.ph_high))
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
    return Shopping(
        tuple(
            Seeds(name, n, sowings, cells, garden.crops[name].germination)
            for name, (n, sowings, cells) in sorted(seeds.items())
        ),
        solutions,
        salts(solutions),
        most,
        heads,
    )


def salts(solutions: Iterable[Solution]) -> tuple[tuple[str, float], ...]:
    """Fertilizers for these solutions by the three-salt way: (name, mass [g]), in its order."""
    from crops.solution.recipe import Goal, mix
    from crops.solution.salts import THREE_SALT

    total = {salt.name: 0.0 for salt in THREE_SALT.salts}
    for s in solutions:
        recipe = mix(THREE_SALT.salts, Goal(ec=sum(s.ec) / 2), 1.0)
        for salt, grams in zip(recipe.salts, recipe.grams, strict=True):
            total[salt.name] += grams * s.litres
    return tuple(total.items()) if any(total.values()) else ()


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
