"""The search of a rebalance: what its stages are bounded by, and when it ends."""

from __future__ import annotations

from dataclasses import replace

import pytest
import rebalance_case as rc
import verify_case as case
from rebalance_case import log, row

from scheduler.garden.model import Garden
from scheduler.log.state import state_on
from scheduler.plans.model import PLANNED
from scheduler.replanning.baseline import Kept, go_on_as_planned
from scheduler.replanning.bounds import Bounds, access_bound, later_bounds, produce_bound
from scheduler.replanning.changes import Changes
from scheduler.replanning.commitments import Commitments
from scheduler.replanning.layout import Layout
from scheduler.replanning.rebalance import made_of, rebalance
from scheduler.replanning.search import Found, _Search, choices_of, found_of, search
from scheduler.replanning.take_stock import commitments_of
from scheduler.schedule import assemble
from scheduler.schedule.problem import Choice, Problem
from scheduler.schedule.stages import whole_weights
from scheduler.schedule.value import worth
from scheduler.search.improve import Goal, Incumbent
from scheduler.solvers.cp_sat import Settings

LOGS = {
    "a failure": (25, (row(25, "failed", "B2", "", "", "leak"),)),
    "seedlings without a tier": (21, (row(21, "failed", "B2"), row(20, "failed", "A2"))),
    "a column": (36, (row(36, "failed", "A"),)),
    "on the day of a fill": (34, (row(33, "failed", "A2"),)),
    "before a sowing": (22, (row(22, "failed", "A2"),)),
    "nothing to do that day": (25, (row(24, "failed", "B2"),)),
}


def hungry() -> Garden:
    """More is wished than can be met, so that the first stage is not settled at once."""
    first, second = rc.garden().demands
    return replace(rc.garden(), demands=(replace(first, grams_per_week=900.0), second))


def carried_on(name: str, within: Garden) -> tuple[Commitments, Kept]:
    on, lines = LOGS[name]
    state = state_on(within, rc.plan(), log(*lines, of=within), case.day(on), False, 56)
    commitments = commitments_of(within, rc.plan(), state)
    return commitments, go_on_as_planned(commitments)


def real(within: Garden, commitments: Commitments, found: object) -> dict[str, float]:
    """Stage values of the whole season's batches, as a plan tells them."""
    made = made_of(within, rc.plan(), commitments, found)  # type: ignore[arg-type]
    table = assemble.serve(within, made)
    return {
        "produce": assemble.produce_value(within, table),
        "evenness": assemble.evenness_value(table),
        "effort": assemble.effort_value(made),
    }


@pytest.mark.deep
@pytest.mark.parametrize("name", LOGS)
def test_no_way_to_go_on_beats_a_bound(name: str) -> None:
    """Bounds for a poor way to go on hold for the better ones as well: kept, by hand, searched."""
    within = hungry()
    commitments, kept = carried_on(name, within)
    layout = Layout(commitments)
    problem = layout.by_tier(kept)
    changes = Changes(commitments, layout)
    scale, _ = whole_weights(problem.supply.weights)
    tried = Settings(time_limit=5.0, gap=0.0, workers=1, deterministic=0.5)
    ways = [choices_of(problem, layout, kept)]
    ways += [
        searched(problem, layout, search(commitments, kept, tried, price)) for price in (0.0, 25.0)
    ]
    pooled, apart = produce_bound(layout), access_bound(problem, 60.0)
    assert pooled is not None
    assert apart is not None
    assert apart <= pooled
    for mine in ways:
        bounds = Bounds()
        later_bounds(bounds, layout, problem, changes, mine, lambda: 60.0)
        met = worth(problem, "produce", mine)
        assert met <= apart
        assert bounds.evenness is not None
        assert bounds.changes is not None
        for other in ways:
            values = real(within, commitments, found_of(problem, layout, other))
            assert values["produce"] * scale == worth(problem, "produce", other)
            if worth(problem, "produce", other) < met:
                continue
            assert values["evenness"] >= bounds.evenness
            assert changes.count(problem, other) >= bounds.changes


def searched(problem: Problem, layout: Layout, found: Found) -> list[Choice]:
    """What was found, as choices."""
    return choices_of(problem, layout, Kept(dict(enumerate([*found.taken.values(), *found.new]))))


def searched_whole(monkeypatch: pytest.MonkeyPatch, gap: float) -> list[str]:
    """The goals for which the whole season was tried."""
    names: list[str] = []

    def note(self: object, goal: Goal, best: Incumbent, *rest: object) -> None:
        if len(rest) < 3:  # no part of the problem
            names.append(goal.name)

    monkeypatch.setattr(_Search, "_whole", note)
    on, lines = LOGS["a failure"]
    within = hungry()
    rebalance(
        within,
        rc.plan(),
        log(*lines, of=within),
        case.day(on),
        Settings(time_limit=60.0, gap=gap, workers=1, deterministic=0.01),
    )
    return names


@pytest.mark.deep
def test_within_the_gap_nothing_more_is_searched(monkeypatch: pytest.MonkeyPatch) -> None:
    assert searched_whole(monkeypatch, 0.0) == ["produce"]
    assert searched_whole(monkeypatch, 0.9) == []


@pytest.mark.deep
def test_another_schedule_to_begin_with() -> None:
    """It is begun with where it keeps every rule, and left aside where not."""
    within = hungry()
    commitments, kept = carried_on("before a sowing", within)
    layout = Layout(commitments)
    mine = choices_of(layout.by_tier(kept), layout, kept)
    none = Settings(time_limit=0.0, gap=0.0, workers=1)
    planned = [n for n in kept.taken if commitments.items[n].batch.state == PLANNED]
    others = {n: t for n, t in kept.taken.items() if n != planned[0]}
    fewer = choices_of(layout.by_tier(kept), layout, Kept(others))
    assert search(commitments, kept, none, 0.0, first=lambda _: fewer).taken == others
    assert search(commitments, kept, none, 0.0, first=lambda _: mine * 2).taken == kept.taken
