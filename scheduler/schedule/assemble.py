"""From the decisions taken to a plan: tiers, dates, levels, what stays unmet."""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from crops.level import batch_course
from scheduler.batches.candidates import Candidates
from scheduler.batches.courses import NEVER
from scheduler.garden.model import Garden, Tier
from scheduler.garden.placed import weather_at
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.plans.model import PLANNED, Batch, Level, Pick, Plan, Shortfall
from scheduler.schedule.effort import above, points
from scheduler.schedule.produce import most_even


@dataclass(frozen=True)
class Stand:
    """One batch that was decided: candidate row, tier, and the day index of its clearing."""

    row: int
    column: str
    tier: int
    clear: int


def spread_over_tiers(cand: Candidates, rows: Sequence[int]) -> list[Stand]:
    """Give pooled decisions a tier each.

    Batches of one kind are intervals, and at no time more than there are tiers: taking them by
    start and giving each the tier that has been free longest is an exact assignment.
    """
    turnaround = cand.garden.limits.turnaround_days
    start, last = cand.table["transplant"].to_numpy(), cand.table["last"].to_numpy()
    kinds = cand.table["kind"].to_numpy()
    free = [[(0, i) for i in range(kind.count)] for kind in cand.kinds]
    stands = []
    for row in sorted(rows, key=lambda r: (start[r], last[r], r)):
        heap = free[kinds[row]]
        since, i = heapq.heappop(heap)
        if since > start[row]:
            raise AssertionError("more batches than tiers of a kind")
        column, tier = cand.kinds[kinds[row]].places[i]
        stands.append(Stand(int(row), column, tier, int(last[row])))
        heapq.heappush(heap, (int(last[row]) + turnaround, i))
    return stands


def batches(cand: Candidates, stands: Sequence[Stand]) -> tuple[Batch, ...]:
    """The batches of a plan, by date, with their levels day by day."""
    start = cand.table["transplant"].to_numpy()
    order = sorted(stands, key=lambda s: (start[s.row], s.column, s.tier))
    # Batches of one candidate in tiers alike differ in name and place alone, and share the rest.
    known: dict[tuple[int, Tier, int], Batch] = {}
    out = []
    for number, stand in enumerate(order, start=1):
        tier = cand.garden.tier(stand.column, stand.tier)
        key = (stand.row, replace(tier, number=0), stand.clear)
        batch = known.get(key)
        if batch is None:
            batch = known[key] = _batch(cand, stand.row, tier, stand.clear)
        out.append(replace(batch, id=f"b{number:03d}", column=stand.column, tier=stand.tier))
    return tuple(out)


def _batch(cand: Candidates, row: int, tier: Tier, clear: int) -> Batch:
    """The batch of one candidate row, not yet named and placed."""
    garden = cand.garden
    season = garden.season
    crop = garden.crops[cand.crop_names[cand.at("crop", row)]]
    vessel = garden.vessels[tier.vessel]
    start, cells = cand.at("transplant", row), cand.at("cells", row)
    events = [
        (int(d), int(n), int(g))
        for d, n, g in zip(
            cand.pick_day[row], cand.pick_plants[row], cand.pick_grams[row], strict=True
        )
        if d < NEVER
    ]
    course = batch_course(
        crop,
        vessel,
        weather_at(garden, tier),
        tier.light,
        start,
        tier.plants,
        [(d, n) for d, n, _ in events],
    )
    dry, last = course.dry_index, events[-1][0]

    def not_ripe(day: int) -> bool:
        return course.ready_index is None or day < course.ready_index

    levels = tuple(
        Level(
            season.date(day),
            round(float(course.litres[min(day, last) - start]), 3),
            round(float(course.depth_cm[min(day, last) - start]), 2),
        )
        for day in range(start, clear + 1)
    )
    return Batch(
        id="",
        crop=crop.name,
        column="",
        tier=0,
        plants=tier.plants,
        seeds=cells * crop.seeds_per_cell,
        cells=cells,
        sow=season.date(cand.at("sow", row)),
        transplant=season.date(start),
        picks=tuple(
            Pick(season.date(d), n, g, young=crop.cuts == 1 and not_ripe(d)) for d, n, g in events
        ),
        clear=season.date(clear),
        fill_litres=round(vessel.fill_l, 3),
        dry_date=None if dry is None else season.date(dry),
        margin_days=None if dry is None else dry - last,
        state=PLANNED,
        levels=levels,
    )


