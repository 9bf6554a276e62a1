"""What the search over sequences is built from: candidates by slot, and columns that are alike."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.courses import NEVER
from scheduler.schedule.access import never_liftable
from scheduler.schedule.problem import Problem, pooled
from scheduler.schedule.supply import Supply


@dataclass(frozen=True)
class ColumnKind:
    """Columns that nothing can tell apart.

    Attributes
    ----------
    kinds : kind of tier (place in `Candidates.kinds`) from top to bottom.
    numbers : of the tiers; names : of the columns.
    shut : tiers (positions) that can never be reached: a vessel above is too heavy even empty.
    """

    kinds: tuple[int, ...]
    numbers: tuple[int, ...]
    names: tuple[str, ...]
    shut: frozenset[int]


@dataclass(frozen=True)
class Sequence:
    """What one column of a kind does all season.

    Attributes
    ----------
    kind : number of the column kind.
    batches : (position of the tier, row of `Layout`, slot of the clearing).
    """

    kind: int
    batches: tuple[tuple[int, int, int], ...]


class Layout:
    """Candidates by slot (work day) and the columns they may stand in.

    Attributes
    ----------
    problem : the pooled problem; a row is one of its decisions.
    start, sow, last : slot of transplanting, sowing, last pick [rows].
    heavy_from, heavy_to : slots in which the batch is too heavy to lift, end excluded [rows].
    heavy_after : too heavy while it waits to be cleared [rows].
    end : last slot on which the tier may be cleared [rows].
    again : slot on which a tier cleared on a slot may be filled again [slots + 1].
    resources : what all columns share; a use is one of a row.
    pick_row, pick_slot : one entry a pick.
    """

    def __init__(self, cand: Candidates) -> None:
        self.cand, self.garden = cand, cand.garden
        self.problem: Problem = pooled(cand)
        self.supply: Supply = self.problem.supply
        p, season, limits = self.problem, self.garden.season, self.garden.limits
        self.slots = len(p.days)
        self.kind = p.place_of
        transplant, last = p.column("transplant"), p.column("last")
        self.start, self.sow, self.last = p.slot(transplant), p.slot(p.column("sow")), p.slot(last)
        self.resources = p.resources
        self.heavy_from, self.heavy_to, self.heavy_after = p.heavy
        self.again = np.append(p.slot(p.days + limits.turnaround_days), self.slots)
        pick_day = cand.pick_day[p.row_of]
        self.pick_row, event = np.nonzero(pick_day < NEVER)
        self.pick_slot = p.slot(pick_day[self.pick_row, event])
        self.end = np.full(len(p), self.slots - 1)
        for k, kind in enumerate(cand.kinds):
            mine = np.flatnonzero(self.kind == k)
            for span in kind.tier.available:
                first = season.index(span.start)
                final = min(season.index(span.end), season.days - 1)
                inside = mine[(transplant[mine] >= first) & (transplant[mine] <= final)]
                slot = int(np.searchsorted(p.days, final, side="right")) - 1
                self.end[inside] = np.maximum(slot, self.last[inside])
        self.columns = column_kinds(cand)
        self.counts = np.array([len(c.names) for c in self.columns])
        self.access = limits.lift_kg is not None

    def __len__(self) -> int:
        return len(self.kind)

    @cached_property
    def by_kind(self) -> list[np.ndarray]:
        """Rows of each kind of tier, by their start."""
        order = np.argsort(self.start, kind="stable")
        return [order[self.kind[order] == k] for k in range(len(self.cand.kinds))]

    @cached_property
    def grams(self) -> np.ndarray:
        """What a row gives in all, as far as somebody wishes for it [g, rows]."""
        return np.bincount(self.supply.decision, self.supply.grams, len(self)).astype(int)

    @cached_property
    def picks_of(self) -> tuple[np.ndarray, np.ndarray]:
        """Slots of picks by row, and where each row's begin [rows + 1]."""
        order = np.argsort(self.pick_row, kind="stable")
        ends = np.searchsorted(self.pick_row[order], np.arange(len(self) + 1))
        return self.pick_slot[order], ends

    @cached_property
    def gives(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Produce classes and grams by row, and where each row's begin [rows + 1]."""
        s = self.supply
        order = np.argsort(s.decision, kind="stable")
        ends = np.searchsorted(s.decision[order], np.arange(len(self) + 1))
        return s.week_class[order], s.grams[order], ends


def column_kinds(cand: Candidates) -> tuple[ColumnKind, ...]:
    """Columns that are alike from top to bottom, put together."""
    kind_of = {place: k for k, kind in enumerate(cand.kinds) for place in kind.places}
    garden = cand.garden
    groups: dict[tuple[tuple[int, ...], tuple[int, ...]], list[str]] = {}
    for column in garden.columns:
        kinds = tuple(kind_of[column.name, tier.number] for tier in column.tiers)
        numbers = tuple(tier.number for tier in column.tiers)
        groups.setdefault((kinds, numbers), []).append(column.name)
    out = []
    for (kinds, numbers), names in groups.items():
        heavy = [
            j for j, k in enumerate(kinds) if never_liftable(garden, cand.kinds[k].tier.vessel)
        ]
        shut = frozenset(j for j in range(len(kinds)) if heavy and j > min(heavy))
        out.append(ColumnKind(kinds, numbers, tuple(names), shut))
    return tuple(out)
