"""Planning a season: every rule kept, bounds on the right side, answers named for what they are."""

from __future__ import annotations

import threading
from dataclasses import replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from solver_case import EXAMPLES, STEADY, changing_weather, exact, gardens, rows_of, sound, tiny
from verify_case import CHARD, LETTUCE, day

from scheduler.base.faults import NoPlan
from scheduler.batches import candidates as c
from scheduler.garden.file import load_garden
from scheduler.garden.model import Demand, Garden
from scheduler.plans.model import BEST_FOUND, PROVEN, WITHIN_GAP, Plan
from scheduler.schedule.stages import PRODUCE
from scheduler.search.layouts import access_matters
from scheduler.search.solve import solve, status
from scheduler.solvers.cp_sat import Progress, Settings


@pytest.mark.slow
@fixed(6)
@given(gardens())
def test_random_gardens(g: Garden) -> None:
    """Any small garden gets a sound plan, or a reason why there is none."""
    quick = replace(STEADY, deterministic=0.25)
    try:
        season = solve(g, quick)
    except NoPlan as error:
        assert len(rows_of(g)) == 0
        assert "no crop can grow" in error.text()
        return
    sound(g, season)


def test_the_balcony() -> None:
    g = load_garden(EXAMPLES / "balcony" / "garden.yaml")
    season = solve(g, replace(STEADY, deterministic=0.25))
    sound(g, season)
    assert season.by_hand is not None
    assert season.plan.stages[0].value > season.by_hand.stages[0].value
    assert season.plan.stages[0].bound is not None


@pytest.mark.slow
@pytest.mark.parametrize("lift", [None, 9.0, 5.0])
def test_the_optimum_is_found_and_proven(lift: float | None) -> None:
    g = changing_weather(tiny(60, 2, cells=9, lift_kg=lift, fills_per_day=1, picks_per_day=1))
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=300.0, start=day(28)),))
    best, _ = exact(g)
    season = solve(g, replace(STEADY, deterministic=3.0))
    sound(g, season)
    stage = season.plan.stages[0]
    assert (stage.status, stage.value, stage.bound) == (PROVEN, best, best)
    assert access_matters(rows_of(g)) == (lift is not None)


@pytest.mark.parametrize("weight", [1.25, 0.333, 1 / 3, 7.0, 0.0004])
def test_any_weight(weight: float) -> None:
    """Two groups in one tier: 52 days hold two batches. A gram of chard is worth `weight`."""
    g = tiny(52)
    demands = (
        Demand("lettuce", ("lettuce",), 9000.0, day(0), day(51)),
        Demand("greens", ("chard",), 9000.0, day(0), day(51), weight),
    )
    crops = {"lettuce": LETTUCE, "chard": replace(CHARD, cuts=1, cut_shares=(1.0,))}
    g = replace(g, demands=demands, crops=crops)
    season = solve(g, STEADY)
    sound(g, season)
    # Either takes 20 days: 600 g of chard against 400 g of lettuce, twice.
    best = 2 * max(400.0, 600 * weight)
    assert season.plan.stages[0].value == pytest.approx(best)
    bound = season.plan.stages[0].bound
    # Weights beyond three decimals are rounded up in the bound: 0.334 for 1/3 adds 0.8 g.
    assert bound is not None
    assert best - 1e-6 <= bound <= best + 1.3


@pytest.mark.slow
def test_the_same_seed_gives_the_same_plan() -> None:
    g = changing_weather(tiny(60, 2, columns="AB", cells=13, lift_kg=9.0, fills_per_day=1))
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=700.0),))

    def bare(plan: Plan) -> Plan:
        return replace(plan, stages=tuple(replace(s, seconds=0.0) for s in plan.stages))

    quick = replace(STEADY, deterministic=0.3)
    one, two = (bare(solve(g, quick).plan) for _ in range(2))
    assert one.to_json() == two.to_json()


@pytest.mark.slow
def test_a_tenth_of_a_second_still_gives_the_first_plan() -> None:
    g = load_garden(EXAMPLES / "courtyard" / "garden.yaml")
    season = solve(g, Settings(time_limit=0.1, workers=1))
    sound(g, season)
    assert len(season.plan.batches) > 20
    assert {s.status for s in season.plan.stages} == {BEST_FOUND}
    assert {s.bound for s in season.plan.stages} == {None}  # it does not go on searching


def test_stopped_before_it_begins_a_plan_is_kept() -> None:
    g = load_garden(EXAMPLES / "balcony" / "garden.yaml")
    stop = threading.Event()
    stop.set()
    season = solve(g, Settings(time_limit=300, workers=1), None, stop)
    sound(g, season)
    assert season.plan.batches
    # It was not searched, on no machine: a quick one proves this garden's first stage at once.
    assert {s.status for s in season.plan.stages} == {BEST_FOUND}


def test_stopped_on_the_way_the_best_so_far_is_kept() -> None:
    """Stopped at the first plan told in the first stage: at least that good."""
    g = load_garden(EXAMPLES / "balcony" / "garden.yaml")
    stop = threading.Event()
    told: list[Progress] = []

    def report(p: Progress) -> None:
        told.append(p)
        if p.stage == PRODUCE:
            stop.set()

    season = solve(g, Settings(time_limit=300, workers=1), report, stop)
    sound(g, season)
    assert told[0].stage == "first plan"
    assert season.plan.stages[0].value >= told[0].best
    # The stages after it are not searched.
    assert {s.status for s in season.plan.stages[1:]} == {BEST_FOUND}


