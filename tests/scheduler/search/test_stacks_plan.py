"""Whole seasons planned column by column: every rule kept, nothing claimed that is not so."""

from __future__ import annotations

import threading
import time
from dataclasses import replace
from typing import Any
from unittest.mock import patch

import pytest
from draws import fixed
from hypothesis import given
from hypothesis import strategies as st
from ortools.sat.python import cp_model
from random_gardens import small_gardens
from solver_case import changing_weather, gardens, rows_of, span, tiny
from stacks_case import AIMS, best_plan
from verify_case import CHARD, LETTUCE, day, garden

from scheduler.base.faults import NoPlan
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Rest, Season, Tier
from scheduler.plans.model import BEST_FOUND, PROVEN, WITHIN_GAP, Plan
from scheduler.schedule.problem import pooled
from scheduler.schedule.stages import whole_weights
from scheduler.search import solve
from scheduler.search.by_hand import ByHand
from scheduler.search.columns import stages
from scheduler.search.columns.layout import Layout
from scheduler.search.columns.master import Master
from scheduler.search.columns.prices import Aim
from scheduler.search.columns.pricing import Pricing
from scheduler.search.columns.search import Search
from scheduler.search.columns.stages import NAMES, plan_columns
from scheduler.search.columns.whole import adopt, values
from scheduler.search.solve import make_plan, status
from scheduler.solvers.cp_sat import Progress, Settings
from scheduler.verify import verify

STEADY = Settings(time_limit=600.0, gap=0.0, seed=1, workers=1, deterministic=0.01)


