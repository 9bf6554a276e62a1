"""Stack access in small columns whose masses follow by hand.

A vessel weighs 2 kg, 12 L are filled. On the morning of the k-th day after filling a tier of
lettuce weighs 2 + 12 - 0.4 k kg and its four plants 0.4 s(k/20) kg, where s is the share of the
harvest mass, s(x) = ln(1 + e^(6.4 (x - 0.3))) / ln(1 + e^4.48):

    k = 10: 10 kg and 0.4 * 0.3396 = 0.1358;    k = 11: 9.6 kg and 0.4 * 0.3945 = 0.1578
    k = 20: picked, so 6 kg alone
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from ortools.sat.python import cp_model
from solver_case import exact, rows_of, span, tiny
from verify_case import day

from scheduler.garden.model import Garden
from scheduler.model.build import build_model
from scheduler.model.rules import BUILDERS
from scheduler.plans import rules as r
from scheduler.schedule.problem import by_tier
from scheduler.schedule.stages import EFFORT
from scheduler.search.layouts import access_matters
from scheduler.solvers.cp_sat import Settings, run
from scheduler.verify import verify


def test_masses_of_the_docstring() -> None:
    """Light from the day the mass is at the limit; 1 g less and it is a day later."""
    for limit, light in ((10.14, 10), (10.13, 11), (9.76, 11), (9.75, 12)):
        table = rows_of(tiny(31, 2, lift_kg=limit)).table
        assert (table["heavy_until"] - table["transplant"]).unique().tolist() == [light]
    # Day 20 after the pick: 12 - 8 = 4 L and the vessel.
    for limit, heavy in ((6.0, 0), (5.999, 1)):
        assert rows_of(tiny(31, 2, lift_kg=limit)).table["heavy_after"].unique().tolist() == [heavy]


def upper_first(days: int, limit: float, turnaround: int) -> Garden:
    """The upper tier must be filled on day 10; the lower may be from day 20, its tenth."""
    return tiny(
        days,
        2,
        available=(((span(0, 30)),), (span(20, 90),)),
        lift_kg=limit,
        turnaround_days=turnaround,
    )


def lower_first(end: int, limit: float, turnaround: int) -> Garden:
    """The lower must be filled on day 10 and cleared by `end`; the upper is filled on day 20."""
    return tiny(
        41,
        2,
        available=((span(20, 90),), (span(0, end),)),
        lift_kg=limit,
        turnaround_days=turnaround,
    )


@pytest.mark.parametrize("turnaround", [0, 1])
@pytest.mark.parametrize(
    ("enough", "short"),
    [
        # Filling: on day 20 the upper weighs 10.1358 kg; both end on day 40. 10 g less a lift: a day.
        ((upper_first, 41, 10.14), (upper_first, 41, 10.13)),
        # From day 21 at 10 kg: the lower is picked on day 41.
        ((upper_first, 42, 10.0), (upper_first, 41, 10.0)),
        # Clearing: picked on day 30, ten days after the upper was filled.
        ((lower_first, 30, 10.14), (lower_first, 30, 10.13)),
        # It waits for a day: the upper may be lifted on day 31.
        ((lower_first, 31, 10.0), (lower_first, 30, 10.0)),
    ],
)
def test_a_heavy_tier_bars_those_below(
    enough: tuple, short: tuple, turnaround: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    make, *rest = enough
    g = make(*rest, turnaround)
    value, plan = exact(g)
    assert (value, len(plan.batches)) == (800, 2)
    assert verify(g, plan).ok
    make, *rest = short
    g = make(*rest, turnaround)
    value, plan = exact(g)
    assert (value, len(plan.batches)) == (400, 1)
    assert verify(g, plan).ok
    monkeypatch.delitem(BUILDERS, "lift limit")
    value, plan = exact(g)
    assert value == 800
    assert {b.rule for b in verify(g, plan).broken} == {r.LIFT.name}


def test_a_picked_tier_waits_until_it_can_be_reached() -> None:
    g = lower_first(31, 10.0, 1)
    _, plan = exact(g)
    lower = next(b for b in plan.batches if b.tier == 2)
    assert (lower.transplant, lower.clear) == (day(10), day(31))
    assert lower.levels[-1].date == day(31)


@pytest.mark.parametrize(("limit", "value"), [(2.0, 800), (1.999, 400)])
def test_a_vessel_too_heavy_when_empty_bars_all_below(
    limit: float, value: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both tiers are filled on day 10, lower first, cleared on day 30, upper first: the empty
    vessel of 2 kg is lifted each time."""
    g = tiny(31, 2, lift_kg=limit)
    got, plan = exact(g)
    assert got == value
    assert verify(g, plan).ok
    if value == 400:
        assert plan.batches[0].tier == 1
        monkeypatch.delitem(BUILDERS, "lift limit")
        got, plan = exact(g)
        assert got == 800
        assert {b.rule for b in verify(g, plan).broken} == {r.LIFT.name}


