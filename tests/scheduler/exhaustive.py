"""Every plan of a tiny garden: the most that can be picked, by a model written apart.

Nothing of the program's candidates, patterns or model is used: days, picks and sums are written
down anew (`milp_outside` lends its loops over days, `scheduler.verify` the course of one plant).
Where the program offers a choice of days this takes them all: every sowing day, every day of the
hold, up to four pick days a batch in every split, every day of clearing. HiGHS chooses.

`Batch.named` marks what the program's proofs are about (`scheduler.plans.restrictions`): heads picked on
one day or on two that serve different weeks, a crop cut again cut as soon as it has grown back.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from milp_outside import Rows, sowing_days, week_wish, weeks_of, work_days
from scipy.optimize import Bounds, milp

from crops import development
from crops.crop import Crop
from crops.solution import balance, strength
from scheduler.garden.model import Garden, Tier
from scheduler.verify.course import Physics

MOST_DAYS = 4  # on which a batch is picked
Picks = tuple[tuple[int, int], ...]  # (day, plants), days counted from the season's first


@dataclass(frozen=True)
class Batch:
    """A batch that keeps every rule it can keep by itself."""

    crop: str
    column: str
    tier: int
    start: int
    picks: Picks
    grams: tuple[int, ...]
    heavy: frozenset[int]  # days before the last pick on which it is too heavy to lift
    heavy_after: bool  # still so once it is picked
    named: bool


class TooHard(Exception):
    """The optimum was not proven within the nodes allowed."""


class Exhaustive:
    """All batches of a garden, and the best that can be made of them."""

    def __init__(self, garden: Garden) -> None:
        self.garden = garden
        self.days = work_days(garden)
        self.physics = Physics(garden)
        self.salt: dict[tuple[str, float, float, int], bool] = {}
        self.last_day = (garden.season.end - garden.season.start).days
        self.batches = [
            batch
            for crop in garden.crops.values()
            if self._wish(crop.name) is not None
            for column in garden.columns
            for tier in column.tiers
            for start in self.days
            for batch in self._of(crop, column.name, tier, start)
        ]

    def _wish(self, crop: str) -> Any:
        return next((d for d in self.garden.demands if crop in d.crops), None)

    def _of(self, crop: Crop, column: str, tier: Tier, start: int) -> Iterator[Batch]:
        garden, physics = self.garden, self.physics
        if not sowing_days(garden, crop, self.days, start):
            return
        first = garden.season.start
        for rest in tier.rests:
            if rest.family == crop.family and start <= (rest.until - first).days:
                return
        final = self.last_day
        if tier.available:
            spans = [((s.start - first).days, (s.end - first).days) for s in tier.available]
            final = max((b for a, b in spans if a <= start <= b), default=-1)
        plant = physics.plant(crop, tier.light, start)
        ready = next((start + h for h, x in enumerate(plant.progress) if x >= 1 - 1e-9), None)
        if ready is None:
            return
        vessel = garden.vessels[tier.vessel]
        drunk = np.concatenate([[0.0], np.cumsum(plant.drinks_ml)]) / 1000  # of one plant [L]
        bolts = np.concatenate([[0], np.cumsum(physics.bolting(crop)[0][start:])])
        light = np.concatenate([[0.0], np.cumsum(physics.dli[start:])]) * tier.light
        good = [
            d
            for d in self.days
            if ready <= d <= min(final, self.last_day)
            and bolts[d - start] <= crop.bolts_after + 1e-9
        ]
        if good and physics.killed_years(crop, start, good[-1], tier, vessel)[0]:
            good = [d for d in good if not physics.killed_years(crop, start, d, tier, vessel)[0]]
        for picks, named in _ways(crop, tier.plants, good, ready):
            weeks = [weeks_of(garden, d, crop.storage_life) for d, _ in picks]
            named &= crop.cuts > 1 or len(set(weeks)) == len(weeks)
            last = picks[-1][0]
            if light[last + 1 - start] / (last + 1 - start) < crop.dli_min - 1e-9:
                continue
            # How much the tier has drunk by each morning, the last pick not made.
            left, total = float(tier.plants), np.zeros(len(drunk))
            for day, n in picks[:-1]:
                gone = n if crop.cuts == 1 else left - tier.plants * crop.after_cut
                total = total - gone * np.maximum(drunk - drunk[day - start], 0.0)
                left -= gone
            litres = np.maximum(vessel.fill_l - tier.plants * drunk - total, 0.0)
            low = np.flatnonzero(litres <= vessel.floor_l + 1e-9)
            if len(low) and start + low[0] - last < garden.limits.dry_margin_days:
                continue
            grams, end = _grams(crop, picks), float(litres[last - start])
            if self._salty(crop, vessel.fill_l, end, sum(grams)):
                continue
            heavy: frozenset[int] = frozenset()
            after = False
            limit = garden.limits.lift_kg
            if limit is not None:
                kg = []
                for day in range(start, last + 1):
                    stand = tier.plants
                    if crop.cuts == 1 or day == last:
                        stand -= sum(n for d, n in picks if d <= day) if crop.cuts == 1 else stand
                    kg.append(
                        vessel.mass_kg
                        + litres[day - start]
                        + stand * plant.mass_g[day - start] / 1000
                    )
                too_much = [start + h for h, x in enumerate(kg) if h and x > limit + 1e-9]
                after = last in too_much
                heavy = frozenset(too_much) - {last}
            yield Batch(crop.name, column, tier.number, start, picks, grams, heavy, after, named)

    def _salty(self, crop: Crop, fill: float, end: float, grams: int) -> bool:
        """Whether salt would cost too much of the crop, with ``end`` [L] left at the last pick."""
        key = (crop.name, fill, round(end, 6), grams)
        if key not in self.salt:
            held = balance.drawn(crop, max((fill - end) * 1000 / max(grams, 1), 1e-6))
            source = self.garden.solution.source
            lost = strength.choose(crop, end / fill, held, source).lost
            self.salt[key] = bool(lost > strength.MOST_LOST)
        return self.salt[key]

    def best(self, named: bool = False, nodes: int = 100_000) -> float:
        """The most produce [weighted g], proven; of the batches that are ``named`` alone, or of all.

        Raises
        ------
        TooHard
            It takes more than so many nodes of the search.
        """
        made = _Program(self, [b for b in self.batches if b.named or not named])
        return -made.solve(nodes)


def _ways(crop: Crop, plants: int, good: list[int], ready: int) -> Iterator[tuple[Picks, bool]]:
    """Every way to pick, and whether it is one the program's proofs are about."""
    if crop.cuts == 1:
        good = [d for d in good if d <= ready + crop.hold]
        for count in range(1, min(MOST_DAYS, plants, len(good)) + 1):
            for days in combinations(good, count):
                for ends in combinations(range(1, plants), count - 1):
                    parts = np.diff([0, *ends, plants]).tolist()
                    yield tuple(zip(days, parts, strict=True)), count <= 2
        return
    chains: list[tuple[list[int], bool]] = [([], True)]
    for k in range(crop.cuts):
        longer = []
        for chain, named in chains:
            back = chain[-1] + round(crop.cut_interval) if k else ready
            for i, day in enumerate(d for d in good if back <= d <= back + crop.hold):
                longer.append(([*chain, day], named and i == 0))
        chains = longer
        for chain, named in chains:
            yield tuple((d, plants) for d in chain), named


