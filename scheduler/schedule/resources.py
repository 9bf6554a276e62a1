"""What all batches share: the one table of what there is only so much of on a work day.

A rule that limits a day (nursery cells, fills, picks, ...) is one row here. The solver's rules, the
arithmetic check, the rules of thumb, the parts of a large garden and the rows, prices and bound of
whole columns all go through this table; none of them names a resource. `scheduler.verify` says each
rule once more in its own words.

A decision's uses are known with it (sown, picked), by slot (work day of `Problem.days`); what a
filling, a clearing or a vessel lifted for either takes is the same for all.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from scheduler.batches.courses import NEVER
from scheduler.garden.placed import moving_minutes
from scheduler.schedule import effort

if TYPE_CHECKING:
    from scheduler.schedule.problem import Problem


@dataclass(frozen=True)
class Resource:
    """One thing that all batches share.

    Attributes
    ----------
    name : as in a sentence: "at most 24 nursery cells".
    limit : how much there is on a work day, or on the one with the most.
    by_slot : how much there is on each work day, where it is not the same on all [slots].
    decisions : of the problem; held : from one event to another, or used on its day alone.
    which, first, last, amount : one entry a use: the decision (rising), the slot on which it
        begins, the slot on which it is over, how much [uses].
    begun : a use that has begun already: it takes what it takes, be it more than there is;
        nothing else may be begun beside it until there is room again [uses].
    per_fill, per_clearing, per_lift : what a filling, a clearing, and each vessel lifted for
        either take on their day.
    """

    name: str
    limit: int
    decisions: int
    held: bool
    which: np.ndarray
    first: np.ndarray
    last: np.ndarray
    amount: np.ndarray
    begun: np.ndarray
    per_fill: int = 0
    per_clearing: int = 0
    per_lift: int = 0
    by_slot: np.ndarray | None = None

    def limits(self, slots: int) -> np.ndarray:
        """How much there is, by slot [slots]."""
        return np.full(slots, self.limit) if self.by_slot is None else self.by_slot.copy()

    def on(self, slot: int) -> int:
        """How much there is on a slot; past the end as much as on any."""
        if self.by_slot is None or slot >= len(self.by_slot):
            return self.limit
        return int(self.by_slot[slot])

    @cached_property
    def ends(self) -> np.ndarray:
        """Where each decision's uses begin [decisions + 1]."""
        return np.searchsorted(self.which, np.arange(self.decisions + 1))

    def table(self, decisions: np.ndarray) -> np.ndarray:
        """Places of the uses of each of some decisions, a row each; -1 fills the rest [n, most]."""
        count = self.ends[decisions + 1] - self.ends[decisions]
        at = np.arange(int(count.max(initial=0)))
        return np.where(at < count[:, None], self.ends[decisions][:, None] + at, -1)

    def uses_of(self, decisions: np.ndarray) -> np.ndarray:
        """Places of all uses of some decisions, one decision after the other."""
        return spans(self.ends, decisions)

    def level(self, uses: np.ndarray, slots: int) -> np.ndarray:
        """How much some uses take, by slot [slots]; what lies past the end is left out."""
        change = np.zeros(slots + 1, dtype=int)
        np.add.at(change, np.minimum(self.first[uses], slots), self.amount[uses])
        np.add.at(change, np.minimum(self.last[uses], slots), -self.amount[uses])
        return np.cumsum(change)[:slots]

    def filling(self, above: np.ndarray | int) -> np.ndarray | int:
        """What filling a tier with ``above`` vessels on it takes."""
        return self.per_fill + self.per_lift * above

    def clearing(self, above: np.ndarray | int) -> np.ndarray | int:
        """What clearing it takes."""
        return self.per_clearing + self.per_lift * above

    @property
    def services(self) -> bool:
        """Whether fillings, clearings or lifts take anything."""
        return bool(self.per_fill or self.clears)

    @property
    def clears(self) -> bool:
        """Whether a clearing takes anything: then its day matters."""
        return bool(self.per_clearing or self.per_lift)


