"""What whole columns are found at given values of their batches: the rules kept, nothing too good."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import combinations, pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from hypothesis import strategies as st
from ortools.sat.python import cp_model
from random_gardens import small_gardens
from solver_case import gardens, rows_of, span, tiny
from stacks_case import faults, free, one_column, random_values

from scheduler.garden.model import Garden, Nursery
from scheduler.model.build import build_model
from scheduler.schedule.problem import by_tier
from scheduler.search.columns.layout import Layout, Sequence
from scheduler.search.columns.prices import Aim, lifts
from scheduler.search.columns.pricing import Pricing, _best
from scheduler.search.columns.whole import values
from scheduler.search.layouts import access_matters
from scheduler.solvers.cp_sat import Settings, run

WIDE = 10**6  # of all that columns share


@given(st.integers(0, 10**6))
@fixed(150)
def test_the_best_batches_of_a_tier_are_the_best_of_all_sets(seed: int) -> None:
    """Against every subset in which each batch begins when the one before has left the tier."""
    chance = np.random.default_rng(seed)
    slots, copies, n = 9, 3, int(chance.integers(0, 15))
    start, which = chance.integers(0, slots, n), chance.integers(0, copies, n)
    order = np.lexsort((which, start))
    start, which = start[order], which[order]
    again = np.minimum(start + chance.integers(1, 6, n), slots)
    worth = chance.integers(1, 9, n).astype(float)
    at = _best(_slots(slots), copies, which, start, again, worth)
    assert len(set(at.tolist())) == len(at)
    for copy in range(copies):
        mine = np.flatnonzero(which == copy).tolist()
        best = max(
            sum(worth[list(some)])
            for k in range(len(mine) + 1)
            for some in combinations(mine, k)
            if all(start[b] >= again[a] for a, b in pairwise(some))
        )
        chosen = sorted(i for i in at.tolist() if which[i] == copy)
        assert all(start[b] >= again[a] for a, b in pairwise(chosen))
        assert sum(worth[chosen]) == best


def _slots(slots: int) -> Any:
    return SimpleNamespace(slots=slots)


def lone_column(g: Garden, **limits: Any) -> Garden:
    """The first column alone; nothing is short but time, room in the tiers and strength to lift."""
    return free(
        replace(g, columns=g.columns[:1], nursery=Nursery(WIDE, g.nursery.temperature)),
        fills_per_day=None,
        picks_per_day=None,
        **limits,
    )


def most(layout: Layout, value: np.ndarray, aim: Aim) -> float:
    """The most a column can be worth, by CP-SAT from its own model of every rule."""
    cand = layout.cand
    problem = by_tier(cand)
    built = build_model(problem, access_matters(cand))
    at = {int(row): i for i, row in enumerate(layout.problem.row_of)}
    built.model.maximize(
        sum(
            int(value[at[row]] - lifts(aim, problem.places[place].number)) * var
            for var, row, place in zip(
                built.v.take, problem.row_of.tolist(), problem.place_of.tolist(), strict=True
            )
        )
    )
    answer = run(built.model, "value", Settings(workers=1), 30.0)
    assert answer.status == cp_model.OPTIMAL
    assert answer.value is not None
    return answer.value


@fixed(45)
@given(st.one_of(gardens(), small_gardens()), st.integers(0, 10**6), st.sampled_from([0, 3]))
def test_a_column_keeps_the_rules_and_is_no_better_than_the_best(
    g: Garden, seed: int, effort: int
) -> None:
    """Never above the optimum; at it where a tier stands alone or nothing is too heavy to lift."""
    layout = Layout(rows_of(lone_column(g)))
    if not len(layout):
        return
    value, aim = random_values(layout, seed), Aim(1, 0, effort)
    top = most(layout, value, aim)
    found = Pricing(layout, 6, seed).run(value, aim, sweeps=3)
    assert len(found) == 6
    for worth, sequence in found:
        assert faults(layout, one_column(layout, sequence)) == []
        assert worth == pytest.approx(Pricing(layout, 1, 0).worth(sequence, value, aim))
        assert worth <= top + 1e-6
        if len(layout.columns[0].kinds) == 1 or not access_matters(layout.cand):
            assert worth == pytest.approx(top)


@pytest.mark.slow
@fixed(50)
@given(
    st.one_of(gardens(), small_gardens()),
    st.integers(0, 10**6),
    st.sampled_from([4.0, 6.0, 8.0, 10.0]),
)
def test_every_copy_of_every_column_keeps_the_rules_of_lifting(
    g: Garden, seed: int, lift: float
) -> None:
    """Many columns at once, each with its own tiers, judged by `scheduler.schedule.check`."""
    layout = Layout(
        rows_of(
            free(
                replace(g, nursery=Nursery(WIDE, g.nursery.temperature)),
                lift_kg=lift,
                fills_per_day=None,
                picks_per_day=None,
            )
        )
    )
    value = random_values(layout, seed)
    for sweeps in (1, 3):
        for _, sequence in Pricing(layout, 4, seed).run(value, Aim(), sweeps):
            assert faults(layout, one_column(layout, sequence)) == []


def found(layout: Layout, value: np.ndarray, sweeps: int = 3, **room: Any) -> list[Sequence]:
    return [s for _, s in Pricing(layout, 4, 1).run(value, Aim(), sweeps, **room)]


def row_from(layout: Layout, tier: int, transplant: int, last: int) -> int:
    """The row of a tier of the first column that begins and ends on these days."""
    p = layout.problem
    at = np.flatnonzero(
        (layout.kind == layout.columns[0].kinds[tier])
        & (p.column("transplant") == transplant)
        & (p.column("last") == last)
    )
    return int(at[0])


def both_kept(layout: Layout, upper: int, lower: int) -> bool:
    """Whether a column takes one row in tier 1 and another in tier 2, if nothing else is of worth."""
    value = np.zeros(len(layout))
    value[[upper, lower]] = 100.0, 10.0
    got = found(layout, value)
    for s in got:
        assert faults(layout, one_column(layout, s)) == []
    return {(0, upper), (1, lower)} in [{(j, row) for j, row, _ in s.batches} for s in got]


@pytest.mark.slow
@pytest.mark.parametrize("lift", [6.0, 5.9])
def test_a_tier_below_is_not_filled_while_the_vessel_above_is_heavy(lift: float) -> None:
    """Tier 1: day 10 to 30, cleared when picked. It holds 12 - 0.4 k L: on day 11 it weighs 13.6 kg
    and some for the plants, on day 30, its heads gone, 12 - 8 + 2 = 6 kg.

    Tier 2 may be filled on day 10, when tier 1 is too, and on day 30 and after: with 6 kg as it may
    be lifted then, with 5.9 kg as tier 1 is cleared before. On no day between.
    """
    layout = Layout(rows_of(tiny(80, 2, available=((), (span(0, 79),)), lift_kg=lift)))
    for start in range(10, 60):
        kept = both_kept(
            layout, row_from(layout, 0, 10, 30), row_from(layout, 1, start, start + 20)
        )
        assert kept == (start == 10 or start >= 30), start


@pytest.mark.parametrize(("last", "good"), [(34, False), (35, True)])
def test_a_tier_is_cleared_before_it_is_taken_away(last: int, good: bool) -> None:
    """Tier 1 stands from day 15 to 35, too heavy from day 16 until it is picked; tier 2, picked on
    day 30, can be cleared on day 35 and must be while it is to be had."""
    layout = Layout(rows_of(tiny(60, 2, available=((), (span(0, last),)), lift_kg=5.9)))
    assert both_kept(layout, row_from(layout, 0, 15, 35), row_from(layout, 1, 10, 30)) == good


def test_a_day_with_nothing_but_a_clearing_is_a_work_day_by_hand() -> None:
    """Tier 2, picked on day 30, is cleared when tier 1 (day 15 to 35) has come down to 7 kg: with
    14 - 0.4 k kg and some for its plants after day 32. Two fills, two lifts, and work on the days
    0, 5 (sown), 10, 15, 30, 35 and that day: 11 points."""
    spans_ = ((), (span(0, 59),))
    layout = Layout(rows_of(tiny(60, 2, available=spans_, lift_kg=7.0)))
    value = np.zeros(len(layout))
    value[[row_from(layout, 0, 15, 35), row_from(layout, 1, 10, 30)]] = 100.0, 10.0
    whole = next(s for s in found(layout, value) if len(s.batches) == 2)
    clear = {j: int(layout.problem.days[slot]) for j, _, slot in whole.batches}
    assert clear[0] == 35
    assert clear[1] in (33, 34)
    assert values(layout, [whole], Counter({0: 1}))[2] == 11


@pytest.mark.parametrize(("lift", "good"), [(5.9, False), (6.0, True)])
def test_a_vessel_that_waits_too_heavy_is_in_the_way(lift: float, good: bool) -> None:
    """Tier 2 is picked on day 30, at 6 kg, and waits until day 35, when tier 1 is picked. When
    tier 1 is then left empty tier 2 still waits: tier 3 may be filled on day 31 if 6 kg may be
    lifted, and in any case on day 35, when tier 2 is cleared."""
    spans_ = ((), (span(0, 78),), (span(0, 79),))
    layout = Layout(rows_of(tiny(80, 3, available=spans_, lift_kg=lift)))
    pricing = Pricing(layout, 1, 1)
    shape = (3, 1, layout.slots + 2)
    heavy, service = np.zeros(shape, dtype=np.int16), np.zeros(shape, dtype=np.int16)

    def plan(tier: int, *rows: int) -> tuple[list[int], list[int]]:
        value = np.zeros(len(layout))
        value[list(rows)] = 10.0
        _, (_, taken, clear) = pricing._tier(
            tier, value, Aim(), heavy, service, np.ones(1, bool), None
        )
        return taken.tolist(), layout.problem.days[clear].tolist()

    middle = row_from(layout, 1, 10, 30)
    plan(0, row_from(layout, 0, 15, 35))
    assert plan(1, middle) == ([middle], [35])
    plan(0)
    early, late = row_from(layout, 2, 31, 51), row_from(layout, 2, 35, 55)
    assert plan(2, early) == (([early], [51]) if good else ([], []))
    assert plan(2, late) == ([late], [55])


def wide_room(layout: Layout) -> np.ndarray:
    return np.full((3, layout.slots), WIDE)


@pytest.mark.parametrize("tiers", [1, 2, 3])
def test_nothing_is_begun_where_there_is_no_room(tiers: int) -> None:
    """The one row with a worth: sown on day 0, transplanted on day 10, picked on day 30; 4 cells.
    Every tier wants it: ``tiers`` fills, ``tiers`` picks, ``4 * tiers`` cells."""
    layout = Layout(rows_of(tiny(60, tiers, fills_per_day=99, picks_per_day=99)))
    assert [r.name for r in layout.resources] == ["nursery cells", "fills", "picks"]
    p = layout.problem
    row = next(
        i
        for i in range(len(layout))
        if p.column("sow")[i] == 0 and p.column("transplant")[i] == 10 and p.column("last")[i] == 30
    )
    value = np.zeros(len(layout))
    value[row] = 50.0

    def taken(what: int, slot: int, left: int) -> int:
        room = wide_room(layout)
        room[what, slot] = left
        counts = {len(s.batches) for s in found(layout, value, room=room)}
        assert len(counts) == 1
        return counts.pop()

    for what, slot, each in ((1, 10, 1), (2, 30, 1), (0, 0, 4), (0, 5, 4), (0, 9, 4)):
        for batches in range(tiers + 1):
            assert taken(what, slot, batches * each) == batches
            assert taken(what, slot, batches * each - 1) == max(batches - 1, 0)
    # The cells are free on the day of transplanting; nothing is filled or picked on other days.
    for what, slot in ((0, 10), (1, 9), (1, 11), (2, 29), (2, 31), (1, 30), (2, 10)):
        assert taken(what, slot, 0) == tiers


@pytest.mark.parametrize("above", [0, 1, 3])
def test_a_clearing_and_a_fill_find_their_seconds_and_no_less(above: int) -> None:
    """The one row with a worth: filled on day 10, picked and cleared on day 30.

    Only the lowest tier is to be had. 12 minutes to fill, 4 to pick four heads, 10 to clear, and
    one for each vessel above it at both.
    """
    spans_ = (*[(span(0, 5),)] * above, ())
    layout = Layout(rows_of(tiny(31, above + 1, available=spans_, minutes_per_day=60.0)))
    assert [r.name for r in layout.resources] == ["nursery cells", "seconds of work"]
    value = np.zeros(len(layout))
    starts = layout.problem.column("transplant")
    last = layout.problem.column("last")
    value[[i for i in range(len(layout)) if (starts[i], last[i]) == (10, 30)]] = 50.0
    for slot, seconds in ((10, 720 + 60 * above), (30, 240 + 600 + 60 * above)):
        for left, batches in ((seconds, 1), (seconds - 1, 0)):
            room = np.full((2, layout.slots), 10_000)
            room[1, slot] = left
            assert {len(s.batches) for s in found(layout, value, room=room)} == {batches}


def test_only_the_kinds_asked_for() -> None:
    layout = Layout(
        rows_of(
            replace(
                tiny(60, 1, "AB"), columns=(*tiny(60, 1, "A").columns, *tiny(60, 2, "B").columns)
            )
        )
    )
    value = np.ones(len(layout))
    got = Pricing(layout, 2, 1).run(value, Aim(), only=np.array([False, True]))
    assert [s.kind for _, s in got] == [1, 1]
    assert all(s.batches for _, s in got)


def test_a_tier_under_a_vessel_too_heavy_when_empty_is_never_used() -> None:
    """The box weighs 2 kg: with 2.0 kg it may be lifted, with 1.9 kg tier 2 is out of reach."""
    for lift, tiers in ((2.0, {0, 1}), (1.9, {0})):
        layout = Layout(rows_of(tiny(60, 2, lift_kg=lift)))
        used = {j for s in found(layout, np.ones(len(layout))) for j, _, _ in s.batches}
        assert used == tiers
