"""Prices prove a bound: never below a plan, and as near as the linear relaxation when settled."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from hypothesis import strategies as st
from random_gardens import small_gardens
from solver_case import gardens, rows_of, span, tiny
from stacks_case import AIMS, aimed, best_plan, free, search_of

from scheduler.garden.model import Garden
from scheduler.model.linear import relax
from scheduler.schedule.stages import whole_weights
from scheduler.search.columns.layout import Layout
from scheduler.search.columns.prices import Aim, Prices, best_tiers, bound, lifts, services, worth


def proven(layout: Layout, prices: Prices, aim: Aim) -> float:
    weights = np.array(whole_weights(layout.supply.weights)[1], dtype=float)
    return bound(layout, prices, aim, worth(layout, prices, aim), weights)


def random_prices(layout: Layout, seed: int, scale: float) -> Prices:
    """Any prices of the right signs; a third of each kind is 0."""
    chance = np.random.default_rng(seed)
    wish = layout.supply.wish.shape

    def some(*shape: int) -> np.ndarray:
        drawn = chance.exponential(scale, shape) * (chance.random(shape) < 0.67)
        return np.asarray(drawn)

    shared = tuple(
        20 * (some(layout.slots) - some(layout.slots)) if r.held else 50 * some(layout.slots)
        for r in layout.resources
    )
    return Prices(
        shared,
        gram=some(len(layout.supply.classes)),
        wish=some(*wish),
        half=some(*wish),
        column=some(len(layout.columns)),
    )


@fixed(24)
@given(st.one_of(gardens(), small_gardens()), st.sampled_from(sorted(AIMS)))
def test_no_plan_is_above_the_bound_whatever_the_prices(g: Garden, name: str) -> None:
    """Weak duality. The plan is CP-SAT's, from its own model with every rule."""
    aim, layout = AIMS[name], Layout(rows_of(g))
    answer = best_plan(g, aim)
    if answer.value is None:
        return
    search = search_of(layout)
    search.master.turn(aim)
    settled = search.settle(40)
    assert settled is not None
    wild = random_prices(layout, 0, 2.0)
    mixed = settled.toward(wild, 0.02)
    # One kind of price at a time a little off the best: the tightest bounds there are.
    near = [
        replace(settled, **{f.name: getattr(mixed, f.name)})
        for f in fields(Prices)
        if f.name != "shared"
    ]
    near += [
        replace(settled, shared=(*settled.shared[:i], price, *settled.shared[i + 1 :]))
        for i, price in enumerate(mixed.shared)
    ]
    some = [random_prices(layout, s, scale) for s in range(4) for scale in (0.2, 1.0, 4.0)]
    for prices in (settled, *near, *some):
        assert proven(layout, prices, aim) >= answer.value - 1e-6 * max(1.0, abs(answer.value))


def lone_tiers(g: Garden) -> Garden:
    """Only the top tier of each column, and no limit to lifting: nothing is lifted."""
    tops = tuple(replace(c, tiers=c.tiers[:1]) for c in g.columns)
    return free(replace(g, columns=tops), lift_kg=None)


@fixed(30)
@given(st.one_of(gardens(), small_gardens()), st.sampled_from(sorted(AIMS)))
def test_settled_prices_prove_the_linear_relaxation(g: Garden, name: str) -> None:
    """The reference is the pooled model's relaxation by HiGHS through SciPy: other rows (a flow of
    vessels), other variables (batches), the same optimum, as a tier's flow has whole corners."""
    g = lone_tiers(g) if name == "effort" else free(g, lift_kg=None)
    settled_is_relaxed(g, AIMS[name])


