"""One move of the search: some batches are taken out, and what brings most is put in their place.

The repair is greedy. What each candidate would bring in every year at once is exact but for one
thing: that no batch stands in another's way (`living.worth`). Living the schedule tells the rest.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from scheduler.base.compiled import compiled
from scheduler.batches.courses import NEVER
from scheduler.lived.replay import NONE
from scheduler.search.living.kinds import put, wanted, welcome
from scheduler.search.living.known import goes_back, staying
from scheduler.search.living.options import Options
from scheduler.search.living.settle import heavy_on, queued, take
from scheduler.search.living.worth import extra

WASTE = 0.03  # grams on the table that a gram picked in vain costs; own judgement
FILL = 5.0  # grams on the table below which a grower would not fill a tier; own judgement
LIFT = 0.5  # and for which none would lift a vessel; own judgement


@compiled
def draw(rng: np.ndarray) -> float:
    """A number from 0 to 1; the state [1] goes on (xorshift, Marsaglia 2003)."""
    x = rng[0]
    x ^= x << np.uint64(13)
    x ^= x >> np.uint64(7)
    x ^= x << np.uint64(17)
    rng[0] = x
    return float(x >> np.uint64(11)) / 9007199254740992.0


@compiled
def below(rng: np.ndarray, n: int) -> int:
    """A whole number from 0 to n - 1."""
    return min(int(draw(rng) * n), n - 1)


@compiled
def taken_out(
    options: Options, rng: np.ndarray, rows: np.ndarray, tiers: np.ndarray, touched: np.ndarray
) -> np.ndarray:
    """Which batches a move takes out [n]; ``touched``: tiers that it may fill, written."""
    n, days, count = len(rows), int(options.day[-1]) + 1, len(touched)
    out = np.zeros(n, np.bool_)
    kind = draw(rng)
    begin = options.today + below(rng, days - options.today)
    length = 7 + below(rng, 35)
    if kind < 0.55:  # what is filled within some weeks, in a few tiers
        for _ in range(1 + below(rng, min(3, count))):
            touched[below(rng, count)] = True
    elif kind < 0.7:  # one tier from a day on
        touched[below(rng, count)] = True
        length = days
    elif kind < 0.85:  # some weeks of the whole garden, thinned
        touched[:] = True
        length = 7 + below(rng, 14)
    else:  # a few batches, anywhere
        for _ in range(1 + below(rng, 4)):
            if n:
                b = below(rng, n)
                touched[tiers[b]] = True
                out[b] = options.rows[rows[b]].held == 0
        return out
    share = 1.0 if kind < 0.7 else 0.3 + 0.5 * draw(rng)
    for b in range(n):
        start = options.rows[rows[b]].start
        if touched[tiers[b]] and begin <= start < begin + length and draw(rng) < share:
            out[b] = options.rows[rows[b]].held == 0
    return out


@compiled
def _supplied(options: Options, lots: np.ndarray, row: int, by: float) -> None:
    group = options.rows[row].group
    if group < 0:
        return
    years, picks = options.grams.shape[1:]
    for y in range(years):
        for k in range(picks):
            grams = options.grams[row, y, k]
            if grams > 0:
                lots[group, y, options.first[row, y, k], options.length[row, y, k]] += by * grams


@compiled
def gain(
    options: Options,
    weight: np.ndarray,
    falls: float,
    more: np.ndarray,
    half: np.ndarray,
    row: int,
) -> float:
    """What a row brings more to the table [weighted g], mean over the years, less what it costs.

    ``more``: A of each group, year, first week and length; ``half``: A of half of the wishes, whose
    grams are worth more where the worth of a gram ``falls`` (`lived.worth`). What can be eaten in
    one week or another is a polymatroid: of the ways that serve the most of all wishes one serves
    the most of their halves as well, so the two are counted one by one.
    """
    group = options.rows[row].group
    if group < 0:
        return -FILL
    years, picks = options.grams.shape[1:]
    brought = wasted = 0.0
    for y in range(years):
        for k in range(picks):
            grams = options.grams[row, y, k]
            if grams > 0:
                there = more[group, y, options.first[row, y, k], options.length[row, y, k]]
                eaten = min(grams, there)
                brought += (1 - falls) * eaten
                wasted += grams - eaten
                if falls > 0:
                    there = half[group, y, options.first[row, y, k], options.length[row, y, k]]
                    brought += 2 * falls * min(grams, there)
    return float(weight[group] * (brought - WASTE * wasted) / years - FILL)


@compiled
def _extras(
    wish: np.ndarray, falls: float, lots: np.ndarray, more: np.ndarray, half: np.ndarray
) -> None:
    extra(wish, lots, more)
    if falls > 0:
        extra(wish / 2, lots, half)


@compiled
def _fits(options: Options, used: np.ndarray, row: int, depth: int) -> bool:
    for r in range(len(used)):
        for k in range(options.use_first.shape[2]):
            amount = options.use_amount[r, row, k]
            if amount == 0:
                continue
            for slot in range(options.use_first[r, row, k], options.use_last[r, row, k]):
                if used[r, slot] + amount > options.room[r, slot]:
                    return False
        slot = options.slot[options.rows[row].start]
        cost = options.per_fill[r] + options.per_lift[r] * depth
        if cost > 0 and used[r, slot] + cost > options.room[r, slot]:
            return False
    return True


@compiled
def _within_reach(
    options: Options, depth: np.ndarray, queue: np.ndarray, rows: np.ndarray, t: int, row: int
) -> bool:
    """Whether nothing heavy stands above when it is filled, nor it above what is filled below."""
    new = options.rows[row]
    for above in range(t - depth[t], t):
        if options.too_heavy[above]:
            return False
        for k in range(queue.shape[1]):
            b = queue[above, k]
            if b == NONE:
                break
            old = options.rows[rows[b]]
            if heavy_on(old, new.start, old.last + 1):
                return False
    lower = t + 1
    while lower < len(depth) and depth[lower] > 0:
        for k in range(queue.shape[1]):
            b = queue[lower, k]
            if b == NONE:
                break
            start = options.rows[rows[b]].start
            if start != new.start and heavy_on(new, start, new.last + 1):
                return False
        lower += 1
    return True


@compiled
def _and(numbers: np.ndarray, one: int) -> np.ndarray:
    out = np.empty(len(numbers) + 1, np.int64)
    out[:-1] = numbers
    out[-1] = one
    return out


@compiled
def _first_from(starts: np.ndarray, low: int, high: int, day: int) -> int:
    """Place of the first start that is not before a day; ``high`` if there is none."""
    while low < high:
        middle = (low + high) // 2
        if starts[middle] < day:
            low = middle + 1
        else:
            high = middle
    return low


@compiled
def repaired(
    options: Options,
    depth: np.ndarray,
    wish: np.ndarray,
    weight: np.ndarray,
    taste: Any,
    group_of: np.ndarray,
    rng: np.ndarray,
    rows: np.ndarray,
    tiers: np.ndarray,
    touched: np.ndarray,
    short: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Batches put into the free days of the tiers touched, the best one first, while they pay.

    ``taste`` : how the worth of a gram falls (`lived.worth.Taste`); ``group_of`` : of each crop.
    ``short`` : what a known batch that is lacking costs [weighted g].
    """
    falls = taste.falls
    kinds = np.zeros((len(group_of), wish.shape[1]))
    groups, years = len(wish), options.grams.shape[1]
    lots = options.stock.copy()
    used = np.zeros_like(options.room)
    for b in range(len(rows)):
        _supplied(options, lots, rows[b], 1.0)
        put(options, kinds, rows[b])
        take(options, used, rows[b], depth[tiers[b]], 1)
    more, half = np.zeros_like(lots), np.zeros_like(lots)
    other = np.zeros(groups)
    for g in range(groups):
        if g >= 0:
            other[g] = wanted(taste, kinds, group_of, wish, g)
        for y in range(years):
            _extras(wish[g], falls, lots[g, y], more[g, y], half[g, y])
    power = 0.4 + 0.6 * draw(rng)  # of the days that a tier is held: how much they count
    noise = 0.4 * draw(rng)
    rows, tiers = rows.copy(), tiers.copy()
    known = options.known
    while True:
        is_now = staying(known, options.rows, rows, tiers)
        lacks = (is_now >= 0).sum() < known.need
        queue = queued(options, rows, tiers, len(rows) + 1)
        best, best_row, best_tier = 0.0, -1, -1
        for t in range(len(touched)):
            if not touched[t]:
                continue
            kind, k, free = options.kind_of[t], 0, -NEVER
            low, high = options.kind_from[kind], options.kind_from[kind + 1]
            while True:
                b = queue[t, k] if k < queue.shape[1] else NONE
                end = NEVER if b == NONE else options.rows[rows[b]].start - options.turnaround
                at = _first_from(options.starts, low, high, free)
                while at < high and options.starts[at] <= end:
                    row = options.by_kind[at]
                    at += 1
                    it = options.rows[row]
                    if it.last > end:
                        continue
                    back = goes_back(known, is_now, t, it.crop, it.sow, it.start)
                    value = gain(options, weight, falls, more, half, row) + it.bonus
                    value += known.price if back else -known.price
                    value += short if back and lacks else 0.0
                    value -= 2 * LIFT * depth[t]
                    if it.group >= 0 and other[it.group] > 0:
                        new = welcome(options, kinds, group_of, wish[it.group], taste.least, row)
                        value += weight[it.group] * other[it.group] * new
                    if value <= 0:
                        continue
                    value /= (it.last - it.start + options.turnaround) ** power
                    value *= 1 - noise * draw(rng)
                    if (
                        value > best
                        and _fits(options, used, row, depth[t])
                        and _within_reach(options, depth, queue, rows, t, row)
                    ):
                        best, best_row, best_tier = value, row, t
                if b == NONE:
                    break
                free = options.rows[rows[b]].last + options.turnaround
                k += 1
        if best_row < 0:
            return rows, tiers
        rows, tiers = _and(rows, best_row), _and(tiers, best_tier)
        _supplied(options, lots, best_row, 1.0)
        put(options, kinds, best_row)
        take(options, used, best_row, depth[best_tier], 1)
        g = options.rows[best_row].group
        if g >= 0:
            other[g] = wanted(taste, kinds, group_of, wish, g)
        for y in range(years):
            _extras(wish[g], falls, lots[g, y], more[g, y], half[g, y])
