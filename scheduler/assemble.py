"""From the decisions taken to a plan: tiers, dates, levels, what stays unmet."""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from crops.level import batch_course
from scheduler.candidates import Candidates
from scheduler.courses import NEVER
from scheduler.garden import Garden, Tier, season_weeks, weeks_served, wish
from scheduler.plan import PLANNED, Batch, Level, Pick, Shortfall


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
        crop, vessel, garden.site.weather, tier.light, start, tier.plants,
        [(d, n) for d, n, _ in events],
    )  # fmt: skip
    dry, last = course.dry_index, events[-1][0]
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
        picks=tuple(Pick(season.date(d), n, g) for d, n, g in events),
        clear=season.date(clear),
        fill_litres=round(vessel.fill_l, 3),
        dry_date=None if dry is None else season.date(dry),
        margin_days=None if dry is None else dry - last,
        state=PLANNED,
        levels=levels,
    )


@dataclass(frozen=True)
class Table:
    """What comes to the table: per (group, week) [g] served; grams picked for no wish, in all."""

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
    """Meet each week's wish in turn from what is picked, what spoils first going first.

    No other way of sharing meets more grams in all.
    """
    weeks = season_weeks(garden.season)
    at = {w: i for i, w in enumerate(weeks)}
    want = wish(garden)
    # What serves the same weeks of the same group is one lot: (group, last week, first) to [g].
    lots: dict[tuple[str, int, int], int] = {}
    weeks_of: dict[tuple[str, date], tuple[str, int, int] | None] = {}
    wasted = 0
    for batch in picked:
        for pick in batch.picks:
            if (batch.crop, pick.date) not in weeks_of:
                weeks_of[batch.crop, pick.date] = _lot(garden, batch.crop, pick.date, at)
            lot = weeks_of[batch.crop, pick.date]
            if lot is not None:
                lots[lot] = lots.get(lot, 0) + pick.grams
            elif garden.demand_of(batch.crop) is None:
                wasted += pick.grams
    out: dict[tuple[str, str], int] = {}
    for group in {d.group: None for d in garden.demands}:
        stock = sorted([last, first, g] for (name, last, first), g in lots.items() if name == group)
        for i, week in enumerate(weeks):
            need = want.get((group, week), 0)
            for entry in stock:
                if need and entry[1] <= i <= entry[0] and entry[2]:
                    used = min(need, entry[2])
                    entry[2] -= used
                    need -= used
                    out[group, week] = out.get((group, week), 0) + used
        wasted += sum(entry[2] for entry in stock)
    return Table(out, want, wasted)


def _lot(
    garden: Garden, crop: str, picked: date, at: dict[str, int]
) -> tuple[str, int, int] | None:
    """Group, last and first week a pick serves; None for no wish, or picked before the season."""
    demand = garden.demand_of(crop)
    served = weeks_served(picked, garden.crops[crop].storage_life)
    first = at.get(served[0])
    if demand is None or first is None:
        return None
    return demand.group, min(first + len(served) - 1, len(at) - 1), first


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
    lifts = 0
    for batch in made:
        lifts += 2 * (batch.tier - 1)
        days |= {batch.sow, batch.transplant, batch.clear, *(p.date for p in batch.picks)}
    return float(len(made) + lifts + len(days))


def wish_total(garden: Garden) -> float:
    """All wishes [weighted g]: no plan can be worth more."""
    weight = {d.group: d.weight for d in garden.demands}
    return float(sum(weight[g] * grams for (g, _), grams in wish(garden).items()))
