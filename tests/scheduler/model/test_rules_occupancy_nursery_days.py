"""One crop at a time, nursery cells, fills and picks a day: just kept, just not, and red without.

Wishes are far above what can grow, so the optimum is 400 g times the number of batches.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from solver_case import exact, tiny
from verify_case import CHARD, day

from scheduler.garden.model import Demand, Garden, Helper
from scheduler.model.rules import BUILDERS
from scheduler.plans import rules as r
from scheduler.verify import verify


def two_in_a_row(turnaround: int, days: int) -> Garden:
    """One tier. First batch picked on day 30; the next filled `turnaround` days on, picked 20
    days after that: 51 + turnaround days make a season for two."""
    return tiny(days, turnaround_days=turnaround)


def who(*helpers: tuple[str, int, float]) -> tuple[Helper, ...]:
    """Helpers by name, each there on the weekday of one day of the season."""
    return tuple(Helper(name, frozenset({day(k).weekday()}), m) for name, k, m in helpers)


JUST = {
    # name: (garden just large enough, its optimum, garden just too small, its optimum, rule, names)
    "turnaround 0": (
        two_in_a_row(0, 51),
        800,
        two_in_a_row(0, 50),
        400,
        "one crop at a time",
        {r.OCCUPANCY.name},
    ),
    "turnaround 1": (
        two_in_a_row(1, 52),
        800,
        two_in_a_row(1, 51),
        400,
        "one crop at a time",
        {r.OCCUPANCY.name},
    ),
    "turnaround 5": (
        two_in_a_row(5, 56),
        800,
        two_in_a_row(5, 55),
        400,
        "one crop at a time",
        {r.OCCUPANCY.name},
    ),
    # Two tiers filled on day 10 and picked on day 30 need 4 cells each.
    "cells": (
        tiny(31, 2, cells=8),
        800,
        tiny(31, 2, cells=7),
        400,
        "what all share",
        {r.NURSERY.name},
    ),
    # With 7 cells the second is sown on day 10, when the first leaves its cells, picked on day 40.
    "cells freed": (
        tiny(41, 2, cells=7),
        800,
        tiny(40, 2, cells=7),
        400,
        "what all share",
        {r.NURSERY.name},
    ),
    "fewer cells than one batch": (
        tiny(31, cells=4),
        400,
        tiny(31, cells=3),
        0,
        "what all share",
        {r.NURSERY.name},
    ),
    # One fill a day: the second on day 11, picked on day 31.
    "fills": (
        tiny(32, 2, fills_per_day=1),
        800,
        tiny(31, 2, fills_per_day=1),
        400,
        "what all share",
        {r.FILLS.name},
    ),
    "fills of two": (
        tiny(31, 2, fills_per_day=2),
        800,
        tiny(31, 3, fills_per_day=2),
        800,
        "what all share",
        {r.FILLS.name},
    ),
    "picks": (
        tiny(32, 2, picks_per_day=1),
        800,
        tiny(31, 2, picks_per_day=1),
        400,
        "what all share",
        {r.PICKS.name},
    ),
    # Day 10: fills of 12 and 13 minutes (one vessel lifted). Day 30: 8 plants and clearings of 10 and
    # 11 minutes, 29 in all; there is no later day to clear on.
    "minutes": (
        tiny(31, 2, minutes_per_day=29.0),
        800,
        tiny(31, 2, minutes_per_day=28.0),
        400,
        "what all share",
        {r.MINUTES.name},
    ),
    # Three tiers: 12 plants, 10 + 11 + 12 to clear: 45 on day 30; 39 to fill.
    "minutes of three": (
        tiny(31, 3, minutes_per_day=45.0),
        1200,
        tiny(31, 3, minutes_per_day=44.0),
        800,
        "what all share",
        {r.MINUTES.name},
    ),
    # The same 45 minutes on day 30, 39 on day 10, and on day 0 six to sow: of two helpers each day.
    "helpers": (
        tiny(31, 3, helpers=who(("a", 0, 6), ("b", 10, 30), ("c", 10, 9), ("a3", 30, 45))),
        1200,
        tiny(31, 3, helpers=who(("a", 0, 6), ("b", 10, 30), ("c", 10, 9), ("a3", 30, 44))),
        800,
        "what all share",
        {r.MINUTES.name},
    ),
    "helpers of one": (
        tiny(31, 1, helpers=who(("a", 0, 2), ("b", 10, 12), ("c", 30, 14))),
        400,
        tiny(31, 1, helpers=who(("a", 0, 2), ("b", 10, 11.9), ("c", 30, 14))),
        0,
        "what all share",
        {r.MINUTES.name},
    ),
    # With a day more: all are filled on day 10 (39), two are cleared on day 30, one on day 31.
    "minutes of waiting": (
        tiny(32, 3, minutes_per_day=39.0),
        1200,
        tiny(31, 3, minutes_per_day=39.0),
        800,
        "what all share",
        {r.MINUTES.name},
    ),
}


@pytest.mark.parametrize("name", JUST)
def test_just_kept_just_not_and_red_without_the_rule(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    enough, most, short, less, rule, broken = JUST[name]
    for g, expected in ((enough, most), (short, less)):
        value, plan = exact(g)
        assert value == expected
        assert len(plan.batches) == expected // 400
        assert verify(g, plan).ok
    monkeypatch.delitem(BUILDERS, rule)
    value, plan = exact(short)
    assert value > less
    assert {b.rule for b in verify(short, plan).broken} == broken


def test_work_days_too_far_apart_for_seedlings() -> None:
    """Mondays only: sown on day 0, fit on day 10, in the tier on day 14, after waiting 4 days: one
    too many."""
    g = tiny(60, work=(0,))
    assert exact(g)[0] == 0
    patient = {"lettuce": replace(g.crops["lettuce"], nursery_wait=4.0)}
    # Sown on day 0, in the tier on day 14, ready on day 34, picked on Monday day 35.
    value, plan = exact(replace(tiny(36, work=(0,)), crops=patient))
    assert value == 400
    assert [plan.batches[0].transplant, plan.batches[0].picks[0].date] == [day(14), day(35)]
    assert exact(replace(tiny(35, work=(0,)), crops=patient))[0] == 0


def test_each_pick_of_a_batch_counts_by_its_day() -> None:
    """Two batches cut twice each, one pick a day: cuts on 30 and 37, the other's on 31 and 38."""

    def chards(days: int) -> Garden:
        g = tiny(days, 2, picks_per_day=1)
        wish = Demand("greens", ("chard",), 70_000.0, day(0), day(days - 1))
        return replace(g, crops={"chard": CHARD}, demands=(wish,))

    # Cells for four chard: 7 each of 40. 600 g a batch, 360 g from the first cut alone. In 39 days
    # both have both cuts; in 38 the second batch has the first cut only.
    assert exact(chards(39))[0] == 1200
    assert exact(chards(38))[0] == 960
