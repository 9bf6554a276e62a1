"""The linear program over sequences, against the same program put together anew for SciPy."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from hypothesis import strategies as st
from random_gardens import small_gardens
from scipy.optimize import linprog
from solver_case import gardens, rows_of, tiny
from stacks_case import AIMS, faults, free, random_values, search_of, shared_price
from verify_case import day

from scheduler.batches.courses import NEVER
from scheduler.garden.model import Garden
from scheduler.schedule.stages import whole_weights
from scheduler.search.columns.layout import Layout, Sequence
from scheduler.search.columns.master import Master
from scheduler.search.columns.prices import Aim, Prices
from scheduler.search.columns.pricing import Pricing
from scheduler.search.columns.search import Use
from scheduler.search.columns.whole import adopt, stands, values
from scheduler.search.solve import make_plan
from scheduler.solvers.cp_sat import Settings


def some_sequences(layout: Layout, seed: int) -> list[Sequence]:
    """Sequences by chance, an empty one of each kind among them."""
    out = [Sequence(kind, ()) for kind in range(len(layout.columns))]
    for turn in range(4):
        pricing = Pricing(layout, 3, seed + turn)
        out += [s for _, s in pricing.run(random_values(layout, seed + turn), Aim())]
    return list(dict.fromkeys(out))


def filled(layout: Layout, aim: Aim, sequences: list[Sequence]) -> Master:
    master = Master(layout, aim)
    assert [master.add(s) for s in sequences] == list(range(len(sequences)))
    assert [master.add(s) for s in sequences] == [None] * len(sequences)
    assert [master.number(s) for s in sequences] == list(range(len(sequences)))
    return master


@dataclass
class Program:
    """``most cost @ x`` with ``equal @ x = 0``, ``less @ x <= limit``, ``0 <= x <= top``."""

    cost: np.ndarray
    equal: np.ndarray
    less: np.ndarray
    limit: np.ndarray
    top: np.ndarray

    def solved(self) -> float:
        got = linprog(
            -self.cost,
            self.less,
            self.limit,
            self.equal,
            np.zeros(len(self.equal)),
            list(zip(np.zeros(len(self.top)), self.top, strict=True)),
        )
        assert got.status == 0
        return float(-got.fun)

    def proven(self, layout: Layout, prices: Prices) -> float:
        """The value prices prove, by weak duality; infinite if a sequence is worth more."""
        cells, fill, pick = (
            shared_price(layout, prices, name) for name in ("nursery cells", "fills", "picks")
        )
        y = [prices.gram, prices.wish.ravel(), prices.half.ravel(), prices.column]
        y = np.concatenate([fill, pick, *y])
        left = self.cost - self.less.T @ y - self.equal.T @ cells
        left[(left < 1e-6) & np.isinf(self.top)] = 0.0
        return float(y @ np.where(y > 0, self.limit, 0.0)) + float(
            np.where(left > 0, left * np.where(left > 0, self.top, 0.0), 0.0).sum()
        )


def program(layout: Layout, aim: Aim, sequences: list[Sequence]) -> Program:
    """The rows of `scheduler.search.columns.master`, one batch after the other from the candidates."""
    g, s, p = layout.garden, layout.supply, layout.problem
    w, k, c = layout.slots, len(s.classes), len(layout.columns)
    flows = [
        (i, a, week)
        for i, (a, first, last) in enumerate(s.classes)
        for week in range(first, last + 1)
        if s.wish[a, week] > 0
    ]
    shape = s.wish.shape
    weeks = shape[0] * shape[1]
    n = len(sequences)
    size = n + w + len(flows) + weeks
    cost, top = np.zeros(size), np.full(size, np.inf)
    equal = np.zeros((w, size))
    fill, pick, column = np.zeros((w, size)), np.zeros((w, size)), np.zeros((c, size))
    gram, wish = np.zeros((k, size)), np.zeros((weeks, size))
    half = np.zeros((weeks, size))
    table = layout.cand.table
    slot_of = {int(d): i for i, d in enumerate(p.days)}
    for i, sequence in enumerate(sequences):
        column[sequence.kind, i] = 1
        for j, row, _ in sequence.batches:
            r = int(p.row_of[row])
            sow, start, cells = (int(table[name][r]) for name in ("sow", "transplant", "cells"))
            equal[slot_of[sow], i] -= cells
            equal[slot_of[start], i] += cells
            fill[slot_of[start], i] += 1
            for d in layout.cand.pick_day[r]:
                if d < NEVER:
                    pick[slot_of[int(d)], i] += 1
            mine = s.decision == row
            np.subtract.at(gram[:, i], s.week_class[mine], s.grams[mine])
            cost[i] -= aim.uneven * s.grams[mine].sum()
            cost[i] -= aim.effort * (1 + 2 * (layout.columns[sequence.kind].numbers[j] - 1))
    for i in range(w):
        equal[i, n + i] = 1
        if i + 1 < w:
            equal[i + 1, n + i] = -1
    top[n : n + w] = g.nursery.cells
    weights = whole_weights(s.weights)[1]
    for i, (week_class, a, week) in enumerate(flows, n + w):
        at = a * shape[1] + week
        gram[week_class, i] = wish[at, i] = 1
        half[at, i] = -1
        cost[i] = aim.produce * weights[a] + aim.uneven
    for i in range(weeks):
        at = n + w + len(flows) + i
        half[i, at], cost[at], top[at] = -1, -aim.uneven, s.wish.ravel()[i] // 2
    many = 10**6
    limit = np.concatenate(
        [
            np.full(w, many if g.limits.fills_per_day is None else g.limits.fills_per_day),
            np.full(w, many if g.limits.picks_per_day is None else g.limits.picks_per_day),
            np.zeros(k),
            s.wish.ravel(),
            -(s.wish // 2).ravel(),
            layout.counts,
        ]
    ).astype(float)
    return Program(cost, equal, np.concatenate([fill, pick, gram, wish, half, column]), limit, top)


@pytest.mark.slow
@fixed(30)
@given(small_gardens(), st.sampled_from(sorted(AIMS)), st.integers(0, 10**6))
def test_value_and_prices_are_those_of_the_same_program(g: Garden, name: str, seed: int) -> None:
    """SciPy's HiGHS has the same value, and the prices prove it: no others can be better."""
    layout = Layout(rows_of(g))
    sequences = some_sequences(layout, seed)
    outside = program(layout, AIMS[name], sequences)
    master = filled(layout, Aim(), sequences)
    master.solve()
    master.turn(AIMS[name])  # as if it had been aimed there from the beginning
    prices = master.solve()
    assert prices is not None
    close = pytest.approx(outside.solved(), rel=1e-7, abs=1e-4)
    assert master.value == close
    assert outside.proven(layout, prices) == close
    assert (master.amounts >= -1e-7).all()
    # A sequence added when the aim is already there counts as one added before.
    late = filled(layout, AIMS[name], sequences)
    assert late.solve() is not None
    assert late.value == close


