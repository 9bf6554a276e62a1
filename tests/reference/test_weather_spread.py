"""Generated years against open daily series, order statistics, and a closed form.

``open_stations.csv`` is derived from the climate files of the open package aquacrop (stations
Brussels, Champion, Tunis, Cordoba); its first lines say how. The spreads were set by the early
years of these stations; the checks are against the late ones too, and against typical years that
pvlib carries.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from scipy import integrate, stats
from verify_case import crop, garden

from crops import development, radiation
from crops.climate import monthly_to_daily
from scheduler.garden.model import Garden, Season
from scheduler.years.generator import generated_years
from scheduler.years.quantiles import share_below
from scheduler.years.spread import SeasonSpread, spread_at

TABLE = pd.read_csv(Path(__file__).parent / "open_stations.csv", comment="#")
# Latitude, elevation (from memory), first and last day of the growing half-year.
PLACES = {
    "brussels": (50.8, 100, date(2027, 4, 1), date(2027, 9, 30)),
    "champion": (40.5, 1030, date(2027, 4, 1), date(2027, 9, 30)),
    "tunis": (36.8, 5, date(2027, 4, 1), date(2027, 9, 30)),
    "cordoba": (-31.4, 430, date(2027, 10, 1), date(2028, 3, 31)),
}
MONTHS = [f"m{k}" for k in range(1, 13)]


def rows(station: str, years: str) -> pd.DataFrame:
    chosen = TABLE[(TABLE["station"] == station) & (TABLE["years"] == years)]
    return chosen.set_index("variable")


def at(station: str, years: str = "early") -> Garden:
    """The case's garden in the half-year of a station, with its monthly means as climate."""
    latitude, elevation, first, last = PLACES[station]
    table = rows(station, years)
    mean = table.loc["tmean", MONTHS].to_numpy(float)
    width = table.loc["range", MONTHS].to_numpy(float)
    normals = pd.DataFrame(
        {
            "month": range(1, 13),
            "tmin": mean - width / 2,
            "tmax": mean + width / 2,
            "rs": table.loc["dli", MONTHS].to_numpy(float) / radiation.MOL_PER_MJ,
            "wind": table.loc["et0", MONTHS].to_numpy(float),  # carries ET0 through the months
        }
    )
    days = monthly_to_daily(normals, first, last)
    doy = pd.DatetimeIndex(days.index).dayofyear.to_numpy()
    weather = pd.DataFrame(
        {
            "tmin": days["tmin"],
            "tmax": days["tmax"],
            "tmean": (days["tmin"] + days["tmax"]) / 2,
            "ra": radiation.extraterrestrial(latitude, doy),
            "rs": days["rs"],
            "daylength": radiation.day_length(latitude, doy),
            "et0": days["wind"],
            "dli": radiation.light_integral(days["rs"].to_numpy()),
        }
    )
    g = garden()
    site = replace(
        g.site,
        latitude=latitude,
        elevation=elevation,
        weather=weather,
        coastal=station == "tunis",
    )
    return replace(g, site=site, season=Season(first, last))


def strayed(g: Garden, count: int) -> dict[str, np.ndarray]:
    """Deviations from the garden's weather [years, days], ET0 and light as shares of it."""
    years, weather = generated_years(g, count, seed=11), g.site.weather
    return {
        "tmean": (years.tmin + years.tmax) / 2 - weather["tmean"].to_numpy(),
        "range": (years.tmax - years.tmin) / (weather["tmax"] - weather["tmin"]).to_numpy() - 1,
        "et0": years.et0 / weather["et0"].to_numpy() - 1,
        "dli": years.dli / weather["dli"].to_numpy() - 1,
    }


def spreads(away: np.ndarray, months: np.ndarray) -> dict[str, float]:
    monthly = [away[:, months == m].mean(axis=1) for m in np.unique(months)]
    return {
        "day_sd": float(away.std()),
        "month_sd": float(np.std(monthly)),
        "season_sd": float(away.mean(axis=1).std()),
    }


def pooled(variables: list[str], years: str, column: str) -> float:
    """Root mean square over the stations, from the open series."""
    mine = TABLE[TABLE["variable"].isin(variables) & (TABLE["years"] == years)]
    assert len(mine) == 4 * len(variables)
    return float(np.sqrt((mine[column] ** 2).mean()))


