"""The season as a mixed-integer program of its own, solved by SciPy's HiGHS.

Nothing of the program's candidates or model is used. Every batch that could stand in the garden is
written down by plain day loops, once for each tier, sowing day, transplanting day, pattern of picks
and day of clearing; the program then chooses among them:

    most    weight * grams served
    so that at most one batch stands in a tier on a day (turnaround days count),
            seedlings fit the nursery's cells on each day,
            fills and picks a day stay within their limits,
            no tier is filled or cleared under a vessel too heavy to lift,
            a pick serves the weeks it keeps for, a week takes no more than its wish.

``any_day`` widens what may be picked beyond what the program offers: heads in any two parts, cuts
on any day within the hold.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import combinations

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from crops import demand, development
from crops.crop import Crop
from scheduler.garden.model import Garden, Tier

Picks = tuple[tuple[int, int], ...]  # (day, plants)


@dataclass(frozen=True)
class Option:
    """A batch that could be: days are counted from the season's first."""

    crop: str
    column: str
    tier: int
    cells: int
    sow: int
    start: int
    picks: Picks
    grams: tuple[int, ...]
    clear: int
    heavy: tuple[int, ...]  # days on which it is too heavy to lift


def work_days(garden: Garden) -> list[int]:
    season = garden.season
    out = []
    for k in range((season.end - season.start).days + 1):
        day = season.start + timedelta(days=k)
        away = any(span.start <= day <= span.end for span in season.away)
        if day.weekday() in season.work_days and not away:
            out.append(k)
    return out


def options(garden: Garden, any_day: bool = False) -> Iterator[Option]:
    """Every batch that keeps all rules it can keep by itself."""
    days = work_days(garden)
    for crop in garden.crops.values():
        for start in days:
            sows = sowing_days(garden, crop, days, start)
            if not sows:
                continue
            for column in garden.columns:
                for tier in column.tiers:
                    for picks, heavy in harvests(garden, crop, tier, days, start, any_day):
                        grams = pick_grams(crop, picks)
                        for clear in (d for d in days if d >= picks[-1][0]):
                            if not allowed(garden, crop, tier, start, clear):
                                continue
                            weighs = tuple(d for d in range(start + 1, clear) if heavy(d))
                            for sow in sows:
                                yield Option(
                                    crop.name,
                                    column.name,
                                    tier.number,
                                    development.cells_to_sow(crop, tier.plants),
                                    sow,
                                    start,
                                    picks,
                                    grams,
                                    clear,
                                    weighs,
                                )


def allowed(garden: Garden, crop: Crop, tier: Tier, start: int, clear: int) -> bool:
    first = garden.season.start
    begin, end = first + timedelta(days=start), first + timedelta(days=clear)
    for rest in tier.rests:
        if rest.family == crop.family and begin <= rest.until:
            return False
    return not tier.available or any(s.start <= begin and end <= s.end for s in tier.available)


def sowing_days(garden: Garden, crop: Crop, days: list[int], start: int) -> list[int]:
    weather = garden.site.weather
    low, high = weather["tmin"].to_numpy(), weather["tmax"].to_numpy()
    if garden.nursery.temperature is not None:
        low = high = np.full(len(weather), garden.nursery.temperature)
    rate = development.nursery_rate(crop, low, high)
    out = []
    for sow in days:
        if sow >= start:
            break
        total, fit = 0.0, None
        for day in range(sow, start + 1):
            if total >= 1 - 1e-9:
                fit = day
                break
            total += rate[day]
        if fit is not None and start - fit <= crop.nursery_wait:
            out.append(sow)
    return out


def pick_grams(crop: Crop, picks: Picks) -> tuple[int, ...]:
    if crop.cuts == 1:
        return tuple(round(n * crop.fresh_mass) for _, n in picks)
    return tuple(round(n * crop.fresh_mass * crop.cut_shares[k]) for k, (_, n) in enumerate(picks))


def harvests(garden, crop, tier, days, start, any_day):
    """Patterns of picks that keep the rules, each with a test for heavy days."""
    weather = garden.site.weather
    rate = development.daily_rate(crop, weather, tier.light)
    total, ready, progress = 0.0, None, []
    for day in range(start, len(weather)):
        progress.append(total)
        if ready is None and total >= 1 - 1e-9:
            ready = day
        total += rate[day]
    if ready is None:
        return
    et0, sun, air = (column[start:] for column in demand.taken(weather))
    drinks = demand.plant_demand(crop, et0, tier.light, progress, sun, air)
    mass = crop.fresh_mass * development.weight_share(crop, progress) / 1000
    bolting = development.bolting_day(crop, weather)
    dli = weather["dli"].to_numpy() * tier.light
    vessel = garden.vessels[tier.vessel]
    for picks in patterns(crop, tier.plants, days, ready, any_day):
        last = picks[-1][0]
        if sum(bolting[start:last]) > crop.bolts_after + 1e-9:
            continue
        if sum(dli[start : last + 1]) / (last + 1 - start) < crop.dli_min - 1e-9:
            continue
        level, dry, levels = vessel.fill_l, None, []
        for k, one in enumerate(drinks):
            day = start + k
            if level <= vessel.floor_l + 1e-9:
                dry = day
                break
            levels.append(level)
            level -= drinkers(crop, tier.plants, picks[:-1], day) * one / 1000
        if dry is not None and dry - last < garden.limits.dry_margin_days:
            continue

        def heavy(day: int, picks: Picks = picks, levels: list[float] = levels) -> bool:
            limit = garden.limits.lift_kg
            if limit is None:
                return False
            last = picks[-1][0]
            kg = vessel.mass_kg + levels[min(day, last) - start]
            if day < last:
                gone = sum(n for d, n in picks if d <= day) if crop.cuts == 1 else 0
                kg += (tier.plants - gone) * mass[day - start]
            return bool(kg > limit + 1e-9)

        yield picks, heavy


