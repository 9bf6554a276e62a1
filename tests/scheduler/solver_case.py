"""Small gardens for the tests of candidates, rules and search, and how to solve them exactly.

Built on `verify_case`: day 0 is a Monday; a lettuce is fit for its tier 10 days after sowing and
waits 3 more, is ready 20 days after transplanting and holds 5; four plants drink 0.4 L a day from
12 L, so that a tier is dry on its day 27 and may be picked, with 2 days of margin, until day 25.
The first batch of a season is thus sown on day 0, transplanted on day 10, picked on day 30.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import strategies as st
from ortools.sat.python import cp_model
from verify_case import CHARD, LETTUCE, day, garden

from scheduler.batches.candidates import Candidates, build
from scheduler.garden.file import load_garden
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Span, Tier
from scheduler.model.build import Built, build_model, read_choices, stands
from scheduler.plans.model import BEST_FOUND, PROVEN, Plan
from scheduler.schedule.problem import Choice, Problem, by_tier
from scheduler.search.improve import Goal
from scheduler.search.layouts import access_matters
from scheduler.search.solve import Season as Solved
from scheduler.search.solve import make_plan
from scheduler.solvers.cp_sat import Answer, Settings, run
from scheduler.verify import verify

EXAMPLES = Path(__file__).parents[2] / "examples"

# One thread, a seed, and limits in the solver's own time: the same on every machine.
STEADY = Settings(time_limit=300.0, gap=0.0, seed=1, workers=1, deterministic=1.0)
# For a proof: some ten seconds at worst.
PROOF = Settings(seed=1, workers=1, deterministic=2.0)


def tiny(
    days: int,
    tiers: int = 1,
    columns: str = "A",
    work: Sequence[int] = range(7),
    available: Sequence[tuple[Span, ...]] = (),
    cells: int = 40,
    **limits: Any,
) -> Garden:
    """Lettuce alone, more wished in every week than can grow; no limit but those named."""
    spans = [*available, *[()] * (tiers - len(available))]
    column = tuple(Tier(k + 1, "box", 1.0, 4, spans[k]) for k in range(tiers))
    return garden(
        season=Season(day(0), day(days - 1), frozenset(work)),
        columns=tuple(Column(name, column) for name in columns),
        nursery=Nursery(cells),
        demands=(Demand("lettuce", ("lettuce",), 70_000.0, day(0), day(days - 1)),),
        limits=Limits(**limits),
        crops={"lettuce": LETTUCE},
    )


def span(first: int, last: int) -> Span:
    return Span(day(first), day(last))


def exact(g: Garden) -> tuple[float, Plan]:
    """The most weighted grams by one model, proven, and a plan that reaches it."""
    cand, _ = build(g)
    problem = by_tier(cand)
    built, answer = _settle(problem, access_matters(cand))
    assert answer.value is not None
    assert answer.status == cp_model.OPTIMAL
    return answer.value, make_plan(
        g, cand, stands(problem, read_choices(built, answer.values)), STEADY
    )


def _settle(problem: Problem, access: bool) -> tuple[Built, Answer]:
    """The most produce by one model; a strong relaxation proves ten times sooner than without."""
    built = build_model(problem, access)
    built.model.maximize(built.produce.value())
    return built, run(built.model, "produce", PROOF, 600.0, quick=True)


class Proofs:
    """Optima of random gardens; what the budget does not prove is counted and left out.

    >>> with Proofs() as proofs:
    ...     best = proofs.most(garden)  # None: not proven

    Raises
    ------
    AssertionError
        At the end, where fewer than nine in ten were proven, or none was asked for.
    """

    def __init__(self) -> None:
        self.asked = self.proven = 0

    def __enter__(self) -> Proofs:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if kind is None:
            assert self.proven >= 0.9 * self.asked > 0, (self.proven, self.asked)

    def most(self, g: Garden) -> float | None:
        """The most weighted grams, None where it is not proven."""
        cand = rows_of(g)
        _, answer = _settle(by_tier(cand), access_matters(cand))
        self.asked += 1
        if answer.status != cp_model.OPTIMAL:
            return None
        self.proven += 1
        return answer.value


def value_of(problem: Problem, access: bool, goal: Goal, choices: Sequence[Choice]) -> float:
    """A goal's value with a schedule fixed and only the sharing out of produce free, proven."""
    built = build_model(problem, access)
    counts = [0] * len(problem)
    for c in choices:
        counts[c.decision] += 1
    for i, n in enumerate(counts):
        built.model.add(built.v.take[i] == n)
    for c in choices if access else ():
        heavy = bool(problem.column("heavy_after")[c.decision])
        slot = int(problem.slot(np.array(c.clear)))
        built.model.add(built.v.clear[heavy][int(problem.place_of[c.decision])][slot] == 1)
    expression = goal.expression(built)
    if goal.maximise:
        built.model.maximize(expression)
    else:
        built.model.minimize(expression)
    answer = run(built.model, goal.name, PROOF, 600.0)
    assert answer.status == cp_model.OPTIMAL
    assert answer.value is not None
    return answer.value


