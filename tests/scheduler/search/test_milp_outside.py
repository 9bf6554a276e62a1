"""The plan's first stage against a program of its own in another solver (SciPy's HiGHS)."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from draws import some_in_ci
from milp_outside import optimum
from verify_case import CHARD, LETTUCE, day, garden

from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Rest, Season, Span, Tier
from scheduler.plans.model import PROVEN, Plan
from scheduler.schedule.stages import EFFORT, EVENNESS
from scheduler.search.solve import Settings, solve
from scheduler.solvers.cp_sat import Progress
from scheduler.verify import verify


def base(**changes: object) -> Garden:
    """Nine weeks with weather that changes, three work days a week, one column of three tiers."""
    g = garden()
    weather = g.site.weather.copy()
    k = np.arange(len(weather))
    weather["tmax"] = 22.0 + 5 * np.sin(k / 9)
    weather["tmin"] = 14.0 + 3 * np.sin(k / 7)
    weather["tmean"] = (weather["tmax"] + weather["tmin"]) / 2
    weather["et0"] = 4.0 + 1.2 * np.sin(k / 5)
    weather["dli"] = 22.0 + 6 * np.sin(k / 11)
    tiers = (Tier(1, "box", 1.0, 4), Tier(2, "box", 0.8, 3), Tier(3, "box", 0.6, 4))
    made = replace(
        g,
        site=replace(g.site, weather=weather),
        season=Season(day(0), day(62), frozenset({0, 2, 5}), (Span(day(30), day(34)),)),
        columns=(Column("A", tiers),),
        nursery=Nursery(14),
        demands=(
            Demand("lettuce", ("lettuce",), 230.0, day(26), day(62)),
            Demand("greens", ("chard",), 170.0, day(26), day(58), weight=1.5),
        ),
        limits=Limits(lift_kg=None, dry_margin_days=1),
        crops={
            "lettuce": replace(LETTUCE, days_to_harvest=16.0, nursery_days=8.0, hold=7.0),
            "chard": replace(CHARD, days_to_harvest=17.0, nursery_days=9.0),
        },
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def limited(**limits: object) -> Garden:
    g = base()
    return replace(g, limits=replace(g.limits, **limits))  # type: ignore[arg-type]


def with_first_tier(**changes: object) -> Garden:
    g = base()
    tiers = g.columns[0].tiers
    return replace(g, columns=(Column("A", (replace(tiers[0], **changes), *tiers[1:])),))  # type: ignore[arg-type]


def short(g: Garden) -> Garden:
    """Eight weeks instead of nine: the other solver needs a fraction of the time."""
    return replace(g, season=replace(g.season, end=day(55)))


def little_water() -> Garden:
    g = limited(dry_margin_days=5)
    return replace(g, vessels={"box": replace(g.vessels["box"], fill_l=8.0)})


# Nine weeks where a shorter season would leave the limit without effect.
GARDENS: dict[str, Callable[[], Garden]] = {
    "nine weeks, few limits": base,
    "lift limit of 9 kg": lambda: limited(lift_kg=9.0),
    "lift limit of 6 kg": lambda: limited(lift_kg=6.0),
    "no turnaround": lambda: limited(turnaround_days=0, lift_kg=9.0),
    "turnaround of five days": lambda: limited(turnaround_days=5, lift_kg=9.0),
    "eight weeks, few limits": lambda: short(base()),
    "lift limit under the empty vessel": lambda: short(limited(lift_kg=1.5)),
    "nursery of 8 cells": lambda: short(base(nursery=Nursery(8))),
    "one fill a day": lambda: short(limited(fills_per_day=1, lift_kg=9.0)),
    "margin of five days": lambda: short(little_water()),
    "rest after disease": lambda: short(
        with_first_tier(rests=(Rest("Asteraceae", day(30)), Rest("Amaranthaceae", day(30))))
    ),
    "tier available in part": lambda: short(with_first_tier(available=(Span(day(5), day(34)),))),
    "two columns of two": lambda: short(
        replace(
            base(),
            columns=tuple(
                Column(name, (Tier(1, "box", 1.0, 4), Tier(2, "box", 0.8, 4))) for name in "AB"
            ),
            nursery=Nursery(11),
        )
    ),
}


@lru_cache
def outside(name: str) -> float:
    """The optimum of the other program."""
    return optimum(GARDENS[name]())


def first_stage(g: Garden) -> Plan:
    """The plan with its first stage solved to the end; the later stages are cut short."""
    stop = threading.Event()

    def report(progress: Progress) -> None:
        if progress.stage in (EVENNESS, EFFORT):
            stop.set()

    return solve(g, Settings(time_limit=60, gap=0.0, workers=2), report, stop).plan


@pytest.mark.slow
@pytest.mark.parametrize("name", some_in_ci(GARDENS))
def test_same_optimum_as_an_outside_program(name: str) -> None:
    g = GARDENS[name]()
    made = first_stage(g)
    verdict = verify(g, made)
    assert verdict.ok, verdict.broken
    stage = made.stages[0]
    assert stage.status == PROVEN
    assert stage.value == pytest.approx(outside(name), abs=0.06)


@pytest.mark.deep
@pytest.mark.parametrize(
    ("tighter", "looser"),
    [
        ("lift limit of 9 kg", "nine weeks, few limits"),
        ("lift limit of 6 kg", "lift limit of 9 kg"),
        ("lift limit of 9 kg", "no turnaround"),
        ("turnaround of five days", "lift limit of 9 kg"),
        ("lift limit under the empty vessel", "eight weeks, few limits"),
        ("nursery of 8 cells", "eight weeks, few limits"),
        ("one fill a day", "eight weeks, few limits"),
        ("margin of five days", "eight weeks, few limits"),
        ("rest after disease", "eight weeks, few limits"),
        ("tier available in part", "eight weeks, few limits"),
    ],
)
def test_each_limit_costs_something(tighter: str, looser: str) -> None:
    """Limits that cost nothing would test nothing."""
    assert outside(tighter) < outside(looser) - 1