@pytest.fixture(scope="module")
def made() -> dict[str, dict[str, dict[str, float]]]:
    """Spreads of generated years by station and variable."""
    out = {}
    for station in PLACES:
        g = at(station)
        months = pd.DatetimeIndex(g.site.weather.index).month.to_numpy()
        out[station] = {name: spreads(x, months) for name, x in strayed(g, 1000).items()}
    return out


@pytest.mark.parametrize("station", PLACES)
def test_the_means_of_generated_years_give_the_station_s_table_back(station: str) -> None:
    # Straight lines between mid-months cut the peaks of a table a little, so the months of the
    # generated years are held against those of the garden's own weather, and against the table
    # within what the lines cut off (at most a fiftieth of the yearly range, here).
    g = at(station)
    years, weather = generated_years(g, 20, seed=3), g.site.weather
    months = pd.DatetimeIndex(weather.index).month
    table = rows(station, "early")
    for name, found in (
        ("tmean", (years.tmin + years.tmax) / 2),
        ("et0", years.et0),
        ("dli", years.dli),
    ):
        monthly = pd.Series(found.mean(axis=0)).groupby(np.asarray(months)).mean()
        own = pd.Series(weather[name].to_numpy()).groupby(np.asarray(months)).mean()
        assert monthly.to_numpy() == pytest.approx(own.to_numpy(), rel=1e-9)
        wanted = table.loc[name, MONTHS].to_numpy(float)
        off = np.abs(monthly.to_numpy() - wanted[monthly.index.to_numpy() - 1])
        assert off.max() < 0.04 * np.ptp(wanted), name


@pytest.mark.parametrize("years", ["early", "late"])
@pytest.mark.parametrize(
    ("column", "within"),
    # A standard deviation from n seasons is known to 1/sqrt(2n): 76 early ones in all 8 %, 45
    # late ones 11 %; two of these are allowed, for months and days the same.
    [("day_sd", 0.10), ("month_sd", 0.15), ("season_sd", 0.22)],
)
def test_temperature_strays_as_the_open_series_do(
    made: dict, years: str, column: str, within: float
) -> None:
    found = np.sqrt(np.mean([made[s]["tmean"][column] ** 2 for s in PLACES]))
    assert found == pytest.approx(pooled(["tmean"], years, column), rel=within)


@pytest.mark.parametrize("station", PLACES)
def test_temperature_strays_as_at_each_single_place(made: dict, station: str) -> None:
    # Early and late years together, 23 to 37 seasons: a standard deviation is known to 15 to 12 %
    # of itself for half-years, to 6 % for the six months of each; two of these are allowed, and as
    # much again, since the share of months and half-years in the spread of days is not the same
    # everywhere (Cordoba's half-years stray a third less than those made for it).
    for column, within in (("day_sd", 0.12), ("month_sd", 0.22), ("season_sd", 0.45)):
        both = [rows(station, years).loc["tmean", column] for years in ("early", "late")]
        wanted = np.sqrt(np.mean(np.square(both)))
        assert made[station]["tmean"][column] == pytest.approx(wanted, rel=within), column


@pytest.mark.parametrize(
    ("column", "within"), [("day_sd", 0.12), ("month_sd", 0.2), ("season_sd", 0.35)]
)
def test_the_range_of_a_day_strays_as_in_the_open_series(
    made: dict, column: str, within: float
) -> None:
    found = np.sqrt(np.mean([made[s]["range"][column] ** 2 for s in PLACES]))
    for years in ("early", "late"):
        assert found == pytest.approx(pooled(["range"], years, column), rel=within)


@pytest.mark.parametrize("years", ["early", "late"])
@pytest.mark.parametrize("column", ["day_sd", "month_sd", "season_sd"])
def test_et0_strays_between_what_is_worked_out_and_what_the_series_tell(
    made: dict, years: str, column: str
) -> None:
    # ET0 from temperatures alone strays less than the ET0 that the series carry. Each is known to
    # about a tenth (see above).
    low, high = (pooled([name], years, column) for name in ("et0", "et0_told"))
    assert 0.9 * low < made["brussels"]["et0"][column] < 1.1 * high


@pytest.mark.parametrize("column", ["month_sd", "season_sd"])
def test_months_of_light_stray_more_than_guesses_from_the_daily_range_but_not_twice(
    made: dict, column: str
) -> None:
    # The series have no radiation; a guess from the daily range misses part of the spread.
    found = np.sqrt(np.mean([made[s]["dli"][column] ** 2 for s in PLACES]))
    guessed = np.mean([pooled(["dli"], years, column) for years in ("early", "late")])
    assert guessed < found < 2 * guessed


