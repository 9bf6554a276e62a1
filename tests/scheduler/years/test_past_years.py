"""Whole past years in the place of the season's days, and who gets which of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from verify_case import day, garden

from scheduler.garden.model import Season
from scheduler.years.past import whole_years
from scheduler.years.purposes import PURPOSES, Split, shared_out, years_for


def daily(first: str, last: str) -> pd.DataFrame:
    """Days whose tmin is the day of the month, tmax the year, et0 the month."""
    index = pd.date_range(first, last)
    return pd.DataFrame(
        {
            "tmin": index.day.astype(float),
            "tmax": index.year.astype(float),
            "tmean": 15.0,
            "et0": index.month.astype(float),
            "dli": 20.0,
        },
        index=index,
    )


def garden_from(start: date, days: int, rows: int):
    """The garden of the case with another season, and so many rows of weather."""
    g = garden()
    index = pd.date_range(start, periods=rows)
    weather = pd.concat([g.site.weather.iloc[:1]] * rows).set_axis(index)
    season = Season(start, start + timedelta(days=days - 1))
    return replace(g, season=season, site=replace(g.site, weather=weather))


def test_each_day_stands_in_for_the_same_day_of_the_same_month() -> None:
    g = garden()  # 5 April on, 211 days: to 1 November
    found = whole_years(g, daily("2001-01-01", "2004-12-31"))
    assert found.years.names == ("2001", "2002", "2003", "2004")
    assert found.left_out == ()
    index = g.site.weather.index
    for k, year in enumerate((2001, 2002, 2003, 2004)):
        assert (found.years.tmin[k] == index.day).all()
        assert (found.years.et0[k] == index.month).all()
        assert (found.years.tmax[k] == year).all()
    assert (found.years.first, found.years.days, found.years.real) == (day(0), 211, 4)


@pytest.mark.parametrize(
    ("first", "last", "names", "left_out"),
    [
        # The season's weather runs from 5 April to 1 November, the season to 4 July.
        ("2001-04-05", "2002-11-01", ("2001", "2002"), ()),
        ("2001-04-06", "2002-11-01", ("2002",), ("2001",)),
        ("2001-04-05", "2002-10-31", ("2001",), ("2002",)),
        ("2001-07-04", "2002-12-31", ("2002",), ("2001",)),  # one day of a season
        ("2001-07-05", "2002-12-31", ("2002",), ()),  # none
    ],
)
def test_incomplete_years_are_told_and_left_out(
    first: str, last: str, names: tuple[str, ...], left_out: tuple[str, ...]
) -> None:
    found = whole_years(garden(), daily(first, last))
    assert found.years.names == names
    assert found.left_out == left_out
    assert any("Left out" in note for note in found.years.notes) == bool(left_out)


def test_a_gap_leaves_its_year_out() -> None:
    rows = daily("2001-01-01", "2003-12-31").drop(pd.Timestamp("2002-08-01"))
    assert whole_years(garden(), rows).left_out == ("2002",)


def test_a_year_without_a_value_on_one_day_is_left_out() -> None:
    rows = daily("2001-01-01", "2003-12-31")
    rows.loc["2003-05-05", "et0"] = np.nan
    assert whole_years(garden(), rows).left_out == ("2003",)


def test_weather_across_new_year_takes_the_days_of_two_years() -> None:
    g = garden_from(date(2027, 10, 1), 93, 200)  # to 1 January, its weather to 17 April 2028
    found = whole_years(g, daily("2001-01-01", "2004-12-31"))
    assert found.years.names == ("2001-02", "2002-03", "2003-04")
    assert found.left_out == ("2000-01", "2004-05")  # of the first 1 January alone is there
    index = g.site.weather.index
    assert (found.years.tmax[1] == index.year - 2027 + 2002).all()
    assert (found.years.et0[1] == index.month).all()


def test_a_year_is_named_by_its_season_not_by_what_follows() -> None:
    g = garden_from(date(2027, 10, 1), 92, 200)  # to 31 December
    assert whole_years(g, daily("2001-01-01", "2002-12-31")).years.names == ("2001",)


def test_29_february_is_the_day_before_where_there_is_none() -> None:
    g = garden_from(date(2028, 2, 1), 30, 60)
    at = (date(2028, 2, 29) - date(2028, 2, 1)).days
    found = whole_years(g, daily("2003-01-01", "2004-12-31"))
    assert found.years.tmin[:, at - 1 : at + 2].tolist() == [[28, 28, 1], [28, 29, 1]]
    # And a season without that day passes over it.
    g = garden_from(date(2027, 2, 1), 30, 60)
    found = whole_years(g, daily("2004-01-01", "2004-12-31"))
    assert found.years.tmin[0, at - 1 : at + 1].tolist() == [28, 1]
    assert (found.years.et0[0] == g.site.weather.index.month).all()


def test_no_whole_year_is_no_error() -> None:
    found = whole_years(garden(), daily("2001-06-01", "2001-09-30"))
    assert (found.years.count, found.years.days, found.left_out) == (0, 211, ("2001",))


def test_what_has_happened_is_the_same_in_every_past_year() -> None:
    years = whole_years(garden(), daily("2001-01-01", "2004-12-31"), as_of=day(40)).years
    assert (years.tmin[:, :40] == 20.0).all()
    assert years.tmin[0, 40] == day(40).day


@pytest.mark.parametrize("count", range(0, 40))
def test_no_past_year_serves_two_purposes_and_each_serves_one(count: int) -> None:
    shares = shared_out(count)
    assert sorted(i for mine in shares.values() for i in mine) == list(range(count))
    plan, choose, promise = (len(shares[p]) for p in PURPOSES)
    assert (plan, choose) == (min(6, -(-count // 3)), min(6, count // 3))
    assert promise == count - plan - choose
    if count >= 3:
        assert min(plan, choose, promise) >= 1


def test_shares_are_spread_over_the_whole_time() -> None:
    # Of 30 years every fifth is planned with, and the middle of each share is the middle of all.
    shares = shared_out(30)
    assert shares["plan"] == [2, 7, 12, 17, 22, 27]
    for mine in shares.values():
        assert abs(np.mean(mine) - 14.5) <= 1.5
    assert shared_out(9, Split(plan=1, choose=0)) == {
        "plan": [4],
        "choose": [],
        "promise": [0, 1, 2, 3, 5, 6, 7, 8],
    }


def test_without_past_years_all_are_generated_and_differ_by_purpose() -> None:
    made = [years_for(garden(), 6, 1, purpose) for purpose in PURPOSES]
    for years in made:
        assert (years.count, years.real, years.names) == (6, 0, ())
        assert years.et0.mean(axis=0) == pytest.approx(5.0)
    assert not (made[0].et0 == made[1].et0).any()
    assert not (made[1].et0 == made[2].et0).any()
    again = years_for(garden(), 6, 1, "plan")
    assert (again.et0 == made[0].et0).all()


def test_real_years_first_then_generated_ones_and_it_is_told() -> None:
    rows = daily("1995-01-01", "2003-12-31")  # nine years, three each
    seen: set[str] = set()
    for purpose in PURPOSES:
        years = years_for(garden(), 10, 1, purpose, rows)
        assert (years.count, years.real) == (10, 3)
        assert [str(int(t)) for t in years.tmax[:3, 0]] == list(years.names)
        assert years.tmax[3:, 0].mean() == pytest.approx(20.0, abs=5)  # generated
        assert f"3 are past years of the daily file: {', '.join(years.names)}." in years.notes[0]
        assert not seen & set(years.names)
        seen |= set(years.names)
    assert len(seen) == 9


def test_more_real_years_than_asked_for_are_thinned_over_the_whole_time() -> None:
    rows = daily("1971-01-01", "2000-12-31")
    years = years_for(garden(), 3, 1, "plan", rows)
    # Planned with: 1973, 1978, 1983, 1988, 1993, 1998; the second, fourth and sixth of them.
    assert years.names == ("1978", "1988", "1998")
    assert (years.count, years.real) == (3, 3)


def test_a_purpose_without_a_real_year_is_told_so() -> None:
    years = years_for(garden(), 4, 1, "choose", daily("2001-01-01", "2002-12-31"))
    assert (years.count, years.real) == (4, 0)
    assert "Of 4 years chosen with 0 are past years" in years.notes[0]


def test_no_such_purpose_and_no_year_are_refused() -> None:
    with pytest.raises(ValueError, match="purpose"):
        years_for(garden(), 4, 1, "judge")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="at least 1"):
        years_for(garden(), 0, 1, "plan")
