"""The search of a rebalance: what to do with what is in hand, and what to grow beside it.

Produce is weighed against changes: a change of what the grower already knows must bring at least
so many grams as the grower says. The search begins around the loss (the columns where something
was dropped) with all other batches held, then widens to every column.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from ortools.sat.python import cp_model

from scheduler import objective
from scheduler.by_hand import Choice
from scheduler.carry import Carried, Item, Option
from scheduler.engine import Answer, Progress, Report, Settings, hint_all, run
from scheduler.faults import NoPlan
from scheduler.hints import complete
from scheduler.keep import Kept, Taken
from scheduler.plan import PLANNED
from scheduler.problem import Place, Problem
from scheduler.solve import Built, build_model, read_choices
from scheduler.tracks import Place as TierName

SCALE = objective.WEIGHT_SCALE


@dataclass
class Found:
    """A season to go on with.

    Attributes
    ----------
    taken : by item number; new : free candidates taken.
    produce, bound : stage 1 [weighted g], bound None unless proven; seconds : of the search.
    """

    taken: dict[int, Taken]
    new: list[Taken] = field(default_factory=list)
    produce: float = 0.0
    bound: float | None = None
    seconds: float = 0.0


def bound_of(carried: Carried, settings: Settings, seconds: float, stop: threading.Event | None
             ) -> Answer:  # fmt: skip
    """A bound for every way to go on: alike tiers pooled, stack access left out."""
    layout = _Layout(carried)
    built = build_model(layout.pooled(), access=False)
    built.model.maximize(built.produce.value())
    return run(built.model, "relaxed", settings, seconds, gap=settings.gap / 4, stop=stop)


def search(
    carried: Carried,
    kept: Kept,
    settings: Settings,
    worth: float,
    report: Report | None = None,
    stop: threading.Event | None = None,
) -> Found:
    """The best way to go on that is found in time, beginning with ``kept``.

    Parameters
    ----------
    worth : weighted grams that one change must bring (times the change's weight).

    Raises
    ------
    NoPlan
        What is in hand fits no plan at all.
    """
    began = time.monotonic()
    layout = _Layout(carried)
    best = Found(dict(kept.taken), [])
    ceiling: float | None = None
    relaxed = bound_of(carried, settings, settings.time_limit * 0.2, stop)
    if relaxed.bound is not None:
        ceiling = relaxed.bound
    valid = kept.whole
    touched = _touched(carried, kept)
    everywhere = {c.name for c in carried.garden.columns}
    rounds = [touched, everywhere] if valid and touched and touched != everywhere else [everywhere]
    for number, columns in enumerate(rounds):
        left = settings.time_limit - (time.monotonic() - began)
        share = left * (0.5 if number < len(rounds) - 1 else 0.9)
        if left < 0.2 or (stop is not None and stop.is_set()):
            break
        problem = layout.by_tier(columns, best if valid else None)
        one = _Round(carried, layout, problem, worth)
        if valid:
            one.hint(best)
        answer = one.solve(settings, share, report, stop)
        if not answer.found:
            if not valid:
                raise NoPlan(_no_way(carried, kept))
            continue
        best, valid = one.read(answer), True
        if ceiling is not None and best.produce * SCALE >= ceiling * (1 - settings.gap):
            break
    best.bound = None if ceiling is None else ceiling / SCALE
    best.seconds = time.monotonic() - began
    return best


def _no_way(carried: Carried, kept: Kept) -> str:
    lines = ["what stands and what is sown cannot be brought to an end within the garden's rules:"]
    for n, item in enumerate(carried.items):
        if item.begun and n not in kept.taken:
            b = item.batch
            lines.append(f"  {b.id} ({b.crop}) in {b.column} {b.tier} cannot be cleared in time")
    return "\n".join(lines)


def _touched(carried: Carried, kept: Kept) -> set[str]:
    """Columns in which something changes anyhow."""
    out = {carried.items[n].batch.column for n in kept.dropped}
    out |= {b.column for b in carried.gone}
    for n, item in enumerate(carried.items):
        taken = kept.taken.get(n)
        if not is_kept(item, taken):
            out.add(item.batch.column)
    out |= {place[0] for place, day in carried.opens.items() if day > carried.today}
    return {c for c in out if c}


def is_kept(item: Item, taken: Taken | None) -> bool:
    """Whether an item goes on just as it was known."""
    if taken is None or item.keep is None:
        return False
    return taken.option == item.options[item.keep] and taken.clear == item.clear


class _Layout:
    """Problems laid out from what is carried on."""

    def __init__(self, carried: Carried) -> None:
        self.c = carried
        self.kind_of = {p: k for k, kind in enumerate(carried.cand.kinds) for p in kind.places}
        self.places: list[Place] = []
        self.where: dict[TierName, int] = {}
        for column in carried.garden.columns:
            for tier in column.tiers:
                name = (column.name, tier.number)
                self.where[name] = len(self.places)
                self.places.append(Place(self.kind_of[name], 1, column.name, tier.number))
        self.kinds = carried.cand.table["kind"].to_numpy(dtype=int)
        self.start = carried.cand.table["transplant"].to_numpy(dtype=int)

    def by_tier(self, columns: set[str], best: Found | None) -> Problem:
        """Every tier a place; outside ``columns`` all is held as ``best`` has it."""
        c = self.c
        groups: list[list[tuple[int, int]]] = []
        optional: set[int] = set()
        loose: list[tuple[int, int]] = []
        for n, item in enumerate(c.items):
            options = [(self.where[o.place], o.row) for o in item.options]
            held = best is not None and item.batch.column not in columns
            taken = best.taken.get(n) if best is not None else None
            if (held or item.frozen) and taken is not None and not _seedlings(item):
                groups.append([(self.where[taken.option.place], taken.option.row)])
            elif item.begun:
                groups.append(options)
            elif item.batch.state == PLANNED:
                if not held:
                    loose += options
            else:
                if item.frozen and taken is not None and is_kept(item, taken):
                    options = [(self.where[taken.option.place], taken.option.row)]
                elif taken is None:
                    optional.add(len(groups))
                groups.append(options)
        for t in best.new if best is not None else []:
            if t.option.place[0] not in columns:
                groups.append([(self.where[t.option.place], t.option.row)])
        for p, place in enumerate(self.places):
            if place.column not in columns:
                continue
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
        self, places: tuple[Place, ...], loose: list[tuple[int, int]],
        groups: list[list[tuple[int, int]]], opens: tuple[int, ...], optional: set[int],
    ) -> Problem:  # fmt: skip
        pairs = list(loose)
        committed = []
        for group in groups:
            committed.append(tuple(range(len(pairs), len(pairs) + len(group))))
            pairs += group
        both = np.array(pairs, dtype=int).reshape(-1, 2)
        return Problem(self.c.cand, places, both[:, 0], both[:, 1], tuple(committed),
                       self.c.today, opens, frozenset(optional), self.c.stock)  # fmt: skip


def _seedlings(item: Item) -> bool:
    return not item.begun and item.batch.state != PLANNED


class _Round:
    """One model: a layout with the count of changes beside the produce."""

    def __init__(self, carried: Carried, layout: _Layout, problem: Problem, worth: float) -> None:
        self.c, self.layout, self.problem = carried, layout, problem
        self.built: Built = build_model(problem, access=True)
        self.decision = {
            (int(p), int(r)): i
            for i, (p, r) in enumerate(zip(problem.place_of, problem.row_of, strict=True))
        }
        self.same: dict[int, cp_model.IntVar] = {}
        model, v = self.built.model, self.built.v
        lost: Any = 0
        for n, item in enumerate(carried.items):
            if item.keep is None or not item.weight:
                continue
            i = self._index(item.options[item.keep])
            if i is None:
                lost = lost + item.weight
                continue
            same = model.new_bool_var(f"same{n}")
            place = int(problem.place_of[i])
            w = int(problem.slot(np.array(item.clear)))
            model.add(same <= v.take[i])
            if w < v.slots:
                model.add(same <= v.clear[False][place][w] + v.clear[True][place][w])
            self.same[n] = same
            lost = lost + item.weight * (1 - same)
        self.lost = lost
        self.expression: Any = self.built.produce.value()
        self.price = max(0, round(worth * SCALE))
        model.maximize(self.expression - self.price * lost)

    def _index(self, option: Option) -> int | None:
        return self.decision.get((self.layout.where[option.place], option.row))

    def hint(self, best: Found) -> None:
        """Begin with a season that is known to hold."""
        choices = []
        for taken in [*best.taken.values(), *best.new]:
            i = self._index(taken.option)
            if i is not None:
                choices.append(Choice(i, taken.clear))
        choices.sort(key=lambda ch: ch.clear)
        values = complete(self.built, choices)
        for n, var in self.same.items():
            values[var.index] = int(is_kept(self.c.items[n], best.taken.get(n)))
        hint_all(self.built.model, values)

    def solve(
        self, settings: Settings, seconds: float,
        report: Report | None, stop: threading.Event | None,
    ) -> Answer:  # fmt: skip
        """Most produce for the fewest changes, then least waste, then least work."""
        began = time.monotonic()
        model = self.built.model

        def reported(p: Progress) -> None:
            if report is not None:
                report(Progress(p.stage, p.seconds, p.best / SCALE, p.bound / SCALE))

        answer = run(model, objective.PRODUCE, settings, seconds * 0.7, reported,
                     gap=settings.gap / 4, stop=stop)  # fmt: skip
        if not answer.found:
            return answer
        assert answer.value is not None
        model.add(self.expression - self.price * self.lost >= math.ceil(answer.value - 0.5))
        stages: tuple[tuple[str, Any], ...] = (
            (objective.EVENNESS, self.built.produce.unevenness(model)),
            (objective.EFFORT, objective.effort(model, self.built.v)),
        )
        for name, least in stages:
            left = seconds - (time.monotonic() - began)
            if left < 0.3 or (stop is not None and stop.is_set()):
                break
            model.minimize(least + self.lost)
            hint_all(model, answer.values)
            later = run(model, name, settings, left * 0.6, None, gap=0.02, stop=stop)
            if not later.found:
                break
            answer = later
            assert later.value is not None
            model.add(least + self.lost <= math.floor(later.value + 0.5))
        return answer

    def read(self, answer: Answer) -> Found:
        """The season of a solution."""
        values = answer.values
        owner: dict[tuple[TierName, int], int] = {}
        for n, item in enumerate(self.c.items):
            for o in item.options:
                owner.setdefault((o.place, o.row), n)
        found = Found({}, [])
        for choice in read_choices(self.built, values):
            place = self.layout.places[int(self.problem.place_of[choice.decision])]
            option = Option((place.column, place.number), int(self.problem.row_of[choice.decision]))
            taken = Taken(option, choice.clear)
            item = owner.get((option.place, option.row))
            if item is None:
                found.new.append(taken)
            else:
                found.taken[item] = taken
        found.produce = _value(self.built, values)
        return found


def _value(built: Built, values: Sequence[int]) -> float:
    produce = built.produce
    return sum(
        round(produce.supply.weights[group] * SCALE) * values[served.index] / SCALE
        for (group, _), served in produce.served.items()
    )
