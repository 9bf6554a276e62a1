"""Windows make a schedule better, never worse, and keep what earlier stages reached."""

from __future__ import annotations

import itertools
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from solver_case import STEADY, changing_weather, example, gardens, rows_of, tiny, value_of

from scheduler.garden.model import Garden
from scheduler.model import objective
from scheduler.model.build import stands
from scheduler.schedule.column_subset import cut_out
from scheduler.schedule.problem import Choice, Problem, by_tier
from scheduler.schedule.stages import EFFORT, EVENNESS, PRODUCE, whole_weights
from scheduler.schedule.value import worth
from scheduler.search import improve
from scheduler.search import window_order as order
from scheduler.search.by_hand import ByHand
from scheduler.search.goal import Goal, Incumbent, Worth
from scheduler.search.improve import Improver
from scheduler.search.layouts import access_matters
from scheduler.search.solve import make_plan
from scheduler.search.window import Found, Opener, Window
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify

BUDGET = replace(STEADY, deterministic=0.35)
TWO = replace(STEADY, workers=2, deterministic=None)


def ended(before: int) -> bool:
    """Whether no thread remains; one that watches for a stop looks ten times a second."""
    until = time.monotonic() + 5
    while threading.active_count() > before and time.monotonic() < until:
        time.sleep(0.02)
    return threading.active_count() <= before


def three_columns(lift: float | None) -> Garden:
    """Three columns that share fourteen cells and one fill and one pick a day."""
    g = changing_weather(
        tiny(60, 2, columns="ABC", cells=14, lift_kg=lift, fills_per_day=1, picks_per_day=1)
    )
    return replace(g, demands=(replace(g.demands[0], grams_per_week=700.0),))


def wishes(g: Garden, grams: float) -> Garden:
    """So many grams wished in every week."""
    return replace(g, demands=(replace(g.demands[0], grams_per_week=grams),))


def goals(problem: Problem, access: bool = True) -> list[Goal]:
    scale, _ = whole_weights(problem.supply.weights)

    def valued(name: str) -> Worth:
        return lambda made: worth(problem, name, made, access)

    made = [
        Goal(PRODUCE, lambda b: b.produce.value(), True, scale),
        Goal(EVENNESS, lambda b: b.produce.unevenness(b.model), False),
        Goal(EFFORT, lambda b: objective.effort(b.model, b.v), False),
    ]
    return [replace(goal, worth=valued(goal.name)) for goal in made]


def stages(
    problem: Problem,
    access: bool,
    first: list[Choice],
    parts: bool = False,
    limits: Settings = BUDGET,
    seconds: float = 300.0,
) -> list[tuple[Goal, Incumbent, Incumbent]]:
    """Each stage improved from the one before: (goal, before, after)."""
    improver = Improver(problem, access, limits, some_columns=parts)
    choices, locks, checks = list(first), [], []
    out = []
    for goal in goals(problem, access):
        goal = replace(goal, locks=tuple(locks), checks=tuple(checks))
        before = Incumbent(choices, value_of(problem, access, goal, choices))
        after = improver.run(goal, before, seconds)
        out.append((goal, before, after))
        choices = after.choices
        locks.append((goal.expression, goal.maximise, round(after.value)))
        assert goal.worth is not None
        checks.append((goal.worth, goal.maximise, round(after.value)))
    return out


def checked(
    g: Garden,
    problem: Problem,
    access: bool,
    parts: bool = False,
    limits: Settings = BUDGET,
    seconds: float = 300.0,
) -> list[float]:
    """Run the stages and check each; the values reached."""
    made = stages(problem, access, ByHand(problem).run(), parts, limits, seconds)
    for n, (goal, before, after) in enumerate(made):
        if goal.maximise:
            assert after.value >= before.value
        else:
            assert after.value <= before.value
        # The value told is the schedule's own.
        assert value_of(problem, access, goal, after.choices) == after.value
        for earlier, _, reached in made[:n]:
            now = value_of(problem, access, replace(earlier, locks=()), after.choices)
            if earlier.maximise:
                assert now >= reached.value
            else:
                assert now <= reached.value
    plan = make_plan(g, problem.cand, stands(problem, made[-1][2].choices), BUDGET)
    verdict = verify(g, plan)
    assert verdict.ok, verdict.broken[:3]
    return [after.value for _, _, after in made]


@pytest.mark.slow
def test_the_balcony_gets_better_stage_by_stage() -> None:
    g, cand, problem = example("balcony")
    reached = checked(g, problem, access_matters(cand))
    first = Goal(PRODUCE, lambda b: b.produce.value(), True)
    assert reached[0] > value_of(problem, True, first, ByHand(problem).run())


@pytest.mark.slow
@fixed(3)
@given(gardens())
def test_random_gardens(g: Garden) -> None:
    cand = rows_of(g)
    problem = by_tier(cand)
    if len(problem):
        checked(g, problem, access_matters(cand))


