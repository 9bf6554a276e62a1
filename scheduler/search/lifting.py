"""What a schedule lifts, in kilograms, and the order of fills and tiers that lifts least.

To fill or clear a tier every vessel above it comes off, each with what is in it that morning. The
search counts vessels (k - 1 for tier k); of all schedules that are worth the same to it, those
differ much that fill a lower tier before or after the one above. So when the stages are settled
batches change places among alike tiers, and filling days among those that give the same produce,
as long as that leaves less effort, or as much and fewer days on which a picked tier stands
uncleared, or as many and fewer kilograms. Kilograms never keep a tier from being cleared.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

import numpy as np

from crops.level import batch_course
from scheduler.batches.courses import NEVER
from scheduler.batches.fixed import is_fixed
from scheduler.garden.placed import weather_at
from scheduler.schedule.assemble import Stand
from scheduler.schedule.effort import above, points
from scheduler.schedule.problem import Problem
from scheduler.search.tidy import Place, Schedule, settle_all

NEAR = 14  # days that a batch may be moved
LOOKS = 6_000  # changes looked at, at most
SHARE = 0.05  # of the time limit, at most
LEAST_SECONDS = 0.2  # there always are

# Effort (least first, where effort counts); days picked tiers stand uncleared; kg lifted; effort.
Cost = tuple[int, int, float, int]
Changes = dict[int, tuple[int, Place]]  # batch to its new row and place


def lifts_least(
    problem: Problem,
    made: Sequence[Stand],
    seconds: float | None = None,
    stop: threading.Event | None = None,
) -> list[Stand]:
    """``made`` tidied: cleared as soon as can be, in the order found that lifts least.

    What is picked meets the same wishes, and no stage is worse.

    Parameters
    ----------
    problem : alike tiers pooled.
    seconds : of the search, of which a `SHARE` is taken; None: until nothing better is found, or
        `LOOKS` changes were tried.
    """
    order = Order(problem, made)
    until = None if seconds is None else time.monotonic() + max(seconds * SHARE, LEAST_SECONDS)

    def over() -> bool:
        if stop is not None and stop.is_set():
            return True
        return until is not None and time.monotonic() > until

    settle_all(order, over)
    while order.looks < LOOKS and not over() and order.improve(over):
        pass
    return order.stands()


def least_lifted(problem: Problem, made: Sequence[Stand], lift_kg: float | None) -> list[Stand]:
    """``made`` in the order found that lifts least, be there more effort; no tier waits for that.

    ``lift_kg``: the limit that counts [kg]; ``made`` may be for a lower one.
    """
    order = Order(problem, made, lift_kg, of_garden=False)
    settle_all(order)
    while order.looks < LOOKS and order.improve(lambda: False):
        pass
    return order.stands()


class Order(Schedule):
    """A schedule that changes as long as that is for the better."""

    def __init__(
        self,
        problem: Problem,
        made: Sequence[Stand],
        lift_kg: float | None = None,
        of_garden: bool = True,
    ) -> None:
        super().__init__(problem.cand, made)
        cand = problem.cand
        self.lifts_first = not of_garden
        self.limit = self.limit if of_garden else lift_kg
        self.looks = 0
        self.fixed = frozenset(np.flatnonzero(is_fixed(cand)).tolist())
        self.crops = cand.table["crop"].to_numpy(dtype=int).tolist()
        self.kinds = cand.table["kind"].to_numpy(dtype=int).tolist()
        self._kg: dict[int, list[float]] = {}
        self._lifted: dict[tuple[str, tuple[tuple[int, ...], ...]], float] = {}
        # What each row's picks give: (class of the supply, grams), in order.
        self._gives: dict[int, list[tuple[int, int]]] = {}
        self._same: dict[tuple[int, tuple[tuple[int, int], ...]], list[int]] = {}
        supply = problem.supply
        triplets = (problem.row_of[supply.decision], supply.week_class, supply.grams)
        for row, week_class, grams in zip(*(x.tolist() for x in triplets), strict=True):
            self._gives.setdefault(row, []).append((week_class, grams))

    # What days are used for -----------------------------------------------------------------

    def _days(self, row: int) -> list[int]:
        return [d for d in self.cand.pick_day[row].tolist() if d < NEVER]

    def _fits(self, row: int, place: Place) -> bool:
        """Whether what all share is enough on the days of a row just counted."""
        for r, used in self.shared:
            uses = range(int(r.ends[row]), int(r.ends[row + 1]))
            slots = [w for u in uses for w in range(int(r.first[u]), int(r.last[u]))]
            if r.services:
                slots.append(self.slot(self.start[row]))
            if any(used[w] > r.on(w) for w in slots):
                return False
        return True

    # What it costs --------------------------------------------------------------------------

    def cost(self) -> Cost:
        """What there is to make less of; see `Cost`."""
        days = sum(1 for w, c in zip(self.works, self.clears, strict=True) if w or c)
        effort = days + sum(points(above(number)) for _, number in self.place)
        waits = sum(c - self.last[r] for c, r in zip(self.clear, self.row, strict=True))
        kg = sum(self.lifted(column) for column in self.tiers)
        return 0 if self.lifts_first else effort, waits, kg, effort

    def heavy(self, i: int, day: int) -> bool:
        """Whether batch ``i`` weighs too much to be lifted on ``day``."""
        heavy = super().heavy(i, day)  # under the limit of its candidates, which may be lower
        if not heavy or self.limit is None or self.limit == self.garden.limits.lift_kg:
            return heavy and self.limit is not None
        return self.kg(self.row[i])[day - self.start[self.row[i]]] > self.limit + 1e-9

    def kg(self, row: int) -> list[float]:
        """Mass of the whole vessel by day after transplanting [kg]."""
        if row not in self._kg:
            cand, garden = self.cand, self.garden
            tier = cand.kinds[self.kinds[row]].tier
            vessel = garden.vessels[tier.vessel]
            crop = garden.crops[cand.crop_names[self.crops[row]]]
            picks = list(zip(self._days(row), cand.pick_plants[row].tolist(), strict=False))
            made = batch_course(
                crop,
                vessel,
                weather_at(garden, tier),
                tier.light,
                self.start[row],
                tier.plants,
                picks,
            )
            mass = vessel.mass_kg + made.litres + made.plants * made.plant_grams / 1000
            self._kg[row] = mass.tolist()
        return self._kg[row]

    def vessel_kg(self, column: str, number: int, day: int) -> float:
        """Mass of what stands in a tier on a day [kg].

        On its own days of work a vessel is empty.
        """
        vessel = self.garden.vessels[self.tiers[column][number - 1].vessel]
        for i in self.by_place[column, number]:
            start = self.start[self.row[i]]
            if start < day < self.clear[i]:
                return self.kg(self.row[i])[day - start]
        return vessel.mass_kg

    def lifted(self, column: str) -> float:
        """What is lifted in a column all season [kg]."""
        tiers = self.tiers[column]
        if len(tiers) < 2:
            return 0.0
        here = [self.by_place[column, t.number] for t in tiers]
        key = (
            column,
            tuple(tuple(x for i in mine for x in (self.row[i], self.clear[i])) for mine in here),
        )
        if key not in self._lifted:
            self._lifted[key] = sum(
                self.vessel_kg(column, above, day)
                for tier in tiers[1:]
                for i in self.by_place[column, tier.number]
                for day in (self.start[self.row[i]], self.clear[i])
                for above in range(1, tier.number)
            )
        return self._lifted[key]

    # What may change ------------------------------------------------------------------------

    def improve(self, over: Callable[[], bool]) -> bool:
        """Try every change once, taking each that is for the better; whether one was."""
        best = self.cost()
        any_better = False
        for change in self._changes():
            if self.looks >= LOOKS or over():
                break
            self.looks += 1
            got = self._try(change, best)
            if got is not None:
                best, any_better = got, True
        return any_better

    def _changes(self) -> Iterator[Changes]:
        """Changes to try.

        All that follow in two alike tiers; batches one at a time to other days and tiers; two
        that change tiers.
        """
        for kind in self.cand.kinds:
            for n, a in enumerate(kind.places):
                for b in kind.places[n + 1 :]:
                    starts = {self.start[self.row[i]] for p in (a, b) for i in self.by_place[p]}
                    for day in sorted(starts):
                        yield {
                            i: (self.row[i], other)
                            for place, other in ((a, b), (b, a))
                            for i in self.by_place[place]
                            if self.start[self.row[i]] >= day
                        }
        count = range(len(self.row))
        for i in count:
            for row in self.alternatives(i):
                for place in self.cand.kinds[self.kinds[row]].places:
                    if (row, place) != (self.row[i], self.place[i]) and self._free(row, place, {i}):
                        yield {i: (row, place)}
        for i in count:
            for k in count[i + 1 :]:
                alike = self.kind_of[self.place[i]] is self.kind_of[self.place[k]]
                if alike and self.place[i] != self.place[k]:
                    yield {i: (self.row[i], self.place[k]), k: (self.row[k], self.place[i])}

    def alternatives(self, i: int) -> list[int]:
        """Rows of the same crop whose picks give the same, in any kind of tier, not far off."""
        gives = self._gives.get(self.row[i])
        start = self.start[self.row[i]]
        if gives is None or self.row[i] in self.fixed:
            return [self.row[i]]
        if not self._same:
            for row, what in self._gives.items():
                self._same.setdefault((self.crops[row], tuple(what)), []).append(row)
        same = self._same[self.crops[self.row[i]], tuple(gives)]
        return [row for row in same if abs(self.start[row] - start) <= NEAR]

    def _free(self, row: int, place: Place, but: set[int]) -> bool:
        """Whether a place is free from a row's transplanting to its last pick."""
        turnaround = self.garden.limits.turnaround_days
        return all(
            self.last[self.row[i]] + turnaround <= self.start[row]
            or self.start[self.row[i]] >= self.last[row] + turnaround
            for i in self.by_place[place]
            if i not in but
        )

    def _try(self, change: Changes, best: Cost) -> Cost | None:
        """Make a change; undo it unless it is for the better. What it costs then, else None."""
        columns = {p[0] for i, (_, place) in change.items() for p in (place, self.place[i])}
        kept = [list(x) for x in (self.clear, self.works, self.clears, self.lifts)]
        shared = [(r, list(used)) for r, used in self.shared]
        before = {i: (self.row[i], self.place[i]) for i in change}
        self._put(change)
        good = all(self._fits(*at) for at in change.values())
        good = good and all(self._apart(place) for place in {place for _, place in change.values()})
        good = good and self._settled_again(columns, change)
        if good and self.most_lifts is not None:
            days = {self.start[row] for row, _ in change.values()}
            good = all(self.lifts[d] <= max(self.most_lifts, kept[3][d]) for d in days)
        if good:
            cost = self.cost()
            less = best[2] - cost[2]
            alike = (cost[3] < best[3]) if abs(less) < 1e-6 else less > 0
            if cost[:2] < best[:2] or (cost[:2] == best[:2] and alike):
                self.known = list(self.clear)
                return cost
        self._put(before)
        self.clear, self.works, self.clears, self.lifts = kept
        self.shared = shared
        return None

    def _put(self, change: Changes) -> None:
        for i in change:
            self.count_clearing(i, -1)
            self.count(self.row[i], -1, self.place[i])
            self.by_place[self.place[i]].remove(i)
        for i, (row, place) in change.items():
            self.row[i], self.place[i] = row, place
            self.count(row, 1, place)
            self.count_clearing(i, 1)
            self.by_place[place].append(i)
        for _, place in change.values():
            self.by_place[place].sort(key=lambda i: self.start[self.row[i]])

    def _apart(self, place: Place) -> bool:
        """Whether the batches of a place leave each other room, cleared on their last pick."""
        mine = self.by_place[place]
        turnaround = self.garden.limits.turnaround_days
        return all(
            self.last[self.row[i]] + turnaround <= self.start[self.row[k]]
            for i, k in pairwise(mine)
        )

    def _settled_again(self, columns: set[str], change: Changes) -> bool:
        """Clear what stands in the columns of a change anew; whether every tier can be reached."""
        for i, (row, _) in change.items():
            if self.clear[i] < self.last[row] or self.known[i] < self.last[row]:
                self.count_clearing(i, -1)
                self.clear[i] = self.last[row]
                self.count_clearing(i, 1)
        for column in sorted(columns):
            if not self.settle(column):
                return False
        return all(
            self.reached(column, tier.number, self.start[self.row[i]])
            for column in columns
            for tier in self.tiers[column]
            for i in self.by_place[column, tier.number]
        )
