"""Clearing days brought forward: a tier with nothing left in it is cleared as soon as can be.

The search does not mind how long an empty tier waits where nothing follows; a grower does: what is
left in it stands, breeds mosquitoes and is heavy to get past. So it is cleared on the first work
day from its last pick on on which every limit allows it. Produce and evenness stay what they are; a
clearing may make a day with work of one that had none, which counts among the effort.

What a day bears is known for certain only of a garden with minutes a day. Else a day gets no more
clearings than vessels may be filled on it, and no more vessels are lifted on it, for fills and
clearings together, than that many fills of the lowest tier lift (own judgement); a day that had
more before may keep it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.schedule.access import heavy, never_liftable
from scheduler.schedule.assemble import Stand
from scheduler.schedule.effort import above
from scheduler.schedule.problem import row_by_row

Place = tuple[str, int]


class Schedule:
    """Batches in tiers, their clearing days settled anew column by column.

    Parameters
    ----------
    held : numbers of the batches that are cleared when they are; today : first day that is open.

    Attributes
    ----------
    row, place, clear : of each batch [n].
    by_place : numbers of the batches in a tier, by date.
    works : on each day what is sown, filled and picked; clears : tiers cleared; lifts : vessels
        lifted to fill and to clear [days].
    """

    def __init__(
        self,
        cand: Candidates,
        made: Sequence[Stand],
        held: Collection[int] = (),
        today: int = 0,
    ) -> None:
        self.cand, self.garden, self.today, self.held = cand, cand.garden, today, frozenset(held)
        season, table = self.garden.season, cand.table
        columns = ("sow", "transplant", "last", "heavy_until", "heavy_after")
        days: list[list[int]] = [table[name].to_numpy(dtype=int).tolist() for name in columns]
        self.sow, self.start, self.last, self.light_from, after = days
        self.heavy_after = [bool(x) for x in after]
        self.limit = self.garden.limits.lift_kg
        self.most = self.garden.limits.fills_per_day  # clearings on one day
        deepest = max(len(c.tiers) for c in self.garden.columns)
        self.most_lifts = None if self.most is None else self.most * above(deepest)
        self.work_day = season.work_mask.tolist()
        self.row = [s.row for s in made]
        self.place: list[Place] = [(s.column, s.tier) for s in made]
        self.clear = [s.clear for s in made]
        self.known = list(self.clear)  # days that are good whatever else is done on them
        self.works = [0] * season.days
        self.clears = [0] * season.days
        self.lifts = [0] * season.days
        # How much of what all share is used, by slot; slots are the work days.
        self.problem = row_by_row(cand, today)
        self.shared = [(r, [0] * (len(self.problem.days) + 1)) for r in self.problem.resources]
        for i, row in enumerate(self.row):
            self.count(row, 1, self.place[i])
            self.count_clearing(i, 1)
        self.by_place: dict[Place, list[int]] = {
            (c.name, t.number): [] for c in self.garden.columns for t in c.tiers
        }
        for i in sorted(range(len(made)), key=lambda i: self.start[self.row[i]]):
            self.by_place[self.place[i]].append(i)
        self.tiers = {c.name: c.tiers for c in self.garden.columns}
        self.kind_of = {p: kind for kind in cand.kinds for p in kind.places}
        self.ends = {
            place: [season.index(span.end) for span in kind.tier.available]
            for place, kind in self.kind_of.items()
        }

    def count(self, row: int, by: int, place: Place) -> None:
        """Count a batch's sowing, filling and picks among the work of their days, and their use."""
        days = (self.sow[row], self.start[row], *self.cand.pick_day[row].tolist())
        for day in days:
            if 0 <= day < len(self.works):
                self.works[day] += by
        if 0 <= self.start[row] < len(self.lifts):
            self.lifts[self.start[row]] += by * above(place[1])
        for resource, used in self.shared:
            for use in range(int(resource.ends[row]), int(resource.ends[row + 1])):
                amount = by * int(resource.amount[use])
                for slot in range(int(resource.first[use]), int(resource.last[use])):
                    used[slot] += amount
            if resource.services and self.start[row] >= self.today:
                used[self.slot(self.start[row])] += by * int(resource.filling(above(place[1])))

    def slot(self, day: int) -> int:
        """Position of the first work day at or after a day."""
        return int(self.problem.slot(np.array(day)))

    def count_clearing(self, i: int, by: int) -> None:
        """Count the clearing of batch ``i`` on its day."""
        self.clears[self.clear[i]] += by
        self.lifts[self.clear[i]] += by * above(self.place[i][1])
        for resource, used in self.shared:
            if resource.clears:
                used[self.slot(self.clear[i])] += by * int(
                    resource.clearing(above(self.place[i][1]))
                )

    def can_clear(self, i: int, day: int) -> bool:
        """Whether the day's work leaves room to clear batch ``i`` on ``day``."""
        lifts = above(self.place[i][1])
        if day != self.known[i] and self.most is not None and self.most_lifts is not None:
            if self.clears[day] >= self.most:
                return False
            if lifts and self.lifts[day] + lifts > self.most_lifts:
                return False
        w = self.slot(day)
        return all(
            used[w] + int(resource.clearing(lifts)) <= resource.on(w)
            for resource, used in self.shared
            if resource.clears
        )

    def stands(self) -> list[Stand]:
        """The batches as they are now."""
        return [
            Stand(row, *place, clear)
            for row, place, clear in zip(self.row, self.place, self.clear, strict=True)
        ]

    def heavy(self, i: int, day: int) -> bool:
        """Whether batch ``i`` weighs too much to be lifted on ``day``."""
        row = self.row[i]
        days = (self.start[row], self.last[row], self.light_from[row])
        return heavy(day, *days, self.heavy_after[row], self.clear[i])

    def reached(self, column: str, number: int, day: int) -> bool:
        """Whether every vessel above a tier may be lifted on ``day``."""
        if self.limit is None:
            return True
        for tier in self.tiers[column][: number - 1]:
            if never_liftable(self.garden, tier.vessel):
                return False
            if any(self.heavy(i, day) for i in self.by_place[column, tier.number]):
                return False
        return True

    def until(self, i: int) -> int:
        """The last day on which batch ``i`` may be cleared."""
        place, last = self.place[i], self.last[self.row[i]]
        mine = self.by_place[place]
        at = mine.index(i)
        day = len(self.works) - 1
        if at + 1 < len(mine):
            turnaround = self.garden.limits.turnaround_days
            day = min(day, self.start[self.row[mine[at + 1]]] - turnaround)
        return min([day, *(end for end in self.ends[place] if end >= last)])

    def settle(self, column: str) -> bool:
        """Clear the tiers of a column as soon as can be, upper ones first; False: one cannot be."""
        for tier in self.tiers[column]:
            for i in self.by_place[column, tier.number]:
                if i not in self.held and not self._settled(i):
                    return False
        return True

    def _settled(self, i: int) -> bool:
        row = self.row[i]
        first = max(self.last[row], self.start[row] + 1, self.today)
        self.count_clearing(i, -1)
        days = (d for d in range(first, self.until(i) + 1) if self.work_day[d])
        found = next(
            (d for d in days if self.can_clear(i, d) and self.reached(*self.place[i], d)), None
        )
        if found is not None:
            self.clear[i] = found
        self.count_clearing(i, 1)
        return found is not None


def cleared_soon(
    cand: Candidates,
    made: Sequence[Stand],
    held: Collection[int] = (),
    today: int = 0,
) -> list[Stand]:
    """``made`` with every tier cleared as soon as can be; see `Schedule`."""
    schedule = Schedule(cand, made, held, today)
    settle_all(schedule)
    return schedule.stands()


def settle_all(schedule: Schedule, over: Callable[[], bool] = lambda: False) -> None:
    """Settle every column until nothing moves: what leaves a day makes room on it for another."""
    for column, tiers in schedule.tiers.items():
        mine = [i for tier in tiers for i in schedule.by_place[column, tier.number]]
        before = None
        while not over() and before != (now := [schedule.clear[i] for i in mine]):
            before = now
            schedule.settle(column)
