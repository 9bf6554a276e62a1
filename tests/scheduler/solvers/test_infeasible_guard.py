"""The solver's word that a model has no solution is not believed at once.

A presolve that wrongly calls a model infeasible cannot be brought about on purpose, so a solver
that lies takes its place: it says INFEASIBLE whenever it is asked with presolve.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from ortools.sat.python import cp_model
from solver_case import STEADY, tiny

from scheduler.plans.model import PROVEN
from scheduler.search import stage
from scheduler.search.solve import solve
from scheduler.solvers import cp_sat as engine
from scheduler.solvers.cp_sat import Settings, run
from scheduler.verify import verify

Solver = cp_model.CpSolver


def lying(asked: list[bool], always: bool = False) -> type[Solver]:
    """A solver that says INFEASIBLE with presolve, or ``always``; ``asked`` notes each call."""

    class Liar(Solver):
        def solve(self, model: cp_model.CpModel, *others: object) -> object:
            asked.append(self.parameters.cp_model_presolve)
            status = super().solve(model, *others)  # type: ignore[arg-type]
            lies = always or self.parameters.cp_model_presolve
            return cp_model.INFEASIBLE if lies else status

    return Liar


@pytest.fixture
def liar(monkeypatch: pytest.MonkeyPatch) -> Callable[..., list[bool]]:
    def put(always: bool = False) -> list[bool]:
        asked: list[bool] = []
        monkeypatch.setattr(engine.cp_model, "CpSolver", lying(asked, always))
        return asked

    return put


def small_model() -> cp_model.CpModel:
    """The most of x + 2 y with x + y <= 3, both 0 to 2: x 1, y 2 give 5."""
    model = cp_model.CpModel()
    x, y = (model.new_int_var(0, 2, name) for name in "xy")
    model.add(x + y <= 3)
    model.maximize(x + 2 * y)
    return model


def test_a_wrong_no_is_asked_again_without_presolve(liar: Callable[..., list[bool]]) -> None:
    asked = liar()
    answer = run(small_model(), "produce", Settings(workers=1), 10.0)
    assert asked == [True, False]
    assert answer.status == cp_model.OPTIMAL
    assert (answer.value, answer.bound) == (5, 5)
    assert list(answer.values) == [1, 2]


def test_the_same_no_twice_is_believed(liar: Callable[..., list[bool]]) -> None:
    asked = liar(always=True)
    answer = run(small_model(), "produce", Settings(workers=1), 10.0)
    assert asked == [True, False]
    assert answer.status == cp_model.INFEASIBLE
    assert not answer.found
    assert (answer.value, answer.bound, list(answer.values)) == (None, None, [])


def test_a_model_that_has_none_is_asked_twice_and_no_more(liar: Callable[..., list[bool]]) -> None:
    """0 <= x <= 2 and x >= 3: an honest no, from the real solver without presolve."""
    asked = liar()
    model = cp_model.CpModel()
    x = model.new_int_var(0, 2, "x")
    model.add(x >= 3)
    answer = run(model, "produce", Settings(workers=1), 10.0)
    assert asked == [True, False]
    assert answer.status == cp_model.INFEASIBLE


def test_without_presolve_a_no_is_not_asked_again(liar: Callable[..., list[bool]]) -> None:
    asked = liar(always=True)
    answer = run(small_model(), "produce", Settings(workers=1), 10.0, presolve=False)
    assert asked == [False]
    assert not answer.found


def test_a_season_is_planned_just_the_same(
    liar: Callable[..., list[bool]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One tier, 60 days: in the tier on days 10 and 31, picked on 30 and 51: two batches of 400 g,
    though every model of the season is called infeasible at first."""
    asked = liar()
    monkeypatch.setattr(stage, "SMALL", 0)  # HiGHS proves it before CP-SAT is asked
    g = tiny(60)
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=2000.0),))
    plan = solve(g, STEADY).plan
    assert plan.stages[0].value == 800
    assert plan.stages[0].status == PROVEN
    assert verify(g, plan).ok
    assert asked[:2] == [True, False]