def test_without_turnaround_a_tier_is_cleared_and_filled_on_one_day_below_a_light_one() -> None:
    """Two batches in the lower tier in 51 days, the upper may not be used."""
    g = tiny(51, 2, available=((span(0, 1),),), lift_kg=10.0, turnaround_days=0)
    assert access_matters(rows_of(g))
    value, plan = exact(g)
    assert value == 800
    assert plan.batches[0].clear == plan.batches[1].transplant == day(30)
    assert verify(g, plan).ok
    # Under an upper batch filled on day 20, light on day 31: cleared and filled anew on day 31.
    g = tiny(52, 2, available=((span(20, 40),),), lift_kg=10.0, turnaround_days=0)
    value, plan = exact(g)
    assert value == 1200
    assert verify(g, plan).ok
    g = tiny(51, 2, available=((span(20, 40),),), lift_kg=10.0, turnaround_days=0)
    assert exact(g)[0] == 800


def fixed(g: Garden, wanted: dict[int, tuple[int, int]]) -> int:
    """Status of the model with one batch a tier: tier -> (transplanting, clearing day)."""
    cand = rows_of(g)
    problem = by_tier(cand)
    built = build_model(problem, True)
    start, last = problem.column("transplant"), problem.column("last")
    for i in range(len(problem)):
        place = problem.places[int(problem.place_of[i])]
        begin, clear = wanted.get(place.number, (-1, -1))
        here = (
            start[i] == begin
            and last[i] == begin + 20
            and cand.pick_plants[problem.row_of[i], 0] == 4
        )
        built.model.add(built.v.take[i] == int(here))
        if here:
            slot = int(problem.slot(np.array(clear)))
            heavy = bool(problem.column("heavy_after")[i])
            built.model.add(built.v.clear[heavy][int(problem.place_of[i])][slot] == 1)
    built.model.maximize(built.produce.value())
    return run(built.model, "produce", Settings(workers=1), 30.0).status


@pytest.mark.parametrize("turnaround", [0, 1])
def test_heavy_while_it_waits_to_be_cleared(turnaround: int) -> None:
    """The upper is picked on day 30, 4 L left, and cleared on day 35; below is filled on day 32."""
    plan = {1: (10, 35), 2: (32, 52)}
    for limit, status in ((6.0, cp_model.OPTIMAL), (5.99, cp_model.INFEASIBLE)):
        g = tiny(60, 2, lift_kg=limit, turnaround_days=turnaround)
        assert fixed(g, plan) == status
        # On its own day of clearing it counts as empty.
        assert fixed(g, {1: (10, 32), 2: (32, 52)}) == cp_model.OPTIMAL


def test_every_tier_above_counts_not_the_next_alone() -> None:
    """Top filled on day 20, the middle never: the bottom, picked on day 30, waits to day 31."""
    for end, value in ((31, 800), (30, 400)):
        g = tiny(41, 3, available=((span(20, 90),), (span(0, 1),), (span(0, end),)), lift_kg=10.0)
        got, plan = exact(g)
        assert got == value
        assert verify(g, plan).ok


def test_another_column_is_no_burden() -> None:
    g = tiny(41, 2, columns="AB", available=((span(20, 90),), (span(0, 31),)), lift_kg=10.0)
    assert exact(g)[0] == 1600
    first, second = g.columns
    g = replace(g, columns=(replace(first, tiers=first.tiers[:1]), second))
    assert exact(g)[0] == 1200


def test_access_matters_only_where_it_can_forbid() -> None:
    assert not access_matters(rows_of(tiny(31, 2)))  # no limit
    assert not access_matters(rows_of(tiny(31, 1, lift_kg=5.0)))  # nothing above another
    # 14 kg at filling, 13.6 kg and a little the day after: heavy on that day at 13.6, not at 13.7.
    assert access_matters(rows_of(tiny(31, 2, lift_kg=13.6)))
    assert not access_matters(rows_of(tiny(31, 2, lift_kg=13.7)))
    assert access_matters(rows_of(tiny(31, 2, lift_kg=1.9)))


@pytest.mark.slow
def test_lifts_of_the_effort_stage() -> None:
    """Tier 2 costs a lift to fill and one to clear: of two tiers the upper is taken."""
    from scheduler.search.solve import solve

    for limit in (None, 5.0):
        g = tiny(31, 2, cells=4, lift_kg=limit)
        made = solve(g, Settings(time_limit=60, gap=0, workers=1, deterministic=1.0)).plan
        assert [b.tier for b in made.batches] == [1]
        stage = next(s for s in made.stages if s.name == EFFORT)
        # 1 fill, no lift, work days 0, 10, 30.
        assert (stage.value, stage.bound) == (4, None)
    # Where only the lower may be used it costs its two lifts, with a limit and without.
    for limit in (None, 5.0):
        g = tiny(31, 2, cells=4, available=((span(0, 1),),), lift_kg=limit)
        made = solve(g, Settings(time_limit=60, gap=0, workers=1, deterministic=1.0)).plan
        stage = next(s for s in made.stages if s.name == EFFORT)
        assert (stage.value, stage.bound) == (6, None)
