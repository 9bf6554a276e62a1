"""The candidates as arrays for a compiled search: what each uses, and brings in every year."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.courses import NEVER
from scheduler.batches.fixed import is_fixed
from scheduler.lived.laid import FAR
from scheduler.lived.replay import BATCH, NONE, Schedule, live_year
from scheduler.lived.world import World
from scheduler.schedule.access import never_liftable
from scheduler.schedule.mixed import mixed, not_mixed
from scheduler.schedule.problem import row_by_row
from scheduler.search.living.in_hand import InHand
from scheduler.search.living.known import Known, known_of

ROW = np.dtype(
    [
        *((name, "i8") for name in ("crop", "kind", "cells", "plants", "sow", "start", "last")),
        *((name, "i8") for name in ("light_from", "heavy_after", "group", "known", "held")),
        *((name, "f8") for name in ("factor", "bonus")),
    ]
)


GUIDES = 8  # years that guide the repair; all are lived


class Options(NamedTuple):
    """Candidates, tiers and what there is of everything.

    Attributes
    ----------
    rows : of `ROW` [n], ``held`` if it stays whatever happens, ``bonus`` what it counts for beside
        what it brings [weighted g]; due_day, due_plants : of their picks, as in
        `lived.replay.Schedule`.
    by_kind : rows that may be put into each kind of tier by their start, one kind after the other;
        kind_from : where each begins [kinds + 1]; starts : their starts, alike.
    kind_of : of each tier; too_heavy : tiers that can never be lifted; rank : of each tier by the
        name of its column, as a plan's batches are numbered.
    grams, first, length : what each pick brings if no batch stands in another's way: [g], the
        first week it serves and how many after that [n, years, picks]; 0 g where it is not made.
    use_first, use_last, use_amount : what a row uses of each thing that is shared, from a slot to
        before another [resources, n, uses]; room : how much there is [resources, slots];
        per_fill, per_clear, per_lift : by resource; holds : whether it is held from day to day.
    slot : of each day, the first work day at or after it [days + 1]; day : of each slot.
    mix_from, mix_sum, mix_amount : what each row adds to the sums of how crops are mixed
        (`schedule.mixed`), from where to where [n + 1]; mix_count : of them; mix_together : which
        may not all be above 0.
    stock : [g] that is there already: groups, years, weeks, lengths.
    turnaround : days; today : nothing is begun before it.
    known : batches that the grower knows, to change few of.
    """

    rows: np.ndarray
    due_day: np.ndarray
    due_plants: np.ndarray
    by_kind: np.ndarray
    kind_from: np.ndarray
    starts: np.ndarray
    kind_of: np.ndarray
    too_heavy: np.ndarray
    rank: np.ndarray
    grams: np.ndarray
    first: np.ndarray
    length: np.ndarray
    use_first: np.ndarray
    use_last: np.ndarray
    use_amount: np.ndarray
    room: np.ndarray
    per_fill: np.ndarray
    per_clear: np.ndarray
    per_lift: np.ndarray
    holds: np.ndarray
    slot: np.ndarray
    day: np.ndarray
    mix_from: np.ndarray
    mix_sum: np.ndarray
    mix_amount: np.ndarray
    mix_count: int
    mix_together: np.ndarray
    stock: np.ndarray
    turnaround: int
    today: int
    known: Known


def options_of(
    cand: Candidates,
    world: World,
    guides: int = GUIDES,
    hand: InHand | None = None,
    known: Known | None = None,
    workers: int = 1,
) -> Options:
    """The candidates, each lived alone in the first ``guides`` years of ``world``.

    ``hand`` : of a season under way, what is in hand. ``known`` : batches to change few of.
    ``workers`` : years that are lived side by side.
    """
    garden, table, today = cand.garden, cand.table, int(world.today)
    places = [(c.name, t.number) for c in garden.columns for t in c.tiers]
    kind_at = {place: k for k, kind in enumerate(cand.kinds) for place in kind.places}
    names = {name: c for c, name in enumerate(garden.crops)}
    crop_at = np.array([names[name] for name in cand.crop_names], dtype=int)
    rows = np.zeros(len(cand), dtype=ROW)
    for name in ("kind", "cells", "sow", "last"):
        rows[name] = table[name].to_numpy(dtype=int)
    rows["start"] = table["transplant"].to_numpy(dtype=int)
    rows["crop"] = crop_at[table["crop"].to_numpy(dtype=int)]
    rows["group"] = world.crops["group"][rows["crop"]]
    rows["plants"] = np.array([k.tier.plants for k in cand.kinds], dtype=int)[rows["kind"]]
    rows["light_from"] = table["heavy_until"].to_numpy(dtype=int)
    rows["heavy_after"] = table["heavy_after"].to_numpy(dtype=int)
    rows["known"], rows["factor"] = NONE, 1.0
    rows["held"][is_fixed(cand)] = 1
    due_day, due_plants = _due(cand, world.crops["cuts"][rows["crop"]] > 1)
    if hand is not None:
        due_day, due_plants = hand.noted(rows, due_day, due_plants)
    kind_of = np.array([kind_at[place] for place in places], dtype=int)
    few = world._replace(weather=world.weather[:guides])
    grams, first, length = _lots(few, rows, due_day, due_plants, kind_of, workers)
    problem = row_by_row(cand, today)
    tables = [r.table(np.arange(len(cand))) for r in problem.resources]
    widest = max((t.shape[1] for t in tables), default=1)
    shape = (len(tables), len(cand), widest)
    use_first, use_last, use_amount = (np.zeros(shape, dtype=np.int32) for _ in range(3))
    for k, (r, at) in enumerate(zip(problem.resources, tables, strict=True)):
        used = (slice(None), slice(at.shape[1]))
        use_first[k][used] = np.where(at < 0, 0, r.first[at]) if len(r.first) else 0
        use_last[k][used] = np.where(at < 0, 0, r.last[at]) if len(r.first) else 0
        use_amount[k][used] = np.where(at < 0, 0, r.amount[at]) if len(r.first) else 0
    room = np.array([problem.left(r) for r in problem.resources], dtype=int)
    allowed = [np.flatnonzero(rows["kind"] == k) for k in range(len(cand.kinds))]
    if hand is not None:
        kind_of, allowed = np.arange(len(places)), list(hand.allowed)
        for k, r in enumerate(problem.resources):
            if len(problem.days) and problem.days[0] == today:
                room[k, 0] -= min(hand.done.get(r.name, 0), r.on(0))
    order = [mine[np.argsort(rows["start"][mine], kind="stable")] for mine in allowed]
    by_kind = np.concatenate([np.zeros(0, dtype=int), *order])
    lengths = int(length.max(initial=0)) + 1
    asked = mixed(cand) if hand is None else not_mixed(cand)
    return Options(
        rows,
        due_day,
        due_plants,
        by_kind,
        np.cumsum([0, *(len(mine) for mine in order)]),
        rows["start"][by_kind],
        kind_of,
        np.array([never_liftable(garden, t.vessel) for c in garden.columns for t in c.tiers]),
        np.argsort(np.array(sorted(range(len(places)), key=places.__getitem__), dtype=int)),
        grams,
        first,
        length,
        use_first,
        use_last,
        use_amount,
        room.reshape(len(tables), len(problem.days)),
        np.array([r.per_fill for r in problem.resources], dtype=int),
        np.array([r.per_clearing for r in problem.resources], dtype=int),
        np.array([r.per_lift for r in problem.resources], dtype=int),
        np.array([r.held for r in problem.resources], dtype=bool),
        problem.slot(np.arange(garden.season.days + 1)),
        problem.days,
        asked.first,
        asked.which,
        asked.amount,
        asked.count,
        asked.together,
        _stock(few, lengths),
        int(garden.limits.turnaround_days),
        today,
        known or known_of(garden),
    )


def _stock(world: World, lengths: int) -> np.ndarray:
    """What is in the kitchen this morning, by first week and how many weeks after that."""
    years, (groups, weeks) = len(world.weather), world.wish.shape
    out = np.zeros((groups, years, weeks, lengths))
    for g in range(groups if world.today else 0):
        week = int(world.next_eaten[g, world.today])
        for last in range(week, weeks):
            out[g, :, week, min(last - week, lengths - 1)] += world.stock[:years, g, last]
    return out


def _due(cand: Candidates, again: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Days of the picks, and what is due by then [n, picks]."""
    most = int((cand.pick_day < NEVER).sum(axis=1).max(initial=0))
    days, plants = cand.pick_day[:, :most], cand.pick_plants[:, :most]
    there = days < NEVER
    each = np.where(there, np.where(again[:, None], 1, plants), 0)
    due = np.concatenate([each, np.zeros((len(cand), 1), dtype=int)], axis=1).cumsum(axis=1)
    day = np.full(due.shape, FAR)
    day[:, :most] = np.where(there, days, FAR)
    return day, due


