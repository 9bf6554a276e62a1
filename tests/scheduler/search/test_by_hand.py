"""The schedule by rules of thumb keeps every rule, so that it is a fair yardstick."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from not_empty import some
from solver_case import STEADY, Proofs, example, gardens, provable, rows_of, span, tiny
from verify_case import CHARD, LETTUCE, day

from scheduler.garden.model import Demand, Garden
from scheduler.model.build import stands
from scheduler.plans.model import Plan
from scheduler.schedule.assemble import wish_total
from scheduler.schedule.problem import by_tier, pooled
from scheduler.search import by_hand, solve
from scheduler.search.by_hand import LAGGING, OPEN_WISHES, ByHand
from scheduler.search.layouts import worth_of
from scheduler.search.solve import make_plan
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify


def season(g: Garden, forward: bool = False) -> Plan:
    cand = rows_of(g)
    problem = by_tier(cand)
    return make_plan(g, cand, stands(problem, ByHand(problem, forward).run()), STEADY)


@pytest.mark.slow
@pytest.mark.parametrize("forward", [False, True])
@pytest.mark.parametrize("name", ["balcony", "courtyard"])
def test_the_examples_by_hand_keep_every_rule(name: str, forward: bool) -> None:
    g, cand, problem = example(name)
    plan = make_plan(g, cand, stands(problem, ByHand(problem, forward).run()), STEADY)
    verdict = verify(g, plan)
    assert verdict.ok, verdict.broken[:5]
    assert plan.stages[0].value > 0


@fixed(30)
@given(gardens())
def test_random_gardens_by_hand_keep_every_rule(g: Garden) -> None:
    for forward in (False, True):
        verdict = verify(g, season(g, forward))
        assert verdict.ok, verdict.broken[:3]


def dates(plan: Plan) -> list[tuple[int, int, int, int]]:
    """(tier, transplanted, first picked, cleared) by date, days counted from the first."""
    return [
        (
            b.tier,
            (b.transplant - day(0)).days,
            (b.picks[0].date - day(0)).days,
            (b.clear - day(0)).days,
        )
        for b in plan.batches
    ]


def test_a_free_tier_is_filled_at_once_and_picked_when_ready() -> None:
    assert dates(season(tiny(60))) == [(1, 10, 30, 30), (1, 31, 51, 51)]
    assert dates(season(tiny(60, turnaround_days=0)))[1] == (1, 30, 50, 50)


def test_by_hand_no_heads_are_left_for_later() -> None:
    """A careful grower picks all heads on the first day they are ready."""
    for b in some(season(tiny(70, 2)).batches, 4):
        assert len(b.picks) == 1


def test_under_a_lift_limit_the_lower_tier_is_filled_first() -> None:
    """Both on day 10, bottom first; cleared on day 30, top first; both again on day 31."""
    plan = season(tiny(60, 2, lift_kg=9.0))
    assert dates(plan) == [(1, 10, 30, 30), (2, 10, 30, 30), (1, 31, 51, 51), (2, 31, 51, 51)]
    assert verify(tiny(60, 2, lift_kg=9.0), plan).ok


def test_it_waits_until_a_tier_can_be_reached() -> None:
    """One fill a day: the bottom on day 10, the top on day 11. At 5.9 kg the top is heavy until it
    is cleared, picked on day 31: so the bottom, ready on day 30, is cleared on day 31 too."""
    plan = season(tiny(33, 2, lift_kg=5.9, fills_per_day=1))
    assert dates(plan) == [(2, 10, 30, 31), (1, 11, 31, 31)]


def test_a_tier_that_cannot_be_cleared_in_time_is_not_begun() -> None:
    """The season ends on day 30: the bottom would wait to day 31. Left out, with all it needs."""
    assert dates(season(tiny(31, 2, lift_kg=5.9, fills_per_day=1))) == [(2, 10, 30, 30)]
    # The bottom is taken away after day 30, and the top is heavy on it.
    g = tiny(40, 2, available=((), (span(0, 30),)), lift_kg=5.9, fills_per_day=1)
    plan = season(g)
    assert verify(g, plan).ok
    assert dates(plan) == [(1, 11, 31, 31)]


def test_the_group_that_lags_most_comes_first() -> None:
    """600 g of chard wished in all, 60 g of lettuce: each alone at first, then the emptier."""
    g = tiny(60)
    demands = (
        Demand("lettuce", ("lettuce",), 1000.0, day(28), day(34)),
        Demand("greens", ("chard",), 1000.0, day(28), day(41)),
    )
    g = replace(
        g,
        demands=demands,
        crops={
            "lettuce": LETTUCE,
            "chard": replace(CHARD, cuts=1, cut_shares=(1.0,), fresh_mass=90.0),
        },
    )
    # Both lag all of their wish on day 10: the quicker giver, 400 g against 360 g in 20 days. Then
    # lettuce has 40 % of 1 kg and chard none of 2 kg.
    assert [b.crop for b in season(g).batches] == ["lettuce", "chard"]


def test_only_what_somebody_wishes_for() -> None:
    g = tiny(60)
    assert season(replace(g, demands=())).batches == ()
    none = replace(g.demands[0], start=day(80), end=day(90))
    assert season(replace(g, demands=(none,))).batches == ()


def test_a_day_off_or_full_hands_put_it_off() -> None:
    g = tiny(60, 2, picks_per_day=1)
    plan = season(g)
    assert verify(g, plan).ok
    # The second batch may not be picked on day 30, so it is picked on the day after.
    assert sorted(dates(plan))[0] == (1, 10, 31, 31)
    assert (2, 10, 30, 30) in dates(plan)
    # Away on day 10: begun on day 11.
    g = tiny(60)
    g = replace(g, season=replace(g.season, away=(span(10, 10),)))
    assert dates(season(g))[0] == (1, 11, 31, 31)


@pytest.mark.slow
@pytest.mark.parametrize("forward", [False, True])
def test_alike_tiers_pooled_give_the_same_season(forward: bool) -> None:
    _, cand, problem = example("courtyard")
    tiers = ByHand(problem, forward)
    made = stands(tiers.problem, tiers.run())
    pool = ByHand(pooled(cand), forward)
    pool.run()
    as_set = {(s.row, s.column, s.tier, s.clear) for s in made}
    assert as_set == {(s.row, s.column, s.tier, s.clear) for s in pool.stands}
    assert len(as_set) > 50


@pytest.mark.slow
def test_never_better_than_the_optimum() -> None:
    with Proofs() as proofs:

        @fixed(6)
        @given(provable())
        def each(g: Garden) -> None:
            g = replace(g, demands=tuple(replace(d, weight=1.0) for d in g.demands))
            best = proofs.most(g)
            for forward in (False, True):
                assert best is None or season(g, forward).stages[0].value <= best

        each()


@pytest.mark.slow
@pytest.mark.parametrize("large", [False, True])
def test_the_better_rule_is_the_yardstick(large: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """In the courtyard looking at open wishes meets a fifth more than minding the lagging group."""
    _, cand, problem = example("courtyard")
    pool = pooled(cand)
    worth = {}
    for forward in (False, True):
        rule = ByHand(pool, forward)
        worth[rule.rule] = worth_of(pool, rule.run())
    assert worth[OPEN_WISHES] > 1.15 * worth[LAGGING]
    if large:
        monkeypatch.setattr(solve, "LARGE", -1)
        monkeypatch.setattr(solve, "HUGE", -1)
    g = problem.cand.garden
    plan = solve.solve(g, Settings(time_limit=0.1, workers=1)).plan
    total = wish_total(g)
    assert plan.by_hand == {
        "rule": OPEN_WISHES,
        "produce": worth[OPEN_WISHES],
        "share": worth[OPEN_WISHES] / total,
    }
    assert plan.stages[0].value >= worth[OPEN_WISHES]


def test_nothing_to_plant() -> None:
    g = tiny(20)
    problem = by_tier(rows_of(g))
    assert ByHand(problem).run() == []
    assert np.shape(problem.place_of) == (0,)


@pytest.mark.slow
@pytest.mark.parametrize("forward", [False, True])
@pytest.mark.parametrize("days", [0, 10, 30])
def test_when_time_is_up_nothing_more_is_begun_and_every_rule_is_kept(
    monkeypatch: pytest.MonkeyPatch, days: int, forward: bool
) -> None:
    """The clock moves on by a second at each look; each work day looks once, until it is over."""
    g, _, problem = example("courtyard")
    clock = iter(range(1000))
    monkeypatch.setattr(by_hand.time, "monotonic", lambda: next(clock))
    hand = ByHand(problem, forward, until=days)
    choices = hand.run()
    assert hand.cut
    assert next(clock) == days + 1
    monkeypatch.undo()
    started = problem.column("transplant")[[c.decision for c in choices]]
    assert all(day in set(problem.days[:days]) for day in started)
    assert bool(choices) == (days > 0)
    cand = problem.cand
    assert verify(g, make_plan(g, cand, stands(problem, choices), STEADY)).ok


def test_without_a_time_the_whole_season_is_planned() -> None:
    _, _, problem = example("balcony")
    hand = ByHand(problem)
    hand.run()
    assert not hand.cut
