"""Who is too heavy on which day: filled on day 10, light from day 20, picked on day 30."""

from __future__ import annotations

import pytest

from scheduler.batches.courses import NEVER
from scheduler.schedule.access import Standing, heavy, liftable


@pytest.mark.parametrize(
    ("day", "is_heavy", "waits_heavy"),
    [
        (10, False, False),  # on the day of its own filling it is filled after what is below
        (11, True, True),
        (19, True, True),
        (20, False, False),
        (29, False, False),
        (30, False, True),  # picked, and waiting to be cleared
        (34, False, True),
        (35, False, False),  # on the day of its own clearing it is cleared before what is below
    ],
)
def test_from_the_day_after_its_filling_and_while_it_waits(
    day: int, is_heavy: bool, waits_heavy: bool
) -> None:
    assert heavy(day, 10, 30, 20, False, 35) == is_heavy
    assert heavy(day, 10, 30, 20, True, 35) == waits_heavy
    one = Standing(1)
    one.fill(10, 30, 20, False)
    assert one.heavy(day) == is_heavy
    assert liftable([one], 2, day) != is_heavy
    assert liftable([one], 1, day)  # nothing stands above it


def test_heavy_to_the_last_pick_and_no_longer() -> None:
    """Too heavy for good, as long as heads stand in it: without them as told."""
    assert heavy(29, 10, 30, NEVER, False, NEVER)
    assert not heavy(30, 10, 30, NEVER, False, NEVER)
    assert heavy(30, 10, 30, NEVER, True, NEVER)
