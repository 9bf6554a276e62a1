"""A season by a simple rule, as a careful grower might plan it: no looking back.

Whenever a tier is free on a work day it is replanted at once, its seedlings sown in time. With
what is one of `SIMPLE_RULES`: the crop of the group that lags most behind its share of the wish,
all heads picked on the first work day they are ready; or what meets most of the wishes that are
still open for each day in the tier. Every rule of the garden is kept. The better of the two is
the yardstick for a plan and the first schedule of its search.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from scheduler.batches.courses import NEVER
from scheduler.plans.model import LAGGING, OPEN_WISHES
from scheduler.schedule.access import Standing, liftable, never_liftable
from scheduler.schedule.assemble import Stand
from scheduler.schedule.effort import above
from scheduler.schedule.problem import Choice, Problem
from scheduler.schedule.resources import Resource


@dataclass
class _Tier(Standing):
    column: str = ""
    free: int = 0  # day from which it may be filled
    decision: int = -1


class ByHand:
    """The simulation of one season, tier by tier, also where alike tiers are pooled.

    Attributes
    ----------
    stands : what `run` chose, with the tier each batch stands in; rule : one of `SIMPLE_RULES`.
    cut : whether time was up before the season was over: nothing was begun from then on.
    """

    def __init__(self, problem: Problem, forward: bool = False, until: float | None = None) -> None:
        """``until``: when time is up [s, monotonic clock]; None: never."""
        self.problem, self.forward = problem, forward
        self.rule = OPEN_WISHES if forward else LAGGING
        self.until, self.cut = until, False
        self.stands: list[Stand] = []
        table = problem.cand.table
        self.sow = table["sow"].to_numpy()
        self.start = table["transplant"].to_numpy()
        self.last = table["last"].to_numpy()
        self.grams = table["grams"].to_numpy()
        self.heavy_until = table["heavy_until"].to_numpy()
        self.heavy_after = table["heavy_after"].to_numpy().astype(bool)
        garden = problem.cand.garden
        self.limits = garden.limits
        # What is left of each resource, by slot; there is always room past the end.
        self.left = [(r, np.append(problem.left(r), r.limit)) for r in problem.resources]
        self.stock = _Stock(problem)
        self.by_start: dict[tuple[int, int], _Options] = {}
        starts = self.start[problem.row_of]
        order = np.lexsort((starts, problem.place_of))
        pairs = np.stack([problem.place_of[order], starts[order]], axis=1)
        cut = np.flatnonzero((np.diff(pairs, axis=0) != 0).any(axis=1)) + 1
        for mine in np.split(order, cut) if len(order) else []:
            at = int(problem.place_of[mine[0]]), int(starts[mine[0]])
            self.by_start[at] = _Options(problem, mine, self.stock)
        self.nothing: set[int] = set()  # places for which nothing more is begun today
        self.tiers: list[_Tier] = []
        self.place: list[int] = []  # of each tier
        for p, place in enumerate(problem.places):
            seats = ((place.column, place.number),)
            for column, number in seats if place.column else problem.cand.kinds[place.kind].places:
                tier = problem.cand.kinds[place.kind].tier
                self.tiers.append(_Tier(number, never_liftable(garden, tier.vessel), column=column))
                self.place.append(p)
        self.columns: dict[str, list[_Tier]] = {}
        for one in self.tiers:
            self.columns.setdefault(one.column, []).append(one)
        numbers = [one.number for one in self.tiers]
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
            self.slot = int(self.problem.slot(np.array(day)))
            self._clear(day)
            self.nothing.clear()
            self.cut = self.cut or (self.until is not None and time.monotonic() >= self.until)
            if self.cut:
                continue
            # Bottom tiers first: what stands above is still light, or not yet filled.
            for i in self.upward:
                tier = self.tiers[i]
                if tier.decision < 0 and tier.free <= day and self.place[i] not in self.nothing:
                    self._fill(i, day)
        # A tier that was taken away before it could be reached and cleared was begun in vain:
        # leaving its batch out breaks no other rule.
        held = {i for group in self.problem.committed for i in group}
        good = [
            (c, s)
            for c, s in zip(self.choices, self.stands, strict=True)
            if c.decision in held or self._in_span(c)
        ]
        self.choices, self.stands = [c for c, _ in good], [s for _, s in good]
        return self.choices

    def _in_span(self, choice: Choice) -> bool:
        row = self.problem.row_of[choice.decision]
        kind = self.problem.places[int(self.problem.place_of[choice.decision])].kind
        available = self.problem.cand.kinds[kind].tier.available
        if not available:
            return True
        season = self.problem.cand.garden.season
        start, clear = season.date(self.start[row]), season.date(choice.clear)
        return any(start in span and clear in span for span in available)

    def _reachable(self, i: int, day: int) -> bool:
        """Whether every vessel above tier i may be lifted on ``day``."""
        if self.limits.lift_kg is None:
            return True
        tier = self.tiers[i]
        return liftable(self.columns[tier.column], tier.number, day)

    def _clear(self, day: int) -> None:
        # Upper tiers first, so that what is cleared today no longer weighs on those below.
        for i in self.downward:
            tier = self.tiers[i]
            if tier.decision >= 0 and tier.last <= day and self._reachable(i, day):
                if not self._room(Resource.clearing, above(tier.number)):
                    continue  # another day
                self._use(Resource.clearing, above(tier.number), day)
                self.choices.append(Choice(tier.decision, day))
                row = int(self.problem.row_of[tier.decision])
                self.stands.append(Stand(row, tier.column, tier.number, day))
                tier.decision = -1
                tier.empty()
                tier.free = day + self.limits.turnaround_days

    def _fill(self, i: int, day: int) -> None:
        place = self.place[i]
        options = self.by_start.get((place, day))
        if options is None or not self._room(Resource.filling, int(self.problem.above[place])):
            self.nothing.add(place)
            return
        tier = self.tiers[i]
        if not self._room(Resource.filling, above(tier.number)) or not self._reachable(i, day):
            return
        good = self._fits(options, day)
        # By hand: the group that lags most, then its quickest crop, picked as soon as it is ready.
        gains = self.stock.gains(options) if self.forward else self.stock.lags(options)
        gains = np.where(good, gains, 0.0)
        best = int(gains.argmax())
        if gains[best] <= 0.0:
            self.nothing.add(place)  # room and open wishes only shrink on a day
            return
        self._take(i, int(options.decisions[best]))

    def _fits(self, options: _Options, day: int) -> np.ndarray:
        """Which options find room in the nursery and on their days of picking [bool].

        Each is picked before the season's last work day, so a later day to clear is left: vessels
        above may be heavy then, but the last batches above are light again before the season ends
        or are never begun.
        """
        last = self.problem.days[-1]
        good = np.asarray((options.sow >= self.problem.free_from) & (options.last <= last))
        for (_, left), uses in zip(self.left, options.uses, strict=True):
            good &= uses.fit(left)
        return good

    def _room(self, what: Callable[[Resource, int], Any], above: int) -> bool:
        """Whether a filling or clearing under ``above`` vessels finds room today."""
        return all(left[self.slot] >= what(r, above) for r, left in self.left)

    def _use(self, what: Callable[[Resource, int], Any], above: int, day: int) -> None:
        slot = int(self.problem.slot(np.array(day)))
        for r, left in self.left:
            left[slot] -= what(r, above)

    def _take(self, i: int, decision: int) -> None:
        row, tier = int(self.problem.row_of[decision]), self.tiers[i]
        if self.start[row] >= self.problem.free_from:
            self._use(Resource.filling, above(tier.number), int(self.start[row]))
        for r, left in self.left:
            left[:-1] -= r.level(r.uses_of(np.array([decision])), len(left) - 1)
        tier.decision = decision
        start, last, light = (int(d[row]) for d in (self.start, self.last, self.heavy_until))
        tier.fill(start, last, light, bool(self.heavy_after[row]))
        self.stock.add(decision)


class _Uses:
    """What some decisions use of one resource: slots and amounts [n, most of one]."""

    def __init__(self, resource: Resource, decisions: np.ndarray, slots: int) -> None:
        at = resource.table(decisions)
        none = at < 0
        # An entry that is none begins past the end, where there is always room.
        self.first = np.where(none, slots, resource.first[at])
        self.last = np.where(none, slots + 1, resource.last[at])
        self.amount = np.where(none, 0, resource.amount[at])

    def fit(self, left: np.ndarray) -> np.ndarray:
        """Which decisions find room all the time in what is left by slot [n]."""
        least = left[np.minimum(self.first, len(left) - 1)]
        longer = self.last > self.first + 1
        for end in np.unique(self.last[longer]).tolist():
            mine = longer & (self.last == end)
            begin = int(self.first[mine].min())
            # The least from each slot up to the end.
            running = np.minimum.accumulate(left[begin:end][::-1])
            least[mine] = running[end - 1 - self.first[mine]]
        return np.asarray((least >= self.amount).all(axis=1))


class _Options:
    """What may be begun in a place on one day, one entry a decision.

    Attributes
    ----------
    decisions, sow, last : [n]; uses : of each resource.
    group : of the produce, -1 where nobody wishes for it [n]; speed : grams a day of holding the
        tier, 0 for what a grower would not do by hand [n]; days : of holding the tier [n].
    week_class, grams : of each pick, in the classes of the supply (the last one stands for none).
    """

    def __init__(self, problem: Problem, decisions: np.ndarray, stock: _Stock) -> None:
        cand, rows = problem.cand, problem.row_of[decisions]
        garden = cand.garden
        self.decisions = decisions
        table = stock.table
        self.sow, self.last = (table[n][rows] for n in ("sow", "last"))
        self.uses = [_Uses(r, decisions, len(problem.days)) for r in problem.resources]
        self.days = np.maximum(
            self.last - table["transplant"][rows] + garden.limits.turnaround_days, 1
        )
        days = cand.pick_day[rows]
        self.week_class, self.grams = stock.week_class[decisions], stock.grams[decisions]
        self.group = stock.group_of_class[self.week_class].max(axis=1)
        spread = ((days < NEVER).sum(axis=1) > 1) & (stock.cuts[table["crop"][rows]] == 1)
        self.speed = np.where(spread, 0.0, table["grams"][rows] / self.days)
        self.whole = np.where(spread, 0.0, 1.0)


class _Stock:
    """What is coming to the table, kept up to date pick by pick."""

    def __init__(self, problem: Problem) -> None:
        s = problem.supply
        self.classes = s.classes
        self.weights = s.weights
        self.open = s.wish.astype(float).copy()
        self.total = np.maximum(s.wish.sum(axis=1), 1).astype(float)
        cand = problem.cand
        self.table = {
            n: cand.table[n].to_numpy() for n in ("sow", "transplant", "last", "crop", "grams")
        }
        self.cuts = np.array([cand.garden.crops[n].cuts for n in cand.crop_names], dtype=int)
        none = len(s.classes)
        order = np.argsort(s.decision, kind="stable")
        first = np.searchsorted(s.decision[order], np.arange(len(problem) + 1))
        place = np.arange(len(order)) - first[s.decision[order]]
        most = int(place.max(initial=0)) + 1
        self.week_class = np.full((len(problem), most), none)
        self.grams = np.zeros((len(problem), most), dtype=int)
        self.week_class[s.decision[order], place] = s.week_class[order]
        self.grams[s.decision[order], place] = s.grams[order]
        ends = np.array([(*c,) for c in s.classes] + [(-1, 0, -1)], dtype=int)
        self.group_of_class, self.first, self.final = ends.T
        self.promised = np.zeros(len(s.groups) + 1)
        self.value = np.array([*s.weights, 0.0])

    def gains(self, options: _Options) -> np.ndarray:
        """Weighted grams of open wishes that each option would meet, by day of its tier [n]."""
        so_far = np.zeros((len(self.open) + 1, self.open.shape[1] + 1))
        np.cumsum(self.open, axis=1, out=so_far[:-1, 1:])
        group = self.group_of_class
        open_ = so_far[group, self.final + 1] - so_far[group, self.first]
        met = np.minimum(options.grams, open_[options.week_class])
        gain: np.ndarray = (self.value[group[options.week_class]] * met).sum(axis=1) / options.days
        return gain

    def lags(self, options: _Options) -> np.ndarray:
        """How far each option's group lags behind its wish, then its grams a day [n]."""
        lag = np.zeros(len(self.promised))
        lag[:-1] = np.maximum(1 - self.promised[:-1] / self.total, 1e-3)
        lags: np.ndarray = (lag[options.group] * 1e6 + options.speed) * options.whole
        return lags

    def add(self, decision: int) -> None:
        """Count the decision's produce against the open wishes, soonest weeks first."""
        for k, grams in zip(
            self.week_class[decision].tolist(), self.grams[decision].tolist(), strict=True
        ):
            group, first, last = (int(x[k]) for x in (self.group_of_class, self.first, self.final))
            self.promised[group] += grams
            for week in range(first, last + 1):
                used = min(grams, self.open[group, week])
                self.open[group, week] -= used
                grams -= int(used)
