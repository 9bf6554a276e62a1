"""What is planned, on days near its own: a small change, priced as one in a search by living.

The price of a row is the same in all tiers, but a batch is known in one: so the rows near its day
are there once more, for its tier alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from scheduler.batches.candidates import Candidates
from scheduler.log.tracks import Place
from scheduler.replanning.commitments import Item
from scheduler.schedule.assemble import Stand


@dataclass(frozen=True)
class NearRows:
    """Candidates with rows of their own for what lies near a planned batch.

    Attributes
    ----------
    cand : the candidates, and behind them the new rows; stands_for : of each new row the old one.
    first : number of the first new row.
    number : of the new row, by tier and old row; batch_of : the planned batch, by new row.
    """

    cand: Candidates
    stands_for: np.ndarray
    first: int
    number: Mapping[tuple[Place, int], int]
    batch_of: Mapping[int, Item]

    def offered(self, place: Place, rows: np.ndarray) -> np.ndarray:
        """Rows that may be put into a tier, each near one by its new number."""
        mine = [self.number.get((place, r), r) for r in rows.tolist()]
        return np.array(mine, dtype=rows.dtype)

    def taken(self, stands: Sequence[Stand]) -> list[Stand]:
        """A schedule of old rows in new numbers."""
        return [replace(s, row=self.number.get(((s.column, s.tier), s.row), s.row)) for s in stands]

    def given_back(self, stands: Sequence[Stand]) -> list[Stand]:
        """A schedule of new numbers in old rows."""
        return [
            s if s.row < self.first else replace(s, row=int(self.stands_for[s.row - self.first]))
            for s in stands
        ]


def near_rows(
    cand: Candidates,
    items: Sequence[Item],
    allowed: Mapping[Place, np.ndarray],
    days: int,
) -> NearRows:
    """Rows for each planned batch of its crop in its tier, planted up to ``days`` sooner or later.

    Only those that cannot stand beside it.

    Parameters
    ----------
    items : planned batches that may move; allowed : free rows by tier.
    """
    table, pause = cand.table, cand.garden.limits.turnaround_days
    crop, start, last = (table[n].to_numpy(dtype=int) for n in ("crop", "transplant", "last"))
    number: dict[tuple[Place, int], int] = {}
    batch_of: dict[int, Item] = {}
    old: list[int] = []
    for item in items:
        if item.as_known is None:
            continue
        option = item.options[item.as_known]
        known, rows = option.row, allowed.get(option.place, np.zeros(0, dtype=int))
        near = (
            (crop[rows] == crop[known])
            & (np.abs(start[rows] - start[known]) <= days)
            & (start[rows] < last[known] + pause)
            & (start[known] < last[rows] + pause)
        )
        for row in rows[near].tolist():
            if row != known and (option.place, row) not in number:
                number[option.place, row] = len(cand) + len(old)
                batch_of[len(cand) + len(old)] = item
                old.append(row)
    rows = np.array(old, dtype=int)
    more = replace(
        cand,
        table=pd.concat([table, table.iloc[rows]], ignore_index=True),
        pick_day=np.concatenate([cand.pick_day, cand.pick_day[rows]]),
        pick_plants=np.concatenate([cand.pick_plants, cand.pick_plants[rows]]),
        pick_grams=np.concatenate([cand.pick_grams, cand.pick_grams[rows]]),
    )
    return NearRows(more, rows, len(cand), number, batch_of)
