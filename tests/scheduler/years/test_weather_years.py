"""Weather years: spread, memory, correlation as stated; stretches of past days in their season."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd
import pytest
from verify_case import START, day, garden

from crops import radiation
from scheduler.years.weather_years import Spread, resampled_years, spread_years


def test_no_spread_is_the_garden_s_weather_itself() -> None:
    g = garden()
    years = spread_years(g, 3, Spread().scaled(0.0), seed=5)
    for name in ("tmin", "tmax", "et0", "dli"):
        want = g.site.weather[name].to_numpy()
        assert (getattr(years, name) == want).all(), name


def test_spread_memory_and_correlation_are_those_stated() -> None:
    # 4,000 years: a standard deviation is known to 1/sqrt(8000) = 1.1 % of itself on one day, far
    # better over 211; a correlation to about 1/sqrt(4000 * 211) = 0.1 %.
    g = garden()
    stated = Spread(temperature=2.0, et0=0.10, light=0.0, memory=0.7, together=0.4)
    years = spread_years(g, 4000, stated, seed=1)
    warm, thirst = years.tmin - 20.0, years.et0 / 5.0 - 1
    assert warm.std() == pytest.approx(2.0, rel=0.01)
    assert warm[:, 0].std() == pytest.approx(2.0, rel=0.05)  # the first day as any other
    assert thirst.std() == pytest.approx(0.10, rel=0.01)
    assert (years.tmax - years.tmin == 0).all()  # both extremes shift alike
    lag = np.corrcoef(warm[:, :-1].ravel(), warm[:, 1:].ravel())[0, 1]
    assert lag == pytest.approx(0.7, abs=0.01)
    two = np.corrcoef(warm[:, :-2].ravel(), warm[:, 2:].ravel())[0, 1]
    assert two == pytest.approx(0.49, abs=0.015)  # first order: 0.7 squared
    assert np.corrcoef(warm.ravel(), thirst.ravel())[0, 1] == pytest.approx(0.4, abs=0.01)


def test_light_stays_under_a_clear_sky_and_nothing_is_negative() -> None:
    g = garden()
    years = spread_years(g, 300, Spread(et0=0.9, light=0.9), seed=2)
    # FAO-56 eq. 37: Rso = (0.75 + 2e-5 * 100) * 35 = 26.32 MJ; 2.018 mol/MJ gives 53.1 mol.
    assert years.dli.max() == pytest.approx(0.752 * 35 * radiation.MOL_PER_MJ)
    assert years.dli.min() == 0.0
    assert years.et0.min() == 0.0


def test_what_has_happened_is_the_same_in_every_year() -> None:
    years = spread_years(garden(), 50, Spread(), seed=3, as_of=day(40))
    assert (years.et0[:, :40] == 5.0).all()
    assert years.et0[:, 40].std() > 0.3


def test_same_seed_same_years_another_seed_others() -> None:
    a, b, c = (spread_years(garden(), 5, Spread(), seed=s) for s in (4, 4, 5))
    assert (a.et0 == b.et0).all()
    assert not (a.et0 == c.et0).any()


@pytest.mark.parametrize("wrong", [Spread(temperature=-1), Spread(memory=1.0), Spread(together=2)])
def test_spreads_that_make_no_sense_are_refused(wrong: Spread) -> None:
    with pytest.raises(ValueError, match="must"):
        spread_years(garden(), 2, wrong)


def past(years: int, first: str = "2001-01-01") -> pd.DataFrame:
    """Days whose tmin is the day of the year and whose tmax is the year."""
    index = pd.date_range(first, periods=round(years * 365.25))
    return pd.DataFrame(
        {
            "tmin": index.dayofyear.astype(float),
            "tmax": index.year.astype(float),
            "tmean": 15.0,
            "et0": np.arange(len(index), dtype=float),
            "dli": 20.0,
        },
        index=index,
    )


def test_stretches_come_from_their_season_in_a_row_and_from_every_year() -> None:
    g = garden()  # 5 April on, 211 days
    years = resampled_years(g, past(6), 400, block=10, window=7, seed=1)
    doy = g.site.weather.index.dayofyear.to_numpy()
    # Within the 7 days of the window, and one more where a leap day lies in the stretch.
    assert np.abs(years.tmin - doy).max() <= 8
    assert set(np.unique(years.tmax)) == set(range(2001, 2007))
    steps = np.diff(years.et0, axis=1)
    inside = np.arange(1, years.days) % 10 != 0
    assert (steps[:, inside] == 1).all()
    assert (steps[:, ~inside] != 1).mean() > 0.9


def test_a_table_that_ends_goes_on_a_year_earlier() -> None:
    # One year from 1 May: stretches that would run past 30 April 2002 go on at 1 May 2001.
    table = past(1, "2001-05-01").iloc[:365]
    years = resampled_years(garden(), table, 200, block=30, window=0, seed=1)
    assert years.tmin[:, 0].tolist() == [95.0] * 200  # 5 April is day 95
    assert years.tmin[0, 24:30].tolist() == [119, 120, 121, 122, 123, 124]


def test_its_own_weather_as_the_past_gives_it_back() -> None:
    g = garden()
    index = pd.date_range(START - timedelta(days=94), periods=365)
    k = np.arange(365.0)
    table = pd.DataFrame(
        {"tmin": k, "tmax": k + 5, "tmean": k + 2.5, "et0": k / 50, "dli": k / 10}, index=index
    )
    own = g.site.weather.copy()
    for name in table:
        own[name] = table[name].reindex(own.index)
    years = resampled_years(replace(g, site=replace(g.site, weather=own)), table, 5, 7, 0, seed=9)
    for name in ("tmin", "tmax", "et0", "dli"):
        assert (getattr(years, name) == own[name].to_numpy()).all(), name


def test_less_than_a_year_is_refused() -> None:
    with pytest.raises(ValueError, match="365"):
        resampled_years(garden(), past(1).iloc[:200], 5)