@pytest.mark.slow
def test_progress_is_in_grams_of_the_wish() -> None:
    """Elapsed time rises, a stage's best never falls below what was told, its bound stays above."""
    g = changing_weather(tiny(60, 2, lift_kg=9.0))
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=700.0, weight=1.25),))
    told: list[Progress] = []
    season = solve(g, STEADY, told.append)
    first = told[0]
    assert first.stage == "first plan"
    assert first.bound == pytest.approx(1.25 * 6000)  # 60 days of 100 g
    produce = [p for p in told if p.stage == PRODUCE]
    assert all(p.bound >= p.best - 1e-6 for p in produce)
    assert all(0 <= p.gap <= 1 for p in told)
    assert max((p.best for p in produce), default=0.0) <= season.plan.stages[0].value + 1e-6


@pytest.mark.parametrize(
    ("value", "bound", "gap", "name"),
    [
        (100.0, None, 0.5, BEST_FOUND),
        (100.0, 100.0, 0.0, PROVEN),
        (100.0, 100.00005, 0.0, PROVEN),  # rounding
        (100.0, 101.0, 0.0, BEST_FOUND),
        (100.0, 101.0, 0.01, WITHIN_GAP),
        (99.0, 100.0, 0.01, WITHIN_GAP),  # 1 of 100
        (98.9, 100.0, 0.01, BEST_FOUND),
        (5.0, 4.0, 0.01, BEST_FOUND),  # least
        (0.0, 0.0, 0.0, PROVEN),
        (0.0, 1.0, 0.01, BEST_FOUND),
    ],
)
def test_names_of_answers(value: float, bound: float | None, gap: float, name: str) -> None:
    assert status(value, bound, gap) == name


@pytest.mark.slow
def test_within_a_wide_gap_the_search_ends_early() -> None:
    g = load_garden(EXAMPLES / "balcony" / "garden.yaml")
    season = solve(g, replace(STEADY, gap=0.9, deterministic=0.1))
    sound(g, season)
    assert season.plan.status in (WITHIN_GAP, PROVEN)


def test_no_plan_says_why_for_each_crop() -> None:
    g = tiny(60)
    g = replace(
        g,
        crops={
            "lettuce": replace(LETTUCE, dli_min=30.0),
            "chard": replace(CHARD, days_to_harvest=100.0),
        },
    )
    with pytest.raises(NoPlan) as error:
        solve(g, STEADY)
    text = error.value.text()
    assert error.value.exit_code == 3
    assert text.splitlines()[0] == "no crop can grow in any tier this season:"
    # 60 starts: 10 before a seedling is fit, 30 to day 39 too dark, then too late for the season.
    assert f"  lettuce: {c.DARK} (30 of 60 days)" in text
    assert f"  chard: {c.LATE} (50 of 60 days)" in text


def test_no_plan_without_work_days_or_crops() -> None:
    for g in (tiny(60, work=()), replace(tiny(60), crops={}), replace(tiny(60), columns=())):
        with pytest.raises(NoPlan, match="no work day, no tier or no crop"):
            solve(g, STEADY)


@pytest.mark.parametrize("demands", ["none", "later", "of a crop that cannot grow"])
def test_where_no_wish_can_be_met_nothing_is_planted(demands: str) -> None:
    """Crops may grow all the same: an empty plan is the best, and says so without a fault."""
    g = tiny(60)
    wishes = {
        "none": (),
        "later": (replace(g.demands[0], start=day(100), end=day(120)),),
        "of a crop that cannot grow": (Demand("greens", ("chard",), 70.0, day(0), day(59)),),
    }[demands]
    dark = replace(CHARD, dli_min=99.0)
    g = replace(g, demands=wishes, crops={"lettuce": LETTUCE, "chard": dark})
    season = solve(g, STEADY)
    sound(g, season)
    assert season.plan.batches == ()
    assert season.plan.status == PROVEN
    assert season.plan.stages[0].value == 0
    weeks = 9 if demands == "of a crop that cannot grow" else 0
    assert len(season.plan.unmet) == weeks


@pytest.mark.deep
def test_pooled_tiers_are_assigned_exactly() -> None:
    """Without a lift limit four alike tiers are one place with a count of four; every batch gets a
    tier of its own, and the number of batches is the optimum's."""
    g = tiny(60, 2, columns="AB", cells=8)
    best, _ = exact(g)
    season = solve(g, STEADY)
    sound(g, season)
    assert season.plan.stages[0].value == best
    # Eight cells: two batches every ten days, on days 10, 20, 30 (picked on day 50, the last sown
    # on day 29), in the first tiers again from day 31.
    places = {(b.column, b.tier) for b in season.plan.batches}
    assert places <= {("A", 1), ("A", 2), ("B", 1), ("B", 2)}
    assert len(season.plan.batches) * 400 == best


def test_candidates_may_be_narrowed_from_outside() -> None:
    """`keep` takes candidates away: here all that are picked after day 31."""
    g = tiny(60)

    def early(cand: c.Candidates) -> c.Candidates:
        rows = np.flatnonzero(cand.table["last"] <= 31)
        return replace(
            cand,
            table=cand.table.iloc[rows].reset_index(drop=True),
            pick_day=cand.pick_day[rows],
            pick_plants=cand.pick_plants[rows],
            pick_grams=cand.pick_grams[rows],
        )

    plan = solve(g, STEADY, admit=early).plan
    assert plan.stages[0].value == 400