@pytest.mark.parametrize("name", sorted(AIMS))
@pytest.mark.parametrize(
    "limits",
    [
        {"fills_per_day": 1},
        {"fills_per_day": 3},
        {"picks_per_day": 1},
        {"picks_per_day": 3},
        {"cells": 9},
        {"cells": 3},
        {},
    ],
    ids=str,
)
def test_settled_prices_of_what_is_short(limits: dict[str, int], name: str) -> None:
    """Five columns that compete for one thing: two batches at most fit in 9 cells, none in 3."""
    work = range(7) if "cells" in limits else (0, 3)
    settled_is_relaxed(tiny(63, 1, "ABCDE", work, **limits), AIMS[name])


def settled_is_relaxed(g: Garden, aim: Aim) -> None:
    search = search_of(Layout(rows_of(g)))
    search.master.turn(aim)
    search.settle(400, close=0.0, prove=True)
    reference = relax(aimed(g, aim, True), True)
    if reference is None:
        return  # the reference did not come to an end
    close = pytest.approx(reference.bound, rel=1e-6, abs=1e-4)
    assert search.bounds[aim] == close
    assert search.master.value == close


def test_a_tier_by_hand() -> None:
    """A season of 41 days holds one batch of a tier: transplanted from day 10 on, ready 20 days
    later. Its four heads of 100 g, all wished for, are worth 400 at a price of 1 of a gram."""
    layout = Layout(rows_of(tiny(41)))
    aim = Aim()
    zero = random_prices(layout, 0, 0.0)
    free_gram = replace(zero, gram=np.ones_like(zero.gram))
    value = worth(layout, free_gram, aim)
    assert set(value.tolist()) == {400.0}
    assert best_tiers(layout, value).tolist() == [400.0]
    assert proven(layout, free_gram, aim) == pytest.approx(400.0)
    # Work to fill, and to lift two vessels twice in tier 3.
    assert set(worth(layout, free_gram, Aim(1.0, 0.0, 2.0)).tolist()) == {398.0}
    assert lifts(Aim(1.0, 0.0, 2.0), 3) == 8.0


@pytest.mark.parametrize("most", [1, 3])
@pytest.mark.parametrize(
    ("name", "limit"), [("fills", "fills_per_day"), ("picks", "picks_per_day")]
)
def test_a_day_that_has_a_price_by_hand(name: str, limit: str, most: int) -> None:
    """A fill or pick that costs 50 costs the batch of 400 g 50; each of 41 slots has ``most`` of
    them to sell, which adds 41 x 50 x ``most`` to the bound."""
    layout = Layout(rows_of(tiny(41, **{limit: most})))
    zero = random_prices(layout, 0, 0.0)
    at = [r.name for r in layout.resources].index(name)
    shared = list(zero.shared)
    shared[at] = np.full(layout.slots, 50.0)
    prices = replace(zero, gram=np.ones_like(zero.gram), shared=tuple(shared))
    # Picked on one day: 350; half on each of two days: two picks, 300.
    assert max(worth(layout, prices, Aim()).tolist()) == 350.0
    assert proven(layout, prices, Aim()) == pytest.approx(350.0 + 41 * 50 * most)


def test_a_second_batch_counts_from_the_day_the_tier_is_free_again() -> None:
    """10 + 20 + 1 + 20 = 51: on day 51 the second batch is ready. The season must have that day."""
    for days, batches in ((51, 1), (52, 2)):
        layout = Layout(rows_of(tiny(days, turnaround_days=1)))
        assert best_tiers(layout, np.ones(len(layout))).tolist() == [batches]


def test_lifts_in_the_bound_by_hand() -> None:
    """Effort at 2 a point: a batch of 400 g costs 2 for its fill, in tier 2 also 2 x 2 for a lift
    at its fill and one at its clearing. Alike tiers count as if all were on top: 398 + 398; told
    apart, tier 2 comes to 394."""
    aim = Aim(1.0, 0.0, 2.0)
    for available, total in (((), 796.0), (((), (span(0, 40),)), 792.0)):
        layout = Layout(rows_of(tiny(41, 2, available=available)))
        none = random_prices(layout, 0, 0.0)
        assert proven(layout, replace(none, gram=np.ones_like(none.gram)), aim) == total


