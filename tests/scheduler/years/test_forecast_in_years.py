"""A forecast in the years ahead: how far each of their first days follows it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from verify_case import day, garden

from scheduler.garden.model import Garden
from scheduler.years import forecast as module
from scheduler.years.expected import without_years
from scheduler.years.forecast import explained, with_forecast
from scheduler.years.generator import generated_years
from scheduler.years.purposes import PURPOSES, years_for
from scheduler.years.weather_years import WeatherYears

MADE = day(20)
LAST = day(39)  # of the forecast
COLD = 6.0  # [K] by which it is below the climate
NAMES = ("tmin", "tmax", "et0", "dli", "sun", "air")


def at(when: date) -> int:
    return (when - day(0)).days


def plain() -> Garden:
    """Nights of 10, days of 20 degC, all season."""
    g = garden()
    weather = g.site.weather.assign(tmin=10.0, tmax=20.0, tmean=15.0)
    return replace(g, site=replace(g.site, weather=weather))


def foretold(g: Garden, first: date = MADE, as_of: date = MADE, **told: float) -> Garden:
    """The garden with a forecast of ``first`` to `LAST`: so much for each column."""
    weather = g.site.weather.copy()
    climate = weather.loc[str(MADE) : str(LAST)].copy()
    for name, value in told.items():
        weather.loc[str(first) : str(LAST), name] = value
    carried = with_forecast(weather, MADE, climate, as_of)
    return replace(g, site=replace(g.site, weather=carried))


def cold(g: Garden, first: date = MADE) -> Garden:
    return foretold(g, first, tmin=10.0 - COLD, tmax=20.0 - COLD, et0=3.0, dli=12.0)


def past() -> pd.DataFrame:
    """Four years that stray from the climate by as much as their days' numbers tell."""
    index = pd.date_range("2001-01-01", "2004-12-31")
    off = np.sin(np.arange(len(index)) * 1.7) * 4
    return pd.DataFrame(
        {
            "tmin": 10 + off,
            "tmax": 20 + off,
            "tmean": 15 + off,
            "et0": 5 + off / 2,
            "dli": 20 + off,
        },
        index=index,
    )


def years(g: Garden, of_past: bool, as_of: date | None = MADE) -> WeatherYears:
    rows = past() if of_past else None
    return years_for(g, 2 if of_past else 40, 1, "plan", rows, as_of)


def test_what_forecasts_explain_is_what_is_published() -> None:
    # Stern 2017 (AMS 97th Annual Meeting, paper 2.4, abstract): maxima at Melbourne, 80 to 90 %
    # of the variance a day ahead, about half of it five to seven days ahead. Stern and Davidson
    # 2015 (QJRMS 141:2726): some skill, albeit limited, out to day 14.
    assert 0.80 <= explained(np.array(1)) <= 0.90
    assert explained(np.arange(5, 8)).mean() == pytest.approx(0.5, abs=0.05)
    assert 0 <= explained(np.array(14)) <= 0.1
    assert (np.diff(explained(np.arange(15))) < 0).all()
    assert explained(np.array(60)) == 0


# A day ahead 0.85 of the variance is explained: the mean goes sqrt(0.85) = 0.922 of the way to the
# forecast, the years stray by sqrt(0.15) = 0.387 of what they did. Three days ahead 0.71 is
# explained: 0.843 and sqrt(0.29) = 0.539. Light and ET0 half of that: 0.425 gives 0.652 and 0.758;
# 0.355 gives 0.596 and 0.803.
@pytest.mark.parametrize("of_past", [False, True])
@pytest.mark.parametrize(
    ("lead", "way", "left", "way_cloud", "left_cloud"),
    [(1, 0.922, 0.387, 0.652, 0.758), (3, 0.843, 0.539, 0.596, 0.803)],
)
def test_mean_and_spread_one_and_three_days_ahead(
    of_past: bool, lead: int, way: float, left: float, way_cloud: float, left_cloud: float
) -> None:
    own, told = years(plain(), of_past), years(cold(plain()), of_past)
    k = at(MADE) + lead
    for name, usual in (("tmin", 10.0), ("tmax", 20.0)):
        strayed = getattr(own, name)[:, k] - usual
        wanted = usual - way * COLD + left * strayed
        assert getattr(told, name)[:, k] == pytest.approx(wanted, abs=0.02)
    for name, usual, said in (("et0", 5.0, 3.0), ("dli", 20.0, 12.0)):
        strayed = getattr(own, name)[:, k] - usual
        wanted = usual + way_cloud * (said - usual) + left_cloud * strayed
        least = min(getattr(own, name)[:, k].min(), said)  # never below all years and the forecast
        assert getattr(told, name)[:, k] == pytest.approx(np.maximum(wanted, least), abs=0.02)


