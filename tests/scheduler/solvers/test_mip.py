"""Models handed to HiGHS: the same optimum as CP-SAT's, and no word believed that is none."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from draws import fixed
from hypothesis import given
from ortools.sat.python import cp_model
from solver_case import STEADY, Proofs, example, provable, rows_of

from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.model.build import build_model
from scheduler.model.highs import Mip, race, solve_mip
from scheduler.model.hints import complete
from scheduler.model.linear import relax
from scheduler.schedule.problem import by_tier, pooled
from scheduler.search import stage
from scheduler.search.by_hand import ByHand
from scheduler.search.layouts import access_matters
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Progress
from scheduler.solvers.quiet_highs import QuietHighs

BENCH = Path(__file__).parents[2] / "bench" / "gardens"


@pytest.fixture
def ended(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Searches that were ended from outside; without that they go on for their five minutes."""
    told: list[object] = []
    cancel = QuietHighs.cancelSolve

    def spy(self: QuietHighs) -> object:
        told.append(self)
        return cancel(self)

    monkeypatch.setattr(QuietHighs, "cancelSolve", spy)
    return told


@pytest.mark.slow
def test_the_optimum_is_that_of_the_other_solver() -> None:
    with Proofs() as proofs:

        @fixed(12)
        @given(provable(150))
        def each(g: Garden) -> None:
            best = proofs.most(g)
            if best is not None:
                cand = rows_of(g)
                built = build_model(by_tier(cand), access_matters(cand))
                built.model.maximize(built.produce.value())
                found = solve_mip(built.model, True, 60.0)
                assert found.proven
                assert found.value == round(best)

        each()


def test_a_hint_is_where_it_begins(capfd: pytest.CaptureFixture[str]) -> None:
    """No time to search: what comes back is at least the hint, and nothing is printed."""
    _, cand, problem = example("balcony")
    built = build_model(problem, access_matters(cand))
    built.model.maximize(built.produce.value())
    choices = ByHand(problem, True).run()
    hint = complete(built, choices)
    found = solve_mip(built.model, True, 0.3, hint)
    by_hand = sum(
        hint[i] * c
        for i, c in zip(
            built.model.proto.objective.vars, built.model.proto.objective.coeffs, strict=True
        )
    )
    assert found.value is not None
    assert found.value >= abs(by_hand) > 0
    out, err = capfd.readouterr()
    assert not out + err


def test_what_cannot_be_has_neither_value_nor_bound() -> None:
    model = cp_model.CpModel()
    a, b = model.new_bool_var("a"), model.new_bool_var("b")
    model.add(a + b >= 2)
    model.add(a + b <= 1)
    model.maximize(a + b)
    found = solve_mip(model, True, 5.0)
    assert (found.values, found.value, found.bound) == (None, None, None)


def test_the_least_is_rounded_upwards() -> None:
    """Least of 2a + 2b with 3a + 3b >= 4, whole: 2 * 2 = 4; the linear bound 2.67 becomes 3."""
    model = cp_model.CpModel()
    a, b = model.new_int_var(0, 9, "a"), model.new_int_var(0, 9, "b")
    model.add(3 * a + 3 * b >= 4)
    model.minimize(2 * a + 2 * b)
    found = solve_mip(model, False, 5.0)
    assert found.value == 4
    assert found.bound in (3, 4)


@pytest.mark.slow
def test_a_race_ends_with_the_first_that_is_through() -> None:
    """Two seeds on the balcony: the optimum of one, and no word of another."""
    _, cand, problem = example("balcony")
    built = build_model(problem, access_matters(cand))
    built.model.maximize(built.produce.value())
    alone = solve_mip(built.model, True, 60.0)
    found = race(built.model, True, 60.0, seeds=(0, 1))
    assert found.value == found.bound == alone.value == alone.bound
    assert found.values is not None


@pytest.mark.slow
@pytest.mark.parametrize("how", [solve_mip, race])
def test_it_can_be_stopped(how: Callable[..., Mip], ended: list[object]) -> None:
    problem = pooled(rows_of(load_garden(BENCH / "balcony-52.yaml")))
    built = build_model(problem, access=False)
    built.model.maximize(built.produce.value())
    stop = threading.Event()
    stop.set()
    found = how(built.model, True, 300.0, stop=stop)
    assert ended
    assert not found.proven