@pytest.fixture(autouse=True)
def _impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fewer tries that bring nothing end a stage: quicker, and no rule knows of it."""
    monkeypatch.setattr(stages, "PATIENCE", 4)


def planned(g: Garden, settings: Settings = STEADY, stop: threading.Event | None = None) -> Plan:
    """The garden planned as a large one is."""
    with patch.object(solve, "LARGE", -1), patch.object(solve, "HUGE", -1):
        season = solve.solve(g, settings, stop=stop)
    assert season.by_hand is None  # so it was planned as a large one
    return season.plan


def sound(g: Garden, plan: Plan, gap: float = 0.0) -> None:
    verdict = verify(g, plan)
    assert verdict.ok, verdict.broken[:5]
    assert [s.name for s in plan.stages] == list(NAMES)
    assert {s.name: s.value for s in plan.stages} == pytest.approx(dict(verdict.values))
    produce, *others = plan.stages
    hair = 1e-6 * max(1.0, produce.value)
    assert produce.value >= plan.by_hand["produce"] - hair
    assert plan.status == produce.status
    assert [s.bound for s in others] == [None, None]
    assert {s.status for s in others} <= {BEST_FOUND}
    if produce.bound is None:
        assert produce.status == BEST_FOUND
        return
    assert produce.bound >= produce.value - hair
    if produce.status == PROVEN:
        assert produce.bound == pytest.approx(produce.value, rel=1e-6, abs=1e-6)
    elif produce.status == WITHIN_GAP:
        assert produce.value >= produce.bound * (1 - gap) - hair


def untimed(plan: Plan) -> Plan:
    return replace(plan, stages=tuple(replace(s, seconds=0.0) for s in plan.stages))


@pytest.mark.slow
@fixed(16)
@given(st.one_of(small_gardens(), gardens()))
def test_every_plan_is_sound_and_no_better_than_the_best(g: Garden) -> None:
    try:
        plan = planned(g)
    except NoPlan:
        assert len(rows_of(g)) == 0
        return
    sound(g, plan)
    produce = plan.stages[0]
    scale, _ = whole_weights([d.weight for d in g.demands])
    best = best_plan(g, AIMS["produce"])
    if best.bound is None:  # the other solver came to nothing in its time
        return
    assert produce.value * scale <= best.bound + 1e-6 * max(1.0, best.bound)
    if best.value is not None and produce.bound is not None:
        assert produce.bound * scale >= best.value - 1e-6 * max(1.0, best.value)
    if best.status == cp_model.OPTIMAL and produce.status == PROVEN:
        assert produce.value * scale == pytest.approx(best.value)


@pytest.mark.slow
@fixed(2)
@given(gardens())
def test_the_same_again_is_the_same(g: Garden) -> None:
    assert untimed(planned(g)) == untimed(planned(g))


def easy(**changes: object) -> Garden:
    """Two columns of three and one of two, heads and greens, ten weeks, changing weather."""
    tiers = tuple(Tier(k, "box", 1.0, 4) for k in (1, 2, 3))
    base: dict[str, object] = {
        "season": Season(day(0), day(69), frozenset((0, 2, 4)), (span(30, 34),)),
        "columns": (Column("A", tiers), Column("B", tiers), Column("C", tiers[:2])),
        "demands": (
            Demand("lettuce", ("lettuce",), 800.0, day(0), day(69), 1.25),
            Demand("greens", ("chard",), 500.0, day(0), day(69)),
        ),
        "crops": {"lettuce": replace(LETTUCE, nursery_wait=8.0), "chard": CHARD},
        "limits": Limits(lift_kg=8.0),
        "nursery": Nursery(20),
    }
    return changing_weather(garden(**{**base, **changes}))


def with_tiers(*tiers: Tier) -> dict[str, object]:
    return {"columns": (Column("A", tiers), Column("B", tiers))}


NO_LIMITS = Limits(lift_kg=None, fills_per_day=None, picks_per_day=None)
WISH = Demand("lettuce", ("lettuce",), 800.0, day(0), day(69))
CASES = {
    "plain": easy(),
    "spans": easy(
        **with_tiers(
            Tier(1, "box", 1.0, 4, (span(0, 40),)),
            Tier(2, "box", 1.0, 4, (span(5, 38), span(42, 90))),
        )
    ),
    "rests": easy(
        **with_tiers(
            Tier(1, "box", 1.0, 4, (), (Rest("Asteraceae", day(30)),)),
            Tier(2, "box", 1.0, 4),
        )
    ),
    "no turnaround": easy(limits=Limits(lift_kg=8.0, turnaround_days=0)),
    "no lift limit": easy(limits=Limits(lift_kg=None)),
    "too heavy when empty": easy(limits=Limits(lift_kg=1.9)),
    "cut again only": easy(
        crops={"chard": CHARD}, demands=(Demand("greens", ("chard",), 500.0, day(0), day(69)),)
    ),
    "nothing grows for a group": easy(
        crops={"lettuce": LETTUCE, "chard": replace(CHARD, days_to_harvest=200.0)}
    ),
    "a wish of nothing": easy(
        demands=(
            replace(WISH, grams_per_week=0.0),
            Demand("greens", ("chard",), 500.0, day(0), day(69)),
        )
    ),
    "no wish": easy(demands=(replace(WISH, grams_per_week=0.0),), crops={"lettuce": LETTUCE}),
    "a work day a week": easy(season=Season(day(0), day(69), frozenset((3,)))),
    "no cells": easy(nursery=Nursery(0)),
    "few cells": easy(nursery=Nursery(8)),
    "no limits": easy(limits=NO_LIMITS),
    "one fill, one pick": easy(limits=Limits(lift_kg=8.0, fills_per_day=1, picks_per_day=1)),
}
IDLE = {"no wish", "no cells"}  # nothing is planted


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_odd_gardens(case: str) -> None:
    plan = planned(CASES[case])
    sound(CASES[case], plan)
    assert bool(plan.batches) == (case not in IDLE)


@pytest.mark.parametrize("case", ["plain", "spans", "no cells", "no wish", "no limits"])
def test_a_search_that_is_stopped_at_once_returns_the_first_plan_or_better(case: str) -> None:
    g = CASES[case]
    stop = threading.Event()
    stop.set()
    plan = planned(g, Settings(time_limit=60.0, workers=1), stop)
    sound(g, plan, 0.01)


@pytest.mark.parametrize(("limit", "stopped"), [(600.0, True), (0.0, False)])
def test_nothing_is_sought_when_time_is_up(limit: float, stopped: bool) -> None:
    """Not one round of new sequences; the plan it began with comes back."""
    g = CASES["plain"]
    cand = rows_of(g)
    hand = ByHand(pooled(cand))
    hand.run()
    stop = threading.Event()
    if stopped:
        stop.set()
    with patch.object(Pricing, "run") as sought:
        found = plan_columns(cand, Settings(time_limit=limit), None, stop, first=hand.stands)
    assert not sought.called
    assert sorted(map(repr, found.stands)) == sorted(map(repr, hand.stands))


@pytest.mark.clock
def test_a_tenth_of_a_second_is_enough_to_keep_the_first_plan() -> None:
    """200 columns; what the search takes more than its limit is a program or a round of pricing."""
    tiers = CASES["plain"].columns[0].tiers
    g = easy(
        columns=tuple(Column(f"C{i}", tiers) for i in range(200)),
        nursery=Nursery(800),
        demands=(replace(WISH, grams_per_week=60_000.0),),
    )
    cand = rows_of(g)
    hand = ByHand(pooled(cand))
    hand.run()
    began = time.monotonic()
    found = plan_columns(cand, Settings(time_limit=0.1), status=status, first=hand.stands)
    assert time.monotonic() - began < 3.0  # a second on an idle machine
    plan = make_plan(g, cand, found.stands, STEADY, found.stages)
    assert verify(g, plan).ok
    before = make_plan(g, cand, hand.stands, STEADY)
    assert plan.stages[0].value >= before.stages[0].value > 0


def test_no_candidate_at_all() -> None:
    """Nothing that may be used: an empty plan, and a bound of nothing."""
    cand = rows_of(tiny(20))
    assert len(cand) == 0
    found = plan_columns(cand, STEADY, status=status)
    assert found.stands == []
    assert found.stages[0].value == 0
    assert found.stages[0].bound == pytest.approx(0.0)


def test_only_the_stages_asked_for() -> None:
    found = plan_columns(rows_of(CASES["plain"]), STEADY, names=NAMES[:1])
    assert [s.name for s in found.stages] == ["produce"]
    assert found.stands


@pytest.mark.slow
def test_progress_is_told_with_the_best_value_and_its_bound() -> None:
    told: list[Progress] = []
    found = plan_columns(rows_of(CASES["plain"]), STEADY, told.append, status=status)
    assert told
    assert all(p.best <= p.bound + 1e-6 for p in told)
    assert [p.best for p in told] == sorted(p.best for p in told)
    assert found.stages[0].value == told[-1].best


def of_stands(cand_garden: Garden, found: stages.Found) -> tuple[int, int, int]:
    layout = Layout(rows_of(cand_garden))
    master = Master(layout, Aim())
    return values(layout, master.sequences, adopt(layout, master, found.stands))


@pytest.mark.slow
def test_a_stage_that_a_later_one_makes_better_is_recorded_as_it_is_in_the_end() -> None:
    """The search of the first two stages is left out, so that the third finds all there is."""
    g = CASES["plain"]
    improve, dive = stages._Run._improve, Search.dive
    before: list[tuple[int, int, int]] = []
    calls = 0

    def late(self: stages._Run, place: int, until: float, gap: float) -> None:
        before.append(self.best)
        if place == 2:
            improve(self, 0, until, gap)

    def but_the_first(self: Search, *args: Any, **more: Any) -> Any:
        nonlocal calls
        calls += 1
        return None if calls == 1 else dive(self, *args, **more)

    with (
        patch.object(stages._Run, "_improve", late),
        patch.object(Search, "dive", but_the_first),
    ):
        found = plan_columns(rows_of(g), STEADY, status=status)
    scale, _ = whole_weights([d.weight for d in g.demands])
    produce, uneven, effort = of_stands(g, found)
    assert produce > before[0][0] == 0  # or else the test shows nothing
    assert [s.value for s in found.stages] == [produce / scale, uneven, effort]
    assert found.stages[0].status == status(produce / scale, found.stages[0].bound, STEADY.gap)


@fixed(4)
@given(gardens())
def test_no_stage_ends_worse_than_it_was(g: Garden) -> None:
    """Stage by stage, the earlier ones first."""
    ends: list[tuple[int, int, int]] = []
    improve = stages._Run._improve

    def watched(self: stages._Run, place: int, until: float, gap: float) -> None:
        improve(self, place, until, gap)
        ends.append(self.best)

    with patch.object(stages._Run, "_improve", watched):
        found = plan_columns(rows_of(g), STEADY, status=status)
    final = of_stands(g, found)
    assert ends[-1] == final
    ranks = [(a, -b, -c) for a, b, c in ends]
    assert ranks == sorted(ranks)
    scale, _ = whole_weights([d.weight for d in g.demands])
    assert [s.value for s in found.stages] == [final[0] / scale, *final[1:]]


@pytest.mark.slow
def test_nothing_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    """A plan may go to standard output; the library of the linear program greets there."""
    Master(Layout(rows_of(CASES["plain"])), Aim()).solve()
    plan_columns(rows_of(CASES["plain"]), STEADY, status=status)
    got = capfd.readouterr()
    assert (got.out, got.err) == ("", "")