def sound(g: Garden, season: Solved) -> None:
    """What holds for every plan, whatever the search found."""
    plan = season.plan
    verdict = verify(g, plan)
    assert verdict.ok, verdict.broken[:5]
    assert season.by_hand is not None
    assert verify(g, season.by_hand).ok
    produce, *others = plan.stages
    assert [s.name for s in plan.stages] == ["produce", "evenness", "effort"]
    assert {s.name: s.value for s in plan.stages} == pytest.approx(dict(verdict.values))
    tiny_bit = 1e-6 * max(1.0, produce.value)
    if produce.bound is not None:
        assert produce.bound >= produce.value - tiny_bit
    for stage in others:
        assert stage.bound is None or stage.bound <= stage.value + 1e-6
    assert produce.value >= season.by_hand.stages[0].value - tiny_bit
    assert plan.by_hand["produce"] == season.by_hand.stages[0].value
    assert plan.status == produce.status
    for stage in plan.stages:
        if stage.status == PROVEN:
            assert stage.bound == pytest.approx(stage.value, rel=1e-6)
        elif stage.bound is None:
            assert stage.status == BEST_FOUND


def rows_of(g: Garden) -> Candidates:
    return build(g)[0]


@lru_cache
def example(name: str) -> tuple[Garden, Candidates, Problem]:
    """An example garden with its candidates, laid out by tier."""
    g = load_garden(EXAMPLES / name / "garden.yaml")
    cand, _ = build(g)
    return g, cand, by_tier(cand)


def changing_weather(g: Garden, phase: float = 0.0) -> Garden:
    """Temperature, evaporation and light that swing over the season."""
    weather = g.site.weather.copy()
    k = np.arange(len(weather)) + phase
    weather["tmax"] = 23.0 + 5 * np.sin(k / 9)
    weather["tmin"] = 14.0 + 3 * np.sin(k / 7)
    weather["tmean"] = (weather["tmax"] + weather["tmin"]) / 2
    weather["et0"] = 4.5 + 1.4 * np.sin(k / 5)
    weather["dli"] = 20.0 + 9 * np.sin(k / 11)
    return replace(g, site=replace(g.site, weather=weather))


@st.composite
def gardens(draw: st.DrawFn) -> Garden:
    """Gardens of one or two columns and seven to ten weeks, with any of the limits.

    Seedlings wait long and heads grow fast, so that nearly every one has room for several batches.
    """
    days = draw(st.integers(49, 70))
    work = draw(st.sampled_from([(0, 2, 5), range(7), (1, 4), (6,)]))
    away = draw(st.sampled_from([(span(24, 30),), (), (span(0, 2), span(35, 36))]))
    columns = []
    for name, count in zip("AB", draw(st.sampled_from([(2, 1), (3,), (2, 2), (1,)])), strict=False):
        tiers = []
        for number in range(1, count + 1):
            free = draw(st.sampled_from([(), (), (), (span(0, 45),), (span(5, 28), span(30, 69))]))
            light = draw(st.sampled_from([1.0, 0.8, 0.5]))
            tiers.append(Tier(number, "box", light, draw(st.sampled_from([4, 3, 2])), free))
        columns.append(Column(name, tuple(tiers)))
    limits = Limits(
        lift_kg=draw(st.sampled_from([9.0, 7.0, None, 1.9, 12.0, 5.0])),
        fills_per_day=draw(st.sampled_from([None, 1, 2])),
        picks_per_day=draw(st.sampled_from([None, 2, 1])),
        dry_margin_days=draw(st.integers(0, 4)),
        turnaround_days=draw(st.sampled_from([1, 0, 3])),
    )
    wishes = (
        Demand(
            "lettuce",
            ("lettuce",),
            draw(st.sampled_from([250.0, 800.0, 90.0])),
            day(20),
            day(days + 20),
            draw(st.sampled_from([1.0, 1.25, 0.333])),
        ),
        Demand(
            "greens",
            ("chard",),
            draw(st.sampled_from([150.0, 400.0, 0.0])),
            day(0),
            day(days - 5),
            draw(st.sampled_from([1.0, 2.5])),
        ),
    )
    easy: dict[str, Any] = {"nursery_wait": 8.0, "nursery_days": 8.0, "dli_min": 4.0, "hold": 7.0}
    crops = {
        "lettuce": replace(LETTUCE, days_to_harvest=draw(st.sampled_from([12.0, 16.0])), **easy),
        "chard": replace(CHARD, days_to_harvest=13.0, **easy),
    }
    made = garden(
        season=Season(day(0), day(days - 1), frozenset(work), away),
        columns=tuple(columns),
        nursery=Nursery(draw(st.sampled_from([9, 6, 20])), draw(st.sampled_from([None, 20.0]))),
        demands=wishes,
        limits=limits,
        crops=crops,
    )
    return changing_weather(made, draw(st.sampled_from([0.0, 15.0])))


def provable(decisions: int = 800) -> st.SearchStrategy[Garden]:
    """Such gardens in which something can grow, of a size that one model can prove."""
    return gardens().filter(lambda g: 0 < len(by_tier(rows_of(g))) <= decisions)
