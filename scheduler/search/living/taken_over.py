"""A plan's batches as rows of other candidates: where a search by living begins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.courses import NEVER
from scheduler.plans.model import Batch
from scheduler.schedule.assemble import Stand

NEAR = 7  # days by which a batch may be transplanted sooner or later


def taken_over(cand: Candidates, batches: Sequence[Batch]) -> list[Stand]:
    """What is most like each batch: its crop, in its tier, the days as near as can be.

    Batches that have nothing like them are left out, and so is what would stand in another's way;
    what all batches share is not looked at. Clearing is on the day of the last pick.
    """
    season, table = cand.garden.season, cand.table
    kind_of = {place: k for k, kind in enumerate(cand.kinds) for place in kind.places}
    crop, kind, start, last = (
        table[name].to_numpy(dtype=int) for name in ("crop", "kind", "transplant", "last")
    )
    number = {name: c for c, name in enumerate(cand.crop_names)}
    turnaround = cand.garden.limits.turnaround_days
    free: dict[tuple[str, int], int] = {}
    out = []
    for batch in sorted(batches, key=lambda b: (b.transplant, b.id)):
        place = (batch.column, batch.tier)
        day = season.index(batch.transplant)
        rows = np.flatnonzero(
            (crop == number.get(batch.crop, -1))
            & (kind == kind_of[place])
            & (np.abs(start - day) <= NEAR)
            & (start >= free.get(place, 0))
        )
        if not len(rows):
            continue
        row = nearest(cand, rows, batch)
        out.append(Stand(row, *place, int(last[row])))
        free[place] = int(last[row]) + turnaround
    return out


def nearest(cand: Candidates, rows: np.ndarray, batch: Batch) -> int:
    """Of some rows the one whose day of transplanting and picks are most like a batch's."""
    season = cand.garden.season
    start = cand.table["transplant"].to_numpy(dtype=int)
    day = season.index(batch.transplant)
    picks = [(season.index(p.date), p.plants) for p in batch.picks]
    away = [
        _unlike(cand.pick_day[row], cand.pick_plants[row], picks) + 2 * abs(int(start[row]) - day)
        for row in rows.tolist()
    ]
    return int(rows[int(np.argmin(away))])


def _unlike(days: np.ndarray, plants: np.ndarray, picks: Sequence[tuple[int, int]]) -> float:
    """Mean of how many days each plant is picked sooner or later [d]."""
    mine = list(_each((int(d), int(n)) for d, n in zip(days, plants, strict=True) if d < NEVER))
    theirs = list(_each(picks))
    short = abs(len(mine) - len(theirs))
    apart = sum(abs(a - b) for a, b in zip(mine, theirs, strict=False))
    return (apart + 30 * short) / max(len(mine), len(theirs), 1)


def _each(picks: Sequence[tuple[int, int]] | Iterator[tuple[int, int]]) -> Iterator[int]:
    for day, plants in picks:
        yield from [day] * plants