@fixed(20)
@given(small_gardens(), st.integers(0, 10**6))
def test_what_is_held_is_kept_and_let_go_again(g: Garden, seed: int) -> None:
    layout = Layout(rows_of(free(g, fills_per_day=None, picks_per_day=None)))
    sequences = some_sequences(layout, seed)
    master = filled(layout, Aim(), sequences)
    assert master.solve() is not None
    before = master.value
    chance = np.random.default_rng(seed)
    use = Use(layout)
    n = int(chance.integers(len(sequences)))
    fits = (use.of(sequences[n]) <= use.most).all()
    count = int(layout.counts[sequences[n].kind])
    master.hold(np.array([n]), np.array([1]))
    assert (master.solve() is not None) == fits
    if fits:
        assert master.amounts[n] >= 1 - 1e-6
        assert master.value <= before + 1e-6 * max(1.0, before)
    master.hold(np.array([n]), np.array([count + 1]))
    assert master.solve() is None
    master.hold(np.array([n]), np.array([0]))
    assert master.solve() is not None
    assert master.value == pytest.approx(before, rel=1e-7, abs=1e-4)


@pytest.mark.parametrize("limit", [1, 3])
def test_what_a_column_uses_is_counted_day_by_day(limit: int) -> None:
    """Every batch holds its cells until it is transplanted, is filled once, picked on its days.

    Half a minute a cell to sow, 12 to fill, 1 a plant to pick, 10 to clear, and 1 for the vessel
    above tier 2 at filling and at clearing.
    """
    limits = {"fills_per_day": limit, "picks_per_day": limit, "minutes_per_day": 40.0 * limit}
    g = tiny(63, 2, "AB", (0, 3), **limits)
    layout = Layout(rows_of(g))
    names, use, seen = [r.name for r in layout.resources], Use(layout), Counter[str]()
    wanted = dict(zip(names, use.most[:, 0].tolist(), strict=True))
    work = "seconds of work"
    there = {"nursery cells": g.nursery.cells, "fills": limit, "picks": limit, work: 2400 * limit}
    assert wanted == there
    table = layout.cand.table
    for sequence in some_sequences(layout, 1):
        told = dict(zip(names, use.of(sequence).tolist(), strict=True))
        days = layout.problem.days.tolist()
        for slot, date in enumerate(days):
            count: Counter[str] = Counter()
            for tier, row, clear in sequence.batches:
                at = int(layout.problem.row_of[row])
                sow, start, cells = (int(table[c].iloc[at]) for c in ("sow", "transplant", "cells"))
                count["nursery cells"] += cells * (sow <= date < start)
                count["fills"] += start == date
                picked = layout.cand.pick_plants[at][layout.cand.pick_day[at] == date]
                count["picks"] += len(picked)
                lifted = tier * ((start == date) + (clear == slot))  # tier 1 has nothing above it
                count[work] += 30 * cells * (sow == date) + 720 * (start == date) + 60 * lifted
                count[work] += 60 * int(picked.sum()) + 600 * (clear == slot)
            assert {n: told[n][slot] for n in names} == {n: count[n] for n in names}
            seen += +count
    assert min(seen[n] for n in names) > 0


