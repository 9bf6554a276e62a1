"""The candidates laid out for a solver: places, days that count, and who uses what when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.courses import NEVER
from scheduler.batches.fixed import fixed_rows
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.schedule.access import heavy_slots
from scheduler.schedule.resources import Resource, above, resources


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

    def __len__(self) -> int:
        return len(self.row_of)

    def column(self, name: str) -> np.ndarray:
        """A column of the candidate table, one value a decision [v]."""
        values: np.ndarray = self.cand.table[name].to_numpy()[self.row_of]
        return values

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
        return _supply(self)


@dataclass(frozen=True)
class Supply:
    """Picks grouped by (produce group, first week, last week) they can serve.

    Attributes
    ----------
    weeks : ISO weeks of the season; groups : produce groups; weights : worth of a gram.
    wish : [g], groups x weeks.
    classes : (group, first week, last week) positions.
    decision, week_class, grams : triplets: decision gives grams to class.
    given : grams of each class that are there whatever is decided.
    """

    weeks: tuple[str, ...]
    groups: tuple[str, ...]
    weights: tuple[float, ...]
    wish: np.ndarray
    classes: tuple[tuple[int, int, int], ...]
    decision: np.ndarray
    week_class: np.ndarray
    grams: np.ndarray
    given: np.ndarray

    def restricted(self, decisions: np.ndarray, total: int) -> Supply:
        """The same with only these of ``total`` decisions; classes that nothing gives to go."""
        at = np.full(total, -1)
        at[decisions] = np.arange(len(decisions))
        decision = at[self.decision]
        mine = decision >= 0
        # By decision, as if made anew.
        order = np.argsort(decision[mine], kind="stable")
        return replace(
            self,
            decision=decision[mine][order],
            week_class=self.week_class[mine][order],
            grams=self.grams[mine][order],
        )._without_idle()

    def with_stock(self, stock: Sequence[tuple[int, int, int, int]]) -> Supply:
        """The same with more that is there whatever is decided, as in `Problem.stock`."""
        classes = sorted({*self.classes, *((g, a, b) for g, a, b, _ in stock)})
        at = {k: n for n, k in enumerate(classes)}
        new = np.array([at[k] for k in self.classes], dtype=int)
        given = np.zeros(len(classes), dtype=int)
        given[new] = self.given
        for group, first, last, grams in stock:
            given[at[group, first, last]] += grams
        return replace(self, classes=tuple(classes), week_class=new[self.week_class], given=given)

    def _without_idle(self) -> Supply:
        used = self.given > 0
        used[self.week_class] = True
        at = np.cumsum(used) - 1
        return replace(
            self,
            classes=tuple(k for k, u in zip(self.classes, used, strict=True) if u),
            week_class=at[self.week_class],
            given=self.given[used],
        )


NO_WEEK = (1, 0)  # first and last week of what serves none: there is no week between them


def _supply(problem: Problem) -> Supply:
    cand, garden = problem.cand, problem.cand.garden
    weeks = season_weeks(garden.season)
    at = {w: i for i, w in enumerate(weeks)}
    groups = tuple(d.group for d in garden.demands)
    want = np.zeros((len(groups), len(weeks)), dtype=int)
    for (group, week), grams in wish(garden).items():
        want[groups.index(group), at[week]] = grams
    # Weeks served, by crop and pick day, looked up once.
    n_days = garden.season.days
    first = np.zeros((len(cand.crop_names), n_days), dtype=int)
    last = np.zeros((len(cand.crop_names), n_days), dtype=int)
    group_of = np.full(len(cand.crop_names), -1)
    for c, name in enumerate(cand.crop_names):
        demand = garden.demand_of(name)
        if demand is not None:
            group_of[c] = groups.index(demand.group)
        life = garden.crops[name].storage_life
        for i in range(n_days):
            found = weeks_served(garden.season.date(i), life, garden.event_weeks(name))
            served = [at[w] for w in found if w in at]
            # A pick that comes too late for an event, and does not keep, serves no week.
            first[c, i], last[c, i] = (served[0], served[-1]) if served else NO_WEEK
    crop = problem.column("crop")
    days, grams = cand.pick_day[problem.row_of], cand.pick_grams[problem.row_of]
    v, e = np.nonzero((days < NEVER) & (grams > 0))
    day = days[v, e]
    decisions = group_of[crop[v]] >= 0
    v, e, day = v[decisions], e[decisions], day[decisions]
    key = np.stack([group_of[crop[v]], first[crop[v], day], last[crop[v], day]], axis=1)
    stock = np.array(problem.stock, dtype=int).reshape(-1, 4)
    key = np.concatenate([key, stock[:, :3]])
    if len(key):
        unique, inverse = np.unique(key, axis=0, return_inverse=True)
    else:
        unique, inverse = np.zeros((0, 3), int), np.zeros(0, int)
    inverse = inverse.reshape(-1)
    given = np.zeros(len(unique), dtype=int)
    np.add.at(given, inverse[len(v) :], stock[:, 3])
    return Supply(
        weeks=tuple(weeks),
        groups=groups,
        weights=tuple(d.weight for d in garden.demands),
        wish=want,
        classes=tuple((int(a), int(b), int(c)) for a, b, c in unique),
        decision=v,
        week_class=inverse[: len(v)],
        grams=grams[v, e],
        given=given,
    )


def pooled(cand: Candidates) -> Problem:
    """Alike tiers as one place with a count: exact but for stack access, and far smaller."""
    places = tuple(Place(k, kind.count) for k, kind in enumerate(cand.kinds))
    asked = _wished(cand)
    fixed = [rows for _, rows in fixed_rows(cand)]
    for mine in fixed:
        asked[mine] = True
    rows = np.flatnonzero(asked)
    groups = tuple(tuple(np.searchsorted(rows, mine).tolist()) for mine in fixed)
    return Problem(cand, places, cand.table["kind"].to_numpy(dtype=int)[rows], rows, groups)


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
    )
