"""`today` and a plan made again foretell the same dry day from the same readings.

One goes by the table beside the plan, the other by its own course and what is usual of years.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import calendar_case
import pytest

from scheduler.garden.model import Column
from scheduler.log.state import Followed
from scheduler.log.tracks import Reading
from scheduler.plans.model import GROWING, Plan
from scheduler.replanning.measured import anchor, course_of, standing_on
from scheduler.watch.judge import watched_batch
from scheduler.watch.made import foretold
from scheduler.years import PLANNED
from scheduler.years.expected import expecting

GARDEN = calendar_case.garden()
PLANTED = GARDEN.season.start + timedelta(days=60)


@pytest.mark.parametrize("count", [1, 3])
def test_today_and_a_plan_made_again_name_the_same_dry_day(count: int) -> None:
    garden = replace(GARDEN, columns=(Column("A", GARDEN.columns[0].tiers[:count]),))
    batches = tuple(
        calendar_case.batch(garden, f"b{t}", "leaf_lettuce", "A", t, PLANTED)
        for t in range(1, count + 1)
    )
    season = garden.season
    plan = Plan("best_found", (), season.start, season.end, batches, ())
    table, years = foretold(garden, plan), expecting(garden, PLANNED, 0)
    for batch in batches:
        batch = replace(batch, state=GROWING)
        expected = course_of(years, standing_on(years, batch, 0), 1.0).litres
        fill = expected[0]
        for thirst in (0.7, 1.0, 1.3, 1.6):
            readings = tuple(
                Reading(PLANTED + timedelta(days=d), float(fill - thirst * (fill - expected[d])), d)
                for d in (7, 14, 21)
            )
            told = Followed(batch, 0, readings)
            on = readings[-1].date
            seen = watched_batch(garden, told, table, on)
            factor = anchor(years, told).factor
            dry = course_of(years, standing_on(years, batch, 0), factor).dry_index
            # A plan's one factor holds to the end of the crop's hold: who drinks little dries later.
            most = 2 if thirst < 1 else 1
            assert abs((season.date(dry) - seen.dry).days) <= most, (batch.tier, thirst)
