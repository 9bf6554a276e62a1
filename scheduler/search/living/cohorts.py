"""A large garden planned by living some of its columns: each of the others does as one like it.

Columns that are alike are put into cohorts of about as many; one column of each is planned by
living, beside the others of the sample, with the wishes and limits cut to their share of the tiers.
What is found is done in every column of the cohort. Copies fill, pick and clear on the same days,
so whatever the whole garden has too little of in the end is left out, batch by batch.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.fixed import fixed_rows
from scheduler.garden.model import Garden, Helper
from scheduler.schedule.assemble import Stand
from scheduler.schedule.mixed import mixed
from scheduler.schedule.problem import row_by_row
from scheduler.search.columns.layout import column_kinds

TIERS = 80  # of a sample, about: as many as a search by living does well in a minute
MOST = 200  # of a sample that must have more, as each kind of column is in it


@dataclass(frozen=True)
class Cohorts:
    """Columns of a sample, and which of them each column of the garden follows.

    ``cand``: the candidates of the sample, row by row those of the garden.
    """

    cand: Candidates
    follows: Mapping[str, str]

    @property
    def columns(self) -> int:
        return len(self.cand.garden.columns)


def cohorts(cand: Candidates, tiers: int = TIERS, most: int = MOST) -> Cohorts | None:
    """The cohorts of a garden; None where a sample would have more than ``most`` tiers."""
    garden = cand.garden
    kinds = column_kinds(cand)
    each = sum(len(column.tiers) for column in garden.columns) / tiers
    follows: dict[str, str] = {}
    for kind in kinds:
        n = len(kind.names)
        count = min(max(1, round(n / max(each, 1.0))), n)
        mine = [kind.names[(2 * k + 1) * n // (2 * count)] for k in range(count)]
        for place, name in enumerate(kind.names):
            follows[name] = mine[place * count // n]
    chosen = set(follows.values())
    columns = tuple(column for column in garden.columns if column.name in chosen)
    size = sum(len(column.tiers) for column in columns)
    if size > most:
        return None
    share = size / sum(len(column.tiers) for column in garden.columns)
    part = replace(
        garden,
        columns=columns,
        demands=tuple(replace(d, grams_per_week=d.grams_per_week * share) for d in garden.demands),
        events=tuple(replace(e, grams=e.grams * share) for e in garden.events),
        nursery=replace(garden.nursery, cells=_cut(garden.nursery.cells, share)),
        limits=replace(garden.limits, **_limits(garden, share)),
    )
    small = tuple(
        replace(kind, places=tuple(p for p in kind.places if p[0] in chosen)) for kind in cand.kinds
    )
    return Cohorts(replace(cand, garden=part, kinds=small), follows)


def _cut(limit: int, share: float) -> int:
    return max(1, math.floor(limit * share + 1e-9)) if limit else 0


def _limits(garden: Garden, share: float) -> dict[str, Any]:
    limits = garden.limits
    each = limits.minutes_per_day
    return {
        "fills_per_day": None
        if limits.fills_per_day is None
        else _cut(limits.fills_per_day, share),
        "picks_per_day": None
        if limits.picks_per_day is None
        else _cut(limits.picks_per_day, share),
        "minutes_per_day": None if each is None else each * share,
        "helpers": tuple(Helper(h.name, h.days, h.minutes * share) for h in limits.helpers),
    }


def of_the_sample(them: Cohorts, made: Sequence[Stand]) -> list[Stand]:
    """What stands in the columns of the sample."""
    mine = {column.name for column in them.cand.garden.columns}
    return [stand for stand in made if stand.column in mine]


def spread(cand: Candidates, them: Cohorts, made: Sequence[Stand]) -> list[Stand]:
    """What each column of the sample does, done in all that follow it, as far as all has room."""
    by_column: dict[str, list[Stand]] = {}
    for stand in made:
        by_column.setdefault(stand.column, []).append(stand)
    everywhere = [
        replace(stand, column=column.name)
        for column in cand.garden.columns
        for stand in by_column.get(them.follows[column.name], ())
    ]
    return within(cand, everywhere)


def keeps_will(cand: Candidates, made: Sequence[Stand]) -> bool:
    """Whether all that is fixed is there, and crops are mixed as asked."""
    rows = np.array([stand.row for stand in made], dtype=int)
    fixed = all(np.isin(mine, rows).any() for _, mine in fixed_rows(cand))
    return fixed and not mixed(cand).broken(rows).any()


def within(cand: Candidates, made: Sequence[Stand]) -> list[Stand]:
    """The batches, by their start, for which there is room in what all share."""
    problem = row_by_row(cand)
    depth = {(c.name, t.number): k for c in cand.garden.columns for k, t in enumerate(c.tiers)}
    rows = np.array([stand.row for stand in made], dtype=int)
    begins = cand.table["transplant"].to_numpy(dtype=int)[rows]
    starts = problem.slot(begins)
    clears = problem.slot(np.array([stand.clear for stand in made], dtype=int))
    resources = [(r, problem.left(r).astype(float), r.table(rows)) for r in problem.resources]
    out = []
    for i in np.argsort(begins, kind="stable").tolist():
        stand, uses = made[i], []
        above = depth[stand.column, stand.tier]
        for r, room, places in resources:
            for use in places[i][places[i] >= 0].tolist():
                uses.append((room, int(r.first[use]), int(r.last[use]), float(r.amount[use])))
            uses.append((room, int(starts[i]), int(starts[i]) + 1, float(r.filling(above))))
            uses.append((room, int(clears[i]), int(clears[i]) + 1, float(r.clearing(above))))
        for room, first, last, amount in uses:
            room[first:last] -= amount
        if all((room[first:last] >= 0).all() for room, first, last, _ in uses):
            out.append(stand)
        else:
            for room, first, last, amount in uses:
                room[first:last] += amount
    return out
