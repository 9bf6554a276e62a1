"""Seasons in which something is late: a plan, a day, and what the log or the weather tells by then.

Late come: everything that grows, because it was cold; tiers that are not cleared by their day;
heads that were not ripe, so that some are left; a batch that was transplanted later than planned.
The gardens are like those of `random_gardens` (quick crops, every limit), with room for several
batches in a tier; the plans are the better one of two rules of thumb.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from datetime import date, timedelta

from random_gardens import FAMILIES, VESSELS
from rebalance_case import full_log, row
from solver_case import changing_weather
from verify_case import crop, day, garden

from scheduler.batches.candidates import build
from scheduler.garden.model import ONE_DAY, Column, Demand, Garden, Limits, Nursery, Season, Tier
from scheduler.log.model import HEADER, Log, read_log
from scheduler.model.build import stands
from scheduler.plans.model import Batch, Plan
from scheduler.schedule.problem import by_tier
from scheduler.search.solve import make_plan
from scheduler.search.warm_start import by_simple_rules
from scheduler.solvers.cp_sat import Settings

COLD, UNCLEARED, UNRIPE, PLANTED_LATE = "cold", "not cleared", "unripe", "planted late"
KINDS = (COLD, UNCLEARED, UNRIPE, PLANTED_LATE)


@dataclass(frozen=True)
class Late:
    """``garden`` with the weather as it is known on the day ``on``; ``log`` tells everything."""

    kind: str
    garden: Garden
    plan: Plan
    log: Log
    on: date


def late(seed: int) -> Late:
    """A season with one to three tiers late by one to six days: another one for each seed."""
    draw = random.Random(seed)
    kind = KINDS[seed % len(KINDS)]
    while True:
        g = _garden(draw)
        plan = _by_hand(g)
        before = [b for b in plan.batches if _after(plan, b)]
        made = _made_late(draw, kind, g, plan, before) if before else None
        if made is not None:
            return made


def _garden(draw: random.Random) -> Garden:
    days = draw.choice((42, 49, 56))
    crops = {}
    for name in ("lettuce", "cress", "chard")[: draw.randint(1, 3)]:
        changes = {
            "family": draw.choice(FAMILIES),
            "nursery_days": draw.choice((4.0, 6.0)),
            "nursery_wait": draw.choice((6.0, 3.0, 0.0)),
            "days_to_harvest": draw.choice((8.0, 11.0)),
            "hold": draw.choice((5.0, 3.0, 0.0)),
            "storage_life": draw.choice((7.0, 0.0)),
            "fresh_mass": draw.choice((100.0, 333.3)),
        }
        if name == "chard":
            changes |= {"cuts": 2, "cut_interval": 4.0, "cut_shares": (0.6, 0.4), "after_cut": 0.5}
        crops[name] = crop(name, **changes)
    columns = tuple(
        Column(
            name,
            tuple(
                Tier(k, draw.choice(sorted(VESSELS)), 1.0, draw.choice((2, 3)))
                for k in range(1, size + 1)
            ),
        )
        for name, size in zip("ABC", draw.choice(((1,), (2,), (3,), (2, 1), (2, 2))), strict=False)
    )
    work = draw.choice((range(7), range(7), (0, 1, 2, 3, 4), (0, 2, 4)))
    made = garden(
        season=Season(day(0), day(days - 1), frozenset(work)),
        vessels=VESSELS,
        columns=columns,
        nursery=Nursery(draw.choice((24, 12, 8)), 20.0),
        crops=crops,
        demands=tuple(
            Demand(
                n, (n,), draw.choice((600.0, 300.0)), day(0), day(days - 1), draw.choice((1.0, 2.5))
            )
            for n in crops
        ),
        limits=Limits(
            lift_kg=draw.choice((None, None, 9.0)),
            fills_per_day=draw.choice((None, 2, 1)),
            picks_per_day=draw.choice((None, 2, 1)),
            dry_margin_days=draw.choice((0, 2)),
            turnaround_days=draw.choice((1, 2)),
        ),
    )
    return made if draw.random() < 0.5 else changing_weather(made, draw.choice((0.0, 12.0)))


def _by_hand(g: Garden) -> Plan:
    cand, _ = build(g)
    problem = by_tier(cand)
    plans = [
        make_plan(g, cand, stands(problem, way), Settings(workers=1))
        for way in by_simple_rules(problem)
    ]
    return max(plans, key=lambda p: p.stages[0].value)


def _after(plan: Plan, b: Batch) -> list[Batch]:
    """What is planned in the tier of a batch after it."""
    return [
        o
        for o in plan.batches
        if (o.column, o.tier) == (b.column, b.tier) and o.transplant > b.transplant
    ]


def _made_late(
    draw: random.Random, kind: str, g: Garden, plan: Plan, before: list[Batch]
) -> Late | None:
    first, days = draw.choice(before), draw.randint(1, 6)
    if kind == COLD:
        on = first.transplant + ONE_DAY
        return Late(kind, _cold(g, on, days), plan, _read(full_log(plan, on), g), on)
    slow = {first.id}
    if kind == PLANTED_LATE:
        on = first.transplant + days * ONE_DAY
        if on >= first.clear:
            return None
    else:
        on = first.clear + days * ONE_DAY
        near = [b.id for b in before if on - timedelta(days=6) <= b.clear < on]
        slow |= set(draw.sample(near, min(len(near), draw.randint(0, 2))))
    if on > g.season.end or not g.season.is_work_day(on):
        return None
    held = {o.id for b in before if b.id in slow for o in _after(plan, b)}
    lines = []
    for b in plan.batches:
        mine = full_log(replace(plan, batches=(b,)), on)
        place = f"{b.column}{b.tier}"
        if b.id in held or (b.id in slow and kind == PLANTED_LATE):
            mine = [line for line in mine if ",sown," in line]
            if b.id not in held:
                mine.append(row(on, "transplanted", place, "", b.crop))
        elif b.id in slow:
            mine = [line for line in mine if ",cleared," not in line]
            if kind == UNRIPE and g.crops[b.crop].cuts == 1:
                mine[-1] = row(b.picks[-1].date, "picked", place, "1 plants", b.crop)
        lines += mine
    return Late(kind, g, plan, _read(sorted(lines, key=lambda line: line[:10]), g), on)


def _cold(g: Garden, first: date, days: int) -> Garden:
    """Nothing grows on some days."""
    weather, at = g.site.weather.copy(), g.season.index(first)
    for column in ("tmin", "tmax", "tmean"):
        weather.iloc[at : at + days, weather.columns.get_loc(column)] = 2.0
    return replace(g, site=replace(g.site, weather=weather))


def _read(lines: list[str], g: Garden) -> Log:
    return read_log("\n".join([HEADER, *lines]).encode(), "log.csv", g)
