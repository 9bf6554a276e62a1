"""Courses to expect: means over weather years, by hand.

The response to temperature is two lines (`development.temperature_response`). A day with one
temperature of 12 degC between a base of 4 and an optimum of 20 has (12 - 4) / 16 = 1/2; of 28 degC,
between 20 and a maximum of 36, (36 - 28) / 16 = 1/2. The mean day of these two, 20 degC, has 1: a
crop on the mean day comes on twice as fast as in either year.
"""

from __future__ import annotations

import copy
from datetime import date

import numpy as np
import pandas as pd
import pytest
from verify_case import crop

from crops import development
from crops.years import Years, carried_by, carrying, plain

CROP = crop("lettuce", t_base=4.0, t_opt=20.0, t_max=36.0, reference_temperature=20.0)
FIRST, DAYS = date(2027, 4, 5), 60


def frame(temperature: float = 20.0, dli: float = 20.0) -> pd.DataFrame:
    return pd.DataFrame(
        {"tmin": temperature, "tmax": temperature, "dli": dli, "daylength": 14.0},
        index=pd.date_range(FIRST, periods=DAYS),
    )


def years(*temperatures: float, dli: float = 20.0) -> Years:
    rows = np.repeat(np.array(temperatures)[:, None], DAYS, axis=1)
    return Years(FIRST, rows, rows, np.full(rows.shape, dli))


def test_the_rate_to_expect_is_the_mean_of_the_years_rates() -> None:
    mean_day = development.daily_rate(CROP, frame(20.0), 1.0)
    expected = development.daily_rate(CROP, carrying(frame(20.0), years(12.0, 28.0)), 1.0)
    assert mean_day == pytest.approx(1 / 20)
    assert expected == pytest.approx(1 / 40)


def test_years_that_are_all_the_mean_year_change_nothing() -> None:
    same = carrying(frame(17.0), years(17.0, 17.0, 17.0))
    for light in (1.0, 0.4):
        assert development.daily_rate(CROP, same, light) == pytest.approx(
            development.daily_rate(CROP, frame(17.0), light)
        )
    starts = np.arange(10)
    bolts = crop("rocket", bolt_heat=15.0, bolt_days=3.0)
    assert (
        development.good_until(bolts, same, starts)
        == development.good_until(bolts, frame(17.0), starts)
    ).all()


@pytest.mark.parametrize(("hot", "until"), [(0, DAYS), (1, DAYS), (2, 3)])
def test_a_crop_may_bolt_in_one_year_of_five(hot: int, until: int) -> None:
    """Every day bolts in ``hot`` of five years; three such days are borne, so the fourth morning
    is the last good one: day 3 of a batch of day 0."""
    bolts = crop("rocket", bolt_heat=25.0, bolt_days=3.0)
    made = carrying(frame(20.0), years(*([30.0] * hot), *([20.0] * (5 - hot))))
    assert development.good_until(bolts, made, [0])[0] == until


def test_a_share_of_the_years_reaches_a_progress_by_its_order_statistic() -> None:
    """At 20, 12, 8, 6 degC rates are 1/20, 1/40, 1/80, 1/160: 0.25 after 5, 10, 20, 40 days."""
    made = carrying(frame(), years(20.0, 12.0, 8.0, 6.0))
    for share, day in ((0.25, 5), (0.5, 10), (0.75, 20), (0.8, 40), (1.0, 40)):
        found = development.reached_in(CROP, made, 1.0, [0], 0.25, share)
        assert found[0] == day, share
    assert development.reached_in(CROP, frame(), 1.0, [0], 0.25, 0.8)[0] == 5  # of itself


@pytest.mark.parametrize("share", [0.3, 0.8, 0.95, 1.0])
def test_progress_at_a_share_of_the_mass(share: float) -> None:
    assert development.mass_share(development.progress_at(share)) == pytest.approx(share)


def test_a_frame_keeps_its_years_and_days_keep_their_places() -> None:
    rows = np.tile(np.linspace(5.0, 20.0, DAYS), (2, 1))
    made = carrying(frame(), Years(FIRST, rows, rows, np.full(rows.shape, 20.0)))
    later = made.iloc[30:]
    assert carried_by(later) is carried_by(made) is carried_by(copy.deepcopy(made))
    assert development.daily_rate(CROP, later, 1.0) == pytest.approx(
        development.daily_rate(CROP, made, 1.0)[30:]
    )
    assert carried_by(plain(made)) is None
    assert carried_by(made) is not None  # nothing was taken from the frame itself
