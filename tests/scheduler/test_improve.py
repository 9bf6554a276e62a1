"""Windows make a schedule better, never worse, and keep what earlier stages reached."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from solver_case import STEADY, changing_weather, example, gardens, rows_of, tiny, value_of

from scheduler import improve, objective
from scheduler.build_model import stands
from scheduler.by_hand import ByHand, Choice
from scheduler.garden import Garden
from scheduler.improve import Goal, Improver, Incumbent
from scheduler.problem import Problem, by_tier
from scheduler.solve import access_matters, make_plan
from scheduler.verify import verify

BUDGET = replace(STEADY, deterministic=0.35)


def goals(problem: Problem) -> list[Goal]:
    scale, _ = objective.whole_weights(problem.supply.weights)
    return [
        Goal(objective.PRODUCE, lambda b: b.produce.value(), True, scale),
        Goal(objective.EVENNESS, lambda b: b.produce.unevenness(b.model), False),
        Goal(objective.EFFORT, lambda b: objective.effort(b.model, b.v), False),
    ]


def stages(
    problem: Problem, access: bool, first: list[Choice], parts: bool = False
) -> list[tuple[Goal, Incumbent, Incumbent]]:
    """Each stage improved from the one before: (goal, before, after)."""
    improver = Improver(problem, access, BUDGET, parts=parts)
    choices, locks = list(first), []
    out = []
    for goal in goals(problem):
        goal = replace(goal, locks=tuple(locks))
        before = Incumbent(choices, value_of(problem, access, goal, choices))
        after = improver.run(goal, before, 300.0)
        out.append((goal, before, after))
        choices = after.choices
        locks.append((goal.expression, goal.maximise, round(after.value)))
    return out


def checked(g: Garden, problem: Problem, access: bool, parts: bool = False) -> list[float]:
    """Run the stages and check each; the values reached."""
    made = stages(problem, access, ByHand(problem).run(), parts)
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


def test_the_balcony_gets_better_stage_by_stage() -> None:
    g, cand, problem = example("balcony")
    reached = checked(g, problem, access_matters(cand))
    first = Goal(objective.PRODUCE, lambda b: b.produce.value(), True)
    assert reached[0] > value_of(problem, True, first, ByHand(problem).run())


@settings(max_examples=3, deadline=None, derandomize=True,
          suppress_health_check=list(HealthCheck))  # fmt: skip
@given(gardens())
def test_random_gardens(g: Garden) -> None:
    cand = rows_of(g)
    problem = by_tier(cand)
    if len(problem):
        checked(g, problem, access_matters(cand))


@pytest.mark.parametrize("lift", [None, 9.0])
def test_a_few_columns_at_a_time(lift: float | None, monkeypatch: pytest.MonkeyPatch) -> None:
    """With windows of one column each of three, what the others use and give is counted in full."""
    monkeypatch.setattr(improve, "PART", 2)
    g = changing_weather(tiny(60, 2, columns="ABC", cells=14, lift_kg=lift, fills_per_day=1,
                              picks_per_day=1))  # fmt: skip
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=700.0),))
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
        monkeypatch.setattr(improve, name, 2.0)
    goal = goals(problem)[0]
    start = Incumbent(first, value_of(problem, False, goal, first))
    got = Improver(problem, False, BUDGET).run(goal, start, 300.0)
    assert got.value == start.value == 400
    assert len(got.choices) == 1


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


def test_progress_is_told_in_grams_with_its_bound() -> None:
    g = tiny(60)
    g = replace(g, demands=(replace(g.demands[0], weight=1.25),))
    problem = by_tier(rows_of(g))
    goal = goals(problem)[0]
    assert goal.scale == 100
    told = []
    got = Improver(problem, False, BUDGET).run(goal, Incumbent([], 0.0), 300.0, bound=100_000.0,
                                               report=told.append)  # fmt: skip
    assert got.value == 100_000
    assert told
    assert [p.best for p in told] == sorted(p.best for p in told)
    assert (told[-1].best, told[-1].bound, told[-1].gap) == (1000, 1000, 0)
