"""Commitments, laid out for a solver: tier by tier, or alike tiers pooled for a bound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduler.log.tracks import Place as TierName
from scheduler.plans.model import PLANNED
from scheduler.replanning.baseline import Kept, Taken
from scheduler.replanning.commitments import Commitments, Item
from scheduler.schedule.problem import Place, Problem, Used


def is_kept(item: Item, taken: Taken | None) -> bool:
    """Whether an item goes on just as it was known."""
    if taken is None or item.as_known is None:
        return False
    return taken.option == item.options[item.as_known] and taken.clear == item.clear


class Layout:
    """Problems laid out from commitments."""

    def __init__(self, commitments: Commitments) -> None:
        self.c = commitments
        self.kind_of = {p: k for k, kind in enumerate(commitments.cand.kinds) for p in kind.places}
        self.places: list[Place] = []
        self.where: dict[TierName, int] = {}
        for column in commitments.garden.columns:
            for tier in column.tiers:
                name = (column.name, tier.number)
                self.where[name] = len(self.places)
                self.places.append(Place(self.kind_of[name], 1, column.name, tier.number))
        self.kinds = commitments.cand.table["kind"].to_numpy(dtype=int)
        self.start = commitments.cand.table["transplant"].to_numpy(dtype=int)

    def by_tier(self, kept: Kept) -> Problem:
        """Every tier a place of its own. What is frozen stays as ``kept`` has it."""
        c = self.c
        groups: list[list[tuple[int, int]]] = []
        optional: set[int] = set()
        loose: list[tuple[int, int]] = []
        for n, item in enumerate(c.items):
            taken = kept.taken.get(n)
            options = [(self.where[o.place], o.row) for o in item.options]
            if item.frozen and taken is not None and is_kept(item, taken):
                groups.append([(self.where[taken.option.place], taken.option.row)])
            elif item.batch.state == PLANNED:
                loose += options
            else:
                if not item.begun and taken is None:  # seedlings no tier could be found for yet
                    optional.add(len(groups))
                groups.append(options)
        for p, place in enumerate(self.places):
            rows = np.flatnonzero(self.kinds[: c.free] == place.kind)
            rows = rows[self.start[rows] >= c.opens.get((place.column, place.number), 0)]
            loose += [(p, int(r)) for r in rows]
        opens = tuple(c.opens.get((p.column, p.number), 0) for p in self.places)
        return self._problem(tuple(self.places), loose, groups, opens, optional)

    def pooled(self) -> Problem:
        """Alike tiers as one place: a relaxation of every layout by tier."""
        c = self.c
        places = tuple(Place(k, kind.count) for k, kind in enumerate(c.cand.kinds))
        groups: list[list[tuple[int, int]]] = []
        optional: set[int] = set()
        loose = [(int(self.kinds[r]), r) for r in range(c.free)]
        for item in c.items:
            options = list(dict.fromkeys((self.kind_of[o.place], o.row) for o in item.options))
            if item.batch.state == PLANNED:
                loose += options
                continue
            if not item.begun:
                optional.add(len(groups))
            groups.append(options)
        return self._problem(places, loose, groups, (), optional)

    def _problem(
        self,
        places: tuple[Place, ...],
        loose: list[tuple[int, int]],
        groups: list[list[tuple[int, int]]],
        opens: tuple[int, ...],
        optional: set[int],
    ) -> Problem:
        pairs = list(loose)
        committed = []
        for group in groups:
            committed.append(tuple(range(len(pairs), len(pairs) + len(group))))
            pairs += group
        both = np.array(pairs, dtype=int).reshape(-1, 2)
        problem = Problem(
            self.c.cand,
            places,
            both[:, 0],
            both[:, 1],
            tuple(committed),
            self.c.today,
            opens,
            frozenset(optional),
            self.c.stock,
        )
        return replace(problem, used=self._done_today(problem))

    def _done_today(self, problem: Problem) -> Used | None:
        """What was filled and picked on the day itself, before it is planned again."""
        counts = self.c.done_today
        done = {r.name: min(counts.get(r.name, 0), r.on(0)) for r in problem.resources}
        if not any(done.values()) or not len(problem.days) or problem.days[0] != self.c.today:
            return None
        none = np.zeros(len(problem.days), dtype=int)
        first = np.eye(1, len(none), dtype=int)[0]
        return Used({name: count * first for name, count in done.items()}, none > 0, 0)
