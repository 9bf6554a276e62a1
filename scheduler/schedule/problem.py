"""The candidates laid out for a solver: places, days that count, and who uses what when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.fixed import fixed_rows
from scheduler.garden.weekly import wish
from scheduler.schedule.access import heavy_slots
from scheduler.schedule.mixed import Mixed, asks
from scheduler.schedule.mixed import mixed as mixed_of
from scheduler.schedule.resources import Resource, above, resources
from scheduler.schedule.supply import Supply, supply_of


@dataclass(frozen=True)
class Place:
    """Something that holds batches: one tier, or ``count`` tiers of a kind that are all alike."""

    kind: int
    count: int
    column: str = ""
    number: int = 0


@dataclass(frozen=True)
class Choice:
    """One decision taken: number of the decision, and the day its tier is cleared."""

    decision: int
    clear: int


@dataclass(frozen=True)
class Committed:
    """A batch that is already decided, in full or but for its picks.

    Attributes
    ----------
    column, tier : where it stands.
    rows : rows of the candidates; exactly one of them is taken. A row whose transplanting day lies
        before the first day planned stands in the tier from the start.
    """

    column: str
    tier: int
    rows: tuple[int, ...]


@dataclass(frozen=True)
class Used:
    """What batches outside a problem use of the garden, by slot [w] (work day of `Problem.days`).

    Attributes
    ----------
    shared : of each of `Problem.resources`, by name; works : whether there is work.
    effort : fills and lifts, in all.
    """

    shared: Mapping[str, np.ndarray]
    works: np.ndarray
    effort: int


@dataclass(frozen=True)
class Problem:
    """What a model is built from.

    Attributes
    ----------
    cand : the candidates.
    places : pooled kinds, or single tiers.
    place_of, row_of : for each decision its place and its candidate row [v].
    committed : batches that must be there.
    free_from : day index from which new batches may start.
    opens : for each place the day index from which it is free; empty: all from the start.
    optional : numbers of the groups of ``committed`` of which none need be taken.
    stock : what was picked before the first day planned: (group, first week, last week, grams),
        groups by position in the garden's demands, weeks in its season.
    used : what batches settled elsewhere use (`scheduler.schedule.column_subset`), or None.
    whole : it is of a whole season, so that how crops are mixed is asked.
    """

    cand: Candidates
    places: tuple[Place, ...]
    place_of: np.ndarray
    row_of: np.ndarray
    committed: tuple[tuple[int, ...], ...] = ()
    free_from: int = 0
    opens: tuple[int, ...] = ()
    optional: frozenset[int] = frozenset()
    stock: tuple[tuple[int, int, int, int], ...] = ()
    used: Used | None = None
    whole: bool = False

    def __len__(self) -> int:
        return len(self.row_of)

    def column(self, name: str) -> np.ndarray:
        """A column of the candidate table, one value a decision [v]."""
        values: np.ndarray = self.cand.table[name].to_numpy()[self.row_of]
        return values

    @cached_property
    def mixed(self) -> Mixed | None:
        """How crops are to be mixed; None where nothing is asked."""
        asked = self.whole and any(asks(d) for d in self.cand.garden.demands)
        return mixed_of(self.cand) if asked else None

    @cached_property
    def started(self) -> np.ndarray:
        """Decisions whose batch stands in its tier from before the first day planned [v]."""
        return self.column("transplant") < self.free_from

    @cached_property
    def resources(self) -> tuple[Resource, ...]:
        """What the batches share of what a work day has only so much of."""
        return resources(self)

    @cached_property
    def above(self) -> np.ndarray:
        """Vessels to lift to get at each place; of alike tiers the least there are [places]."""
        return above(self)

    @cached_property
    def heavy(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """When each decision is too heavy to lift: `access.heavy_slots` [v, v, v]."""
        return heavy_slots(self)

    def left(self, resource: Resource) -> np.ndarray:
        """How much of a resource batches outside the problem leave, by slot [w]."""
        left = resource.limits(len(self.days))
        if self.used is not None and resource.name in self.used.shared:
            left -= self.used.shared[resource.name]
        return left

    @cached_property
    def decision_of(self) -> dict[tuple[int, int], int]:
        """Number of the decision by place and candidate row."""
        pairs = zip(self.place_of.tolist(), self.row_of.tolist(), strict=True)
        return {pair: i for i, pair in enumerate(pairs)}

    @cached_property
    def days(self) -> np.ndarray:
        """Day indices on which work may be done, rising [w]; none before ``free_from``."""
        days = np.flatnonzero(self.cand.garden.season.work_mask)
        return days[days >= self.free_from]

    def slot(self, day: np.ndarray) -> np.ndarray:
        """Position in `days` of the first work day at or after each day; len(days) past the end."""
        return np.searchsorted(self.days, day, side="left")

    def restricted(self, decisions: np.ndarray) -> Problem:
        """The same problem with only these decisions (rising numbers); groups go along.

        Raises
        ------
        ValueError
            A committed group would lose all its decisions.
        """
        at = {int(old): new for new, old in enumerate(decisions)}
        groups = tuple(tuple(at[i] for i in g if i in at) for g in self.committed)
        if any(not g for n, g in enumerate(groups) if n not in self.optional):
            raise ValueError("a committed batch cannot be left out")
        small = replace(
            self, place_of=self.place_of[decisions], row_of=self.row_of[decisions], committed=groups
        )
        small.__dict__["mixed"] = self.mixed
        small.__dict__["supply"] = self.supply.restricted(
            np.asarray(decisions, dtype=int), len(self)
        )
        return small

    @cached_property
    def supply(self) -> Supply:
        """What each pick gives, grouped by produce group and weeks it can serve.

        Made anew it takes a quarter of the time for a window's model: a smaller problem gets its
        own from the larger one.
        """
        return supply_of(self)


def pooled(cand: Candidates) -> Problem:
    """Alike tiers as one place with a count: exact but for stack access, and far smaller."""
    places = tuple(Place(k, kind.count) for k, kind in enumerate(cand.kinds))
    asked = _wished(cand)
    fixed = [rows for _, rows in fixed_rows(cand)]
    for mine in fixed:
        asked[mine] = True
    rows = np.flatnonzero(asked)
    groups = tuple(tuple(np.searchsorted(rows, mine).tolist()) for mine in fixed)
    kinds = cand.table["kind"].to_numpy(dtype=int)[rows]
    return Problem(cand, places, kinds, rows, groups, whole=True)


def row_by_row(cand: Candidates, free_from: int = 0) -> Problem:
    """Every candidate a decision, alike tiers pooled: to look up what a row uses, not to solve."""
    places = tuple(Place(k, kind.count) for k, kind in enumerate(cand.kinds))
    kinds = cand.table["kind"].to_numpy(dtype=int)
    return Problem(cand, places, kinds, np.arange(len(cand)), free_from=free_from)


def _wished(cand: Candidates) -> np.ndarray:
    """Whether somebody wishes for a row's crop [n]; others would be planted in vain."""
    groups = {group for (group, _), grams in wish(cand.garden).items() if grams > 0}
    demands = [cand.garden.demand_of(name) for name in cand.crop_names]
    good = np.array([d is not None and d.group in groups for d in demands], dtype=bool)
    wished: np.ndarray = good[cand.table["crop"].to_numpy(dtype=int)]
    return wished


