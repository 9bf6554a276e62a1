"""Daily weather from monthly normals or measured rows: both hemispheres, New Year, gaps."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from crops import climate, evaporation, radiation

NORMALS = pd.DataFrame(
    {
        "month": range(1, 13),
        "tmin": [-4, -2, 1, 5, 10, 14, 16, 16, 12, 7, 2, -2],
        "tmax": [3, 5, 10, 15, 20, 24, 26, 26, 21, 15, 8, 4],
    }
)


def test_a_month_is_met_in_its_middle_and_lines_lie_between():
    rows = climate.monthly_to_daily(NORMALS, date(2026, 1, 1), date(2026, 12, 31))
    # June has 30 days: its middle is the night from the 15th to the 16th
    assert rows.loc["2026-06-15":"2026-06-16", "tmax"].mean() == pytest.approx(24, abs=0.05)
    # 31 days: the 16th is the middle day itself
    assert rows.loc["2026-07-16", "tmax"] == pytest.approx(26)
    assert rows.loc["2026-01-16", "tmin"] == pytest.approx(-4)
    # a day after mid-January and before mid-February lies between -4 and -2
    assert -4 < rows.loc["2026-01-30", "tmin"] < -2


def test_across_new_year_there_is_no_step():
    rows = climate.monthly_to_daily(NORMALS, date(2025, 12, 1), date(2026, 1, 31))
    # from mid-December -2 to mid-January -4 in 31 days: 0.065 a day, downwards
    step = np.diff(rows.loc["2025-12-16":"2026-01-16", "tmin"])
    assert step == pytest.approx(-2 / 31, abs=0.002)
    weather = climate.weather(rows, 47, 400)
    assert np.abs(np.diff(weather["daylength"])).max() < 0.05
    assert np.abs(np.diff(weather["ra"])).max() < 0.2


def test_leap_day_is_there_and_lies_between_its_neighbours():
    rows = climate.monthly_to_daily(NORMALS, date(2028, 2, 20), date(2028, 3, 10))
    assert pd.Timestamp("2028-02-29") in rows.index
    tmin = rows["tmin"]
    assert tmin["2028-02-28"] < tmin["2028-02-29"] < tmin["2028-03-01"]
    year = climate.monthly_to_daily(NORMALS, date(2028, 12, 30), date(2028, 12, 31))
    weather = climate.weather(year, -33, 10)  # day 366
    assert np.isfinite(weather.to_numpy()).all()


def test_months_may_come_in_any_order_but_each_once():
    shuffled = NORMALS.sample(frac=1, random_state=1)
    span = date(2026, 3, 1), date(2026, 4, 1)
    pd.testing.assert_frame_equal(
        climate.monthly_to_daily(NORMALS, *span), climate.monthly_to_daily(shuffled, *span)
    )
    for bad in (NORMALS[:11], pd.concat([NORMALS, NORMALS[:1]])):
        with pytest.raises(ValueError, match="exactly once"):
            climate.monthly_to_daily(bad, *span)


def test_southern_summer_is_in_january():
    south = NORMALS.assign(month=(np.arange(12) + 6) % 12 + 1)
    rows = climate.monthly_to_daily(south, date(2025, 7, 1), date(2026, 6, 30))
    weather = climate.weather(rows, -38, 50)
    monthly = weather.groupby(weather.index.month).mean()
    assert monthly["et0"].idxmax() in (12, 1)
    assert monthly["dli"].idxmin() == 6
    assert monthly["daylength"].idxmax() == 12
    # the same distance north, half a year apart: Ra differs only by the orbit (dr**2: 6.8 %)
    north = radiation.extraterrestrial(38, 172)
    assert radiation.extraterrestrial(-38, 355) == pytest.approx(float(north) * 1.068, rel=0.01)


def one_day(**more: float) -> pd.DataFrame:
    """Uccle, 6 July (FAO-56 example 18)."""
    row = {"tmin": 12.3, "tmax": 21.5, "rs": 22.07} | more
    return pd.DataFrame([row], index=pd.DatetimeIndex(["2015-07-06"]))


def et0(rows: pd.DataFrame) -> float:
    return float(climate.weather(rows, 50.8, 100)["et0"].iloc[0])


def test_which_formula_is_used():
    full = et0(one_day(rhmin=63, rhmax=84, wind=2.078))
    assert full == pytest.approx(3.88, abs=0.01)  # printed in example 18
    plain = et0(one_day())
    assert plain == pytest.approx(0.0023 * (16.9 + 17.8) * 9.2**0.5 * 0.408 * 41.09, abs=0.01)
    assert abs(full - plain) > 0.1
    # wind alone or humidity alone is not enough
    assert et0(one_day(wind=2.078)) == plain
    assert et0(one_day(rhmin=63, rhmax=84)) == plain
    # a gap in the one or the other on this day: the temperatures alone
    assert et0(one_day(rhmin=63, rhmax=84, wind=np.nan)) == plain
    assert et0(one_day(rhmin=63, rhmax=np.nan, wind=2.078)) == plain


def test_mean_humidity_stands_in():
    """Eq. 19: ea = RHmean/100 x es, here 0.705 x 1.997 = 1.408, as good as eq. 17's 1.409."""
    assert et0(one_day(rh=70.5, wind=2.078)) == pytest.approx(3.88, abs=0.02)
    # and where one of the extremes is missing on the day
    gap = one_day(rhmin=63, rhmax=np.nan, rh=70.5, wind=2.078)
    assert et0(gap) == pytest.approx(3.88, abs=0.02)