def spans(ends: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Places of all entries of ``rows``, where row r's lie from ends[r] to ends[r + 1]."""
    counts = ends[rows + 1] - ends[rows]
    if not len(rows):
        return np.zeros(0, dtype=int)
    offsets = np.repeat(ends[rows] - np.concatenate([[0], np.cumsum(counts)[:-1]]), counts)
    at: np.ndarray = np.arange(int(counts.sum())) + offsets
    return at


def nursery_cells(problem: Problem) -> Resource | None:
    """Cells are held from sowing to the day of transplanting, when they are free again."""
    fresh = np.flatnonzero(~problem.started)
    sow, start = problem.column("sow")[fresh], problem.column("transplant")[fresh]
    return Resource(
        "nursery cells",
        int(problem.cand.garden.nursery.cells),
        len(problem),
        True,
        fresh,
        problem.slot(sow),
        problem.slot(start),
        problem.column("cells")[fresh].astype(int),
        sow < problem.free_from,
    )


def fills(problem: Problem) -> Resource | None:
    """Vessels filled on a day."""
    limit = problem.cand.garden.limits.fills_per_day
    none = np.zeros(0, dtype=int)
    return (
        None
        if limit is None
        else Resource(
            "fills",
            limit,
            len(problem),
            False,
            none,
            none,
            none,
            none,
            none.astype(bool),
            per_fill=1,
        )
    )


def picks(problem: Problem) -> Resource | None:
    """Batches picked from on a day."""
    limit = problem.cand.garden.limits.picks_per_day
    if limit is None:
        return None
    days = problem.cand.pick_day[problem.row_of]
    which, event = np.nonzero(days < NEVER)
    slot = problem.slot(days[which, event])
    one = np.ones(len(which), dtype=int)
    return Resource("picks", limit, len(problem), False, which, slot, slot + 1, one, one < 0)


def minutes(problem: Problem) -> Resource | None:
    """Work on a day, in whole seconds begun, so that it never comes to more than the limit."""
    limits = problem.cand.garden.limits
    if not limits.timed:
        return None
    labour = limits.labour
    days = problem.cand.pick_day[problem.row_of]
    picked, event = np.nonzero(days < NEVER)
    fresh = np.flatnonzero(problem.column("sow") >= problem.free_from)
    which = np.concatenate([fresh, picked])
    slot = problem.slot(np.concatenate([problem.column("sow")[fresh], days[picked, event]]))
    amount = np.concatenate(
        [
            _seconds(labour.sow * problem.column("cells")[fresh]),
            _seconds(labour.pick * problem.cand.pick_plants[problem.row_of[picked], event]),
        ]
    )
    order = np.argsort(which, kind="stable")
    slot, which, amount = slot[order], which[order], amount[order]
    per_fill, per_clearing, per_lift = (
        int(_seconds(np.array(t))) for t in (labour.fill, labour.clear, labour.lift)
    )
    season = problem.cand.garden.season
    weekdays = [season.date(day).weekday() for day in problem.days]
    most = np.array([math.floor(60 * (limits.minutes_on(k) or 0.0) + 1e-6) for k in weekdays], int)
    moving = moving_minutes(problem.cand.garden)  # first on its day: the rest is for the others
    for slot_, day in enumerate(problem.days):
        spent = math.ceil(60 * moving.get(season.date(day), 0.0) - 1e-6)
        most[slot_] = max(most[slot_] - spent, 0)
    return Resource(
        "seconds of work",
        int(most.max(initial=0)),
        len(problem),
        False,
        which,
        slot,
        slot + 1,
        amount,
        which < 0,
        per_fill,
        per_clearing,
        per_lift,
        most if limits.helpers or moving else None,
    )


def _seconds(minutes: np.ndarray) -> np.ndarray:
    return np.ceil(60 * minutes - 1e-6).astype(int)


# One row a rule; where the garden has no such limit a row is left out.
TABLE: tuple[Callable[[Problem], Resource | None], ...] = (nursery_cells, fills, picks, minutes)


def resources(problem: Problem) -> tuple[Resource, ...]:
    """What the batches of a problem share, row by row of `TABLE`."""
    return tuple(r for row in TABLE if (r := row(problem)) is not None)


def above(problem: Problem) -> np.ndarray:
    """Vessels to lift to get at each place; of alike tiers the least there are [places]."""
    return np.array(
        [
            effort.above(p.number or min(n for _, n in problem.cand.kinds[p.kind].places))
            for p in problem.places
        ],
        dtype=int,
    )
