"""What comes to the table, and how a promise sums it up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st
from lived_case import mean_years
from scipy.optimize import linprog
from verify_case import day, garden, good_plan

from scheduler.garden.model import Demand, season_weeks, weeks_served
from scheduler.lived.doubt import NONE
from scheduler.lived.grower import TO_THE_DAY
from scheduler.lived.kitchen import Kitchen
from scheduler.lived.promise import promised, summed_up

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
    kitchen = Kitchen(g, 1)
    at = [weeks.index(weeks_served(g.season.date(d), 0.0)[0]) for d in range(g.season.days)]
    for d in range(g.season.days):
        for when, grams, life in picks:
            if when == d:
                kitchen.put(0, d, life, np.array([float(grams)]))
        if d + 1 == g.season.days or at[d + 1] != at[d]:
            kitchen.eat(at[d])
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
    """Of 0.00, 0.01, ..., 1.00: the median 0.5, the fifth 0.2, the worst twenty have 0 to 0.19."""
    shares = np.arange(101) / 100
    promise = summed_up(np.random.default_rng(0).permutation(shares), 0.9, 7)
    assert promise.usual == pytest.approx(0.5)
    assert promise.one_in_five == pytest.approx(0.2)
    assert promise.worst_fifth == pytest.approx(np.arange(20).mean() / 100)
    assert (promise.reachable, promise.seed) == (0.9, 7)
    assert sorted(promise.shares) == pytest.approx(shares.tolist())


def test_a_promise_of_mean_years_without_doubt_is_the_plan() -> None:
    from scheduler.schedule.assemble import wish_met

    g, plan = garden(), good_plan()
    promise = promised(g, plan.batches, mean_years(g, 5), 1.0, 0, 0, TO_THE_DAY, NONE)
    met = wish_met(g, plan)
    assert promise.usual == promise.one_in_five == promise.worst_fifth
    assert promise.usual == pytest.approx(met, abs=5e-5)
