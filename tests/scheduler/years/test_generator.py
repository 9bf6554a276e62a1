"""Generated years: they give the garden's weather back, and stray as stated."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from verify_case import day, garden

from crops import radiation
from scheduler.years.generator import generated_years, multiplied
from scheduler.years.spread import MOST_WINTER, Part, SeasonSpread, by_season, spread_at

NAMES = ("tmin", "tmax", "et0", "dli")
NONE = Part(0.0, 0.0, 0.0, 0.0)


def bright_garden(share: float):
    """The garden of the case with the light of ``share`` of a clear sky."""
    g = garden()
    weather = g.site.weather.copy()
    clear = radiation.clear_sky(weather["ra"].to_numpy(float), g.site.elevation)
    weather["dli"] = radiation.light_integral(clear) * share
    weather["tmin"] -= 4.0
    weather["tmax"] += 4.0
    return replace(g, site=replace(g.site, weather=weather))


def test_no_spread_is_the_garden_s_weather_itself() -> None:
    g = garden()
    years = generated_years(g, 3, SeasonSpread().scaled(0.0), seed=5)
    for name in NAMES:
        assert (getattr(years, name) == g.site.weather[name].to_numpy()).all(), name


@pytest.mark.parametrize("count", [2, 6, 200])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99, 1.0, 1.1])
@pytest.mark.parametrize("factor", [1.0, 3.0])
def test_the_mean_of_every_day_is_the_garden_s(count: int, share: float, factor: float) -> None:
    g = bright_garden(share)
    years = generated_years(g, count, SeasonSpread().scaled(factor), seed=count)
    for name in NAMES:
        want = g.site.weather[name].to_numpy()
        assert getattr(years, name).mean(axis=0) == pytest.approx(want, rel=1e-9), name


def test_what_is_cut_off_is_given_back_to_the_other_years() -> None:
    # 10 +- 5, cut at 12: 15 becomes 12, and the other year gets the 3 that are missing: 5 + 3.
    out = multiplied(np.array([10.0]), np.array([[0.5], [-0.5]]), np.array([0.0]), np.array([12.0]))
    assert out[:, 0] == pytest.approx([12.0, 8.0])
    # From below likewise: never under 7 leaves 15 - 2.
    out = multiplied(np.array([10.0]), np.array([[0.5], [-0.5]]), np.array([7.0]), np.array([99.0]))
    assert out[:, 0] == pytest.approx([13.0, 7.0])


def test_light_stays_between_a_tenth_and_all_of_a_clear_sky() -> None:
    g = bright_garden(0.6)
    years = generated_years(g, 400, SeasonSpread(light=Part(0.9, 0.2, 0.2, 0.3)), seed=2)
    # FAO-56 eq. 37: Rso = (0.75 + 2e-5 * 100) * 35 = 26.32 MJ.
    clear = 0.752 * 35 * radiation.MOL_PER_MJ
    assert years.dli.max() == pytest.approx(clear)
    assert years.dli.min() == pytest.approx(0.1 * clear)
    assert (generated_years(g, 400, SeasonSpread(et0=Part(0.9, 0, 0, 0.5))).et0 >= 0).all()


def test_bright_days_are_wide_and_none_is_turned_about() -> None:
    g = bright_garden(0.5)  # a range of 8 degC
    light = Part(0.3, 0.0, 0.0, 0.3)
    years = generated_years(g, 2000, SeasonSpread(NONE, NONE, light, light.times(0.5)), seed=6)
    width = years.tmax - years.tmin
    assert width.std() == pytest.approx(8 * 0.15, rel=0.02)
    assert ((years.tmin + years.tmax) / 2) == pytest.approx(20.0)
    assert np.corrcoef(width.ravel(), years.dli.ravel())[0, 1] > 0.98
    wild = generated_years(g, 200, SeasonSpread(width=light.times(4)), seed=6)
    assert (wild.tmax - wild.tmin).min() == pytest.approx(0.0, abs=1e-9)


def place(width: float, latitude: float, coastal: bool = False):
    g = garden()
    weather = g.site.weather.assign(tmin=20 - width / 2, tmax=20 + width / 2)
    return replace(g, site=replace(g.site, latitude=latitude, weather=weather, coastal=coastal))


def test_the_spread_of_a_place() -> None:
    # 0.115 * 12 + 0.044 * 40 = 3.14 degC in all; the sea takes 22 % of it; south is as north.
    assert spread_at(place(12.0, 40.0)).temperature.total == pytest.approx(3.14)
    assert spread_at(place(12.0, -40.0)).temperature.total == pytest.approx(3.14)
    assert spread_at(place(12.0, 40.0, True)).temperature.total == pytest.approx(3.14 * 0.78)
    # However odd a table: 0.4 to 1.6 of the mean place's, which is the root of 2.9^2 + 0.6^2 + 0.35^2.
    mean = (2.9**2 + 0.6**2 + 0.35**2) ** 0.5
    assert spread_at(place(1.0, 0.0)).temperature.total == pytest.approx(0.4 * mean)
    assert spread_at(place(40.0, 70.0)).temperature.total == pytest.approx(1.6 * mean)
    g = place(12.0, 40.0)
    assert (generated_years(g, 4).tmin == generated_years(g, 4, spread_at(g)).tmin).all()


def test_days_stray_more_in_winter_where_summer_and_winter_are_apart() -> None:
    """The case's weather from April to July, 8 degC from night to day, at 45 degrees, inland:
    0.001 x 8 x (45 - 20) = 0.2. The cosine of 20 January is 1, of 21 July -1; its mean over April to
    September is -0.64 (half a year's mean is 2/pi about its own middle, here 11 days off)."""
    g = bright_garden(0.5)
    g = replace(g, site=replace(g.site, latitude=45.0, coastal=False))
    spread = spread_at(g)
    assert spread.winter == pytest.approx(0.2, abs=0.001)
    factor = by_season(g, spread.winter)
    spring, summer = (g.site.weather.index.get_loc(d) for d in ("2027-04-21", "2027-07-21"))
    assert factor[spring] == pytest.approx(1 + 0.2 * 0.64, abs=0.01)  # a quarter turn: cosine 0
    assert factor[summer] == pytest.approx(1 - 0.2 * 0.36, abs=0.01)
    strayed = generated_years(g, 20, seed=3).tmin - g.site.weather["tmin"].to_numpy()
    flat = generated_years(g, 20, replace(spread, winter=0.0), seed=3)
    warm = (flat.tmin + flat.tmax) / 2 - g.site.weather["tmean"].to_numpy()
    added = strayed - (flat.tmin - g.site.weather["tmin"].to_numpy())
    assert added == pytest.approx(warm * (factor - 1), abs=1e-9)


def test_winter_is_half_a_year_later_in_the_south_and_milder_beside_the_sea() -> None:
    g = bright_garden(0.5)
    north, south = (replace(g, site=replace(g.site, latitude=x)) for x in (45.0, -45.0))
    middle = by_season(north, 0.2) + by_season(south, 0.2)
    assert np.ptp(middle) < 1e-9  # two cosines half a year apart
    assert by_season(south, 0.2)[:91].mean() > by_season(north, 0.2)[:91].mean()
    assert spread_at(replace(g, site=replace(g.site, latitude=45.0, coastal=True))).winter == 0
    wide = g.site.weather.assign(tmin=0.0, tmax=30.0)
    site = replace(g.site, latitude=60.0, coastal=False, weather=wide)
    assert spread_at(replace(g, site=site)).winter == MOST_WINTER  # 1.2 by the formula
    assert spread_at(replace(g, site=replace(site, latitude=-20.0))).winter == 0  # the tropics


@pytest.mark.slow
def test_days_months_and_seasons_stray_as_stated() -> None:
    g = garden()  # 211 days
    for name, part in {
        "day": Part(2.0, 0.0, 0.0, 0.7),
        "slow": Part(0.0, 2.0, 0.0, 0.7),
        "season": Part(0.0, 0.0, 2.0, 0.7),
    }.items():
        years = generated_years(g, 4000, SeasonSpread(temperature=part), seed=1)
        warm = years.tmin - 20.0
        assert (years.tmax - years.tmin == 0).all()  # both extremes shift alike
        # 2,000 pairs: a standard deviation is known to 1/sqrt(4000) = 1.6 % of itself on one day.
        assert warm[:, 0].std() == pytest.approx(2.0, rel=0.05)
        assert warm[:, -1].std() == pytest.approx(2.0, rel=0.05)
        memory = {"day": 0.7, "slow": np.exp(-1 / 60), "season": 1.0}[name]
        for days in (1, 30):
            found = np.corrcoef(warm[:, :-days].ravel(), warm[:, days:].ravel())[0, 1]
            assert found == pytest.approx(memory**days, abs=0.02), (name, days)


@pytest.mark.parametrize("part", ["day", "slow", "season"])
def test_hot_dry_and_bright_come_together_as_stated(part: str) -> None:
    def only(sd: float, memory: float) -> Part:
        return Part(**{"day": 0.0, "slow": 0.0, "season": 0.0, part: sd, "memory": memory})

    stated = SeasonSpread(
        only(2.0, 0.8),
        only(0.1, 0.5),
        only(0.05, 0.2),
        warm_thirst=0.7,
        warm_bright=0.4,
        thirst_bright=0.6,
    )
    years = generated_years(garden(), 6000, stated, seed=4)
    warm, thirst, bright = years.tmin - 20.0, years.et0 / 5.0 - 1, years.dli / 20.0 - 1
    for a, b, want in ((warm, thirst, 0.7), (warm, bright, 0.4), (thirst, bright, 0.6)):
        assert np.corrcoef(a[:, 100], b[:, 100])[0, 1] == pytest.approx(want, abs=0.03)
        assert np.corrcoef(a[:, 0], b[:, 0])[0, 1] == pytest.approx(want, abs=0.03)


def test_what_has_happened_is_the_same_in_every_year() -> None:
    years = generated_years(garden(), 50, seed=3, as_of=day(40))
    for name, want in (("tmin", 20.0), ("et0", 5.0), ("dli", 20.0)):
        assert (getattr(years, name)[:, :40] == want).all(), name
        assert getattr(years, name)[:, 40].std() > 0.3, name


def test_an_odd_count_is_one_year_short_of_the_even_one() -> None:
    three, four = (generated_years(garden(), n, seed=8) for n in (3, 4))
    assert three.count == 3
    assert (three.et0 == four.et0[:3]).all()


def test_same_seed_same_years_another_seed_others() -> None:
    a, b, c, d = (generated_years(garden(), 5, seed=s) for s in (4, 4, 5, (4, 1)))
    assert (a.et0 == b.et0).all()
    assert not (a.et0 == c.et0).any()
    assert not (a.et0 == d.et0).any()


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (SeasonSpread(temperature=Part(-1, 0, 0, 0.5)), "below 0"),
        (SeasonSpread(light=Part(0.1, 0, 0, 1.0)), "below 1"),
        (SeasonSpread(warm_thirst=0.9, warm_bright=-0.9), "contradict"),
    ],
)
def test_spreads_that_make_no_sense_are_refused(wrong: SeasonSpread, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        generated_years(garden(), 2, wrong)


def test_no_year_at_all_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 1"):
        generated_years(garden(), 0)