@pytest.mark.parametrize(("half", "total"), [(5.0, -100_000), (1.0, -100_000), (0.3, -30_000)])
def test_a_garden_in_which_nothing_grows_falls_short_by_hand(half: float, total: float) -> None:
    """20 days at 10,000 g a day: half of each week's wish is 100,000 g in all, short at 1 a gram.
    At a price of 1 or more the bound says so, at less it says less."""
    layout = Layout(rows_of(tiny(20)))
    none = random_prices(layout, 0, 0.0)
    prices = replace(none, half=np.full_like(none.half, half))
    assert proven(layout, prices, Aim(1.0, 1.0, 0.0)) == pytest.approx(total)


@pytest.mark.parametrize(
    ("wish", "total"), [(0.0, 30_000.0), (0.5, 170_000.0), (1.0, 310_000.0), (2.0, 620_000.0)]
)
def test_the_price_of_a_wish_by_hand(wish: float, total: float) -> None:
    """31 days at 10,000 g a day. Only on day 30 can be picked, for the last week, of three days:
    30,000 g may be handed out at 1 a gram less the price; all 310,000 g cost the price."""
    layout = Layout(rows_of(tiny(31)))
    assert layout.supply.classes == ((0, 4, 4),)
    none = random_prices(layout, 0, 0.0)
    assert proven(layout, replace(none, wish=np.full_like(none.wish, wish)), Aim()) == total


def test_mixed_prices_lie_in_between() -> None:
    layout = Layout(rows_of(tiny(41, fills_per_day=3, picks_per_day=3)))
    a, b = random_prices(layout, 1, 1.0), random_prices(layout, 2, 1.0)
    mixed = a.toward(b, 0.25)
    for now, one, other in zip(mixed.shared, a.shared, b.shared, strict=True):
        assert now == pytest.approx(0.75 * one + 0.25 * other)
    assert mixed.half == pytest.approx(0.75 * a.half + 0.25 * b.half)


@pytest.mark.parametrize("minutes", [20.0, 60.0])
@pytest.mark.parametrize("above", [1, 3])
def test_work_costs_its_seconds_at_the_prices_of_the_day(above: int, minutes: float) -> None:
    """A clearing takes 10 minutes, a vessel lifted for it or for a fill one, a fill 12."""
    layout = Layout(rows_of(tiny(60, 4, "A", minutes_per_day=minutes)))
    prices = random_prices(layout, 4, 1.0)
    (work,) = (
        p for r, p in zip(layout.resources, prices.shared, strict=True) if r.name.startswith("sec")
    )
    start, clear = np.flatnonzero(work > 0)[[1, 5]]
    paid = services(layout, prices)
    assert paid is not None
    cost = paid.cost(above, np.array([start]), np.array([clear]))
    assert cost == pytest.approx(60 * above * (work[start] + work[clear]) + 600 * work[clear])
    # And the row itself pays for its sowing, its fill and its picks.
    free_of_work = Layout(rows_of(tiny(60, 4, "A")))
    rest = [p for r, p in zip(layout.resources, prices.shared, strict=True) if r.held]
    bare = worth(free_of_work, replace(prices, shared=tuple(rest)), Aim())
    found = bare - worth(layout, prices, Aim())
    table, at = layout.cand.table, layout.problem.row_of
    cells, to_pay = table["cells"].to_numpy()[at], np.append(work, 0.0)
    assert len(found) == len(at)
    for row in range(0, len(at), 7):
        picked = layout.pick_row == row
        plants = layout.cand.pick_plants[at[row]][: picked.sum()]
        wanted = 30 * cells[row] * to_pay[layout.sow[row]] + 720 * to_pay[layout.start[row]]
        wanted += (60 * plants * to_pay[layout.pick_slot[picked]]).sum()
        assert found[row] == pytest.approx(wanted)
