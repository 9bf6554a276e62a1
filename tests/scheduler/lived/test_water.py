"""Dry dates and levels over the years, by hand: four plants drink 0.4 L a day of 12 (`verify_case`).

In a year that is f times as thirsty 12 - 0.4 f k litres are left after k days, and the tier is dry
(1.2 L) on the first morning k of 10.8 / (0.4 f) = 27 / f or more.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import numpy as np
import pytest
from lived_case import mean_years
from test_spans import bed, head
from verify_case import day

from scheduler.lived.water import with_water
from scheduler.plans.model import Batch, Level, Pick
from scheduler.years.weather_years import WeatherYears


def thirsty(times: list[float]) -> WeatherYears:
    made = mean_years(bed(), len(times))
    return replace(made, et0=made.et0 * np.array(times)[:, None])


def batch(pick: int = 53, **changes: object) -> Batch:
    """From day 30 on; one level, after twenty days."""
    made = replace(head(pick), levels=(Level(day(50), 4.0, 10.0),))
    return replace(made, **changes)  # type: ignore[arg-type]


def water(times: list[float], b: Batch) -> Batch:
    (made,) = with_water(bed(), [b], thirsty(times), 0)
    return made


@pytest.mark.parametrize(
    ("times", "thirst"),
    [
        ([1.0], 1.0),
        ([1.0, 0.8, 1.2], 1.2),  # of three years the earliest
        ([1.0] * 17 + [1.2, 1.4], 1.2),  # of nineteen the second
        ([1.0] * 16 + [1.1, 1.2, 1.4], 1.2),
        ([1.0] * 26 + [1.1, 1.2, 1.4], 1.1),  # of 29 the third
    ],
)
def test_one_year_of_ten_is_dry_before_its_dry_date(times: list[float], thirst: float) -> None:
    made = water(times, batch())
    after = ceil(27 / thirst - 1e-9)
    assert made.dry_date == day(30 + after)
    assert made.margin_days == 30 + after - 53
    assert made.levels[0].low == pytest.approx(max(12 - 0.4 * thirst * 20, 0), abs=1e-3)


def test_low_and_high_are_one_year_of_ten_each() -> None:
    times = [0.5, 0.7, *[1.0] * 15, 1.2, 1.3]
    (level,) = water(times, batch()).levels
    assert (level.low, level.high) == (pytest.approx(12 - 0.4 * 1.2 * 20), 12 - 0.4 * 0.7 * 20)
    assert (level.litres, level.depth_cm) == (4.0, 10.0)


def test_earlier_picks_are_made_and_the_last_is_not() -> None:
    """Two heads go on day 40, after 4 L: 6.8 L are left above the floor, 34 days for the two."""
    picks = (Pick(day(40), 2, 200), Pick(day(53), 2, 200))
    made = water([1.0], batch(picks=picks))
    assert made.dry_date == day(40 + 34)
    # After the last pick nothing drinks: 12 - 4 - 0.2 x 13 litres stay.
    later = water([1.0], batch(picks=picks, levels=(Level(day(60), 4.0, 10.0),)))
    assert later.levels[0].low == later.levels[0].high == pytest.approx(12 - 4 - 2.6)


def test_what_no_year_or_too_few_see_dry_has_no_dry_date() -> None:
    assert water([0.01] * 19, batch()).dry_date is None
    assert water([0.01] * 18 + [1.0], batch()).dry_date is None  # one of nineteen: too few
    assert water([0.01] * 17 + [1.0, 1.0], batch()).dry_date == day(57)
    assert water([0.01] * 19, batch()).margin_days is None


def test_what_is_over_stays_as_it_was() -> None:
    for state in ("cleared", "failed"):
        b = batch(state=state, dry_date=day(55), margin_days=2)
        assert water([1.5], b) == b