@pytest.mark.slow
def test_the_balcony_is_proven_by_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A small garden goes to HiGHS first: one call settles it."""
    from scheduler.search import stage as stage_search

    calls = []
    real = stage_search.race

    def counted(*args: object, **more: object) -> object:
        calls.append(1)
        return real(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(stage_search, "race", counted)
    g, _, _ = example("balcony")
    plan = solve(g, replace(STEADY, deterministic=None, time_limit=60.0, gap=0.0)).plan
    assert calls
    assert plan.stages[0].status == "proven"


def balcony() -> tuple[cp_model.CpModel, int]:
    """The balcony's model and its proven optimum (that it is CP-SAT's too is tested above)."""
    _, _, problem = example("balcony")
    built = build_model(problem, access=False)
    built.model.maximize(built.produce.value())
    found = solve_mip(built.model, True, 60.0)
    assert found.proven
    assert found.value is not None
    return built.model, found.value


@pytest.mark.deep
def test_a_bound_without_branching(monkeypatch: pytest.MonkeyPatch) -> None:
    """The balcony's 52 weeks: long over when branching is not, and tighter than the linear bound.

    4,284 is its optimum, proven with another model (tests/bench/scale.md).
    """
    problem = pooled(rows_of(load_garden(BENCH / "balcony-52.yaml")))
    built = build_model(problem, access=False)
    built.model.maximize(built.produce.value())
    loose = relax(built.model, True, 60.0)
    assert loose is not None
    nodes: list[int] = []
    run = QuietHighs.run

    def counted(self: QuietHighs) -> object:
        done = run(self)
        nodes.append(self.getInfo().mip_node_count)
        return done

    monkeypatch.setattr(QuietHighs, "run", counted)
    first = solve_mip(built.model, True, 240.0, root=True)
    assert len(nodes) == 1
    assert nodes[0] <= 1
    assert first.bound is not None
    assert 4284 < first.bound < loose.whole(True)
    assert not first.proven


@pytest.mark.slow
def test_each_better_solution_is_told_on_the_way() -> None:
    model, best = balcony()
    told: list[Mip] = []
    threads = set()

    def hear(found: Mip) -> None:
        told.append(found)
        threads.add(threading.current_thread())

    found = race(model, True, 60.0, seeds=(0, 1), tell=hear)
    assert found.value == best
    assert threads == {threading.current_thread()}
    values = [m.value for m in told if m.value is not None]
    assert values
    assert max(values) <= best
    assert all(m.bound is None or m.bound >= best for m in told)
    cost = dict(zip(model.proto.objective.vars, model.proto.objective.coeffs, strict=True))
    factor = model.proto.objective.scaling_factor or 1.0
    for m in told:
        assert m.values is not None
        assert m.value == round(sum(m.values[i] * c for i, c in cost.items()) * factor)


@pytest.mark.slow
def test_an_error_of_the_listener_ends_the_race(ended: list[object]) -> None:
    """It comes out at once, and no thread goes on until the limit."""
    problem = pooled(rows_of(load_garden(BENCH / "balcony-52.yaml")))
    built = build_model(problem, access=False)
    built.model.maximize(built.produce.value())

    def hear(_: Mip) -> None:
        raise RuntimeError("enough")

    with pytest.raises(RuntimeError, match="enough"):
        race(built.model, True, 300.0, tell=hear)
    assert ended


@pytest.mark.deep
def test_a_proof_is_told_though_nothing_better_came_with_it() -> None:
    """The balcony's 26 weeks: the optimum is known long before its bound is."""
    g = load_garden(BENCH / "balcony-26.yaml")
    told: list[Progress] = []
    plan = solve(g, replace(STEADY, deterministic=None, time_limit=60.0, gap=0.0), told.append).plan
    assert plan.stages[0].status == "proven"
    produce = [p for p in told if p.stage == "produce"]
    assert produce[-1].best == produce[-1].bound == plan.stages[0].value


def test_a_limit_by_work_is_one_of_nodes(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the tests run is what a grower runs: HiGHS is asked first, with nodes for its limit."""
    asked: list[int | None] = []
    whole = stage.race

    def spy(*arguments: Any) -> Mip:
        asked.append(arguments[-1])
        return whole(*arguments)

    monkeypatch.setattr(stage, "race", spy)
    g, _, _ = example("balcony")
    limited = replace(STEADY, deterministic=0.1)
    plans = [solve(g, limited).plan for _ in range(2)]
    assert set(asked) == {limited.nodes} == {50}
    assert plans[0].batches == plans[1].batches
    assert [s.bound for s in plans[0].stages] == [s.bound for s in plans[1].stages]
    assert replace(limited, deterministic=0.0001).nodes == 1
    assert replace(limited, deterministic=None).nodes is None