def test_months_belong_together_more_than_days_that_only_remember_the_last_one() -> None:
    # Without the slow parts the spread of half-years is much too small: Brussels, Champion, Tunis
    # and Cordoba tell why they are there.
    g = at("brussels")
    spread = SeasonSpread()
    only = replace(spread, temperature=replace(spread.temperature, slow=0.0, season=0.0))
    years = generated_years(g, 1000, only, seed=11)
    mean = (years.tmin + years.tmax) / 2
    season = (mean - g.site.weather["tmean"].to_numpy()).mean(axis=1).std()
    assert season < 0.75 * pooled(["tmean"], "early", "season_sd")


def test_days_of_light_stray_as_in_a_measured_typical_year() -> None:
    """Greensboro (36.1 degrees north), typical meteorological year, file carried by pvlib."""
    folder = Path(pvlib.__file__).parent / "data"
    hours, place = pvlib.iotools.read_tmy3(folder / "723170TYA.CSV", map_variables=True)
    rs = hours["ghi"].to_numpy().reshape(365, 24).sum(axis=1) * 3600 / 1e6  # MJ
    days = pd.DataFrame({"rs": rs}, index=pd.date_range("2027-01-01", periods=365))
    ra = radiation.extraterrestrial(place["latitude"], np.arange(1, 366))
    days["share"] = days["rs"] / radiation.clear_sky(ra, place["altitude"])
    grown = days.loc["2027-04-01":"2027-09-30"]
    month = grown.index.month
    usual = grown["share"].groupby(month).transform("mean")
    measured = float((grown["share"] / usual - 1).std())
    g = at("brussels")
    weather = monthly_weather(g, usual.to_numpy(), place["latitude"], place["altitude"])
    g = replace(g, site=replace(g.site, elevation=place["altitude"], weather=weather))
    away = strayed(g, 400)["dli"]
    assert away.std() == pytest.approx(measured, rel=0.10)
    # No day was brighter than a clear sky by more than a tenth, few darker than a tenth of it.
    assert days["share"].max() < 1.1
    assert (days["share"] < 0.1).mean() < 0.02


def hourly(name: str) -> tuple[np.ndarray, float]:
    """Temperatures of a typical year [365, 24], and the latitude; files carried by pvlib."""
    file = Path(pvlib.__file__).parent / "data" / name
    if file.suffix == ".tm2":
        hours, place = pvlib.iotools.read_tmy2(file)
        return hours["DryBulb"].to_numpy(float).reshape(365, 24) / 10, place["latitude"]
    hours, place = pvlib.iotools.read_tmy3(file, map_variables=True)
    return hours["temp_air"].to_numpy(float).reshape(365, 24), place["latitude"]


def within_months(mean: np.ndarray, months: np.ndarray) -> float:
    """Spread of days about a straight line through each month, a row of [years, days] at a time."""
    rest = []
    for row in mean:
        for month in np.unique(months):
            days = row[months == month]
            at = np.arange(len(days))
            rest.append(days - np.polyval(np.polyfit(at, days, 1), at))
    return float(np.concatenate(rest).std())


@pytest.mark.deep
def test_the_spread_of_a_place_follows_its_daily_range_its_latitude_and_the_sea() -> None:
    """Typical years of three places that nothing was fitted to, within their months.

    Greensboro (inland, 36 degrees), Sand Point (an island off Alaska, 55), Miami (26).
    """
    off, off_alike = [], []
    for name, coastal in (("723170TYA.CSV", False), ("703165TY.csv", True), ("12839.tm2", True)):
        hours, latitude = hourly(name)
        index = pd.date_range("2027-01-01", periods=365)
        days = pd.DataFrame({"tmin": hours.min(axis=1), "tmax": hours.max(axis=1)}, index=index)
        grown = days.loc["2027-04-01":"2027-09-30"]
        months = pd.DatetimeIndex(grown.index).month.to_numpy()
        measured = within_months(grown.mean(axis=1).to_numpy()[None], months)
        g = at("brussels")
        usual = grown.groupby(months).transform("mean")
        weather = g.site.weather.assign(**{c: usual[c].to_numpy() for c in usual})
        site = replace(g.site, latitude=latitude, weather=weather, coastal=coastal)
        for spread, found in ((spread_at(replace(g, site=site)), off), (SeasonSpread(), off_alike)):
            years = generated_years(replace(g, site=site), 20, spread, seed=2)
            mean = (years.tmin + years.tmax) / 2 - usual.mean(axis=1).to_numpy()
            found.append(within_months(mean, months) / measured - 1)
    assert np.abs(off).max() < 0.4  # the island's fog is not in the formula
    assert np.abs(off[0]) < 0.15
    assert np.abs(off[2]) < 0.15
    assert np.abs(off_alike).max() > 0.6  # one spread for all places would be far off


