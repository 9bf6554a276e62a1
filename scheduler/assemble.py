"""From the decisions taken to a plan: tiers, dates, levels, what stays unmet."""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass

from crops.level import batch_course
from scheduler.candidates import Candidates
from scheduler.courses import NEVER
from scheduler.garden import Garden, season_weeks, weeks_served, wish
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
    garden = cand.garden
    season = garden.season
    out = []
    order = sorted(
        stands, key=lambda s: (cand.at("transplant", s.row), s.column, s.tier)
    )
    for number, stand in enumerate(order, start=1):
        row = stand.row
        crop = garden.crops[cand.crop_names[cand.at("crop", row)]]
        tier = garden.tier(stand.column, stand.tier)
        vessel = garden.vessels[tier.vessel]
        start = cand.at("transplant", row)
        cells = cand.at("cells", row)
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
        dry = course.dry_index
        levels = tuple(
            Level(
                season.date(day),
                round(float(course.litres[min(day, events[-1][0]) - start]), 3),
                round(float(course.depth_cm[min(day, events[-1][0]) - start]), 2),
            )
            for day in range(start, stand.clear + 1)
        )
        out.append(
            Batch(
                id=f"b{number:03d}",
                crop=crop.name,
                column=stand.column,
                tier=stand.tier,
                plants=tier.plants,
                seeds=cells * crop.seeds_per_cell,
                cells=cells,
                sow=season.date(cand.at("sow", row)),
                transplant=season.date(start),
                picks=tuple(Pick(season.date(d), n, g) for d, n, g in events),
                clear=season.date(stand.clear),
                fill_litres=round(vessel.fill_l, 3),
                dry_date=None if dry is None else season.date(dry),
                margin_days=None if dry is None else dry - events[-1][0],
                state=PLANNED,
                levels=levels,
            )
        )
    return tuple(out)


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
    stock: dict[str, list[list[int]]] = {d.group: [] for d in garden.demands}
    wasted = 0
    for batch in picked:
        demand = garden.demand_of(batch.crop)
        for pick in batch.picks:
            if demand is None:
                wasted += pick.grams
                continue
            served = weeks_served(pick.date, garden.crops[batch.crop].storage_life)
            first = at.get(served[0])
            if first is None:
                continue
            last = min(first + len(served) - 1, len(weeks) - 1)
            stock[demand.group].append([last, first, pick.grams])
    out: dict[tuple[str, str], int] = {}
    for group, lots in stock.items():
        lots.sort()
        for i, week in enumerate(weeks):
            need = want.get((group, week), 0)
            for lot in lots:
                if need and lot[1] <= i <= lot[0] and lot[2]:
                    used = min(need, lot[2])
                    lot[2] -= used
                    need -= used
                    out[group, week] = out.get((group, week), 0) + used
        wasted += sum(lot[2] for lot in lots)
    return Table(out, want, wasted)


def produce_value(garden: Garden, table: Table) -> float:
    """Stage 1 [weighted g]."""
    weight = {d.group: d.weight for d in garden.demands}
    return float(sum(weight[group] * grams for (group, _), grams in table.served.items()))


def evenness_value(table: Table) -> float:
    """Stage 2 [g]: picked in vain, and short below half of each weekly wish."""
    short = sum(
        max(0, grams // 2 - table.served.get(key, 0)) for key, grams in table.wish.items()
    )
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
