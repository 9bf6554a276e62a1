"""A small version of the bench of the tier watch (`tests/bench/tier_watch.py`, its table beside it).

The truth of each simulated tier is made by other code than the estimate: weather years day by day,
a thirst that changes as the crop grows, readings with the error of a ruler.
"""

from __future__ import annotations

import pytest
import verify_case as case

from scheduler.watch.made import foretold
from tests.bench import tier_watch


@pytest.mark.slow
def test_alarms_come_in_time_and_seldom_in_vain_and_intervals_hold_the_truth() -> None:
    """Seen red without doubt in the slope, without weather on the way, with a ruler of 1 mm, and
    with alarms from a chance of 20 % or 80 % on.

    A crop that is ripe after 20 days is read so seldom that not all can be told five days ahead.
    """
    garden, plan = case.garden(), case.good_plan()
    days = tier_watch.reading_days(garden, plan)
    season = tier_watch.Planned(garden, plan, foretold(garden, plan), days)
    found = tier_watch.score(tier_watch.simulated(season, 1000, 31, "up to 0.3 either way"))
    assert 0.87 <= found.covered <= 0.93
    assert found.readings > 2000
    assert found.alarmed <= 0.05
    assert found.late > 700
    assert found.told >= 0.8
    assert found.early >= 25
    assert found.close >= 0.8