def _lots(
    world: World,
    rows: np.ndarray,
    due_day: np.ndarray,
    due_plants: np.ndarray,
    kind_of: np.ndarray,
    workers: int,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Every row lived in a tier of its own, without limits and with a kitchen never full."""
    n, years = len(rows), len(world.weather)
    one = np.array([int(np.flatnonzero(kind_of == k)[0]) for k in range(int(kind_of.max()) + 1)])
    tier = one[rows["kind"]]
    limits = world.limits.copy()
    limits["lone"] = 1
    for name in ("lift", "most_picks", "most_fills", "cells"):
        limits[name] = np.inf
    days = world.days.copy()
    days["minutes"] = np.inf
    alone = world._replace(
        today=0,
        tiers=world.tiers[tier],
        tops=np.arange(n + 1),
        key=np.ascontiguousarray(world.key[:, tier]),
        open=world.open[tier],
        limits=limits,
        days=days,
    )
    alone.tiers["depth"] = 0
    batches = np.zeros(n, dtype=BATCH)
    for name in ("crop", "cells", "plants", "sow", "start"):
        batches[name] = rows[name]
    batches["known"], batches["factor"] = NONE, rows["factor"]
    # Who lives them wants batches in the order of their sowing alone, so that few are looked at.
    order = np.argsort(rows["sow"], kind="stable")
    batches["tier"] = np.arange(n)
    batches = batches[order]
    queue = np.full((n, 2), NONE)
    queue[order, 0] = np.arange(n)
    picks = due_day.shape[1]
    day = np.full((years, n, picks), FAR)
    grams = np.zeros((years, n, picks))
    schedule = Schedule(batches, due_day[order], due_plants[order], queue, np.arange(n)[None, :])
    with ThreadPoolExecutor(workers) as pool:  # what is compiled holds no lock
        list(pool.map(lambda y: live_year(alone, schedule, y, day[y], grams[y]), range(years)))
    back = np.empty(n, dtype=int)
    back[order] = np.arange(n)
    day, grams = day[:, back].transpose(1, 0, 2), grams[:, back].transpose(1, 0, 2)
    made = (day < FAR) & (day >= world.today)
    at = np.where(made, day, 0)
    crop = rows["crop"][:, None, None]
    made = made & (world.last_week[crop, at] >= 0)  # what serves no week brings nothing
    first = np.where(made, world.first_week[crop, at], 0)
    length = np.where(made, world.last_week[crop, at] - first, 0)
    grams = np.where(made & (rows["group"] >= 0)[:, None, None], grams, 0.0)
    return (
        np.ascontiguousarray(grams, dtype=np.float32),
        np.ascontiguousarray(first, dtype=np.int16),
        np.ascontiguousarray(length, dtype=np.int16),
    )