@dataclass(frozen=True)
class Table:
    """What comes to the table: per (group, week) [g] served; grams picked in vain, in all."""

    served: dict[tuple[str, str], int]
    wish: dict[tuple[str, str], int]
    wasted: int

    def unmet(self) -> tuple[Shortfall, ...]:
        """Wishes not met, group by group, week by week."""
        return tuple(
            Shortfall(group, week, grams - self.served.get((group, week), 0))
            for (group, week), grams in self.wish.items()
            if grams > self.served.get((group, week), 0)
        )


def serve(garden: Garden, picked: Sequence[Batch]) -> Table:
    """Share what is picked out over the weekly wishes, the most even way (`most_even`)."""
    weeks = season_weeks(garden.season)
    at = {w: i for i, w in enumerate(weeks)}
    want = wish(garden)
    # What serves the same weeks of the same group is one lot: (group, first week, last) to [g].
    lots: dict[tuple[str, int, int], int] = {}
    weeks_of: dict[tuple[str, date], tuple[str, int, int] | None] = {}
    wasted = 0
    for batch in picked:
        for pick in batch.picks:
            if (batch.crop, pick.date) not in weeks_of:
                weeks_of[batch.crop, pick.date] = _lot(garden, batch.crop, pick.date, at)
            lot = weeks_of[batch.crop, pick.date]
            if lot is None:
                wasted += pick.grams
            else:
                lots[lot] = lots.get(lot, 0) + pick.grams
    out: dict[tuple[str, str], int] = {}
    for group in {d.group: None for d in garden.demands}:
        mine = [
            (first, last, k, g)
            for k, ((name, first, last), g) in enumerate(lots.items())
            if name == group
        ]
        wishes = np.array([want.get((group, week), 0) for week in weeks], dtype=int)
        met = most_even(mine, wishes).tolist()
        out |= {(group, week): grams for week, grams in zip(weeks, met, strict=True) if grams}
        wasted += sum(lot[3] for lot in mine) - sum(met)
    return Table(out, want, wasted)


def _lot(
    garden: Garden, crop: str, picked: date, at: dict[str, int]
) -> tuple[str, int, int] | None:
    """Group, first and last week of the season a pick serves; None where it serves no wish."""
    demand = garden.demand_of(crop)
    life, events = garden.crops[crop].storage_life, garden.event_weeks(crop)
    served = [at[w] for w in weeks_served(picked, life, events) if w in at]
    return None if demand is None or not served else (demand.group, served[0], served[-1])


def produce_value(garden: Garden, table: Table) -> float:
    """Stage 1 [weighted g]."""
    weight = {d.group: d.weight for d in garden.demands}
    return float(sum(weight[group] * grams for (group, _), grams in table.served.items()))


def evenness_value(table: Table) -> float:
    """Stage 2 [g]: picked in vain, and short below half of each weekly wish."""
    short = sum(max(0, grams // 2 - table.served.get(key, 0)) for key, grams in table.wish.items())
    return float(table.wasted + short)


def effort_value(made: Sequence[Batch]) -> float:
    """Stage 3: fills, vessels lifted (k - 1 for each fill or clearing of tier k), work days."""
    days = set()
    for batch in made:
        days |= {batch.sow, batch.transplant, batch.clear, *(p.date for p in batch.picks)}
    return float(sum(points(above(batch.tier)) for batch in made) + len(days))


def wish_total(garden: Garden) -> float:
    """All wishes [weighted g]: no plan can be worth more."""
    weight = {d.group: d.weight for d in garden.demands}
    return float(sum(weight[g] * grams for (g, _), grams in wish(garden).items()))


def wish_met(garden: Garden, plan: Plan) -> float | None:
    """Share of all wishes that a plan meets, by the garden's weights: the one number it goes by.

    It follows from what stays unmet. None where nothing is wished.
    """
    weight = {d.group: d.weight for d in garden.demands}
    total = wish_total(garden)
    short = sum(weight.get(u.group, 0.0) * u.grams for u in plan.unmet)
    return max(1 - short / total, 0.0) if total > 0 else None


def by_weights(garden: Garden) -> bool:
    """Whether a gram of one group counts for more than one of another."""
    wished = {group for (group, _), grams in wish(garden).items() if grams}
    return len({d.weight for d in garden.demands if d.group in wished}) > 1
