"""A plan that the grower knows, and what a schedule changes of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from scheduler.base.compiled import compiled
from scheduler.batches.candidates import Candidates
from scheduler.garden.model import Garden
from scheduler.plans.model import Batch
from scheduler.plans.told import told
from scheduler.schedule.assemble import Stand
from scheduler.search.living.taken_over import nearest

OLD = np.dtype(
    [
        *((name, "i8") for name in ("crop", "sow", "start")),
        *((name, "i8") for name in ("sow_first", "sow_last", "first", "last")),
    ]
)

# What a known batch that is lacking costs [weighted g]: at first, at least, at most (as much as
# any batch brings), and by how much it is changed after each step; own judgement.
SHORT_FIRST, SHORT_LEAST, SHORT_MOST, DEARER = 100.0, 5.0, 2000.0, 1.02


class Known(NamedTuple):
    """Batches that the grower knows, and what it costs to change them.

    Attributes
    ----------
    old : of `OLD`, tier by tier: crop, days, and the days told (`plans.told`); begins : where those
        of each tier begin [tiers + 1].
    need : how many of them are to stay.
    price : for each one dropped and each batch added; little : for each one that is sown or
        planted on another of the days told [weighted g].
    """

    old: np.ndarray
    begins: np.ndarray
    need: int
    price: float
    little: float


def known_of(
    garden: Garden,
    batches: Sequence[Batch] = (),
    need: int = 0,
    price: float = 0.0,
    little: float = 0.0,
) -> Known:
    """Batches of a garden's tiers and crops as arrays; the numbers are those of `Known`."""
    crops = {name: c for c, name in enumerate(garden.crops)}
    rows: list[tuple[int, ...]] = []
    begins, index = [0], garden.season.index
    for place in ((c.name, t.number) for c in garden.columns for t in c.tiers):
        mine = (b for b in batches if (b.column, b.tier) == place)
        for b in sorted(mine, key=lambda b: b.transplant):
            on = told(garden.season, b)
            days = (b.sow, b.transplant, on.sow_first, on.sow_last, on.first, on.last)
            rows.append((crops[b.crop], *map(index, days)))
        begins.append(len(rows))
    old = np.array(rows, dtype=OLD)
    return Known(old, np.array(begins, dtype=np.int64), need, float(price), float(little))


def as_known(cand: Candidates, batches: Sequence[Batch]) -> list[Stand]:
    """Each batch on its days, or on the nearest that were told; without those that have none.

    What all batches share is not looked at. Clearing is on the day of the last pick.
    """
    season, table = cand.garden.season, cand.table
    crop, kind, sow, start, last = (
        table[name].to_numpy(dtype=int) for name in ("crop", "kind", "sow", "transplant", "last")
    )
    kind_of = {place: k for k, kind in enumerate(cand.kinds) for place in kind.places}
    number = {name: c for c, name in enumerate(cand.crop_names)}
    out = []
    for b in batches:
        on = told(season, b)
        days = map(season.index, (on.sow_first, on.sow_last, on.first, on.last))
        sow_first, sow_last, first, final = days
        rows = np.flatnonzero(
            (crop == number.get(b.crop, -1))
            & (kind == kind_of[b.column, b.tier])
            & ((sow >= sow_first) & (sow <= sow_last) & (start >= first) & (start <= final))
        )
        if not len(rows):
            continue
        away = np.abs(sow[rows] - season.index(b.sow))
        away = away + np.abs(start[rows] - season.index(b.transplant))
        row = nearest(cand, rows[away == away.min()], b)
        out.append(Stand(row, b.column, b.tier, int(last[row])))
    return out


def again(known: Known, k: int, all_rows: np.ndarray, kind: int) -> np.ndarray:
    """Rows of a kind of tier that are a known batch, the nearest to its days first."""
    old = known.old[k]
    rows = np.flatnonzero(
        (all_rows["kind"] == kind)
        & (all_rows["crop"] == old["crop"])
        & (all_rows["sow"] >= old["sow_first"])
        & (all_rows["sow"] <= old["sow_last"])
        & (all_rows["start"] >= old["first"])
        & (all_rows["start"] <= old["last"])
    )
    away = np.abs(all_rows["start"][rows] - old["start"])
    away = away + np.abs(all_rows["sow"][rows] - old["sow"])
    return rows[np.argsort(away, kind="stable")]


@compiled
def same(known: Known, k: int, crop: int, sow: int, start: int) -> bool:
    """Whether what is planted in its tier is a known batch: its crop, on the days told."""
    old = known.old[k]
    if old.crop != crop or not old.sow_first <= sow <= old.sow_last:
        return False
    return bool(old.first <= start <= old.last)


@compiled
def staying(known: Known, all_rows: np.ndarray, rows: np.ndarray, tiers: np.ndarray) -> np.ndarray:
    """Which batch of a schedule each known one is [known], -1 if it is dropped.

    ``all_rows`` : of `options.ROW`; rows, tiers : the schedule. None is two others.
    """
    out = np.full(len(known.old), -1)
    for b in range(len(rows)):
        row, best, least = all_rows[rows[b]], -1, 0
        for k in range(known.begins[tiers[b]], known.begins[tiers[b] + 1]):
            away = abs(known.old[k].start - row.start)
            fits = out[k] < 0 and same(known, k, row.crop, row.sow, row.start)
            if fits and (best < 0 or away < least):
                best, least = k, away
        if best >= 0:
            out[best] = b
    return out


@compiled
def cost(known: Known, all_rows: np.ndarray, rows: np.ndarray, tiers: np.ndarray) -> float:
    """What the changes of a schedule cost [weighted g]."""
    if len(known.old) == 0:
        return 0.0
    is_now = staying(known, all_rows, rows, tiers)
    stay = moved = 0
    for k in range(len(is_now)):
        if is_now[k] >= 0:
            row = all_rows[rows[is_now[k]]]
            stay += 1
            moved += row.start != known.old[k].start or row.sow != known.old[k].sow
    changes = len(is_now) + len(rows) - 2 * stay
    return known.price * changes + known.little * moved


@compiled
def lacking(known: Known, all_rows: np.ndarray, rows: np.ndarray, tiers: np.ndarray) -> int:
    """How many known batches are changed that are to stay."""
    stay = int((staying(known, all_rows, rows, tiers) >= 0).sum())
    return max(known.need - stay, 0)


@compiled
def dearer(
    known: Known, all_rows: np.ndarray, rows: np.ndarray, tiers: np.ndarray, short: np.ndarray
) -> None:
    """Raise or lower ``short`` [1] after a step of the search."""
    if known.need == 0:
        return
    stay = (staying(known, all_rows, rows, tiers) >= 0).sum()
    if stay < known.need:
        short[0] = min(short[0] * DEARER, SHORT_MOST)
    elif stay > known.need:
        short[0] = max(short[0] / DEARER, SHORT_LEAST)


@compiled
def goes_back(known: Known, is_now: np.ndarray, tier: int, crop: int, sow: int, start: int) -> bool:
    """Whether what is planted in a tier is a known batch that was dropped, as `staying` tells."""
    for k in range(known.begins[tier], known.begins[tier + 1]):
        if is_now[k] < 0 and same(known, k, crop, sow, start):
            return True
    return False