@pytest.mark.parametrize("of_past", [False, True])
def test_a_sure_forecast_is_the_day_in_every_year(of_past: bool, monkeypatch) -> None:
    monkeypatch.setattr(module, "TODAY", 1.0)
    monkeypatch.setattr(module, "PER_DAY", 0.0)
    told = years(cold(plain()), of_past)
    k = at(MADE) + 1
    assert told.tmin[:, k] == pytest.approx(4.0)
    assert told.tmax[:, k] == pytest.approx(14.0)


@pytest.mark.parametrize("of_past", [False, True])
def test_two_weeks_ahead_and_before_the_forecast_a_year_is_its_own(of_past: bool) -> None:
    own, told = years(plain(), of_past), years(cold(plain()), of_past)
    for name in NAMES:
        mine, other = getattr(told, name), getattr(own, name)
        assert (mine[:, : at(MADE)] == other[:, : at(MADE)]).all()
        assert mine[:, at(MADE) + 14 :] == pytest.approx(other[:, at(MADE) + 14 :])
    near = slice(at(MADE), at(MADE) + 13)
    assert (np.abs(told.tmin - own.tmin)[:, near] > 1e-6).all()


@pytest.mark.parametrize("of_past", [False, True])
def test_what_was_lived_is_exact_and_leads_count_from_the_forecast(of_past: bool) -> None:
    later = MADE + timedelta(days=3)
    own, told = years(plain(), of_past, later), years(cold(plain()), of_past, later)
    assert (told.tmin[:, at(MADE) : at(later)] == 4.0).all()
    assert (told.et0[:, at(MADE) : at(later)] == 3.0).all()
    wanted = 10 - 0.843 * COLD + 0.539 * (own.tmin[:, at(later)] - 10)  # three days ahead, as above
    assert told.tmin[:, at(later)] == pytest.approx(wanted, abs=0.02)


def test_days_of_which_nothing_is_told_stay_as_they_are() -> None:
    own, told = years(plain(), False), years(cold(plain(), MADE + timedelta(days=4)), False)
    quiet = slice(at(MADE), at(MADE) + 4)
    assert (told.tmin[:, quiet] == own.tmin[:, quiet]).all()
    warm = years(foretold(plain(), tmin=4.0), False)  # the nights alone
    k = at(MADE) + 1
    assert (warm.dli == own.dli).all()
    assert (warm.et0 == own.et0).all()
    # The days as well are as sure as a forecast is: as the climate has them.
    assert warm.tmax[:, k] == pytest.approx(20 + 0.387 * (own.tmax[:, k] - 20), abs=0.02)


def test_no_value_that_no_day_can_have() -> None:
    told = years(foretold(plain(), tmin=19.0, tmax=19.5, et0=0.0, dli=0.0), False)
    assert (told.tmin <= told.tmax).all()
    assert told.et0.min() >= 0
    assert told.dli.min() >= 0


def test_without_a_forecast_nothing_is_other_than_it_was() -> None:
    g = plain()
    found = years(g, False)
    made = generated_years(g, 40, None, (1, PURPOSES.index("plan")), MADE)
    for name in NAMES:
        assert (getattr(found, name) == getattr(made, name)).all()
    assert found.notes == made.notes


def test_a_forecast_is_told_and_goes_with_the_garden_without_years() -> None:
    g = without_years(cold(plain()))
    told = years(g, False)
    assert "forecast of 25 April 2027" in " ".join(told.notes)  # day 20 from 5 April on
    assert told.tmin[:, at(MADE) + 1].mean() == pytest.approx(10 - 0.922 * COLD, abs=0.02)


def test_the_weather_to_be_expected_is_the_mean_of_the_years() -> None:
    later = MADE + timedelta(days=3)
    g = foretold(plain(), as_of=later, tmin=4.0, tmax=14.0, et0=3.0, dli=12.0)
    told, days = years(g, False, later), g.site.weather
    for name in ("tmin", "tmax"):
        assert days[name].to_numpy() == pytest.approx(getattr(told, name).mean(axis=0), abs=1e-6)
    assert (days["tmin"].iloc[at(MADE) : at(later)] == 4.0).all()  # lived
    assert days["tmin"].iloc[at(later)] == pytest.approx(10 - 0.843 * COLD, abs=0.01)
    assert days["et0"].iloc[at(later)] == pytest.approx(5 - 0.596 * 2, abs=0.01)
    assert (days["tmin"].iloc[at(MADE) + 14 :] == 10.0).all()
