"""Sequences for whole columns that are worth the most at given prices.

One tier at a time, the others held: then the best for it is found exactly, from the last slot to
the first, as each candidate is either allowed or not:

- it is filled on a slot on which nothing above is too heavy;
- it is cleared on the first slot after its last pick on which nothing above is too heavy;
- while it is too heavy itself nothing below is filled or cleared.

Tiers are taken in turn, in an order of chance, until none gains. All columns are done at once.
"""

from __future__ import annotations

import numpy as np

from scheduler.schedule.effort import above
from scheduler.schedule.resources import Resource
from scheduler.search.columns.layout import Layout, Sequence
from scheduler.search.columns.prices import Aim, Services, lifts

SMALLEST = 1e-9  # what a batch must be worth to be looked at


class Pricing:
    """The search for sequences; ``copies`` for each column kind, that end up different by chance.

    Attributes
    ----------
    kinds : column kind of each copy [copies].
    """

    def __init__(self, layout: Layout, copies: int, seed: int) -> None:
        self.layout = layout
        self.chance = np.random.default_rng(seed)
        self.kinds = np.repeat(np.arange(len(layout.columns)), copies)
        self.depth = max((len(c.kinds) for c in layout.columns), default=0)
        self._rows: list[tuple[np.ndarray, np.ndarray]] = []
        for j in range(self.depth):
            which, rows = [np.zeros(0, int)], [np.zeros(0, int)]
            for copy, c in enumerate(self.kinds.tolist()):
                column = layout.columns[c]
                if j < len(column.kinds) and j not in column.shut:
                    mine = layout.by_kind[column.kinds[j]]
                    which.append(np.full(len(mine), copy))
                    rows.append(mine)
            copies_, rows_ = np.concatenate(which), np.concatenate(rows)
            order = np.lexsort((copies_, layout.start[rows_]))
            self._rows.append((copies_[order], rows_[order]))
        # Number of the tier at each position, 1 (nothing to lift) where a column has none.
        self._number = np.ones((self.depth, len(self.kinds)), dtype=int)
        for copy, c in enumerate(self.kinds.tolist()):
            numbers = layout.columns[c].numbers
            self._number[: len(numbers), copy] = numbers

    def run(
        self,
        value: np.ndarray,
        aim: Aim,
        sweeps: int = 2,
        only: np.ndarray | None = None,
        room: np.ndarray | None = None,
        services: Services | None = None,
    ) -> list[tuple[float, Sequence]]:
        """A sequence and what it is worth, for each copy.

        ``value`` is what each row is worth [rows]; ``only`` names the column kinds wanted [bool];
        ``room`` is what a column may use of what all share [resources, slots], where that is less
        than what all columns have together. ``services`` is what lifts and clearings cost.
        """
        layout, n = self.layout, len(self.kinds)
        shape = (self.depth, n, layout.slots + 2)
        heavy, service = np.zeros(shape, dtype=np.int16), np.zeros(shape, dtype=np.int16)
        worth = np.zeros((self.depth, n))
        found: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = [
            (np.zeros(0, int),) * 3 for _ in range(self.depth)
        ]
        wanted = np.ones(n, bool) if only is None else only[self.kinds]
        rooms = None if room is None else _Rooms(layout, room, n, self.depth)
        orders = [self.chance.permutation(self.depth) for _ in range(max(sweeps, 1))]
        if not layout.access and room is None:
            orders = orders[:1]
        for order in orders:
            for j in order.tolist():
                worth[j], found[j] = self._tier(
                    j, value, aim, heavy, service, wanted, rooms, services
                )
        batches: list[list[tuple[int, int, int]]] = [[] for _ in range(n)]
        for j, (which, rows, clear) in enumerate(found):
            for copy, row, slot in zip(which.tolist(), rows.tolist(), clear.tolist(), strict=True):
                batches[copy].append((j, row, slot))
        total = worth.sum(axis=0)
        return [
            (float(total[i]), Sequence(int(self.kinds[i]), tuple(sorted(batches[i]))))
            for i in range(n)
            if wanted[i]
        ]

    def worth(
        self, sequence: Sequence, value: np.ndarray, aim: Aim, services: Services | None = None
    ) -> float:
        """What a sequence is worth at what each row is worth [rows]."""
        numbers, start = self.layout.columns[sequence.kind].numbers, self.layout.start
        total = sum(value[row] - lifts(aim, numbers[j]) for j, row, _ in sequence.batches)
        if services is not None:
            for j, row, clear in sequence.batches:
                total -= float(services.cost(above(numbers[j]), start[row], np.array(clear)))
        return float(total)

    def _tier(
        self,
        j: int,
        value: np.ndarray,
        aim: Aim,
        heavy: np.ndarray,
        service: np.ndarray,
        wanted: np.ndarray,
        rooms: _Rooms | None,
        services: Services | None = None,
    ) -> tuple[np.ndarray, tuple[np.ndarray, np.ndarray, np.ndarray]]:
        """The best for the tiers at position ``j``, all others held: worth, and the batches."""
        layout = self.layout
        which, rows = self._rows[j]
        worth = value[rows] - lifts(aim, self._number[j])[which]
        good = (worth > SMALLEST) & wanted[which]
        which, rows, worth = which[good], rows[good], worth[good]
        if rooms is not None:
            good = rooms.fit(j, which, rows, above(self._number[j][which]))
            which, rows, worth = which[good], rows[good], worth[good]
        clear = layout.last[rows]
        if layout.access:
            good, clear = self._allowed(j, which, rows, heavy, service)
            which, rows, worth, clear = which[good], rows[good], worth[good], clear[good]
        if rooms is not None and rooms.clears:
            good = rooms.fit_clearing(j, which, rows, clear, above(self._number[j][which]))
            which, rows, worth, clear = which[good], rows[good], worth[good], clear[good]
        if services is not None:
            paid = services.cost(above(self._number[j][which]), layout.start[rows], clear)
            good = worth - paid > SMALLEST
            worth = worth - paid
            which, rows, worth, clear = which[good], rows[good], worth[good], clear[good]
        at = _best(layout, len(self.kinds), which, layout.start[rows], layout.again[clear], worth)
        which, rows, clear, worth = which[at], rows[at], clear[at], worth[at]
        service[j], heavy[j] = 0, 0
        np.add.at(service[j], (which, layout.start[rows]), 1)
        np.add.at(service[j], (which, clear), 1)
        weighs = layout.heavy_to[rows] > layout.heavy_from[rows]
        np.add.at(heavy[j], (which[weighs], layout.heavy_from[rows[weighs]]), 1)
        np.add.at(heavy[j], (which[weighs], layout.heavy_to[rows[weighs]]), -1)
        waits = layout.heavy_after[rows]
        np.add.at(heavy[j], (which[waits], layout.last[rows[waits]]), 1)
        np.add.at(heavy[j], (which[waits], clear[waits]), -1)
        np.cumsum(heavy[j], axis=1, out=heavy[j])
        if rooms is not None:
            rooms.take(j, which, rows, clear, above(self._number[j][which]))
        return np.bincount(which, worth, len(self.kinds)), (which, rows, clear)

    def _allowed(
        self, j: int, which: np.ndarray, rows: np.ndarray, heavy: np.ndarray, service: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Which rows keep stack access beside what the other tiers hold, and when each is cleared.

        A tier between is serviced freely on the day it is filled or cleared itself.
        """
        layout, slots = self.layout, self.layout.slots
        blocked = np.asarray((heavy[:j, :, :slots] > 0).any(axis=0))
        below = service[j + 1 :, :, :slots].sum(axis=0)
        before = np.zeros((len(self.kinds), slots + 1), dtype=np.int64)
        np.cumsum(below, axis=1, out=before[:, 1:])
        # The first slot from each on that is not blocked; `slots` if there is none.
        free = np.where(blocked, slots, np.arange(slots)[None, :])
        nearest = np.full((len(self.kinds), slots + 1), slots)
        nearest[:, :slots] = np.minimum.accumulate(free[:, ::-1], axis=1)[:, ::-1]
        last = layout.last[rows]
        clear = nearest[which, last]
        ok = np.logical_and(~blocked[which, layout.start[rows]], clear <= layout.end[rows])
        begin, end = np.minimum(layout.heavy_from[rows], slots), layout.heavy_to[rows]
        ok &= before[which, end] == before[which, begin]
        waits = layout.heavy_after[rows]
        ok &= ~waits | (before[which, np.minimum(clear, slots)] == before[which, last])
        return ok, clear


class _Rooms:
    """What each copy may still use of what all columns share, tier by tier."""

    def __init__(self, layout: Layout, room: np.ndarray, copies: int, depth: int) -> None:
        self.layout, self.room = layout, room
        self.used = np.zeros((depth, len(room), copies, layout.slots + 1), dtype=np.int32)
        self.clears = any(r.clears for r in layout.resources)

    def _left(self, j: int) -> np.ndarray:
        """What the tiers but those at position ``j`` leave [resources, copies, slots]."""
        others = self.used.sum(axis=0) - self.used[j]
        left: np.ndarray = self.room[:, None, :] - others[:, :, : self.layout.slots]
        return left

    def fit(self, j: int, which: np.ndarray, rows: np.ndarray, above: np.ndarray) -> np.ndarray:
        """Which rows find room beside what the other tiers of their copy use [bool]."""
        layout = self.layout
        ok = np.ones(len(rows), dtype=bool)
        for left, r in zip(self._left(j), layout.resources, strict=True):
            if r.services:
                ok &= left[which, layout.start[rows]] >= r.filling(above)
            at = r.table(rows)
            for uses in at.T if at.size else ():
                mine = np.flatnonzero(uses >= 0)
                ok[mine] &= _find_room(left, r, which[mine], uses[mine])
        return ok

    def fit_clearing(
        self, j: int, which: np.ndarray, rows: np.ndarray, clear: np.ndarray, above: np.ndarray
    ) -> np.ndarray:
        """Which rows can be cleared on these slots, beside what they take there [bool]."""
        ok = np.ones(len(which), dtype=bool)
        for left, r in zip(self._left(j), self.layout.resources, strict=True):
            if r.clears:
                at = r.table(rows)
                own = np.where((at >= 0) & (r.first[at] == clear[:, None]), r.amount[at], 0)
                ok &= left[which, clear] - own.sum(axis=1) >= r.clearing(above)
        return ok

    def take(
        self, j: int, which: np.ndarray, rows: np.ndarray, clear: np.ndarray, above: np.ndarray
    ) -> None:
        """Note what the tiers at position ``j`` use now."""
        layout = self.layout
        self.used[j] = 0
        for used, r in zip(self.used[j], layout.resources, strict=True):
            counts = np.diff(r.ends)[rows]
            copy, uses = np.repeat(which, counts), r.uses_of(rows)
            np.add.at(used, (copy, r.first[uses]), r.amount[uses])
            np.add.at(used, (copy, np.minimum(r.last[uses], layout.slots)), -r.amount[uses])
            np.cumsum(used, axis=1, out=used)
            if r.services:
                np.add.at(used, (which, layout.start[rows]), r.filling(above))
                np.add.at(used, (which, clear), r.clearing(above))


def _find_room(left: np.ndarray, r: Resource, which: np.ndarray, uses: np.ndarray) -> np.ndarray:
    """Whether each use finds room all the time in what its copy has left [copies, slots]."""
    if not r.held:
        on_day: np.ndarray = left[which, r.first[uses]] >= r.amount[uses]
        return on_day
    ok = np.ones(len(uses), dtype=bool)
    for amount in np.unique(r.amount[uses]).tolist():
        tight = np.zeros((left.shape[0], left.shape[1] + 1), dtype=np.int32)
        np.cumsum(left < amount, axis=1, out=tight[:, 1:])
        mine = r.amount[uses] == amount
        a, b = r.first[uses[mine]], r.last[uses[mine]]
        ok[mine] = tight[which[mine], b] == tight[which[mine], a]
    return ok


def _best(
    layout: Layout,
    n: int,
    which: np.ndarray,
    start: np.ndarray,
    again: np.ndarray,
    worth: np.ndarray,
) -> np.ndarray:
    """Places of the batches that together are worth the most, in each copy, one at a time."""
    slots = layout.slots
    ends = np.searchsorted(start, np.arange(slots + 1))
    best = np.zeros((slots + 1, n))
    choice = np.full((slots, n), -1)
    for w in range(slots - 1, -1, -1):
        best[w] = best[w + 1]
        a, b = ends[w], ends[w + 1]
        if a == b:
            continue
        mine = which[a:b]
        total = worth[a:b] + best[again[a:b], mine]
        first = np.flatnonzero(np.diff(mine, prepend=-1))
        top = np.maximum.reduceat(total, first)
        copies = mine[first]
        gains = top > best[w, copies]
        if not gains.any():
            continue
        hit = np.flatnonzero(total >= np.repeat(top, np.diff(np.append(first, b - a))))
        place = np.empty(n, dtype=int)
        place[mine[hit]] = hit + a
        best[w, copies[gains]] = top[gains]
        choice[w, copies[gains]] = place[copies[gains]]
    at = np.zeros(n, dtype=int)
    out = []
    for w in range(slots):
        taken = np.flatnonzero((at == w) & (choice[w] >= 0))
        if len(taken):
            picks = choice[w, taken]
            out.append(picks)
            at[taken] = again[picks]
        at[at == w] = w + 1
    return np.concatenate(out) if out else np.zeros(0, dtype=int)
