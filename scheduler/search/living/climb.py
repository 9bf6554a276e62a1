"""Move after move, each schedule lived in every year: kept if it brings more, or nearly as much."""

from __future__ import annotations

import numpy as np

from scheduler.base.compiled import compiled
from scheduler.lived.laid import FAR
from scheduler.lived.replay import BATCH, NONE, Schedule, live_year
from scheduler.lived.world import World
from scheduler.search.living.kinds import varied
from scheduler.search.living.known import cost, dearer, lacking
from scheduler.search.living.move import FILL, LIFT, WASTE, draw, repaired, taken_out
from scheduler.search.living.options import Options
from scheduler.search.living.settle import settled

# Share of the wish by which one year may lag by chance: where the years lived so far lag by more
# than as many would, the others are not lived.
STRAY = 0.03
FIRST_YEARS = 3


@compiled
def scheduled(options: Options, days: int, rows: np.ndarray, tiers: np.ndarray) -> Schedule:
    """Rows in tiers as a schedule to live."""
    n, count = len(rows), len(options.kind_of)
    key = np.empty(n)
    for b in range(n):
        row = options.rows[rows[b]]
        key[b] = (row.start * 4096.0 + row.sow) * 4096.0 + options.rank[tiers[b]]
    order = np.zeros(n, np.int64)
    for b in range(n):
        k = b
        while k > 0 and key[order[k - 1]] > key[b]:
            order[k] = order[k - 1]
            k -= 1
        order[k] = b
    batches = np.zeros(n, BATCH)
    due_day = np.full((n, options.due_day.shape[1]), FAR)
    due_plants = np.zeros((n, options.due_day.shape[1]), np.int64)
    asked = np.full((days, count), -1)
    for i in range(n):
        b = order[i]
        row, batch = options.rows[rows[b]], batches[i]
        batch.crop, batch.cells, batch.plants = row.crop, row.cells, row.plants
        batch.sow, batch.start, batch.tier = row.sow, row.start, tiers[b]
        batch.known, batch.factor = row.known, row.factor
        due_day[i] = options.due_day[rows[b]]
        due_plants[i] = options.due_plants[rows[b]]
        for k in range(due_day.shape[1]):
            if due_day[i, k] < days:
                asked[due_day[i, k], tiers[b]] = due_day[i, k]
    most = 0
    held = np.zeros(count, np.int64)
    for i in range(n):
        held[batches[i].tier] += 1
        most = max(most, held[batches[i].tier])
    queue = np.full((count, most + 1), NONE)
    held[:] = 0
    for i in range(n):
        t = batches[i].tier
        queue[t, held[t]] = i
        held[t] += 1
    return Schedule(batches, due_day, due_plants, queue, _by_urgency(asked))


@compiled
def _by_urgency(asked: np.ndarray) -> np.ndarray:
    """Tiers by the last day up to each day on which a pick is due in them [days, tiers]."""
    days, count = asked.shape
    order = np.zeros((days, count), np.int64)
    since = np.full(count, FAR)
    for d in range(days):
        new = d == 0
        for t in range(count):
            if asked[d, t] >= 0:
                since[t] = asked[d, t]
                new = True
        if not new:
            order[d] = order[d - 1]
            continue
        for t in range(count):
            k = t
            while k > 0 and since[order[d, k - 1]] > since[t]:
                order[d, k] = order[d, k - 1]
                k -= 1
            order[d, k] = t
    return order


@compiled
def tasted(w: World, g: int, met: np.ndarray, others: np.ndarray) -> float:
    """What a group's meals are worth [g]: `lived.worth.worth`, of one year."""
    taste, out = w.taste[0], 0.0
    other = taste.other * varied(taste, met.sum(), w.wish[g].sum())
    for week in range(len(met)):
        wish = w.wish[g, week]
        out += (1 - taste.falls) * met[week] + 2 * taste.falls * min(met[week], wish / 2)
        out += other * min(others[week], taste.least * wish)
    return out