@pytest.mark.slow
@fixed(24)
@given(st.one_of(gardens(), small_gardens()))
def test_whole_columns_keep_every_rule_when_given_and_when_freed_again(g: Garden) -> None:
    layout = Layout(rows_of(g))
    search = search_of(layout)
    adopt(layout, search.master, ())  # every column may stay empty
    search.settle(20)
    assert search.master.solve() is not None
    before = search.master.value
    held = search.dive(Counter())
    for columns in (1, 2, 9):
        assert held is not None
        made = stands(layout, search.master.sequences, held)
        assert faults(layout, made) == []
        # Nothing is held any more once whole columns were given, and no sequence was lost.
        assert search.master.solve() is not None
        assert search.master.value >= before - 1e-6 * max(1.0, before)
        before = search.master.value
        assert values(layout, search.master.sequences, held)[0] <= before + 1e-6 * max(1.0, before)
        held = search.again(held, columns)


@pytest.mark.parametrize("limit", [1, 3])
def test_whole_columns_may_use_all_there_is_on_a_day(limit: int) -> None:
    """So many columns of one tier, all best filled on day 10 and picked on day 30."""
    g = tiny(45, 1, "ABCD", fills_per_day=limit, picks_per_day=limit)
    g = replace(g, demands=(replace(g.demands[0], start=day(30), end=day(34)),))
    layout = Layout(rows_of(g))
    search = search_of(layout)
    adopt(layout, search.master, ())
    search.settle(20)
    made = stands(layout, search.master.sequences, search.dive(Counter()) or Counter())
    begun = Counter(int(layout.cand.table["transplant"].iloc[s.row]) for s in made)
    assert max(begun.values(), default=0) == limit


def test_alike_columns_share_a_row_and_others_have_their_own() -> None:
    layout = Layout(rows_of(tiny(60, 2, "ABC", lift_kg=9.0)))
    assert layout.counts.tolist() == [3]
    assert [c.names for c in layout.columns] == [("A", "B", "C")]
    assert layout.columns[0].numbers == (1, 2)


@pytest.mark.parametrize(
    "limits", [{"cells": 9}, {"fills_per_day": 1}, {"picks_per_day": 1}], ids=str
)
def test_freed_columns_find_the_room_that_the_others_leave(limits: dict[str, int]) -> None:
    """Seven columns, two work days a week; what is held counts against the limits."""
    layout = Layout(rows_of(tiny(63, 1, "ABCDEFG", (0, 3), **limits)))
    search = search_of(layout)
    adopt(layout, search.master, ())
    search.settle(20)
    held = search.dive(Counter())
    for columns in (1, 2, 3, 1, 2, 3):
        assert held is not None
        assert faults(layout, stands(layout, search.master.sequences, held)) == []
        held = search.again(held, columns)


ALIKE = tiny(63, 3, "ABCDE", (0, 2, 3), lift_kg=7.0)


@pytest.mark.slow
@fixed(30)
@given(st.one_of(small_gardens(), gardens(), st.just(ALIKE)), st.integers(0, 10**6))
def test_columns_to_tiers_and_back(g: Garden, seed: int) -> None:
    """Sequences of columns, their batches in tiers, and the sequences of those: the same. And
    batches to columns and back: the same in each column, but alike columns may have changed places.
    """
    layout = Layout(rows_of(g))
    sequences = some_sequences(layout, seed)
    master = filled(layout, Aim(), sequences)
    chance = np.random.default_rng(seed)
    held: Counter[int] = Counter()
    for kind, count in enumerate(layout.counts.tolist()):
        mine = [i for i, s in enumerate(sequences) if s.kind == kind]
        held.update(chance.choice(mine, count).tolist())
    made = stands(layout, master.sequences, held)
    assert len(made) == sum(n * len(sequences[i].batches) for i, n in held.items())
    plan = make_plan(g, layout.cand, made, Settings())
    scale, _ = whole_weights(layout.supply.weights)
    produce, uneven, effort = values(layout, sequences, held)
    told = {s.name: s.value for s in plan.stages}
    assert (produce / scale, effort) == pytest.approx((told["produce"], told["effort"]))
    # The best way to share produce out, for the stage; the plan's way is the growers' own.
    assert uneven <= told["evenness"]
    back = adopt(layout, master, made)
    assert back == held
    # Another order of the columns of a kind: the same columns but for their names.
    turned = {
        name: column.names[i - 1]
        for column in layout.columns
        for i, name in enumerate(column.names)
    }
    moved = [type(s)(s.row, turned[s.column], s.tier, s.clear) for s in reversed(made)]
    assert adopt(layout, master, moved) == held
    assert sorted(map(repr, stands(layout, master.sequences, back))) == sorted(map(repr, made))
    less = [s for s in made if s.column != layout.columns[0].names[0]]
    assert sum(adopt(layout, master, less).values()) == layout.counts.sum()
