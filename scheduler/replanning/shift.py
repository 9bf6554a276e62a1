"""The shifted plan: what is late moves what follows in its tier by as little as keeps every rule.

What cannot be planted on its day waits for the first day on which it can: seedlings within their
life, what is not sown yet with its sowing. All else keeps its days, and with them its cells and
its share of the day's work.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduler.batches.courses import NEVER
from scheduler.log.tracks import Place
from scheduler.plans.model import PLANNED, Batch
from scheduler.replanning.baseline import Course, Kept, TierNow, settled
from scheduler.replanning.commitments import Commitments, Item, Option
from scheduler.schedule.resources import Resource

FAR = 1000  # days; another number of picks weighs more than picks on other days


def shifted(commitments: Commitments, kept: Kept) -> list[Kept]:
    """The plan with what is late shifted, in two ways: pushing on what comes after, and not.

    Numbers from ``len(commitments.items)`` on stand for batches that are sown anew: those of
    ``commitments.gone``, and seedlings that get too old before their tier is free. Options may be
    free candidates. A way that gives up seedlings or changes frozen batches that ``kept`` keeps is
    left out.
    """
    lost = [n for n in kept.dropped if n not in kept.taken]
    if not (lost or commitments.gone):
        return []
    rows = _Rows(commitments)

    def way(push: bool) -> Kept:
        return settled(lambda banned: _Shifted(commitments, kept, banned, rows, push))

    return [k for k in (way(True), way(False)) if k.whole and _no_loss(commitments, kept, k)]


def _no_loss(commitments: Commitments, kept: Kept, way: Kept) -> bool:
    for n, taken in kept.taken.items():
        item, now = commitments.items[n], way.taken.get(n)
        if now is None and item.batch.state != PLANNED:
            return False
        if item.frozen and (now is None or now.option != taken.option):
            return False
    return True


class _Rows:
    """Free candidates by crop, kind of tier and transplanting day."""

    def __init__(self, commitments: Commitments) -> None:
        table = commitments.cand.table
        crop, kind, start = (
            table[name].to_numpy()[: commitments.free].astype(np.int64)
            for name in ("crop", "kind", "transplant")
        )
        self.crop_of = {name: c for c, name in enumerate(commitments.cand.crop_names)}
        self.kinds = len(commitments.cand.kinds)
        self.kind_of = {p: k for k, kind in enumerate(commitments.cand.kinds) for p in kind.places}
        keys = (crop * self.kinds + kind) * NEVER + start
        self.order = np.argsort(keys, kind="stable")
        self.keys = keys[self.order]

    def on(self, crop: str, place: Place, day: int) -> list[int]:
        """Rows of a crop that is planted in a tier on a day."""
        key = (self.crop_of[crop] * self.kinds + self.kind_of[place]) * NEVER + day
        a, b = np.searchsorted(self.keys, [key, key + 1])
        rows: list[int] = self.order[a:b].tolist()
        return rows


class _Shifted(Course):
    """The days from the day on, with everything that is late waiting for its tier.

    ``push``: what waits goes before what is planned after it, which waits then.
    """

    def __init__(
        self, commitments: Commitments, kept: Kept, banned: dict[int, str], rows: _Rows, push: bool
    ) -> None:
        super().__init__(commitments, banned)
        self.rows, self.push = rows, push
        self.queue: dict[Place, list[tuple[int, int]]] = {}  # what waits: planned day, item
        self.booked: set[int] = set()  # its cells, fill and picks are set aside
        self.planted: set[int] = set()
        self.as_kept = kept
        self.until: dict[int, tuple[int, int]] = {}  # sown anew: instead of which item, from when
        for batch in commitments.gone:
            self._anew(batch)
        for n, item in enumerate(commitments.items):
            if not item.begun and item.batch.state != PLANNED:
                last = max(int(self.start[o.row]) for o in item.options)
                self.until[len(self.items)] = n, last + 1
                self._anew(item.batch)
        self.wish = [self._picks_of(item) for item in self.items]

    def _anew(self, batch: Batch) -> None:
        self.items.append(Item(replace(batch, state=PLANNED), [], None, False, 0, weight=0))

    def _picks_of(self, item: Item) -> list[tuple[int, int]]:
        """Picks that an item was planned with: day, plants."""
        today, index = self.c.today, self.season.index
        return [(d, p.plants) for p in item.batch.picks if (d := index(p.date)) >= today]

    def run(self) -> Kept:
        for n, item in enumerate(self.items):
            if item.begun or n in self.kept.dropped:
                continue
            batch = item.batch
            day, place = self.season.index(batch.transplant), (batch.column, batch.tier)
            if place in self.tiers:
                self.queue.setdefault(place, []).append((day, n))
            taken = self.as_kept.taken.get(n)
            if item.as_known is not None and taken and taken.option == item.options[item.as_known]:
                self._book(n, taken.option, 1)
        for waiting in self.queue.values():
            waiting.sort()
        return super().run()

    def _begin(self, n: int, item: Item) -> None:
        if item.as_known is None:  # as near to what was planned as can be with all of its mass
            most = max(int(self.grams[o.row]) for o in item.options)
            options = [o for o in item.options if int(self.grams[o.row]) == most]
            options.sort(key=lambda o: self._apart(n, o.row))
            rest = [o for o in item.options if o not in options]
            item = replace(item, options=options + rest)
        super()._begin(n, item)

    def _apart(self, n: int, row: int) -> tuple[int, int]:
        """How far the picks of a row lie from what was planned, and its last pick."""
        days = self._days_of(row).tolist()
        plants = self.c.cand.pick_plants[row].tolist()
        wish = self.wish[n]
        out = FAR * abs(len(days) - len(wish))
        for day, count, (planned, wished) in zip(days, plants, wish, strict=False):
            out += abs(day - planned) + abs(count - wished)
        return out, int(self.last[row])

    def _book(self, n: int, option: Option, sign: int) -> None:
        """Set aside, or give back, what an item takes if it is planted as known."""
        row, day = option.row, int(self.start[option.row])
        if n not in self.held and self.items[n].batch.state == PLANNED:
            days = slice(max(int(self.sow[row]), self.c.today), day)
            self.room[days] -= sign * self.cells[row]
            self.fresh[days] += sign * self.cells[row]
        self._serve(Resource.filling, option.place, day, sign)
        self._use_days(row, sign)
        (self.booked.add if sign > 0 else self.booked.discard)(n)

    def _fill(self, place: Place, tier: TierNow, day: int) -> None:
        waiting = self.queue.get(place, [])
        for due, n in list(waiting):
            if due > day:
                break
            item = self.items[n]
            first, from_day = self.until.get(n, (n, day))
            if first in self.planted:
                waiting.remove((due, n))  # its seedlings stand in a tier
                continue
            if day < from_day:
                continue
            if n in self.booked:
                assert item.as_known is not None
                option = item.options[item.as_known]
                why = self._why_closed(place, tier, day)
                if due == day and not why:
                    waiting.remove((due, n))
                    self.booked.discard(n)
                    self._stand(tier, n, option)
                    return
                self._book(n, option, -1)
                self._late(n, why)
            option_now = self._option_on(place, tier, n, day)
            if option_now is not None:
                waiting.remove((due, n))
                self.homeless.discard(n)
                self._fill_with(tier, n, option_now, day)
                return
        if not any(due <= day for due, _ in waiting):
            self._house(place, tier, day)

    def _stand(self, tier: TierNow, n: int, option: Option) -> None:
        self.planted.add(n)
        super()._stand(tier, n, option)

    def _late(self, n: int, why: str) -> None:
        self.kept.dropped.setdefault(n, why)
        if self.items[n].batch.state != PLANNED:
            self.homeless.add(n)

    def _option_on(self, place: Place, tier: TierNow, n: int, day: int) -> Option | None:
        """The best way to plant what waits in a tier on a day; None if there is none."""
        if self._why_closed(place, tier, day):
            return None
        item = self.items[n]
        if item.batch.state == PLANNED:
            options = [Option(place, r) for r in self.rows.on(item.batch.crop, place, day)]
        else:
            options = [
                o for o in item.options if o.place == place and int(self.start[o.row]) == day
            ]
        for option in sorted(options, key=lambda o: self._apart(n, o.row)):
            if not self._why_not(place, tier, n, option, day) and self._leaves_room(place, option):
                return option
        return None

    def _leaves_room(self, place: Place, option: Option) -> bool:
        """Whether what is planned next in the tier, and must not wait, can still be planted."""
        end = int(self.last[option.row]) + self.limits.turnaround_days
        day = int(self.start[option.row])
        return not any(
            day < start < end and n in self.booked and (self.items[n].frozen or not self.push)
            for start, n in self.queue.get(place, [])
        )
