"""Going on as planned, day by day, as far as it goes; what no longer fits is dropped.

A rebalance begins with it or with the shifted plan (`replanning.shift`), whichever meets more, and
returns nothing that meets less.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from scheduler.batches.courses import NEVER
from scheduler.log.tracks import Place
from scheduler.plans.model import PLANNED
from scheduler.replanning.commitments import Commitments, Item, Option
from scheduler.schedule.access import Standing, liftable, never_liftable
from scheduler.schedule.effort import above
from scheduler.schedule.problem import row_by_row
from scheduler.schedule.resources import Resource
from scheduler.words.language import _


@dataclass(frozen=True)
class Taken:
    """An option taken and the day index on which its tier is cleared."""

    option: Option
    clear: int


@dataclass
class Kept:
    """What goes on: by item number the option taken; ``dropped`` items with the reason.

    ``whole`` is False where something in hand could not be fitted in by this simple course.
    """

    taken: dict[int, Taken] = field(default_factory=dict)
    dropped: dict[int, str] = field(default_factory=dict)
    whole: bool = True


@dataclass
class TierNow(Standing):
    """What stands in a tier on the day: item and option, -1 and None if nothing."""

    free: int = 0
    item: int = -1
    option: Option | None = None


def go_on_as_planned(commitments: Commitments) -> Kept:
    """Follow the plan from the day on, dropping what cannot be done in time."""
    return settled(lambda banned: Course(commitments, banned))


def settled(make: Callable[[dict[int, str]], Course]) -> Kept:
    """Run a course until every tier is cleared in time, each time without what was not."""
    banned: dict[int, str] = {}
    for _round in range(12):
        course = make(banned)
        kept = course.run()
        stuck = dict.fromkeys(
            course.stuck(), _("its tier cannot be cleared before the season ends")
        )
        new = {n: why for n, why in stuck.items() if not course.items[n].begun}
        if not new:
            kept.whole = kept.whole and not stuck
            return kept
        banned.update(new)
    kept.whole = False
    return kept


class Course:
    """The days from the day on, one after the other."""

    def __init__(self, commitments: Commitments, banned: dict[int, str]) -> None:
        self.c, self.items = commitments, list(commitments.items)
        garden, table = commitments.garden, commitments.cand.table
        self.limits, self.season = garden.limits, garden.season
        self.sow = table["sow"].to_numpy()
        self.start = table["transplant"].to_numpy()
        self.last = table["last"].to_numpy()
        self.cells = table["cells"].to_numpy()
        self.grams = table["grams"].to_numpy()
        self.heavy_until = table["heavy_until"].to_numpy()
        self.heavy_after = table["heavy_after"].to_numpy().astype(bool)
        n = garden.season.days + 1
        self.room = np.full(n, garden.nursery.cells)
        self.fresh = np.zeros(n, int)  # cells of what is still to be sown
        # What is left, by slot, of what all share and is used on its day.
        self.problem = row_by_row(commitments.cand, commitments.today)
        self.left = [
            (r, np.append(r.limits(len(self.problem.days)), r.limit))
            for r in self.problem.resources
            if not r.held
        ]
        if self.season.work_mask[commitments.today]:
            for r, left in self.left:
                left[0] -= commitments.done_today.get(r.name, 0)
        self.kept = Kept(dropped=dict(banned))
        self.tiers: dict[Place, TierNow] = {}
        self.columns: dict[str, list[TierNow]] = {}
        self.spans: dict[Place, list[tuple[int, int]]] = {}  # in which a tier may be used
        for column in garden.columns:
            for t in column.tiers:
                tier = TierNow(t.number, never_liftable(garden, t.vessel))
                tier.free = commitments.opens.get((column.name, t.number), 0)
                self.tiers[column.name, t.number] = tier
                self.columns.setdefault(column.name, []).append(tier)
                if t.available:
                    self.spans[column.name, t.number] = [
                        (self.season.index(s.start), self.season.index(s.end)) for s in t.available
                    ]
        self.homeless: set[int] = set()
        self.held: dict[int, int] = {}  # seedlings in hand: day up to which they hold their cells
        self.wanted: dict[tuple[Place, int], int] = {}
        self.next_start: dict[Place, list[tuple[int, int]]] = {}

    def run(self) -> Kept:
        for n, item in enumerate(self.items):
            if item.begun:
                self._begin(n, item)
            elif n in self.kept.dropped:
                continue
            elif item.as_known is None:
                self.homeless.add(n)
            else:
                option = item.options[item.as_known]
                day = int(self.start[option.row])
                self.wanted[option.place, day] = n
                self.next_start.setdefault(option.place, []).append((day, n))
        self._hold_cells()
        days = np.flatnonzero(self.season.work_mask)
        for day in days[days >= self.c.today].tolist():
            for column in self.columns:
                self._clear(column, day)
            for column, tiers in self.columns.items():
                for tier in reversed(tiers):
                    self._fill((column, tier.number), tier, day)
        for n in sorted(self.homeless):
            self.kept.dropped.setdefault(n, _("no tier could take its seedlings in time"))
        return self.kept

    def stuck(self) -> list[int]:
        """Items whose tier was never cleared."""
        standing = [t.item for t in self.tiers.values() if t.item >= 0]
        return standing + [n for n, taken in self.kept.taken.items() if self._kept_too_long(taken)]

    def _kept_too_long(self, taken: Taken) -> bool:
        """Whether a tier is cleared only after the span in which it may be used."""
        last = int(self.last[taken.option.row])
        ends = [b for a, b in self.spans.get(taken.option.place, ()) if a <= last <= b]
        return bool(ends) and taken.clear > max(ends)

    def _hold_cells(self) -> None:
        """Seedlings in hand take their cells until the day they are planned to leave."""
        for n, item in enumerate(self.items):
            if item.begun or item.batch.state == PLANNED or n in self.kept.dropped:
                continue
            # Seedlings in hand keep their cells even if there are too few; only later sowings must
            # fit in beside them. Without a tier yet they stay as long as they can wait.
            option = None if item.as_known is None else item.options[item.as_known]
            until = max(int(self.start[o.row]) for o in ([option] if option else item.options))
            self.held[n] = until
            self.room[self.c.today : until] -= self.cells[item.options[0].row]

    def _begin(self, n: int, item: Item) -> None:
        order = list(item.options)
        if item.as_known is None:  # the most mass first, then the soonest
            order.sort(key=lambda o: (-int(self.grams[o.row]), int(self.last[o.row])))
        option = next((o for o in order if self._room_to_pick(o.row)), order[0])
        if not self._room_to_pick(option.row):
            self.kept.whole = False
        self._take(self.tiers[option.place], n, option)

    def _days_of(self, row: int) -> np.ndarray:
        days = self.c.cand.pick_day[row]
        made: np.ndarray = days[days < NEVER]
        return made

    def _slot(self, day: int) -> int:
        return int(self.problem.slot(np.array(day)))

    def _room_to_pick(self, row: int) -> bool:
        """Whether the days on which a row is sown and picked have room for it."""
        return all(
            bool((left[r.first[uses]] >= r.amount[uses]).all())
            for r, left in self.left
            for uses in [r.uses_of(np.array([row]))]
        )

    def _use_days(self, row: int, sign: int) -> None:
        for r, left in self.left:
            uses = r.uses_of(np.array([row]))
            np.subtract.at(left, r.first[uses], sign * r.amount[uses])

    def _full(self, what: Callable[[Resource, int], Any], place: Place, day: int) -> str:
        """Which of what all share leaves no room to fill or clear a tier on a day; '' if none."""
        for r, left in self.left:
            if left[self._slot(day)] < what(r, above(place[1])):
                return r.name
        return ""

    def _serve(
        self, what: Callable[[Resource, int], Any], place: Place, day: int, sign: int = 1
    ) -> None:
        """Count a filling or clearing."""
        for r, left in self.left:
            left[self._slot(day)] -= sign * what(r, above(place[1]))

    def _take(self, tier: TierNow, n: int, option: Option) -> None:
        self._use_days(option.row, 1)
        self._stand(tier, n, option)

    def _stand(self, tier: TierNow, n: int, option: Option) -> None:
        row = option.row
        tier.item, tier.option = n, option
        start, last, light = (int(d[row]) for d in (self.start, self.last, self.heavy_until))
        tier.fill(start, last, light, bool(self.heavy_after[row]))

    def _reachable(self, place: Place, day: int) -> bool:
        return liftable(self.columns[place[0]], place[1], day)

    def _clear(self, column: str, day: int) -> None:
        for tier in self.columns[column]:  # from the top: what is cleared weighs no more
            if tier.item < 0 or tier.last > day or tier.start >= day:
                continue
            item = self.items[tier.item]
            same = item.as_known is not None and tier.option == item.options[item.as_known]
            if same and day < item.clear:
                continue
            place = (column, tier.number)
            if self._reachable(place, day) and not self._full(Resource.clearing, place, day):
                self._serve(Resource.clearing, place, day)
                assert tier.option is not None
                self.kept.taken[tier.item] = Taken(tier.option, day)
                tier.item, tier.option = -1, None
                tier.empty()
                tier.free = day + self.limits.turnaround_days

    def _fill(self, place: Place, tier: TierNow, day: int) -> None:
        n = self.wanted.get((place, day), -1)
        if n >= 0:
            option = self.items[n].options[self.items[n].as_known or 0]
            why = self._why_not(place, tier, n, option, day)
            if not why:
                self._fill_with(tier, n, option, day)
                return
            if self.items[n].batch.state == PLANNED:
                self.kept.dropped[n] = why
            else:
                self.homeless.add(n)
        self._house(place, tier, day)

    def _house(self, place: Place, tier: TierNow, day: int) -> None:
        """Plant seedlings that have no tier, if what is planned here next is not in the way."""
        for m in sorted(self.homeless):
            options = [
                o
                for o in self.items[m].options
                if o.place == place and int(self.start[o.row]) == day
            ]
            options.sort(key=lambda o: (-int(self.grams[o.row]), int(self.last[o.row])))
            for option in options:
                if self._leaves_time(place, option) and not self._why_not(
                    place, tier, m, option, day
                ):
                    self.homeless.discard(m)
                    self._fill_with(tier, m, option, day)
                    return

    def _leaves_time(self, place: Place, option: Option) -> bool:
        """Whether the tier is free again for what is planned in it next."""
        end = int(self.last[option.row]) + self.limits.turnaround_days
        day = int(self.start[option.row])
        return all(
            start < day or start >= end
            for start, n in self.next_start.get(place, [])
            if n not in self.kept.dropped
        )

    def _cells_from(self, n: int, option: Option) -> int:
        """Day from which an item's cells are still to be found."""
        return self.held.get(n, max(int(self.sow[option.row]), self.c.today))

    def _why_closed(self, place: Place, tier: TierNow, day: int) -> str:
        name = f"{place[0]} {place[1]}"
        if tier.item >= 0 or tier.free > day:
            return _("{name} is not free on {day}").format(name=name, day=self.season.date(day))
        if not self._reachable(place, day):
            return _("{name} is out of reach on {day}, under a heavy vessel").format(
                name=name, day=self.season.date(day)
            )
        return ""

    def _why_not(self, place: Place, tier: TierNow, n: int, option: Option, day: int) -> str:
        if why := self._why_closed(place, tier, day):
            return why
        if full := self._full(Resource.filling, place, day):
            return _("{day} has room for no more {full}").format(
                day=self.season.date(day), full=full
            )
        if not self._room_to_pick(option.row):
            return _("its picks fall on days that are full")
        days = slice(self._cells_from(n, option), day)
        short = self.room[days] < self.cells[option.row]
        if n in self.held:  # seedlings in hand take what they take, if nothing is sown beside them
            short &= self.fresh[days] > 0
        return _("the nursery has no cells for it") if short.any() else ""

    def _fill_with(self, tier: TierNow, n: int, option: Option, day: int) -> None:
        place = option.place
        days = slice(self._cells_from(n, option), day)
        self.room[days] -= self.cells[option.row]
        if n not in self.held:
            self.fresh[days] += self.cells[option.row]
        self._serve(Resource.filling, place, day)
        self._take(tier, n, option)