@compiled
def lived(
    w: World, options: Options, rows: np.ndarray, tiers: np.ndarray, old: np.ndarray, slack: float
) -> np.ndarray:
    """Worth of a schedule in each year [share of the wish], less what it wastes and fills.

    ``old``: what it is to come up to, but for ``slack`` [years]; where the first years lag far
    behind, the others are not lived, and it is taken for worth nothing at all.
    """
    years, total = len(w.weather), 0.0
    for g in range(len(w.weight)):
        total += w.weight[g] * w.wish[g].sum()
    total = max(total, 1.0)
    schedule = scheduled(options, len(w.days), rows, tiers)
    work = 0.0
    for b in range(len(tiers)):
        work += FILL + 2 * LIFT * w.tiers[tiers[b]].depth - options.rows[rows[b]].bonus
    work += cost(options.known, options.rows, rows, tiers)
    picks = options.due_day.shape[1]
    day = np.zeros((len(rows), picks), np.int64)
    grams = np.zeros((len(rows), picks))
    out = np.zeros(years)
    lag = 0.0
    for y in range(years):
        grams[:] = 0.0
        met, others = live_year(w, schedule, y, day, grams)
        worth = -work
        for g in range(len(w.weight)):
            worth += w.weight[g] * (WASTE * met[g].sum() + tasted(w, g, met[g], others[g]))
        for b in range(len(rows)):
            group = w.crops[schedule.batches[b].crop].group
            if group >= 0:
                worth -= WASTE * w.weight[group] * grams[b].sum()
        out[y] = worth / total
        lag += old[y] - out[y]
        done = y + 1
        if done >= FIRST_YEARS and lag / done > slack + STRAY * np.sqrt(1 / done - 1 / years):
            return np.full(years, -np.inf)
    return out


@compiled
def climb(
    w: World,
    options: Options,
    rng: np.ndarray,
    rows: np.ndarray,
    tiers: np.ndarray,
    moves: int,
    slack: float,
    short: np.ndarray,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Some moves from a schedule.

    ``short`` [1]: what each known batch that is lacking costs [weighted g]; it goes up while some
    are, and down while none is, so that the search goes to and fro about as many as are to stay.

    Returns
    -------
    Rows, tiers and worth by year of where it stands, of the best on the way; counts of moves: all,
    that broke a rule, that were lived, that were taken.
    """
    depth = np.empty(len(w.tiers), np.int64)
    for t in range(len(depth)):
        depth[t] = w.tiers[t].depth
    nothing = np.full(len(w.weather), -np.inf)
    value = lived(w, options, rows, tiers, nothing, slack)
    best_rows, best_tiers, best = rows, tiers, value
    told = np.zeros(4, np.int64)
    total = max(w.weight @ w.wish.sum(axis=1), 1.0)
    lack = best_lack = lacking(options.known, options.rows, rows, tiers)
    for _ in range(moves):
        told[0] += 1
        touched = np.zeros(len(depth), np.bool_)
        out = taken_out(options, rng, rows, tiers, touched)
        new_rows, new_tiers = repaired(
            options,
            depth,
            w.wish,
            w.weight,
            w.taste[0],
            w.crops["group"],
            rng,
            rows[~out],
            tiers[~out],
            touched,
            short[0],
        )
        if len(new_rows) == len(rows) and ((new_rows == rows).all() and (new_tiers == tiers).all()):
            continue
        if len(settled(options, depth, w.open, new_rows, new_tiers)) < len(new_rows):
            told[1] += 1
            continue
        told[2] += 1
        now = lacking(options.known, options.rows, new_rows, new_tiers)
        fewer = (lack - now) * short[0] / total
        worth = lived(w, options, new_rows, new_tiers, value, slack + fewer)
        if worth.mean() + fewer >= value.mean() - slack * draw(rng):
            told[3] += 1
            rows, tiers, value, lack = new_rows, new_tiers, worth, now
            dearer(options.known, options.rows, rows, tiers, short)
            if lack < best_lack or (lack == best_lack and worth.mean() > best.mean()):
                best_rows, best_tiers, best, best_lack = rows, tiers, worth, lack
    return rows, tiers, value, best_rows, best_tiers, best, told
