"""What comes to the table, and how a promise sums it up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st
from lived_case import mean_years
from scipy.optimize import linprog
from scipy.stats.mstats import mquantiles
from verify_case import day, garden, good_plan

from scheduler.garden.model import Demand
from scheduler.garden.weekly import season_weeks, weeks_served
from scheduler.lived.doubt import NONE
from scheduler.lived.grower import TO_THE_DAY
from scheduler.lived.kitchen import Kitchen
from scheduler.lived.promise import promised, summed_up
from scheduler.verify.promise import _quantile
from scheduler.years.quantiles import share_below

GROUP = (Demand("lettuce", ("lettuce",), 300.0, day(0), day(90)),)


@seed(1)
@settings(max_examples=60, deadline=None, database=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 40), st.integers(0, 700), st.sampled_from([3.0, 7.0, 16.0])),
        max_size=9,
    )
)
def test_eating_what_spoils_first_wastes_nothing(picks: list[tuple[int, int, float]]) -> None:
    """Against a linear program (SciPy's HiGHS) that knows all picks beforehand."""
    g = replace(garden(), demands=GROUP)
    weeks = season_weeks(g.season)
    kitchen = Kitchen(g, 1, np.array([0]))
    for d in range(g.season.days):
        for when, grams, life in picks:
            if when == d:
                kitchen.put(0, d, life, np.array([float(grams)]))
        kitchen.end_of(d)
    serves = [
        [weeks.index(w) for w in weeks_served(g.season.date(d), life) if w in weeks]
        for d, _, life in picks
    ]
    flows = [(i, w) for i, ws in enumerate(serves) for w in ws]
    best = 0.0
    if flows:
        rows = np.zeros((len(picks) + len(weeks), len(flows)))
        for n, (i, w) in enumerate(flows):
            rows[i, n] = rows[len(picks) + w, n] = 1
        limits = [float(p[1]) for p in picks] + kitchen.wish[0].tolist()
        best = -linprog(-np.ones(len(flows)), A_ub=rows, b_ub=limits).fun
    assert kitchen.met.sum() == pytest.approx(best, abs=1e-6)


def test_a_promise_is_the_order_statistics_of_its_years() -> None:
    """Of 99 years 0.01, 0.02, ..., 0.99 the 20th stands for 20 of 100; 99 / 5 is 20, rounded."""
    shares = np.arange(1, 100) / 100
    promise = summed_up(np.random.default_rng(0).permutation(shares), 0.9, 7)
    assert promise.usual == pytest.approx(0.5)
    assert promise.one_in_five == pytest.approx(0.2)
    assert promise.worst_fifth == pytest.approx(np.arange(1, 21).mean() / 100)
    assert (promise.reachable, promise.seed) == (0.9, 7)
    assert sorted(promise.shares) == pytest.approx(shares.tolist())
    # Of 24 years a fifth of 25 is the 5th smallest; NumPy's usual rule would give the 5.6th.
    few = np.arange(1, 25) / 100
    assert summed_up(few, 1.0, 7).one_in_five == pytest.approx(0.05)


@pytest.mark.slow
@pytest.mark.parametrize("count", [4, 9, 24, 40])
def test_one_year_in_five_is_below_one_in_five(count: int) -> None:
    """Order statistics of the uniform distribution: the k-th of n has mean k / (n + 1) (David and
    Nagaraja 2003, Order Statistics, section 2.3, from memory), so a further year lies below
    ``one_in_five`` with chance 0.2 on the mean, however few the years. Of 4 years NumPy's usual
    rule gives 0.32, of 9 years 0.26."""
    rng = np.random.default_rng(1)
    below = [summed_up(rng.random(count), 1.0, 0).one_in_five for _ in range(4000)]
    error = np.std(below) / np.sqrt(len(below))
    assert abs(np.mean(below) - 0.2) < 4 * error + 1e-4


@seed(2)
@settings(max_examples=60, deadline=None, database=None)
@given(st.lists(st.integers(0, 10_000), min_size=1, max_size=40))
def test_the_verifier_has_the_same_one_in_five_in_its_own_words(years: list[int]) -> None:
    """And SciPy's plotting positions k / (n + 1) are a third voice (``mquantiles``, a = b = 0)."""
    ranked = sorted(y / 10_000 for y in years)
    for share in (0.1, 0.2, 0.5, 0.9):
        mine = float(share_below(ranked, share))
        assert _quantile(ranked, share) == pytest.approx(mine, abs=1e-12)
        assert float(mquantiles(ranked, [share], 0, 0)[0]) == pytest.approx(mine, abs=1e-12)


def test_a_promise_of_mean_years_without_doubt_is_the_plan() -> None:
    from scheduler.schedule.assemble import wish_met

    g, plan = garden(), good_plan()
    promise = promised(g, plan.batches, mean_years(g, 5), 1.0, 0, 0, TO_THE_DAY, NONE)
    met = wish_met(g, plan)
    assert promise.usual == promise.one_in_five == promise.worst_fifth
    assert promise.usual == pytest.approx(met, abs=5e-5)
