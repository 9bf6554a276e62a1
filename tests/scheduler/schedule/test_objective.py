"""The stages' expressions against values counted from the plan they stand for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from solver_case import STEADY, gardens, rows_of, tiny, value_of
from verify_case import day

from scheduler.garden.model import Demand, Garden
from scheduler.model import objective
from scheduler.model.build import build_model, stands
from scheduler.model.linear import rows
from scheduler.schedule.problem import Choice, Problem, by_tier
from scheduler.schedule.stages import EFFORT, EVENNESS, PRODUCE, whole_weights
from scheduler.search.by_hand import ByHand
from scheduler.search.improve import Goal
from scheduler.search.layouts import access_matters
from scheduler.search.solve import make_plan, optimise
from scheduler.verify import verify


@pytest.mark.parametrize(
    ("weights", "scale", "whole"),
    [
        ((1.0, 1.0, 6.0), 1, (1, 1, 6)),
        ((1.25, 1.0), 100, (125, 100)),
        ((0.5, 2.0), 10, (5, 20)),
        ((0.333,), 1000, (333,)),
        # More decimals than three: rounded up, so that a bound stays one.
        ((1 / 3, 1.0), 1000, (334, 1000)),
        ((0.0001, 1.0), 1000, (1, 1000)),
        ((), 1, ()),
    ],
)
def test_whole_weights(weights: tuple, scale: int, whole: tuple) -> None:
    assert whole_weights(weights) == (scale, whole)


GOALS = {
    PRODUCE: Goal(PRODUCE, lambda b: b.produce.value(), True),
    EVENNESS: Goal(EVENNESS, lambda b: b.produce.unevenness(b.model), False),
    EFFORT: Goal(EFFORT, lambda b: objective.effort(b.model, b.v), False),
}


def best_of(problem: Problem, access: bool, which: str, choices: list[Choice]) -> float:
    return value_of(problem, access, GOALS[which], choices)


@fixed(12)
@given(gardens())
def test_each_stage_is_what_the_checker_counts(g: Garden) -> None:
    """To the unit: what the model may share out as it likes, plan and checker share the same."""
    cand = rows_of(g)
    problem = by_tier(cand)
    choices = ByHand(problem, forward=True).run()
    access = access_matters(cand)
    if not access:
        last = problem.column("last")
        choices = [Choice(c.decision, int(last[c.decision])) for c in choices]
    plan = make_plan(g, cand, stands(problem, choices), STEADY)
    counted = verify(g, plan).values
    scale, _ = whole_weights([d.weight for d in g.demands])
    assert best_of(problem, access, PRODUCE, choices) / scale == pytest.approx(counted["produce"])
    assert best_of(problem, access, EFFORT, choices) == counted["effort"]
    assert best_of(problem, access, EVENNESS, choices) == counted["evenness"]
    assert {s.name: s.value for s in plan.stages} == pytest.approx(dict(counted))


@fixed(12)
@given(gardens())
def test_search_plan_and_checker_tell_one_number_for_each_stage(g: Garden) -> None:
    cand = rows_of(g)
    problem = by_tier(cand)
    first = ByHand(problem, forward=True).run()
    found = optimise(problem, first, replace(STEADY, deterministic=0.02))
    plan = make_plan(g, cand, stands(problem, found.choices), STEADY, found.stages)
    told = {s.name: s.value for s in found.stages}
    if all(d.weight * 1000 == round(d.weight * 1000) for d in g.demands):
        assert told == pytest.approx({s.name: s.value for s in plan.stages})
    assert {s.name: s.value for s in plan.stages} == pytest.approx(verify(g, plan).values)
    for stage in plan.stages:
        sign = 1 if stage.name == PRODUCE else -1
        assert stage.bound is None or sign * (stage.bound - stage.value) >= -1e-6 * stage.value


def lone_batch(wishes: float) -> tuple[Garden, Problem, list[Choice]]:
    """400 g of lettuce picked on day 30 (weeks 4 and 5), wished in weeks 3 to 5."""
    g = tiny(42)
    g = replace(g, demands=(Demand("lettuce", ("lettuce",), wishes, day(21), day(41)),))
    problem = by_tier(rows_of(g))
    one = np.flatnonzero((problem.column("transplant") == 10) & (problem.column("last") == 30))
    return g, problem, [Choice(int(one[0]), 30)]


@pytest.mark.parametrize(
    ("wish", "produce", "evenness"),
    [
        # Weeks 4 and 5 take 150 each, 100 g spoil; week 3 is 75 below its half.
        (150.0, 300, 100 + 75),
        # All eaten; half of 250 is 125: weeks 4 and 5 share 400, both above; week 3 lacks 125.
        (250.0, 400, 125),
        # Half of 500 is 250: 400 g leave weeks 4 and 5 short by 100 in all, week 3 by 250.
        (500.0, 400, 100 + 250),
        # Odd: half of 301 counts as 150.
        (301.0, 400, 150),
    ],
)
def test_evenness_by_hand(wish: float, produce: int, evenness: int) -> None:
    _, problem, choices = lone_batch(wish)
    assert best_of(problem, False, PRODUCE, choices) == produce
    assert best_of(problem, False, EVENNESS, choices) == evenness


def test_effort_by_hand() -> None:
    """One batch in the top tier: a fill, no lift, days 0, 10 and 30. In tier 3 four lifts more."""
    g = tiny(42, 3, lift_kg=9.0)
    problem = by_tier(rows_of(g))
    start, last = problem.column("transplant"), problem.column("last")
    for place, clear, points in ((0, 30, 4), (2, 30, 8), (2, 33, 9)):
        (one, *_) = np.flatnonzero((start == 10) & (last == 30) & (problem.place_of == place))
        assert best_of(problem, True, EFFORT, [Choice(int(one), clear)]) == points


def test_the_model_is_linear() -> None:
    """A bound relies on it: no stage brings a constraint without a linear form."""
    g = tiny(42, 2, lift_kg=9.0, fills_per_day=1, picks_per_day=1)
    built = build_model(by_tier(rows_of(g)), True)
    built.model.minimize(
        built.produce.unevenness(built.model) + objective.effort(built.model, built.v)
    )
    r = rows(built.model)
    assert r.matrix.shape == (len(r.low), len(built.model.proto.variables))
    assert np.isfinite(r.least).all()
    assert np.isfinite(r.most).all()