def monthly_weather(
    g: Garden, share: np.ndarray, latitude: float, elevation: float
) -> pd.DataFrame:
    """The garden's weather with the light of a share of the clear sky."""
    weather = g.site.weather.copy()
    doy = pd.DatetimeIndex(weather.index).dayofyear.to_numpy()
    weather["ra"] = radiation.extraterrestrial(latitude, doy)
    clear = radiation.clear_sky(weather["ra"].to_numpy(), elevation)
    weather["dli"] = radiation.light_integral(clear * share)
    return weather


def expected_response(mean: float, sd: float, base: float, opt: float, high: float) -> float:
    """Mean of the two-line response of a normal temperature, in closed form.

    Between two temperatures the response is a line, and the integral of a line times the normal
    density is made of Phi and phi: that of x phi(x) is -phi(x).
    """
    b, o, h = ((t - mean) / sd for t in (base, opt, high))
    rise = (mean - base) * (stats.norm.cdf(o) - stats.norm.cdf(b)) + sd * (
        stats.norm.pdf(b) - stats.norm.pdf(o)
    )
    fall = (high - mean) * (stats.norm.cdf(h) - stats.norm.cdf(o)) + sd * (
        stats.norm.pdf(h) - stats.norm.pdf(o)
    )
    return float(rise / (opt - base) + fall / (high - opt))


def test_the_closed_form_is_the_integral() -> None:
    for mean, sd in ((20.0, 3.0), (6.0, 5.0), (33.0, 2.0)):
        grid = np.linspace(mean - 9 * sd, mean + 9 * sd, 200_001)
        response = development.temperature_response(grid, 4.0, 20.0, 35.0)
        total = integrate.trapezoid(response * stats.norm.pdf(grid, mean, sd), grid)
        assert expected_response(mean, sd, 4.0, 20.0, 35.0) == pytest.approx(total, abs=1e-6)


@pytest.mark.parametrize("mean", [5.0, 12.0, 20.0, 33.0])
def test_expected_development_is_that_of_a_normal_spread_of_temperature(mean: float) -> None:
    """Generated days without a daily range, through `development.warmth`."""
    g = garden()
    weather = g.site.weather.assign(tmin=mean, tmax=mean)
    g = replace(g, site=replace(g.site, weather=weather))
    plant = crop("lettuce")  # 4, 20 and 35 degC; reference 20 degC, where the response is 1
    years = generated_years(g, 2000, SeasonSpread(), seed=5)
    sd = SeasonSpread().temperature.total
    wanted = expected_response(mean, sd, 4.0, 20.0, 35.0)
    found = development.warmth(plant, years.tmin, years.tmax).mean()
    # 2,000 years of 211 days, of which about every fifth counts: one in 300 of a deviation, 0.001.
    assert found == pytest.approx(wanted, abs=0.003)
    if mean == 20.0:  # at the optimum real days are slower than the mean day, by a seventh
        assert wanted == pytest.approx(1 - 0.7979 * sd * (1 / 16 + 1 / 15) / 2, abs=0.001)


@pytest.mark.parametrize(
    ("n", "share"),
    [(4, 0.2), (4, 0.5), (9, 0.2), (9, 0.9), (20, 0.2), (30, 0.9), (200, 0.05), (200, 0.5)],
)
def test_sample_quantiles_are_those_of_order_statistics(n: int, share: float) -> None:
    # Of n uniform values the k-th smallest is Beta(k, n + 1 - k) distributed with mean k/(n + 1)
    # (David & Nagaraja 2003, Order Statistics, section 2.1, from memory), so on average the share
    # itself lies below; and SciPy's quantile with both plotting parameters 0 is the same.
    rng = np.random.default_rng(7)
    sample = rng.random((n, 4000))
    found = share_below(sample, share)
    sd = stats.beta(share * (n + 1), (1 - share) * (n + 1)).std()
    assert found.mean() == pytest.approx(share, abs=4 * sd / np.sqrt(4000))
    again = stats.mstats.mquantiles(sample[:, 0], share, alphap=0, betap=0)
    assert found[0] == pytest.approx(float(again[0]))
