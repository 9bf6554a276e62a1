"""A season under way made better by living it: from ways to go on, in the years ahead.

What grows keeps its tier, and its picks move; seedlings keep their tier; what is not sown yet may
be dropped or moved, at the price of a change, and anything may be planned beside it. What a way is
worth is what the stated grower brings to the table with it (`search.living`).
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from typing import Protocol

import numpy as np

from scheduler.lived.doubt import Doubt
from scheduler.lived.now import now_of
from scheduler.lived.worth import Taste
from scheduler.log.tracks import Place as TierName
from scheduler.plans.model import FAILED, PLANNED, Batch
from scheduler.replanning.baseline import Kept, Taken
from scheduler.replanning.bounds import Bounds
from scheduler.replanning.commitments import Commitments, Item
from scheduler.replanning.layout import Layout, is_kept
from scheduler.replanning.near_rows import near_rows
from scheduler.replanning.replaced import Planting, replaced
from scheduler.replanning.search import Found, found_of
from scheduler.schedule.assemble import Stand
from scheduler.schedule.check import broken
from scheduler.schedule.problem import Choice
from scheduler.search.living import InHand, improved
from scheduler.search.living.taken_over import nearest
from scheduler.solvers.cp_sat import Report, Settings
from scheduler.years.weather_years import WeatherYears

LITTLE = 0.25  # of a change: picks moved, or planted within a week of its day; own judgement
SAME_WEEK = 7  # days
NEAR = 14  # days by which what is planned anew may be transplanted sooner or later
MOST_TIERS = 200  # of larger gardens nothing is made better so


def upheaval(commitments: Commitments, way: Found, moved: Mapping[int, str]) -> float:
    """What a way changes of what the grower knows: the nearer, the more.

    Picks moved, and a batch that is planted up to a week sooner or later in its tier, count less.
    Another crop in place of a planned one, or its crop in another tier, is one change and no two
    (`replanning.replaced`). What is gone anyway counts nothing, what is planted for it counts.

    Parameters
    ----------
    moved : which of the new batches are batches of the plan on other days: number to id.
    """
    c, season = commitments, commitments.garden.season
    start = c.cand.table["transplant"].to_numpy(dtype=int)
    day = {name: int(start[way.new[n].option.row]) for n, name in moved.items()}
    added = [_planting(c, t) for n, t in enumerate(way.new) if n not in moved]
    dropped: list[Planting] = []
    out = float(len(added))
    for n, item in enumerate(c.items):
        taken, b = way.taken.get(n), item.batch
        if is_kept(item, taken):
            continue
        if _is_dropped(item, taken) and b.id not in day:
            dropped.append(Planting(b.crop, (b.column, b.tier), season.index(b.transplant)))
        little = item.begun and taken is not None
        if b.id in day:
            little = abs(day[b.id] - season.index(b.transplant)) <= SAME_WEEK
        out += item.weight * (LITTLE if little else 1.0)
    return out - replaced(dropped, added)


def _is_dropped(item: Item, taken: Taken | None) -> bool:
    """Whether it is not planted, and nothing of it was done."""
    return taken is None and item.batch.state == PLANNED


def _planting(c: Commitments, taken: Taken) -> Planting:
    row = c.cand.table.iloc[taken.option.row]
    crop = c.cand.crop_names[int(row["crop"])]
    return Planting(crop, taken.option.place, int(row["transplant"]))


class Ahead(Protocol):
    """The years ahead: to search in, and to judge by.

    Attributes
    ----------
    planning : years to make a plan better in; seed : of the doubt in the crops' numbers; taste :
        how the worth of a gram falls.
    """

    seed: int
    taste: Taste

    @property
    def planning(self) -> WeatherYears: ...

    def grams(self, batches: Sequence[Batch]) -> float:
        """What batches bring to the table in years that made no plan [weighted g]."""


def lived_on(
    commitments: Commitments,
    kept: Kept,
    ways: Sequence[Found],
    batches: Callable[[Found], Sequence[Batch]],
    ahead: Ahead,
    price: float,
    settings: Settings,
    report: Report | None = None,
    stop: threading.Event | None = None,
) -> Found | None:
    """A way to go on that brings more in the planning years than any of ``ways``; None if none is.

    Parameters
    ----------
    kept : as the search had it; batches : of a way, all of the season.
    price : weighted grams that one change must bring.
    settings : with the time that there is.
    """
    c, garden = commitments, commitments.garden
    layout = Layout(c)
    at = layout.where
    if len(at) > MOST_TIERS or not ways:
        return None
    now = now_of(garden, batches(ways[0]), ahead.planning, Doubt(), settings.seed, c.today)
    kinds, start = layout.kinds[: c.free], layout.start[: c.free]
    allowed = [
        np.flatnonzero(
            (kinds == layout.kind_of[place]) & (start >= max(c.opens.get(place, 0), c.today))
        )
        for place in at
    ]
    known: dict[int, float] = {}
    held: set[int] = set()
    several: list[list[tuple[int, int]]] = []
    may_move = [i for i in c.items if _is_loose(i)]
    near = near_rows(c.cand, may_move, dict(zip(at, allowed, strict=True)), SAME_WEEK)
    for item in c.items:
        loose = _is_loose(item)
        if item.as_known is not None:
            option = item.options[item.as_known]
            known[option.row] = price * item.weight * (LITTLE if item.begun else 1.0)
            if loose:
                t = at[option.place]
                allowed[t] = np.append(allowed[t], option.row)
        if loose:
            continue
        held |= {o.row for o in item.options}
        if not item.frozen:
            several += _ways(c, item, at)
    # A batch moved a little is not dropped: what that costs and the little make up its price.
    for row, item in near.batch_of.items():
        known[row] = price * item.weight * (1 - LITTLE)
    hand = InHand(
        now,
        [near.offered(place, rows) for place, rows in zip(at, allowed, strict=True)],
        {row: v.batch for row, v in c.variants.items() if v.batch.id in now.number},
        {row: b for row, b in c.seedling_of.items() if b.id in now.number},
        frozenset(held),
        known,
        price,
        several,
        c.done_today,
        frozenset(name for name, crop in garden.crops.items() if crop.cuts > 1),
    )
    starts = [[Stand(t.option.row, *t.option.place, t.clear) for t in taken_of(w)] for w in ways]
    rows = dict(zip(at, allowed, strict=True))
    starts += [[*s, *_again(c, w, s, rows)] for w, s in zip(ways, starts, strict=True)]
    found = improved(
        near.cand,
        ahead.planning,
        [near.taken(s) for s in starts],
        settings,
        settings.time_limit,
        report,
        stop,
        hand,
        ahead.taste,
    )
    return _as_found(layout, kept, near.given_back(found.stands), ways[0])


def _is_loose(item: Item) -> bool:
    """Whether nothing of it is done yet, and it may move."""
    return item.batch.state == PLANNED and not item.frozen


def taken_of(way: Found) -> list[Taken]:
    """All that a way goes on with."""
    return [*way.taken.values(), *way.new]


def _again(
    c: Commitments, way: Found, stands: Sequence[Stand], allowed: Mapping[TierName, np.ndarray]
) -> list[Stand]:
    """What a way drops of what was planned, planned anew: its crop in its tier, as near as can be.

    Nothing is put in the way of ``stands``; what all batches share is not looked at.
    """
    table, season, turnaround = c.cand.table, c.garden.season, c.garden.limits.turnaround_days
    crop, start, last = (table[n].to_numpy(dtype=int) for n in ("crop", "transplant", "last"))
    busy: dict[TierName, list[tuple[int, int]]] = {}
    for s in stands:
        busy.setdefault((s.column, s.tier), []).append((int(start[s.row]), int(last[s.row])))
    kept = {c.items[n].batch.id for n in way.taken}
    lost = [item.batch for item in c.items if item.batch.id not in kept]
    out = []
    for b in sorted([*lost, *c.gone], key=lambda b: b.transplant):
        place = (b.column, b.tier)
        day = season.index(b.transplant)
        rows = allowed.get(place, np.zeros(0, dtype=int))
        rows = rows[
            (crop[rows] == c.cand.crop_names.index(b.crop)) & (np.abs(start[rows] - day) <= NEAR)
        ]
        for begin, end in busy.get(place, []):
            rows = rows[(start[rows] >= end + turnaround) | (last[rows] + turnaround <= begin)]
        if not len(rows):
            continue
        row = nearest(c.cand, rows, b)
        out.append(Stand(row, *place, int(last[row])))
        busy.setdefault(place, []).append((int(start[row]), int(last[row])))
    return out


def _ways(c: Commitments, item: Item, at: Mapping[TierName, int]) -> list[list[tuple[int, int]]]:
    """The rows with which a batch in hand can go on, tier by tier."""
    by_tier: dict[int, list[tuple[int, int]]] = {}
    for option in item.options:
        variant = c.variants.get(option.row)
        if variant is None or variant.batch.state != FAILED:
            t = at[option.place]
            by_tier.setdefault(t, []).append((option.row, t))
    return [pairs for pairs in by_tier.values() if len(pairs) > 1]


def _as_found(layout: Layout, kept: Kept, stands: Sequence[Stand], like: Found) -> Found | None:
    """Batches in tiers as a way to go on; None if it breaks a rule.

    What goes on as it was known is cleared on the day known, where that is good.
    """
    c = layout.c
    problem = layout.by_tier(kept)
    day = {
        (o.place, o.row): item.clear
        for item in c.items
        if item.as_known is not None
        for o in [item.options[item.as_known]]
    }

    def choices(as_known: bool) -> list[Choice]:
        out = []
        for s in stands:
            place = (s.column, s.tier)
            clear = day.get((place, s.row), s.clear) if as_known else s.clear
            decision = problem.decision_of[layout.where[place], s.row]
            out.append(Choice(decision, max(clear, s.clear) if as_known else clear))
        return out

    for as_known in (True, False):
        made = choices(as_known)
        if not broken(problem, True, made):
            out = found_of(problem, layout, made)
            out.seconds = like.seconds
            out.bounds = Bounds(produce=like.bounds.produce)
            return out
    return None
