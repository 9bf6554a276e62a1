"""Dry dates and levels over the years, checked: each batch as planned, a year at a time."""

from __future__ import annotations

from collections.abc import Hashable
from datetime import timedelta

from crops import demand
from scheduler.plans.rules import CLAIMS
from scheduler.verify.case import Case, Standing
from scheduler.verify.year import Year, doubts
from scheduler.years.expected import without_years
from scheduler.years.purposes import years_for

Water = tuple[int | None, list[tuple[float, float]]]

LITRES = 0.01  # what a level may be off by [L]


def told(case: Case) -> bool:
    """Whether the plan tells what its years do: those that it was chosen with."""
    years = case.plan.years
    return years is not None and years.chosen_with > 0 and case.plan.promise is not None


def check(case: Case) -> None:
    """Check dry dates, margins, and lowest and highest levels of a plan with years."""
    plan = case.plan
    if not told(case):
        for b in plan.batches:
            bare = all(v.low is None and v.high is None for v in b.levels)
            case.check(CLAIMS, bare, f"{b.id}: low and high levels without years", witnesses=[b.id])
        return
    taken, promise = plan.years, plan.promise
    assert taken is not None
    assert promise is not None
    if any(b.crop not in case.garden.crops for b in plan.batches):
        return  # told elsewhere
    garden = without_years(case.garden)
    years = years_for(garden, taken.chosen_with, taken.seed, "choose", garden.site.past, plan.as_of)
    factors = doubts(garden, plan.batches, years.count, promise.seed)
    each = [Year(garden, years, n, factors[n]) for n in range(years.count)]
    found: dict[Hashable, Water] = {}  # thousands of tiers may hold batches alike
    for s in case.standing:
        if s.over or s.course is None:
            continue
        if s.alike is None or s.alike not in found:
            found[s.alike] = _water(case, s, s.course.start, each)
        _compare(case, s, *found[s.alike])


def _water(case: Case, s: Standing, start: int, years: list[Year]) -> Water:
    """Day of the dry date after transplanting, or None, and the low and high of each morning."""
    b = s.batch
    plants = _plants(case, s, len(b.picks))
    waiting = _plants(case, s, len(b.picks) - 1)
    dry: list[int] = []
    mornings: list[list[float]] = []
    for year in years:
        one = _of_one_plant(s, year, start)
        levels = _levels(s, one, plants)
        mornings.append(levels)
        wait = _levels(s, one, waiting)
        floor = s.vessel.floor_l + 1e-9
        dry += [k for k, left in enumerate(wait) if left <= floor][:1]
    at = max((len(years) + 1) // 10, 1) - 1
    ranked = [sorted(morning) for morning in zip(*mornings, strict=True)]
    edges = [(morning[at], morning[-1 - at]) for morning in ranked]
    return (sorted(dry)[at] if len(dry) > at else None), edges


def _compare(case: Case, s: Standing, dry: int | None, edges: list[tuple[float, float]]) -> None:
    b = s.batch
    day = None if dry is None else b.transplant + timedelta(days=dry)
    case.check(
        CLAIMS,
        b.dry_date == day,
        f"{s.name}: dry before {b.dry_date or 'no day'} in one year of ten; computed "
        f"{day or 'no day'}",
        abs((b.dry_date - day).days) if b.dry_date and day else 1,
        [b.id],
        "days",
    )
    margin = (day - b.picks[-1].date).days if day and b.picks else None
    case.check(
        CLAIMS,
        b.margin_days == margin,
        f"{s.name}: margin {b.margin_days} days; computed {margin}",
        witnesses=[b.id],
    )
    for level, edge in zip(b.levels, edges, strict=False):
        for stated, computed in zip((level.low, level.high), edge, strict=True):
            if stated is None or not abs(stated - computed) <= LITRES:
                case.check(
                    CLAIMS,
                    False,
                    f"{s.name}: {stated} L on {level.date} in one year of ten; computed "
                    f"{computed:.2f} L",
                    witnesses=[b.id, level.date],
                    unit="L",
                )
                return
    case.check(CLAIMS, True, "")


def _of_one_plant(s: Standing, year: Year, start: int) -> list[float]:
    """What one plant drinks day by day from its transplanting on [L]."""
    progress, year = [0.0], year.at(s.tier)
    for rate in year.rate(s.crop, s.tier.light)[start:-1]:
        progress.append(progress[-1] + rate)
    one = demand.plant_demand(
        s.crop, year.et0[start:], s.tier.light, progress, year.sun[start:], year.air[start:]
    )
    thirst = year.factors[s.crop.name][1] * s.batch.demand_factor
    return [float(ml) * thirst / 1000 for ml in one]


def _plants(case: Case, s: Standing, picks: int) -> list[float]:
    """Plants that drink on each day from transplanting on, if only so many picks are made."""
    b, crop, made = s.batch, s.crop, s.batch.picks[: max(picks, 0)]
    out = []
    for d in range(case.physics.n - case.physics.index(b.transplant)):
        day = b.transplant + timedelta(days=d)
        before = [p.plants for p in made if p.date <= day]
        if b.picks and len(before) == len(b.picks):
            out.append(0.0)
        elif crop.cuts > 1:
            out.append(b.plants * (crop.after_cut if before else 1.0))
        else:
            out.append(float(b.plants - sum(before)))
    return out


def _levels(s: Standing, one: list[float], plants: list[float]) -> list[float]:
    """The level on each morning from transplanting on [L]."""
    left, out = s.vessel.fill_l, []
    for drunk, count in zip(one, plants, strict=True):
        out.append(max(left, 0.0))
        left -= drunk * count
    return [*out, max(left, 0.0)]
