"""A season as a careful grower plans it by hand: rules of thumb, no looking back.

Whenever a tier is free on a work day it is replanted at once with the crop of the group that lags
most behind its share of the wish, its seedlings sown in time, all heads picked on the first work
day they are ready. Every rule of the garden is kept. It is the yardstick for the plan and the
first hint for the solver.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.courses import NEVER
from scheduler.problem import Problem


@dataclass(frozen=True)
class Choice:
    """One decision taken: number of the decision, and the day its tier is cleared."""

    decision: int
    clear: int


@dataclass
class _Tier:
    column: str
    number: int
    free: int = 0  # day from which it may be filled
    last: int = -1  # last pick of what stands in it
    light_from: int = 0  # day from which it may be lifted
    heavy_after: bool = False
    decision: int = -1
    start: int = -1
    too_heavy: bool = False  # even empty


class ByHand:
    """The simulation of one season on a problem laid out by tier."""

    def __init__(self, problem: Problem, forward: bool = False) -> None:
        if any(not p.column for p in problem.places):
            raise ValueError("by hand works tier by tier; lay the problem out with by_tier")
        self.problem, self.forward = problem, forward
        table = problem.cand.table
        self.sow = table["sow"].to_numpy()
        self.start = table["transplant"].to_numpy()
        self.last = table["last"].to_numpy()
        self.cells = table["cells"].to_numpy()
        self.grams = table["grams"].to_numpy()
        self.heavy_until = table["heavy_until"].to_numpy()
        self.heavy_after = table["heavy_after"].to_numpy().astype(bool)
        garden = problem.cand.garden
        self.limits = garden.limits
        self.room = np.full(garden.season.days + 1, garden.nursery.cells)
        self.picks = np.zeros(garden.season.days + 1, dtype=int)
        self.fills = np.zeros(garden.season.days + 1, dtype=int)
        self.stock = _Stock(problem)
        self.by_start: dict[tuple[int, int], np.ndarray] = {}
        starts = self.start[problem.row_of]
        order = np.lexsort((starts, problem.place_of))
        pairs = np.stack([problem.place_of[order], starts[order]], axis=1)
        cut = np.flatnonzero((np.diff(pairs, axis=0) != 0).any(axis=1)) + 1
        for mine in np.split(order, cut) if len(order) else []:
            self.by_start[int(problem.place_of[mine[0]]), int(starts[mine[0]])] = mine
        self.tiers = [_Tier(p.column, p.number) for p in problem.places]
        if self.limits.lift_kg is not None:
            for tier in self.tiers:
                vessel = garden.vessels[garden.tier(tier.column, tier.number).vessel]
                tier.too_heavy = vessel.mass_kg > self.limits.lift_kg
        self.columns: dict[str, list[_Tier]] = {}
        for tier in self.tiers:
            self.columns.setdefault(tier.column, []).append(tier)
        numbers = [tier.number for tier in self.tiers]
        self.downward = sorted(range(len(self.tiers)), key=numbers.__getitem__)
        self.upward = sorted(range(len(self.tiers)), key=numbers.__getitem__, reverse=True)
        for i, day in enumerate(problem.opens):
            self.tiers[i].free = day
        self.choices: list[Choice] = []

    def run(self) -> list[Choice]:
        """The choices of the whole season."""
        for number, group in enumerate(self.problem.committed):
            if number not in self.problem.optional:
                self._take(int(self.problem.place_of[group[0]]), group[0])
        for day in self.problem.days.tolist():
            if day < self.problem.free_from:
                continue
            self._clear(day)
            # Bottom tiers first: what stands above is still light, or not yet filled.
            for i in self.upward:
                self._fill(i, day)
        # A tier that was taken away before it could be reached and cleared was begun in vain:
        # leaving its batch out breaks no other rule.
        held = {i for group in self.problem.committed for i in group}
        return [c for c in self.choices if c.decision in held or self._in_span(c)]

    def _in_span(self, choice: Choice) -> bool:
        row = self.problem.row_of[choice.decision]
        place = self.problem.places[int(self.problem.place_of[choice.decision])]
        garden = self.problem.cand.garden
        tier = garden.tier(place.column, place.number)
        start = garden.season.date(self.start[row])
        return not tier.available or any(
            start in span and garden.season.date(choice.clear) in span for span in tier.available
        )

    def _reachable(self, i: int, day: int) -> bool:
        """Whether every vessel above tier i may be lifted on ``day``."""
        if self.limits.lift_kg is None:
            return True
        tier = self.tiers[i]
        for other in self.columns[tier.column]:
            if other.number >= tier.number:
                continue
            if other.too_heavy:
                return False
            if other.decision < 0:
                continue
            if not other.start < day:
                continue
            if day < min(other.light_from, other.last):
                return False
            if day >= other.last and other.heavy_after:
                return False
        return True

    def _clear(self, day: int) -> None:
        # Upper tiers first, so that what is cleared today no longer weighs on those below.
        for i in self.downward:
            tier = self.tiers[i]
            if tier.decision >= 0 and tier.last <= day and self._reachable(i, day):
                self.choices.append(Choice(tier.decision, day))
                tier.decision = -1
                tier.free = day + self.limits.turnaround_days

    def _fill(self, i: int, day: int) -> None:
        tier = self.tiers[i]
        options = self.by_start.get((i, day))
        if options is None or tier.decision >= 0 or tier.free > day:
            return
        most = self.limits.fills_per_day
        if (most is not None and self.fills[day] >= most) or not self._reachable(i, day):
            return
        best, best_gain = -1, 0.0
        for decision in options.tolist():
            if not self._fits(decision, i):
                continue
            gain = self._gain(decision)
            if gain > best_gain:
                best, best_gain = decision, gain
        if best >= 0:
            self._take(i, best)

    def _fits(self, decision: int, i: int) -> bool:
        row = self.problem.row_of[decision]
        sow, start = self.sow[row], self.start[row]
        if sow < self.problem.free_from or self.room[sow:start].min() < self.cells[row]:
            return False
        if not self._clearable(i, int(self.last[row])):
            return False
        most = self.limits.picks_per_day
        if most is not None:
            days = self.problem.cand.pick_day[row]
            return bool((self.picks[days[days < NEVER]] < most).all())
        return True

    def _clearable(self, i: int, last: int) -> bool:
        """Whether the season leaves a day to clear the tier after its last pick.

        Vessels above may be heavy then; the last batches above are light again before the season
        ends or are never begun, so a batch is only begun if a later work day is certain: the day
        its upper neighbours, as they stand now, may be lifted.
        """
        return last <= int(self.problem.days[-1])

    def _gain(self, decision: int) -> float:
        row = self.problem.row_of[decision]
        days = max(int(self.last[row] - self.start[row]) + self.limits.turnaround_days, 1)
        if self.forward:
            return self.stock.gain(decision) / days
        # By hand: the group that lags most, then its quickest crop, picked as soon as it is ready.
        if len(self._picks(row)) > 1 and self.problem.cand.garden.crops[self._crop(row)].cuts == 1:
            return 0.0
        lag = self.stock.lag(decision)
        return lag * 1e6 + self.grams[row] / days

    def _picks(self, row: int) -> np.ndarray:
        days = self.problem.cand.pick_day[row]
        return days[days < NEVER]

    def _crop(self, row: int) -> str:
        return self.problem.cand.crop_names[self.problem.cand.at("crop", row)]

    def _take(self, i: int, decision: int) -> None:
        row, tier = int(self.problem.row_of[decision]), self.tiers[i]
        if self.start[row] >= self.problem.free_from:
            self.room[self.sow[row] : self.start[row]] -= self.cells[row]
            self.fills[self.start[row]] += 1
        np.add.at(self.picks, self._picks(row), 1)
        tier.decision, tier.start, tier.last = decision, int(self.start[row]), int(self.last[row])
        tier.light_from = int(self.heavy_until[row])
        tier.heavy_after = bool(self.heavy_after[row])
        self.stock.add(decision)


class _Stock:
    """What is coming to the table, kept up to date pick by pick."""

    def __init__(self, problem: Problem) -> None:
        s = problem.supply
        self.classes = s.classes
        self.weights = s.weights
        self.open = s.wish.astype(float).copy()
        self.total = np.maximum(s.wish.sum(axis=1), 1).astype(float)
        order = np.argsort(s.decision, kind="stable")
        self._klass, self._grams = s.klass[order], s.grams[order]
        self._first = np.searchsorted(s.decision[order], np.arange(len(problem) + 1))
        self.promised = np.zeros(len(s.groups))

    def _parts(self, decision: int) -> list[tuple[int, int, int, int]]:
        a, b = self._first[decision], self._first[decision + 1]
        return [
            (*self.classes[k], int(g))
            for k, g in zip(self._klass[a:b].tolist(), self._grams[a:b].tolist(), strict=True)
        ]

    def gain(self, decision: int) -> float:
        """Weighted grams of open wishes this decision would meet."""
        got = 0.0
        for group, first, last, grams in self._parts(decision):
            got += self.weights[group] * min(grams, self.open[group, first : last + 1].sum())
        return got

    def lag(self, decision: int) -> float:
        """How far the group of this decision lags behind its wish [0..1]; 0 without a group."""
        parts = self._parts(decision)
        if not parts:
            return 0.0
        group = parts[0][0]
        return max(1 - self.promised[group] / self.total[group], 1e-3)

    def add(self, decision: int) -> None:
        """Count the decision's produce against the open wishes, soonest weeks first."""
        for group, first, last, grams in self._parts(decision):
            self.promised[group] += grams
            for week in range(first, last + 1):
                used = min(grams, self.open[group, week])
                self.open[group, week] -= used
                grams -= int(used)