@pytest.mark.deep
@pytest.mark.parametrize("lift", [None, 9.0])
def test_a_few_columns_at_a_time(lift: float | None, monkeypatch: pytest.MonkeyPatch) -> None:
    """With windows of one column each of three, what the others use and give is counted in full."""
    monkeypatch.setattr(improve, "TIERS_AT_ONCE", 2)
    g = three_columns(lift)
    problem = by_tier(rows_of(g))
    seen = []
    cut_out = improve.cut_out

    def spy(*args: object) -> object:
        part = cut_out(*args)  # type: ignore[arg-type]
        seen.append(int(part.holds.sum()))
        return part

    monkeypatch.setattr(improve, "cut_out", spy)
    checked(g, problem, lift is not None, parts=True)
    assert set(seen) == {2}


@pytest.mark.slow
@fixed(4)
@given(gardens())
def test_windows_at_once_in_random_gardens(g: Garden) -> None:
    """Put together, what two threads find keeps every rule and every stage before."""
    patch = pytest.MonkeyPatch()
    patch.setattr(improve, "TIERS_AT_ONCE", 1)
    cand = rows_of(g)
    problem = by_tier(cand)
    with patch.context():
        if len(problem):
            checked(g, problem, access_matters(cand), True, TWO, 1.0)
    patch.undo()