def drinkers(crop: Crop, plants: int, picks: Picks, day: int) -> float:
    if crop.cuts > 1:
        return plants * (crop.after_cut if any(d <= day for d, _ in picks) else 1.0)
    return plants - sum(n for d, n in picks if d <= day)


def patterns(
    crop: Crop, plants: int, days: list[int], ready: int, any_day: bool
) -> Iterator[Picks]:
    good = [d for d in days if ready <= d <= ready + crop.hold]
    if crop.cuts == 1:
        for day in good:
            yield ((day, plants),)
        halves = {plants // 2, plants - plants // 2}
        for a, b in combinations(good, 2):
            for n in range(1, plants):
                if any_day or n in halves:
                    yield ((a, n), (b, plants - n))
        return
    chains: list[list[int]] = [[d] for d in (good if any_day else good[:1])]
    for _ in range(crop.cuts):
        longer = []
        for chain in chains:
            yield tuple((d, plants) for d in chain)
            back = chain[-1] + round(crop.cut_interval)
            after = [d for d in days if back <= d <= back + crop.hold]
            longer += [[*chain, d] for d in (after if any_day else after[:1])]
        chains = longer


class Rows:
    """Constraints ``sum <= right`` written entry by entry."""

    def __init__(self) -> None:
        self.entries: dict[object, dict[int, float]] = defaultdict(lambda: defaultdict(float))
        self.right: dict[object, float] = {}

    def add(self, key: object, right: float, variable: int, coefficient: float = 1) -> None:
        self.entries[key][variable] += coefficient
        self.right[key] = right

    def constraint(self, width: int) -> LinearConstraint:
        data = [
            (r, c, x) for r, key in enumerate(self.entries) for c, x in self.entries[key].items()
        ]
        row, column, value = (list(part) for part in zip(*data, strict=True))
        matrix = coo_matrix((value, (row, column)), (len(self.entries), width))
        return LinearConstraint(matrix.tocsr(), -np.inf, [self.right[k] for k in self.entries])


def optimum(garden: Garden, any_day: bool = False, seconds: float = 120) -> float:
    """The most weighted grams of the wishes that can be met, proven."""
    choice = list(options(garden, any_day))
    rows = Rows()
    limits = garden.limits
    supplies: dict[tuple[str, tuple[date, ...]], list[tuple[int, int]]] = defaultdict(list)
    for i, o in enumerate(choice):
        for day in range(o.start, o.clear + limits.turnaround_days):
            rows.add(("tier", o.column, o.tier, day), 1, i)
        for day in range(o.sow, o.start):
            rows.add(("cells", day), garden.nursery.cells, i, o.cells)
        if limits.fills_per_day is not None:
            rows.add(("fills", o.start), limits.fills_per_day, i)
        if limits.picks_per_day is not None:
            for day, _ in o.picks:
                rows.add(("picks", day), limits.picks_per_day, i)
        tiers = next(c.tiers for c in garden.columns if c.name == o.column)
        # For each day and kind of work: a vessel too heavy to lift, or work on one below it.
        for below in range(o.tier + 1, len(tiers) + 1):
            for day in o.heavy:
                for work in ("fill", "clear"):
                    rows.add(("lift", o.column, o.tier, below, day, work), 1, i)
        for above in tiers[: o.tier - 1]:
            for day, work in ((o.start, "fill"), (o.clear, "clear")):
                rows.add(("lift", o.column, above.number, o.tier, day, work), 1, i)
            empty = garden.vessels[above.vessel].mass_kg
            if limits.lift_kg is not None and empty > limits.lift_kg:
                rows.add(("never", i), 0, i)
        wish = next((d for d in garden.demands if o.crop in d.crops), None)
        if wish is not None:
            for (day, _), grams in zip(o.picks, o.grams, strict=True):
                weeks = weeks_of(garden, day, garden.crops[o.crop].storage_life)
                supplies[wish.group, weeks].append((i, grams))
    cost = [0.0] * len(choice)
    upper_bound = [1.0] * len(choice)
    for (group, weeks), given in supplies.items():
        want = next(d for d in garden.demands if d.group == group)
        for i, grams in given:
            rows.add(("supply", group, weeks), 0, i, -grams)
        for monday in weeks:
            flow = len(cost)
            top = week_wish(garden, want, monday)
            cost.append(-want.weight)
            upper_bound.append(top)
            rows.add(("supply", group, weeks), 0, flow)
            rows.add(("wish", group, monday), top, flow)
    integral = np.zeros(len(cost))
    integral[: len(choice)] = 1
    result = milp(
        cost,
        integrality=integral,
        bounds=Bounds(0, upper_bound),
        constraints=rows.constraint(len(cost)),
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    assert result.status == 0, result.message
    return -float(result.fun)


def weeks_of(garden: Garden, day: int, storage: float) -> tuple[date, ...]:
    """Mondays of the weeks a pick serves: its own, and later ones it keeps to the Wednesday of."""
    picked = garden.season.start + timedelta(days=day)
    monday = picked - timedelta(days=picked.weekday())
    out = [monday]
    monday += timedelta(days=7)
    while monday <= garden.season.end and monday + timedelta(days=2) - picked <= timedelta(storage):
        out.append(monday)
        monday += timedelta(days=7)
    return tuple(out)


def week_wish(garden: Garden, want, monday: date) -> int:
    days = [monday + timedelta(days=k) for k in range(7)]
    season = garden.season
    count = sum(1 for d in days if season.start <= d <= season.end and want.start <= d <= want.end)
    return round(want.grams_per_week * count / 7)