def by_tier(
    cand: Candidates,
    committed: Sequence[Committed] = (),
    free_from: int = 0,
    closed: Mapping[tuple[str, int], int] | None = None,
) -> Problem:
    """Every tier a place of its own: what stack access needs.

    ``closed`` names tiers that are not free before a day index. What the garden fixes is committed.
    """
    fixed = [Committed(f.column, f.tier, tuple(r.tolist())) for f, r in fixed_rows(cand)]
    committed = (*committed, *fixed)
    kind_of = {place: k for k, kind in enumerate(cand.kinds) for place in kind.places}
    places: list[Place] = []
    where: dict[tuple[str, int], int] = {}
    for column in cand.garden.columns:
        for tier in column.tiers:
            where[column.name, tier.number] = len(places)
            places.append(Place(kind_of[column.name, tier.number], 1, column.name, tier.number))
    kinds = cand.table["kind"].to_numpy(dtype=int)
    held = ~_wished(cand)
    for batch in committed:
        held[list(batch.rows)] = True
    place_of, row_of = [], []
    for p, place in enumerate(places):
        rows = np.flatnonzero((kinds == place.kind) & ~held)
        place_of.append(np.full(len(rows), p))
        row_of.append(rows)
    groups: list[tuple[int, ...]] = []
    at = sum(len(r) for r in row_of)
    for batch in committed:
        groups.append(tuple(range(at, at + len(batch.rows))))
        place_of.append(np.full(len(batch.rows), where[batch.column, batch.tier]))
        row_of.append(np.array(batch.rows, dtype=int))
        at += len(batch.rows)
    return Problem(
        cand,
        tuple(places),
        np.concatenate(place_of) if place_of else np.zeros(0, int),
        np.concatenate(row_of) if row_of else np.zeros(0, int),
        tuple(groups),
        free_from,
        tuple((closed or {}).get((p.column, p.number), 0) for p in places),
        whole=free_from == 0,
    )
