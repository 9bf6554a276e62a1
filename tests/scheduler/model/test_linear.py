"""The linear side of a model and the bound of its relaxation."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from ortools.sat.python import cp_model
from solver_case import gardens, rows_of, tiny

from scheduler.garden.model import Garden
from scheduler.model import linear, objective
from scheduler.model.build import build_model
from scheduler.model.linear import relax, rows
from scheduler.schedule.problem import by_tier, pooled
from scheduler.search.layouts import access_matters
from scheduler.solvers.cp_sat import Settings, run


def small_model() -> cp_model.CpModel:
    """x in 0..5, y in -2..7: 2x + 3y <= 12, x - y = 1, one of a and b; most of 4x + y + 3a + 10."""
    model = cp_model.CpModel()
    x, y = model.new_int_var(0, 5, "x"), model.new_int_var(-2, 7, "y")
    a, b = model.new_bool_var("a"), model.new_bool_var("b")
    model.add(2 * x + 3 * y <= 12)
    model.add(x - y == 1)
    model.add_exactly_one([a, b])
    model.add_at_most_one([b, a])
    model.maximize(4 * x + y + 3 * a + 10)
    return model


def test_rows_of_a_model() -> None:
    r = rows(small_model())
    assert r.matrix.toarray().tolist() == [[2, 3, 0, 0], [1, -1, 0, 0], [0, 0, 1, 1], [0, 0, 1, 1]]
    assert r.high.tolist() == [12, 1, 1, 1]
    assert r.low.tolist() == [-np.inf, 1, 1, 0]
    assert (r.least.tolist(), r.most.tolist()) == ([0, -2, 0, 0], [5, 7, 1, 1])
    assert r.cost.tolist() == [4, 1, 3, 0] or r.cost.tolist() == [-4, -1, -3, 0]
    assert r.holds(np.array([3, 2, 1, 0]))
    for bad in ([4, 3, 1, 0], [3, 1, 1, 0], [3, 2, 1, 1], [3, 2, 0, 0], [-1, -2, 1, 0]):
        assert not r.holds(np.array(bad))


def test_bound_of_a_small_model() -> None:
    """y = x - 1: 5x <= 15, so x = 3, y = 2: 12 + 2 + 3 + 10 = 27, whole anyway."""
    model = small_model()
    got = relax(model, True)
    assert got is not None
    assert got.bound == pytest.approx(27)
    assert run(model, "x", Settings(workers=1), 10).value == 27


def test_bound_of_a_least() -> None:
    """3x + 3y >= 7 with x, y in 0..4: least x + 2y is 7/3 without whole numbers, 3 with."""
    model = cp_model.CpModel()
    x, y = model.new_int_var(0, 4, "x"), model.new_int_var(0, 4, "y")
    model.add(3 * x + 3 * y >= 7)
    model.minimize(x + 2 * y)
    got = relax(model, False)
    assert got is not None
    assert got.bound == pytest.approx(7 / 3)
    assert run(model, "x", Settings(workers=1), 10).value == 3


def test_a_constraint_without_linear_form_is_refused() -> None:
    model = cp_model.CpModel()
    x = model.new_int_var(0, 4, "x")
    y = model.new_int_var(0, 4, "y")
    model.add_max_equality(y, [x, 2])
    with pytest.raises(ValueError, match="no linear form"):
        rows(model)


def test_an_empty_objective() -> None:
    model = cp_model.CpModel()
    model.new_bool_var("x")
    model.maximize(0)
    got = relax(model, True)
    assert got is None or got.bound == 0


GOALS = {
    "produce": (True, lambda b: b.produce.value()),
    "evenness": (False, lambda b: b.produce.unevenness(b.model)),
    "effort": (False, lambda b: objective.effort(b.model, b.v)),
}


def aimed(g: Garden, goal: str, loose: bool, least: int = 0) -> cp_model.CpModel:
    """Model of one stage, produce at least `least`; loose: tiers pooled, stack access left out."""
    cand = rows_of(g)
    built = build_model(
        pooled(cand) if loose else by_tier(cand), False if loose else access_matters(cand)
    )
    maximise, expression = GOALS[goal]
    if least:
        built.model.add(built.produce.value() >= least)
    part = expression(built)
    if maximise:
        built.model.maximize(part)
    else:
        built.model.minimize(part)
    return built.model


@pytest.mark.deep
@fixed(6)
@given(gardens())
def test_the_relaxed_bound_is_on_the_right_side(g: Garden) -> None:
    """Pooled, whole numbers and stack access left out: never worse than the optimum with all."""
    best = run(aimed(g, "produce", False), "p", Settings(workers=1), 20)
    assert best.value is not None
    for goal, (maximise, _) in GOALS.items():
        least = round(best.value) if goal != "produce" else 0
        bound = relax(aimed(g, goal, True, least), maximise)
        answer = run(aimed(g, goal, False, least), goal, Settings(workers=1, deterministic=0.3), 20)
        assert bound is not None
        if not answer.found:
            continue
        assert answer.value is not None
        slack = 1e-6 * max(1.0, abs(bound.bound))
        if maximise:
            assert bound.bound >= answer.value - slack
        else:
            assert bound.bound <= answer.value + slack


@pytest.mark.slow
@pytest.mark.parametrize("goal", GOALS)
@pytest.mark.parametrize("noise", [0.01, 1.0, 30.0])
def test_the_bound_holds_whatever_the_multipliers(
    goal: str, noise: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Weak duality: multipliers spoilt at random give a weaker bound, never a wrong one."""
    g = tiny(60, 2, lift_kg=9.0, fills_per_day=1)
    maximise, _ = GOALS[goal]
    least = 0 if goal == "produce" else 800
    answer = run(aimed(g, goal, False, least), goal, Settings(workers=1), 30)
    assert answer.status == cp_model.OPTIMAL
    assert answer.value is not None
    good = relax(aimed(g, goal, True, least), maximise)
    random = np.random.default_rng(11)
    solved = linear.linprog

    def spoilt(*args: Any, **options: Any) -> Any:
        got = solved(*args, **options)
        for part in (got.eqlin, got.ineqlin):
            part.marginals = part.marginals + noise * random.normal(size=len(part.marginals))
        return got

    monkeypatch.setattr(linear, "linprog", spoilt)
    assert good is not None
    for _ in range(5):
        bad = relax(aimed(g, goal, True, least), maximise)
        assert bad is not None
        if maximise:
            assert bad.bound >= answer.value - 1e-6
            assert bad.bound > good.bound
        else:
            assert bad.bound <= answer.value + 1e-6
            assert bad.bound < good.bound