def _grams(crop: Crop, picks: Picks) -> tuple[int, ...]:
    shares = (1.0,) * len(picks) if crop.cuts == 1 else crop.cut_shares
    return tuple(round(n * crop.fresh_mass * s) for (_, n), s in zip(picks, shares, strict=False))


class _Program:
    """The mixed-integer program: batches taken, seedlings by sowing day, clearings, grams."""

    def __init__(self, all_of: Exhaustive, batches: list[Batch]) -> None:
        self.g, self.days = all_of.garden, all_of.days
        self.rows, self.top, self.whole = Rows(), [], []
        self.value: dict[int, float] = {}
        self._supply: dict[tuple[str, tuple[Any, ...]], list[tuple[int, int]]] = defaultdict(list)
        seedlings: dict[tuple[str, int, int], list[int]] = defaultdict(list)
        clears = self.g.limits.lift_kg is not None
        for batch in batches:
            at = self._variable(1.0, True)
            tiers = next(c.tiers for c in self.g.columns if c.name == batch.column)
            tier = tiers[batch.tier - 1]
            cells = development.cells_to_sow(self.g.crops[batch.crop], tier.plants)
            seedlings[batch.crop, batch.start, cells].append(at)
            self._limits(batch, at)
            if clears:
                self._cleared(batch, at, tiers)
            else:  # nothing is in the way: as soon as it is picked
                self._holds(batch, at, batch.start, batch.picks[-1][0])
            wish = next(d for d in self.g.demands if batch.crop in d.crops)
            life = self.g.crops[batch.crop].storage_life
            for (day, _), grams in zip(batch.picks, batch.grams, strict=True):
                self._supply[wish.group, weeks_of(self.g, day, life)].append((at, grams))
        for (crop, start, cells), mine in seedlings.items():
            self._sown(crop, start, cells, mine)
        self._produce()

    def _variable(self, top: float, whole: bool = False) -> int:
        self.top.append(top)
        self.whole.append(whole)
        return len(self.top) - 1

    def _limits(self, b: Batch, at: int) -> None:
        limits = self.g.limits
        if limits.fills_per_day is not None:
            self.rows.add(("fills", b.start), limits.fills_per_day, at)
        if limits.picks_per_day is not None:
            for day, _ in b.picks:
                self.rows.add(("picks", day), limits.picks_per_day, at)

    def _holds(self, b: Batch, at: int, start: int, clear: int) -> None:
        for day in range(start, clear + max(self.g.limits.turnaround_days, 0)):
            self.rows.add(("tier", b.column, b.tier, day), 1, at)

    def _sown(self, crop: str, start: int, cells: int, mine: list[int]) -> None:
        """As many seedlings as batches, each sown on one of the days that make it fit."""
        number = len(mine)
        link = ("sown", crop, start, cells)
        for i in mine:
            self.rows.add(link, 0, i)
        for sow in sowing_days(self.g, self.g.crops[crop], self.days, start):
            y = self._variable(number, True)
            self.rows.add(link, 0, y, -1)
            for day in range(sow, start):
                self.rows.add(("cells", day), self.g.nursery.cells, y, cells)

    def _cleared(self, b: Batch, at: int, tiers: tuple[Tier, ...]) -> None:
        """One variable for each day of clearing; rows for what is heavy and what is served."""
        first, last = self.g.season.start, b.picks[-1][0]
        span = [
            (s.end - first).days
            for s in tiers[b.tier - 1].available
            if (s.start - first).days <= b.start <= (s.end - first).days
        ]
        final = max(span, default=self.days[-1])
        link = ("cleared", at)
        self.rows.add(link, 0, at)
        empty = [self.g.vessels[t.vessel].mass_kg for t in tiers[: b.tier - 1]]
        if any(kg > (self.g.limits.lift_kg or 0) + 1e-9 for kg in empty):
            self.top[at] = 0.0
            return
        for clear in (d for d in self.days if last <= d <= final):
            z = self._variable(1.0, True)
            self.rows.add(link, 0, z, -1)
            self._holds(b, z, b.start, clear)
            heavy = set(b.heavy)
            if b.heavy_after:
                heavy |= set(range(last, clear))
            for below in range(b.tier + 1, len(tiers) + 1):
                for day in heavy:
                    for work in ("fill", "clear"):
                        self.rows.add(("lift", b.column, b.tier, below, day, work), 1, z)
            for above in range(1, b.tier):
                self.rows.add(("lift", b.column, above, b.tier, b.start, "fill"), 1, z)
                self.rows.add(("lift", b.column, above, b.tier, clear, "clear"), 1, z)

    def _produce(self) -> None:
        """Grams handed out: what a pick serves, up to each week's wish."""
        for (group, weeks), given in self._supply.items():
            want = next(d for d in self.g.demands if d.group == group)
            for at, grams in given:
                self.rows.add(("supply", group, weeks), 0, at, -grams)
            for monday in weeks:
                top = week_wish(self.g, want, monday)
                if top:
                    flow = self._variable(top)
                    self.value[flow] = -want.weight
                    self.rows.add(("supply", group, weeks), 0, flow)
                    self.rows.add(("wish", group, monday), top, flow)

    def solve(self, nodes: int) -> float:
        """The most produce, negative."""
        if not self.top:
            return 0.0
        cost = np.zeros(len(self.top))
        cost[list(self.value)] = list(self.value.values())
        result = milp(
            cost,
            integrality=np.array(self.whole, dtype=int),
            bounds=Bounds(0, np.array(self.top)),
            constraints=self.rows.constraint(len(cost)),
            options={"mip_rel_gap": 0.0, "node_limit": nodes},
        )
        if result.status == 1:
            raise TooHard
        assert result.status == 0, result.message
        return float(result.fun)
