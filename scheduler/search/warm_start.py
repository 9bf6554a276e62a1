"""A plan as the first schedule of a search in the same garden, or in one that was changed a little.

Batches are found again among the candidates by crop, kind of tier, transplanting day and picks.
Of days that do the same good mostly the first work day alone is offered, and a crop is cut on the
first on which it has grown back: a further work day moves picks. There the rows of the garden as it
is are put beside the candidates of the other, so that what was offered stays offered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from scheduler.batches.candidates import Candidates
from scheduler.batches.courses import NEVER
from scheduler.batches.patterns import MOST_PICKS
from scheduler.model.build import build_model
from scheduler.plans.model import Batch
from scheduler.schedule.problem import Choice, Problem
from scheduler.search.by_hand import ByHand
from scheduler.search.fixed_first import fixed_alone, most_of
from scheduler.solvers.cp_sat import Settings, run


def rows_of(batches: Sequence[Batch], cand: Candidates) -> list[int]:
    """The candidate row of each batch; -1 where there is none."""
    season, table = cand.garden.season, cand.table
    kind_of = {place: k for k, kind in enumerate(cand.kinds) for place in kind.places}
    crop_of = {name: c for c, name in enumerate(cand.crop_names)}
    keys = table[["crop", "kind", "transplant"]].to_numpy(dtype=int).reshape(-1, 3)
    base = np.array([len(cand.kinds) + 1, NEVER], dtype=np.int64)
    numbers = (keys[:, 0] * base[0] + keys[:, 1]) * base[1] + keys[:, 2]
    order = np.argsort(numbers, kind="stable")
    sorted_numbers = numbers[order]
    out = []
    for batch in batches:
        kind, crop = kind_of.get((batch.column, batch.tier)), crop_of.get(batch.crop)
        if kind is None or crop is None or len(batch.picks) > MOST_PICKS:
            out.append(-1)
            continue
        number = (crop * base[0] + kind) * base[1] + season.index(batch.transplant)
        a, b = np.searchsorted(sorted_numbers, [number, number + 1])
        at = order[a:b]
        days, plants = np.full(MOST_PICKS, NEVER), np.zeros(MOST_PICKS, dtype=int)
        days[: len(batch.picks)] = [season.index(p.date) for p in batch.picks]
        plants[: len(batch.picks)] = [p.plants for p in batch.picks]
        same = (cand.pick_day[at] == days).all(axis=1)
        hits = at[same & (cand.pick_plants[at] == plants).all(axis=1)]
        out.append(int(hits[0]) if len(hits) else -1)
    return out


def with_rows_of(old: Candidates, cand: Candidates) -> Candidates:
    """``cand`` with those rows of ``old`` put behind that it lacks.

    Parameters
    ----------
    old : of the same tiers, crops and first day, on fewer work days: its rows keep every rule of
        the other garden as well.
    """
    lacking = np.flatnonzero(~np.isin(_keys(old), _keys(cand)))
    if not len(lacking):
        return cand
    return replace(
        cand,
        table=pd.concat([cand.table, old.table.iloc[lacking]], ignore_index=True).astype(int),
        pick_day=np.concatenate([cand.pick_day, old.pick_day[lacking]]),
        pick_plants=np.concatenate([cand.pick_plants, old.pick_plants[lacking]]),
        pick_grams=np.concatenate([cand.pick_grams, old.pick_grams[lacking]]),
    )


def _keys(cand: Candidates) -> np.ndarray:
    """One value for each row that tells crop, kind, transplanting day and picks [n]."""
    parts = [
        cand.table[["crop", "kind", "transplant"]].to_numpy(dtype=np.int64).reshape(-1, 3),
        cand.pick_day,
        cand.pick_plants,
    ]
    both = np.ascontiguousarray(np.concatenate(parts, axis=1, dtype=np.int64))
    return both.view([("", np.int64)] * both.shape[1]).reshape(-1)


def choices_of(batches: Sequence[Batch], rows: Sequence[int], problem: Problem) -> list[Choice]:
    """Batches as choices in a problem laid out by tier; those without a row are left out."""
    at = {(p.column, p.number): i for i, p in enumerate(problem.places)}
    season = problem.cand.garden.season
    mine = np.flatnonzero(np.isin(problem.row_of, [r for r in rows if r >= 0]))
    decision = {(int(problem.place_of[i]), int(problem.row_of[i])): int(i) for i in mine.tolist()}
    out = []
    for batch, row in zip(batches, rows, strict=True):
        found = decision.get((at.get((batch.column, batch.tier), -1), row))
        if found is not None:
            out.append(Choice(found, season.index(batch.clear)))
    return out


def keeps_every_rule(problem: Problem, access: bool, choices: Sequence[Choice]) -> bool:
    """Whether a schedule is one of the model's: each choice held, and its day of clearing."""
    offered_rows = np.unique(np.array([c.decision for c in choices], dtype=int))
    at = {int(old): new for new, old in enumerate(offered_rows)}
    built = build_model(problem.restricted(offered_rows), access)
    counts = np.zeros(len(offered_rows), dtype=int)
    for c in choices:
        counts[at[c.decision]] += 1
        if access:
            v = built.v
            slot = int(v.problem.slot(np.array(c.clear)))
            if slot >= v.slots or int(v.problem.days[slot]) != c.clear:
                return False
            place = int(v.problem.place_of[at[c.decision]])
            built.model.add(v.clear[False][place][slot] + v.clear[True][place][slot] == 1)
    for i, n in enumerate(counts.tolist()):
        built.model.add(built.v.take[i] == n)
    return run(built.model, "held", Settings(workers=1), 30.0, quick=True).found


def by_simple_rules(problem: Problem, access: bool = True) -> list[list[Choice]]:
    """The schedules of `scheduler.search.by_hand`; of them what the grower's will leaves."""
    if problem.committed:
        return [fixed_alone(problem, access)]
    if problem.mixed is not None:
        return [most_of(problem, access, ByHand(problem).run())]
    return [ByHand(problem).run(), ByHand(problem, forward=True).run()]
