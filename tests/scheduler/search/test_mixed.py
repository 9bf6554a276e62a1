"""Shares of crops and the same kind weeks running: what the search makes of them.

Two crops of one wish, alike but for their mass: a *heavy* one of 150 g a head, and a light one of
100 g, four heads a batch. Alone the plan would grow the heavy one.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from solver_case import STEADY, tiny
from verify_case import LETTUCE, crop, day

from scheduler.base.faults import NoPlan
from scheduler.batches.candidates import build
from scheduler.garden.model import Demand, Fixed, Garden
from scheduler.lived.worth import FALLING
from scheduler.plans.model import Plan
from scheduler.schedule.mixed import mixed, windows
from scheduler.search.living import improved
from scheduler.search.solve import Season, solve
from scheduler.verify import verify
from scheduler.years.generator import generated_years

HEAVY = crop("heavy", group="lettuce", fresh_mass=150.0)


def two_kinds(days: int = 73, columns: str = "A", **told: object) -> Garden:
    """73 days hold three batches in a row in a tier: from 10, 31 and 52."""
    g = tiny(days, columns=columns)
    demand = Demand("lettuce", ("lettuce", "heavy"), 9_000.0, day(0), day(days - 1), **told)  # type: ignore[arg-type]
    return replace(g, crops={"lettuce": LETTUCE, "heavy": HEAVY}, demands=(demand,))


def grams(plan: Plan) -> Counter[str]:
    out: Counter[str] = Counter()
    for b in plan.batches:
        out[b.crop] += b.grams
    return out


def sound(g: Garden) -> Season:
    season = solve(g, STEADY)
    verdict = verify(g, season.plan)
    assert verdict.ok, verdict.broken
    return season


def test_without_a_word_the_heavy_one_is_grown() -> None:
    assert grams(sound(two_kinds()).plan) == {"heavy": 3 * 600}


@pytest.mark.parametrize(
    ("most", "heavy"),
    # Of three batches one heavy is 600 of 1400 g, 42.9 %, two are 1200 of 1600 g, 75 %.
    [(750, 2), pytest.param(749, 1, marks=pytest.mark.slow), (1000, 3), (0, 0)],
)
def test_a_crop_has_at_most_its_share(most: int, heavy: int) -> None:
    found = grams(sound(two_kinds(shares=(("heavy", 0, most),))).plan)
    assert found == Counter({"heavy": 600 * heavy, "lettuce": 400 * (3 - heavy)})


@pytest.mark.parametrize(
    ("least", "light"), [(250, 1), pytest.param(251, 2, marks=pytest.mark.slow)]
)
def test_a_crop_has_at_least_its_share(least: int, light: int) -> None:
    """One light batch is 400 of 1600 g: 25 %."""
    found = grams(sound(two_kinds(shares=(("lettuce", least, 1000),))).plan)
    assert found["lettuce"] == 400 * light
    assert found["heavy"] == 600 * (3 - light)


@pytest.mark.parametrize("running", [1, 3])
def test_the_same_kind_so_many_weeks_running_and_no_more(running: int) -> None:
    """Heads keep for 7 days: what is picked by Wednesday serves two weeks.

    Three batches from 10, 31 and 52 on are picked on Wednesdays 30, 51 and 72 and serve weeks 4, 5,
    7, 8 and 10: never more than two running.
    """
    found = grams(sound(two_kinds(same_kind_weeks=running)).plan)
    # Picked on a Thursday or later it serves a week alone: so the first is picked on day 31, the
    # second, from 32 on, on a Friday, and a third, from 53 on, is not ready by the last day, 72.
    assert found == {"heavy": 1800 if running == 3 else 1200}


def test_windows_are_of_wished_weeks_alone() -> None:
    assert windows([True, True, True, False, True, True], 1) == [(0, 1), (1, 2), (4, 5)]
    assert windows([True, True, True, False, True, True], 2) == [(0, 2)]
    assert windows([True] * 3, 3) == []


def test_what_a_schedule_comes_to_is_above_nothing_where_a_share_is_broken() -> None:
    g = two_kinds(60, shares=(("heavy", 0, 500),))
    cand, _ = build(g)
    asked = mixed(cand)
    table = cand.table
    crop_of, start = (table[c].to_numpy(int) for c in ("crop", "transplant"))
    first = [int(np.flatnonzero((crop_of == c) & (start == 12))[0]) for c in (0, 1)]
    light, heavy = first if cand.crop_names[0] == "lettuce" else first[::-1]
    assert asked.broken(np.array([heavy])).any()
    # 600 of 1000 g are more than half, 600 of 1400 are not.
    assert asked.broken(np.array([heavy, light])).sum() == 1
    assert not asked.broken(np.array([heavy, light, light])).any()


def test_fixed_batches_of_one_crop_are_made_up_for_by_another() -> None:
    g = two_kinds(34, "AB", shares=(("heavy", 0, 600),))
    g = replace(g, fixed=(Fixed("heavy", "A", 1, day(12)),))
    found = grams(sound(g).plan)
    assert found == {"heavy": 600, "lettuce": 400}
    alone = two_kinds(34, shares=(("heavy", 0, 600),))
    with pytest.raises(NoPlan, match="how the crops of a wish are to be mixed"):
        solve(replace(alone, fixed=g.fixed), STEADY)


@pytest.mark.slow
def test_the_search_by_living_keeps_shares() -> None:
    g = two_kinds(shares=(("heavy", 0, 500),))
    season = sound(g)
    years = generated_years(g, 3, seed=(1, 0))
    little = replace(STEADY, deterministic=0.05)
    found = improved(season.cand, years, [season.stands], little, taste=FALLING)
    rows = np.array([s.row for s in found.stands])
    assert len(rows)
    assert not mixed(season.cand).broken(rows).any()
