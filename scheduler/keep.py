"""Going on as planned, as far as it goes: the plan a grower keeps who drops what no longer fits.

It is the first hint for a rebalance, and the least it returns.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from scheduler.carried import Carried, Item, Option
from scheduler.courses import NEVER
from scheduler.plan import PLANNED
from scheduler.tracks import Place


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
class _Tier:
    number: int
    free: int = 0
    item: int = -1
    option: Option | None = None
    start: int = -1
    last: int = -1
    light_from: int = 0
    heavy_after: bool = False


def keep_going(carried: Carried) -> Kept:
    """Follow the plan from the day on, dropping what cannot be done in time."""
    banned: dict[int, str] = {}
    for _ in range(12):
        course = _Course(carried, banned)
        kept = course.run()
        stuck = dict.fromkeys(course.stuck(), "its tier cannot be cleared before the season ends")
        new = {n: why for n, why in stuck.items() if not carried.items[n].begun}
        if not new:
            kept.whole = kept.whole and not stuck
            return kept
        banned.update(new)
    kept.whole = False
    return kept


class _Course:
    """The days from the day on, one after the other."""

    def __init__(self, carried: Carried, banned: dict[int, str]) -> None:
        self.c = carried
        garden, table = carried.garden, carried.cand.table
        self.limits, self.season = garden.limits, garden.season
        self.sow = table["sow"].to_numpy()
        self.start = table["transplant"].to_numpy()
        self.last = table["last"].to_numpy()
        self.cells = table["cells"].to_numpy()
        self.heavy_until = table["heavy_until"].to_numpy()
        self.heavy_after = table["heavy_after"].to_numpy().astype(bool)
        n = garden.season.days + 1
        self.room = np.full(n, garden.nursery.cells)
        self.fills, self.picks = np.zeros(n, int), np.zeros(n, int)
        self.kept = Kept(dropped=dict(banned))
        self.tiers: dict[Place, _Tier] = {}
        self.columns: dict[str, list[_Tier]] = {}
        self.always: dict[tuple[str, int], bool] = {}
        for column in garden.columns:
            for t in column.tiers:
                tier = _Tier(t.number, carried.opens.get((column.name, t.number), 0))
                self.tiers[column.name, t.number] = tier
                self.columns.setdefault(column.name, []).append(tier)
                heavy = (self.limits.lift_kg is not None
                         and garden.vessels[t.vessel].mass_kg > self.limits.lift_kg)  # fmt: skip
                self.always[column.name, t.number] = heavy
        self.homeless: set[int] = set()
        self.held: dict[int, int] = {}  # seedlings in hand: day up to which they hold their cells
        self.wanted: dict[tuple[Place, int], int] = {}
        self.next_start: dict[Place, list[tuple[int, int]]] = {}

    def run(self) -> Kept:
        for n, item in enumerate(self.c.items):
            if item.begun:
                self._begin(n, item)
            elif n in self.kept.dropped:
                continue
            elif item.keep is None:
                self.homeless.add(n)
            else:
                option = item.options[item.keep]
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
            self.kept.dropped.setdefault(n, "no tier could take its seedlings in time")
        return self.kept

    def stuck(self) -> list[int]:
        """Items whose tier was never cleared."""
        return [t.item for t in self.tiers.values() if t.item >= 0]

    def _hold_cells(self) -> None:
        """Seedlings in hand take their cells until the day they are planned to leave."""
        for n, item in enumerate(self.c.items):
            if item.begun or item.batch.state == PLANNED or n in self.kept.dropped:
                continue
            # They take the cells they take, be it more than there are; only what is still to be
            # sown must fit in beside them. Without a tier yet: as long as they can wait.
            option = None if item.keep is None else item.options[item.keep]
            until = max(int(self.start[o.row]) for o in ([option] if option else item.options))
            self.held[n] = until
            self.room[self.c.today : until] -= self.cells[item.options[0].row]

    def _begin(self, n: int, item: Item) -> None:
        order = list(item.options)
        if item.keep is None:  # the most mass first, then the soonest
            grams = self.c.cand.table["grams"].to_numpy()
            order.sort(key=lambda o: (-int(grams[o.row]), int(self.last[o.row])))
        option = next((o for o in order if self._room_to_pick(o.row)), order[0])
        if not self._room_to_pick(option.row):
            self.kept.whole = False
        self._take(self.tiers[option.place], n, option)

    def _days_of(self, row: int) -> np.ndarray:
        days = self.c.cand.pick_day[row]
        return days[days < NEVER]

    def _room_to_pick(self, row: int) -> bool:
        most = self.limits.picks_per_day
        return most is None or bool((self.picks[self._days_of(row)] < most).all())

    def _take(self, tier: _Tier, n: int, option: Option) -> None:
        row = option.row
        np.add.at(self.picks, self._days_of(row), 1)
        tier.item, tier.option = n, option
        tier.start, tier.last = int(self.start[row]), int(self.last[row])
        tier.light_from = int(self.heavy_until[row])
        tier.heavy_after = bool(self.heavy_after[row])

    def _reachable(self, place: Place, day: int) -> bool:
        if self.limits.lift_kg is None:
            return True
        column, number = place
        for tier in self.columns[column]:
            if tier.number >= number:
                continue
            if self.always[column, tier.number]:
                return False
            if tier.item < 0 or tier.start >= day:
                continue
            if day < min(tier.light_from, tier.last) or (day >= tier.last and tier.heavy_after):
                return False
        return True

    def _clear(self, column: str, day: int) -> None:
        for tier in self.columns[column]:  # from the top: what is cleared weighs no more
            if tier.item < 0 or tier.last > day or tier.start >= day:
                continue
            item = self.c.items[tier.item]
            same = item.keep is not None and tier.option == item.options[item.keep]
            if same and day < item.clear:
                continue
            if self._reachable((column, tier.number), day):
                assert tier.option is not None
                self.kept.taken[tier.item] = Taken(tier.option, day)
                tier.item, tier.option = -1, None
                tier.free = day + self.limits.turnaround_days

    def _fill(self, place: Place, tier: _Tier, day: int) -> None:
        n = self.wanted.get((place, day), -1)
        if n >= 0:
            option = self.c.items[n].options[self.c.items[n].keep or 0]
            why = self._why_not(place, tier, n, option, day)
            if not why:
                self._fill_with(tier, n, option, day)
                return
            if self.c.items[n].batch.state == PLANNED:
                self.kept.dropped[n] = why
            else:
                self.homeless.add(n)
        for m in sorted(self.homeless):
            grams = self.c.cand.table["grams"].to_numpy()
            options = [o for o in self.c.items[m].options
                       if o.place == place and int(self.start[o.row]) == day]  # fmt: skip
            options.sort(key=lambda o: (-int(grams[o.row]), int(self.last[o.row])))
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
            for start, n in self.next_start.get(place, []) if n not in self.kept.dropped
        )  # fmt: skip

    def _cells_from(self, n: int, option: Option) -> int:
        """Day from which an item's cells are still to be found."""
        return self.held.get(n, max(int(self.sow[option.row]), self.c.today))

    def _why_not(self, place: Place, tier: _Tier, n: int, option: Option, day: int) -> str:
        name = f"{place[0]} {place[1]}"
        if tier.item >= 0 or tier.free > day:
            return f"{name} is not free on {self.season.date(day)}"
        if not self._reachable(place, day):
            return f"{name} is out of reach on {self.season.date(day)}, under a heavy vessel"
        most = self.limits.fills_per_day
        if most is not None and self.fills[day] >= most:
            return f"{most} vessels are filled on {self.season.date(day)} already"
        if not self._room_to_pick(option.row):
            return "its picks fall on days that are full"
        room = self.room[self._cells_from(n, option) : day]
        if n not in self.held and len(room) and room.min() < self.cells[option.row]:
            return "the nursery has no cells for it"
        return ""

    def _fill_with(self, tier: _Tier, n: int, option: Option, day: int) -> None:
        self.room[self._cells_from(n, option) : day] -= self.cells[option.row]
        self.fills[day] += 1
        self._take(tier, n, option)
