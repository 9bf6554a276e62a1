"""Batches that the grower has fixed, as rows of the candidates, and what is in their way.

A tier with a fixed batch is a kind of its own (`garden.kinds`), so a row says where it stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from crops.crop import Crop
from scheduler.batches.courses import NEVER
from scheduler.batches.patterns import Pattern
from scheduler.garden.kinds import Kind, tier_kinds
from scheduler.garden.model import Fixed, Garden

if TYPE_CHECKING:
    import pandas as pd

    from scheduler.batches.candidates import Candidates


def leave_room(
    garden: Garden,
    kinds: Sequence[Kind],
    names: Sequence[str],
    table: pd.DataFrame,
    pick_day: np.ndarray,
) -> np.ndarray:
    """Which rows of a table of candidates no fixed batch rules out [n].

    Of the fixed batch itself those that are as told stay; of others in its tier those that are
    over, with the turnaround, when it is planted, or begin after its soonest last pick.
    """
    good = np.ones(len(table), dtype=bool)
    start, last, kind = (table[c].to_numpy(dtype=int) for c in ("transplant", "last", "kind"))
    pause = garden.limits.turnaround_days
    for one, mine in _rows(garden, kinds, names, table, pick_day):
        tier = _kind_of(kinds, one)
        day = garden.season.index(one.planted_on)
        soonest = int(last[mine].min()) if mine.any() else day
        apart = (last + pause <= day) & (start < day) | (start >= soonest + max(pause, 1))
        good &= (kind != tier) | mine | apart
    return good


def told_patterns(garden: Garden, crop: Crop, kind: int, starts: np.ndarray) -> list[Pattern]:
    """Picks on the days that are told of fixed batches of a crop in a kind of tier.

    Of several picks of heads each takes as many as can be alike, the first ones one more.
    """
    out = []
    for one in (f for f in garden.fixed if f.picked_on and f.crop == crop.name):
        found = tier_kinds(garden)[kind]
        if (one.column, one.tier) not in found.places:
            continue
        days = np.full((len(starts), len(one.picked_on)), NEVER)
        days[starts == garden.season.index(one.planted_on)] = [
            garden.season.index(day) for day in one.picked_on
        ]
        holes, count = found.tier.plants, len(one.picked_on)
        each = [holes // count + (n < holes % count) for n in range(count)]
        if crop.cuts > 1:
            each = [holes] * count
        out.append(Pattern(days, np.tile(each, (len(starts), 1))))
    return out


def fixed_rows(cand: Candidates) -> list[tuple[Fixed, np.ndarray]]:
    """Each fixed batch that is still to be planted with its rows, be it none.

    One that would be sown or planted before the first of the candidates has no row.
    """
    if not cand.garden.fixed:
        return []
    found = _rows(cand.garden, cand.kinds, cand.crop_names, cand.table, cand.pick_day)
    return [(one, np.flatnonzero(mine)) for one, mine in found]


def is_fixed(cand: Candidates) -> np.ndarray:
    """Which candidates are of fixed batches [n]: no other limit leaves them out."""
    out = np.zeros(len(cand), dtype=bool)
    for _, rows in fixed_rows(cand):
        out[rows] = True
    return out


def _rows(
    garden: Garden,
    kinds: Sequence[Kind],
    names: Sequence[str],
    table: pd.DataFrame,
    pick_day: np.ndarray,
) -> Iterator[tuple[Fixed, np.ndarray]]:
    start, crop, kind = (table[c].to_numpy(dtype=int) for c in ("transplant", "crop", "kind"))
    season = garden.season
    for one in garden.fixed:
        mine = (
            (kind == _kind_of(kinds, one))
            & (crop == list(names).index(one.crop))
            & (start == season.index(one.planted_on))
        )
        if one.picked_on:
            days = np.full(pick_day.shape[1], NEVER)
            told = [season.index(day) for day in one.picked_on][: len(days)]
            days[: len(told)] = told
            mine &= (pick_day == days).all(axis=1)
        yield one, mine


def _kind_of(kinds: Sequence[Kind], one: Fixed) -> int:
    place = (one.column, one.tier)
    return next(k for k, kind in enumerate(kinds) if place in kind.places)