def test_a_multiplier_of_the_wrong_sign_is_not_used(monkeypatch: pytest.MonkeyPatch) -> None:
    """As the least above with a row x + y <= 8 that does not bind. Its multiplier of +0.01 would
    lift the bound to 0.01 * 8 + 7 (1/3 - 0.01) = 2.343, above the least of 2.333."""
    model = cp_model.CpModel()
    x, y = model.new_int_var(0, 4, "x"), model.new_int_var(0, 4, "y")
    model.add(x + y <= 8)
    model.add(3 * x + 3 * y >= 7)
    model.minimize(x + 2 * y)
    solved = linear.linprog

    def spoilt(*args: Any, **options: Any) -> Any:
        got = solved(*args, **options)
        got.ineqlin.marginals = got.ineqlin.marginals + 0.01
        return got

    monkeypatch.setattr(linear, "linprog", spoilt)
    got = relax(model, False)
    assert got is not None
    assert got.bound == pytest.approx(7 * (1 / 3 - 0.01))


def test_no_bound_where_the_solver_did_not_finish(monkeypatch: pytest.MonkeyPatch) -> None:
    solved = linear.linprog

    def stuck(*args: Any, **options: Any) -> Any:
        got = solved(*args, **options)
        got.status = 1
        return got

    monkeypatch.setattr(linear, "linprog", stuck)
    assert relax(small_model(), True) is None


def test_a_solver_that_goes_round_is_ended_by_its_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both methods get a limit of steps whatever the time; if neither is through: no bound."""
    model = cp_model.CpModel()
    a = model.new_bool_var("a")
    model.maximize(a)
    seen = []

    class Limit:
        status = 1  # the library's code for a limit of steps

    def round_and_round(*args: object, options: dict[str, object]) -> Limit:
        seen.append((args[-1], options["maxiter"]))
        return Limit()

    monkeypatch.setattr(linear, "linprog", round_and_round)
    assert relax(model, True) is None
    assert seen == [("highs-ipm", linear.STEPS), ("highs-ds", linear.STEPS)]