@pytest.mark.deep
@pytest.mark.parametrize("lift", [None, 9.0])
def test_windows_at_once(lift: float | None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(improve, "TIERS_AT_ONCE", 2)
    g = three_columns(lift)
    problem = by_tier(rows_of(g))
    at_once: set[int] = set()
    inside: list[frozenset[str]] = []
    solve = Opener.solve

    def spy(*args: Any) -> Any:
        columns = args[3].columns
        assert all(columns.isdisjoint(others) for others in inside)
        inside.append(columns)
        at_once.add(len(inside))
        try:
            return solve(*args)
        finally:
            inside.remove(columns)

    monkeypatch.setattr(Opener, "solve", spy)
    before = threading.active_count()
    access = lift is not None
    checked(g, problem, access, True, TWO, 2.0)
    goal = goals(problem, access)[0]
    got = Improver(problem, access, TWO, some_columns=True).run(goal, Incumbent([], 0.0), 2.0)
    assert got.value == value_of(problem, access, goal, got.choices)
    assert got.value >= 800  # one column alone holds a batch in each of its two tiers
    assert at_once == {1, 2}
    assert ended(before)


def doubled(g: Garden) -> tuple[Problem, Improver, Goal, Incumbent, list[tuple[Window, Found]]]:
    """Windows over columns A and B, drawn from the same empty schedule, that find the same."""
    problem = by_tier(rows_of(g))
    goal = goals(problem, False)[0]
    improver = Improver(problem, False, TWO, some_columns=True)
    nothing = Incumbent([], 0.0)
    last = problem.column("last")
    out = []
    for column in ("A", "B"):
        part = cut_out(problem, [], frozenset(column))
        first = int(np.flatnonzero(part.holds[problem.place_of])[0])
        window = Window(0, 60, True, False, 1, part, frozenset(column))
        out.append((window, Found([Choice(first, int(last[first]))], 400.0, True, 0.0)))
    return problem, improver, goal, nothing, out


def put_together(g: Garden, goal_of: Callable[[Goal], Goal] = lambda goal: goal) -> Incumbent:
    """What is kept of two windows solved beside each other."""
    _, improver, goal, nothing, (one, two) = doubled(g)
    r = improver.begin(goal_of(goal), 300.0)
    best = improver.take(r, nothing, nothing, *one)
    assert best.value == 400
    return improver.take(r, best, nothing, *two)


def test_what_windows_find_at_once_is_put_together() -> None:
    # 400 g each from two tiers, picked on the same day; 700 g are wished that week.
    got = put_together(wishes(tiny(60, columns="AB", cells=8), 700.0))
    assert len(got.choices) == 2
    assert got.value == 700 + 100  # what is over keeps until the next week


@pytest.mark.parametrize("limits", [{"fills_per_day": 1}, {"picks_per_day": 1}, {"cells": 7}])
def test_what_breaks_a_shared_limit_together_is_refused(limits: dict[str, int]) -> None:
    """Four cells a batch; each window alone keeps within the limit, the two together do not."""
    got = put_together(wishes(tiny(60, columns="AB", **limits), 700.0))
    assert len(got.choices) == 1
    assert got.value == 400


def test_what_is_worse_in_an_earlier_stage_together_is_refused() -> None:
    def kept(goal: Goal) -> Goal:
        return replace(goal, checks=((lambda made: float(len(made)), False, 1),))

    assert len(put_together(wishes(tiny(60, columns="AB"), 700.0), kept).choices) == 1


def test_a_goal_without_arithmetic_is_sought_one_window_at_a_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(improve, "TIERS_AT_ONCE", 2)
    problem = by_tier(rows_of(three_columns(None)))
    goal = replace(goals(problem, False)[0], worth=None)
    names: set[str] = set()
    solve = Opener.solve

    def spy(*args: Any) -> Any:
        names.add(threading.current_thread().name)
        return solve(*args)

    monkeypatch.setattr(Opener, "solve", spy)
    Improver(problem, False, TWO, some_columns=True).run(goal, Incumbent([], 0.0), 1.0)
    assert names == {threading.current_thread().name}


def test_windows_at_once_end_when_stopped_and_when_one_fails(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(improve, "TIERS_AT_ONCE", 2)
    problem = by_tier(rows_of(three_columns(None)))
    goal = goals(problem, False)[0]
    stop = threading.Event()
    before = threading.active_count()
    stop.set()
    nothing = Incumbent([], 0.0)
    assert Improver(problem, False, TWO, stop, True).run(goal, nothing, 300.0) is nothing
    solve, other, halted = Opener.solve, threading.Event(), threading.Event()
    calls = itertools.count()

    def fails(self: Opener, *args: Any) -> Any:
        if next(calls) == 0:
            assert other.wait(10)
            raise RuntimeError("out of memory")
        other.set()
        while not args[-1].is_set():  # as long as nobody ends it
            time.sleep(0.01)
        halted.set()
        return solve(self, *args)

    monkeypatch.setattr(Opener, "solve", fails)
    with pytest.raises(RuntimeError, match="out of memory"):
        Improver(problem, False, TWO, None, True).run(goal, nothing, 300.0)
    assert halted.is_set()
    assert ended(before)


@pytest.mark.deep
def test_the_same_seed_gives_the_same_schedule() -> None:
    _, cand, problem = example("balcony")
    access = access_matters(cand)
    first = ByHand(problem).run()
    goal = goals(problem)[0]
    start = Incumbent(first, value_of(problem, access, goal, first))
    runs = [Improver(problem, access, BUDGET).run(goal, start, 300.0) for _ in range(2)]
    assert runs[0] == runs[1]
    other = Improver(problem, access, replace(BUDGET, seed=5)).run(goal, start, 300.0)
    assert other.value >= start.value


def test_windows_with_nothing_free_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Work on Mondays, windows of two days: most hold no day on which a tier may be filled."""
    g = tiny(60, work=(0,))
    g = replace(g, crops={"lettuce": replace(g.crops["lettuce"], nursery_wait=4.0)})
    problem = by_tier(rows_of(g))
    # In the tier on day 14 and picked on day 35 at the earliest, a Monday; turned around by day 42
    # it has no time for a second batch: one batch is the most there is.
    first = ByHand(problem).run()
    assert len(first) == 1
    for name in ("WINDOW", "SHORTEST", "LONGEST"):
        monkeypatch.setattr(order, name, 2.0)
    goal = goals(problem)[0]
    start = Incumbent(first, value_of(problem, False, goal, first))
    got = Improver(problem, False, BUDGET).run(goal, start, 300.0)
    assert got.value == start.value == 400
    assert len(got.choices) == 1


@pytest.mark.slow
def test_an_empty_schedule_is_a_start_too() -> None:
    g = tiny(60)
    problem = by_tier(rows_of(g))
    goal = goals(problem)[0]
    got = Improver(problem, False, BUDGET).run(goal, Incumbent([], 0.0), 300.0)
    assert got.value == 800


def test_it_ends_at_the_target_when_stopped_and_when_time_is_up() -> None:
    g = tiny(60, 2)
    problem = by_tier(rows_of(g))
    goal = goals(problem)[0]
    start = Incumbent([], 0.0)
    assert Improver(problem, False, BUDGET).run(goal, start, 300.0, target=0.0) is start
    stop = threading.Event()
    stop.set()
    assert Improver(problem, False, BUDGET, stop).run(goal, start, 300.0) is start
    assert Improver(problem, False, BUDGET).run(goal, start, -1.0) is start
    got = Improver(problem, False, BUDGET).run(goal, start, 300.0, target=400.0)
    assert got.value >= 400


@pytest.mark.slow
def test_progress_is_told_in_grams_with_its_bound() -> None:
    g = tiny(60)
    g = replace(g, demands=(replace(g.demands[0], weight=1.25),))
    problem = by_tier(rows_of(g))
    goal = goals(problem)[0]
    assert goal.scale == 100
    told = []
    got = Improver(problem, False, BUDGET).run(
        goal, Incumbent([], 0.0), 300.0, bound=100_000.0, report=told.append
    )
    assert got.value == 100_000
    assert told
    assert [p.best for p in told] == sorted(p.best for p in told)
    assert (told[-1].best, told[-1].bound, told[-1].gap) == (1000, 1000, 0)
