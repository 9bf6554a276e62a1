"""Whether batches in tiers keep the garden's shared rules, and when each tier is cleared."""

from __future__ import annotations

from typing import Any

import numpy as np

from scheduler.base.compiled import compiled
from scheduler.batches.courses import NEVER
from scheduler.lived.replay import NONE
from scheduler.search.living.options import Options


@compiled
def queued(options: Options, rows: np.ndarray, tiers: np.ndarray, most: int) -> np.ndarray:
    """Batches of each tier by date, `NONE` behind the last [tiers, most]."""
    start = options.rows
    out = np.full((len(options.kind_of), most), NONE)
    count = np.zeros(len(options.kind_of), np.int64)
    for b in range(len(rows)):
        t = tiers[b]
        k = count[t]
        while k > 0 and start[rows[out[t, k - 1]]].start > start[rows[b]].start:
            out[t, k] = out[t, k - 1]
            k -= 1
        out[t, k] = b
        count[t] += 1
    return out


@compiled
def heavy_on(row: Any, day: int, clear: int) -> bool:
    """Whether a row's vessel is too heavy to lift: `schedule.access.heavy`."""
    if not row.start < day < clear:
        return False
    light = min(row.light_from, row.last) <= day
    return not light or (day >= row.last and row.heavy_after == 1)


@compiled
def take(options: Options, used: np.ndarray, row: int, depth: int, by: int) -> None:
    """Count what a row and its filling use of everything, or no longer do (``by`` -1)."""
    for r in range(len(used)):
        for k in range(options.use_first.shape[2]):
            for slot in range(options.use_first[r, row, k], options.use_last[r, row, k]):
                used[r, slot] += by * options.use_amount[r, row, k]
        if options.rows[row].start < options.today:  # it stands already
            continue
        slot = options.slot[options.rows[row].start]
        used[r, slot] += by * (options.per_fill[r] + options.per_lift[r] * depth)


@compiled
def well_mixed(options: Options, rows: np.ndarray) -> bool:
    """Whether the crops of each wish are mixed as asked (`schedule.mixed`)."""
    sums = np.zeros(options.mix_count, np.int64)
    for b in range(len(rows)):
        for k in range(options.mix_from[rows[b]], options.mix_from[rows[b] + 1]):
            sums[options.mix_sum[k]] += options.mix_amount[k]
    for r in range(len(options.mix_together)):
        over = True
        for k in options.mix_together[r]:
            over = over and (k < 0 or sums[k] > 0)
        if over:
            return False
    return True


@compiled
def settled(
    options: Options, depth: np.ndarray, open_: np.ndarray, rows: np.ndarray, tiers: np.ndarray
) -> np.ndarray:
    """Day of each batch's clearing [n], the soonest; no entry at all if a rule is broken."""
    n, broken = len(rows), np.zeros(0, np.int64)
    if options.mix_count > 0 and not well_mixed(options, rows):
        return broken
    clear = np.full(n, NEVER)
    used = np.zeros_like(options.room)
    # Seedlings in hand hold what cells they hold, be it more than there are; nothing else may.
    for b in range(n):
        if options.rows[rows[b]].held == 1:
            take(options, used, rows[b], depth[tiers[b]], 1)
    in_hand = used.copy()
    for b in range(n):
        if options.rows[rows[b]].held == 0:
            take(options, used, rows[b], depth[tiers[b]], 1)
    for r in range(len(used)):
        for slot in range(used.shape[1]):
            room = options.room[r, slot]
            if options.holds[r]:
                room = max(room, in_hand[r, slot])
            if used[r, slot] > room:
                return broken
    queue = queued(options, rows, tiers, n + 1)
    slots, top = len(options.day), 0
    for t in range(len(queue)):
        if depth[t] == 0:
            top = t
        free = -NEVER
        for k in range(n):
            b = queue[t, k]
            if b == NONE:
                break
            row = options.rows[rows[b]]
            new = row.start >= options.today
            if row.start < free:
                return broken
            if new and not _reached(options, queue, rows, clear, top, t, row.start):
                return broken
            until = NEVER
            if queue[t, k + 1] != NONE:
                until = options.rows[rows[queue[t, k + 1]]].start - options.turnaround
            slot = options.slot[row.last]
            while slot < slots:
                day = options.day[slot]
                if day > until:
                    return broken
                can = open_[t, day]
                for r in range(len(used)):
                    cost = options.per_clear[r] + options.per_lift[r] * depth[t]
                    can = can and (cost == 0 or used[r, slot] + cost <= options.room[r, slot])
                if can and _reached(options, queue, rows, clear, top, t, day):
                    break
                slot += 1
            if slot == slots:
                return broken
            for r in range(len(used)):
                used[r, slot] += options.per_clear[r] + options.per_lift[r] * depth[t]
            clear[b] = options.day[slot]
            free = clear[b] + options.turnaround
    return clear


@compiled
def _reached(
    options: Options,
    queue: np.ndarray,
    rows: np.ndarray,
    clear: np.ndarray,
    top: int,
    t: int,
    day: int,
) -> bool:
    """Whether every vessel above a tier can be lifted on a day."""
    for above in range(top, t):
        if options.too_heavy[above]:
            return False
        for k in range(queue.shape[1]):
            b = queue[above, k]
            if b == NONE or options.rows[rows[b]].start >= day:
                break
            if heavy_on(options.rows[rows[b]], day, clear[b]):
                return False
    return True
