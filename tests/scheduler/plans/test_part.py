"""Part of a large garden: whole columns, evenly spaced, with their share of wishes and limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from lived_case import mean_years
from verify_case import LETTUCE, day, garden, heads

from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Tier
from scheduler.lived.live import live
from scheduler.lived.promise import promised
from scheduler.plans.model import Batch
from scheduler.plans.part import WHOLE, lived_part
from scheduler.years.weather_years import WeatherYears


def large(columns: int, **limits: float | None) -> tuple[Garden, list[Batch]]:
    """Alike columns of two tiers, the same planned in each: 400 g a column on days 30 and 40."""
    g = garden(
        season=Season(day(0), day(90)),
        columns=tuple(
            Column(f"C{k}", tuple(Tier(n, "box", 1.0, 4) for n in (1, 2))) for k in range(columns)
        ),
        nursery=Nursery(8 * columns),
        demands=(Demand("lettuce", ("lettuce",), 500.0 * columns, day(0), day(90)),),
        limits=Limits(dry_margin_days=0, **limits),  # type: ignore[arg-type]
        crops={"lettuce": LETTUCE},
    )
    made = []
    for k in range(columns):
        for tier, start in ((1, 10), (2, 20)):
            batch = heads(f"b{k}-{tier}", f"A{tier}", start)
            made.append(replace(batch, column=f"C{k}", tier=tier))
    return g, made


def test_a_garden_that_is_not_large_is_lived_whole() -> None:
    g, made = large(WHOLE // 2)
    part, mine = lived_part(g, made)
    assert part is g
    assert list(mine) == made
    assert lived_part(*large(WHOLE // 2 + 1))[0] is not None
    assert len(lived_part(*large(WHOLE // 2 + 1))[0].columns) <= WHOLE // 2


@pytest.mark.parametrize("whole", [2, 6])
def test_columns_evenly_spaced_with_their_share(whole: int) -> None:
    """Of twelve columns of two tiers one, or three: of 36 fills a day as many parts."""
    g, made = large(12, fills_per_day=36, picks_per_day=36, minutes_per_day=1200.0)
    part, mine = lived_part(g, made, whole)
    count = whole // 2
    names = [c.name for c in part.columns]
    assert names == {1: ["C6"], 3: ["C2", "C6", "C10"]}[count]
    assert {b.column for b in mine} == set(names)
    assert len(mine) == 2 * count
    assert part.demands[0].grams_per_week == pytest.approx(500.0 * count)
    assert part.nursery.cells == 8 * count
    assert (part.limits.fills_per_day, part.limits.picks_per_day) == (3 * count, 3 * count)
    assert part.limits.minutes_per_day == pytest.approx(100.0 * count)


def test_what_is_planned_in_them_on_a_day_can_be_done() -> None:
    """Limits as tight as the plan: a share of them would be less than one column asks for.

    On day 10 the top tier is filled in 12 minutes, and 4 cells sown for the lower one in 2.
    """
    g, made = large(12, fills_per_day=1, picks_per_day=1, minutes_per_day=14.0)
    part, _ = lived_part(replace(g, nursery=Nursery(4)), made, 2)
    assert (part.limits.fills_per_day, part.limits.picks_per_day) == (1, 1)
    assert part.limits.minutes_per_day == 14.0
    # 4 cells from day 0 to 10, 4 from day 10 to 20.
    assert part.nursery.cells == 4


def test_alike_columns_bring_the_same_share_as_all_of_them() -> None:
    g, made = large(12)
    years = mean_years(g, 4)
    wild = np.random.default_rng(3).uniform(-6, 1, (4, 1))
    years: WeatherYears = replace(years, tmin=years.tmin + wild, tmax=years.tmax + wild)
    whole, part = live(g, made, years), live(*lived_part(g, made, 4), years)
    assert whole.share == pytest.approx(part.share)
    assert len(set(np.round(whole.share, 6))) > 1
    assert promised(g, made, years, 1.0, 0).usual > 0