def test_a_gap_in_the_radiation_is_filled_from_the_temperatures():
    rows = pd.concat([one_day(), one_day(rs=np.nan)])
    weather = climate.weather(rows, 50.8, 100)
    guess = 0.16 * 9.2**0.5 * 41.09
    assert weather["rs"].to_numpy() == pytest.approx([22.07, guess], abs=0.02)
    assert weather["dli"].to_numpy() == pytest.approx(weather["rs"].to_numpy() * 2.018)


def test_polar_night_and_day():
    rows = climate.monthly_to_daily(NORMALS, date(2026, 1, 1), date(2026, 12, 31))
    weather = climate.weather(rows.assign(rh=80, wind=2), 75, 0)
    assert np.isfinite(weather.to_numpy()).all()
    assert weather["daylength"].min() == 0
    assert weather["daylength"].max() == pytest.approx(24)
    assert (weather[["ra", "rs", "et0", "dli"]] >= 0).all().all()


def test_whole_numbers_give_what_decimals_give():
    whole = one_day(tmin=12, tmax=22, rs=22, rhmin=60, rhmax=84, wind=2).astype(int)
    pd.testing.assert_frame_equal(
        climate.weather(whole, 50, 100), climate.weather(whole.astype(float), 50.0, 100.0)
    )


def test_an_array_gives_what_each_number_gives():
    tmin, tmax = np.array([2, 12, 20]), np.array([10, 25, 20])
    rs, ra = np.array([8, 20, 3]), np.array([15, 40, 30])
    ea, wind = np.array([0.7, 1.4, 2.0]), np.array([0.5, 2, 4])
    both = evaporation.penman_monteith(tmin, tmax, rs, ra, ea, wind, 120)
    each = [
        float(evaporation.penman_monteith(*day, 120))
        for day in zip(tmin, tmax, rs, ra, ea, wind, strict=True)
    ]
    assert both == pytest.approx(each)
    # one clear-sky value for many days broadcasts too
    many = evaporation.net_longwave(rs, 30.0, ea, tmin, tmax)
    assert many == pytest.approx(
        [
            float(evaporation.net_longwave(r, 30.0, e, a, b))
            for r, e, a, b in zip(rs, ea, tmin, tmax, strict=True)
        ]
    )


def test_longwave_never_turns_its_sign_under_cloud():
    """1.35 x 0.26 - 0.35 is 0: with less sun eq. 39 would add heat at night."""
    assert evaporation.net_longwave(0.0, 25.0, 1.2, 10, 18) > 0
