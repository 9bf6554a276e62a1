"""``rebalance --climate`` where a plan is made for weather years: rows ahead are a forecast."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from solver_case import EXAMPLES

from scheduler.base.faults import BadInput
from scheduler.cli import cli
from scheduler.garden.climate_file import read_climate
from scheduler.garden.file import garden_sources, load_garden
from scheduler.garden.model import Garden
from scheduler.log.model import HEADER
from scheduler.plans.folder import read_plan_dir
from scheduler.plans.model import Plan
from scheduler.plans.plan_years import FORECAST_FILE
from scheduler.replanning.new_weather import climate_name, with_weather
from scheduler.verify import verify
from scheduler.words.words import dated
from scheduler.years.expected import without_years
from scheduler.years.forecast import without_forecast
from scheduler.years.purposes import PURPOSES, years_for

BALCONY = EXAMPLES / "balcony" / "garden.yaml"
ON = date(2027, 5, 24)
DAY = timedelta(days=1)


def table(path: Path, first: date, days: int, tmin: float, tmax: float) -> Path:
    rows = [f"{first + n * DAY},{tmin},{tmax}" for n in range(days)]
    path.write_text("\n".join(["date,tmin,tmax", *rows]) + "\n")
    return path


def told(
    sources: dict[str, bytes], path: Path, on: date | None = ON
) -> tuple[Garden, dict[str, bytes]]:
    return with_weather(load_garden(BALCONY), sources, path, on)


def test_rows_before_the_day_are_no_forecast(tmp_path: Path) -> None:
    plain = load_garden(BALCONY)
    lived = table(tmp_path / "w.csv", ON - 5 * DAY, 5, -3, 12)
    g, sources = told(garden_sources(BALCONY), lived)
    assert FORECAST_FILE not in sources
    k = (ON - plain.season.start).days
    mine, other = (years_for(each, 8, 1, "plan", None, ON) for each in (g, plain))
    assert (mine.tmin[:, k - 5 : k] == -3).all()  # in every year
    # But for the spread, which is told by how wide the days of the season are on the mean.
    assert mine.tmin[:, k:] == pytest.approx(other.tmin[:, k:], abs=0.15)


@pytest.mark.parametrize("days", [1, 3])
def test_a_row_of_the_day_itself_is_a_forecast(tmp_path: Path, days: int) -> None:
    _, sources = told(garden_sources(BALCONY), table(tmp_path / "w.csv", ON, days, -3, 12))
    assert sources[FORECAST_FILE].decode().count("2027-05-") == days


def test_rows_before_and_after_the_day(tmp_path: Path) -> None:
    plain = load_garden(BALCONY)
    both = table(tmp_path / "w.csv", ON - 5 * DAY, 8, -3, 12)
    g, sources = told(garden_sources(BALCONY), both)
    assert sources[FORECAST_FILE].decode().count("2027-05-") == 3  # 24, 25, 26 May
    k = (ON - plain.season.start).days
    mine = years_for(g, 8, 1, "plan", None, ON)
    assert (mine.tmin[:, k - 5 : k] == -3).all()
    usual = plain.site.weather["tmin"].iloc[k + 1]
    # A day ahead sqrt(0.85) of the way to the forecast.
    assert mine.tmin[:, k + 1].mean() == pytest.approx(usual + 0.922 * (-3 - usual), abs=0.01)
    assert np.ptp(mine.tmin[:, k + 1]) > 0.5
    # What years are made around is the climate, to the last digit of the table.
    around = without_forecast(g).site.weather["tmin"].iloc[k:].to_numpy()
    assert around == pytest.approx(plain.site.weather["tmin"].iloc[k:].to_numpy())


def test_for_the_mean_year_rows_replace_the_days(tmp_path: Path) -> None:
    g, sources = told(garden_sources(BALCONY), table(tmp_path / "w.csv", ON, 30, -3, 12), None)
    assert FORECAST_FILE not in sources
    days = g.site.weather["tmin"]
    assert (days.loc[str(ON) : str(ON + 29 * DAY)] == -3).all()


def test_a_newer_forecast_takes_the_place_of_all_of_the_older(tmp_path: Path) -> None:
    plain = load_garden(BALCONY).site.weather["tmin"]
    _, sources = told(garden_sources(BALCONY), table(tmp_path / "old.csv", ON, 10, -3, 12))
    later = ON + 3 * DAY
    new = table(tmp_path / "new.csv", later, 2, 5, 20)
    g, sources = told(sources, new, later)
    rows, _ = read_climate(sources[climate_name(sources)].decode(), "climate")
    assert rows is not None
    low = rows["tmin"]
    assert (low.loc[str(ON) : str(later - DAY)] == -3).all()  # held to have come true
    assert (low.loc[str(later) : str(later + DAY)] == 5).all()
    rest = slice(str(later + 2 * DAY), None)
    assert low.loc[rest].to_numpy() == pytest.approx(plain.loc[rest].to_numpy())
    around = without_forecast(g).site.weather["tmin"].loc[str(later) :]
    assert around.to_numpy() == pytest.approx(plain.loc[str(later) :].to_numpy())


def test_days_lived_leave_an_older_forecast_standing(tmp_path: Path) -> None:
    _, sources = told(garden_sources(BALCONY), table(tmp_path / "old.csv", ON, 10, -3, 12))
    later = ON + 3 * DAY
    _, after = told(sources, table(tmp_path / "new.csv", ON, 3, 8, 20), later)
    assert after[FORECAST_FILE] == sources[FORECAST_FILE]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("date,tmin,tmax\n2027-05-24,9\n", "3, as in the header"),
        ("month,tmin,tmax\n" + "\n".join(f"{m},5,15" for m in range(1, 13)), "daily rows"),
    ],
)
def test_what_was_kept_of_the_climate_may_have_faults(
    tmp_path: Path, text: str, expected: str
) -> None:
    spoilt = {**garden_sources(BALCONY), FORECAST_FILE: text.encode()}
    with pytest.raises(BadInput, match=expected) as told_of:
        told(spoilt, table(tmp_path / "w.csv", ON, 3, 5, 15))
    assert FORECAST_FILE in told_of.value.text()


GARDEN = """\
# Everything here is invented.
name: one box
invented: true
site: {latitude: 45 degree, elevation: 100 m, climate: climate.csv}
season: {start: 2027-05-03, end: 2027-08-01}
vessels:
  box: {shape: rectangular, length: 40 cm, width: 30 cm, height: 25 cm, fill: 20 cm, mass: 2 kg}
columns:
  - {name: A, tiers: [{vessel: box, light: 90 %, plants: 4}]}
nursery: {cells: 8, temperature: 20 degC}
demand:
  - {group: herbs, per_week: 100 g, from: 2027-06-14, to: 2027-08-01}
crops: {which: [basil]}
"""
QUICK = ("--time-limit", "1", "--workers", "1")


def run(*arguments: object) -> str:
    done = CliRunner().invoke(cli, [str(a) for a in arguments])
    assert done.exit_code == 0, done.output
    return done.output


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One box of basil, planned for six years: transplanted on 26 May, as the plan tells."""
    folder = tmp_path_factory.mktemp("box")
    (folder / "garden.yaml").write_text(GARDEN)
    # Nights of 11.5, days of 22.5 degC at the end of May, 15 and 27 degC in the middle of July.
    rows = [f"{m},{15 - 2 * abs(m - 7)},{27 - 2.5 * abs(m - 7)}" for m in range(1, 13)]
    (folder / "climate.csv").write_text("\n".join(["month,tmin,tmax", *rows]) + "\n")
    run("plan", folder / "garden.yaml", "--out", folder / "plan", "--years", 6, *QUICK)
    return folder / "plan"


def changes(folder: Path) -> str:
    return " ".join((folder / "changes.txt").read_text().split())


def again(season: Path, out: Path, on: date, log: str, *more: object) -> tuple[Garden, Plan]:
    file = out.with_suffix(".csv")
    file.write_text(f"{HEADER}\n{log}\n")
    run("rebalance", season, "--log", file, "--on", on, "--out", out, *QUICK, *more)
    garden, plan = read_plan_dir(out)
    assert verify(garden, plan).ok
    return garden, plan


@pytest.mark.slow
def test_a_cold_snap_ahead_postpones_transplanting(season: Path, tmp_path: Path) -> None:
    _, plan = read_plan_dir(season)
    planned = plan.batches[0].transplant
    on = planned - 2 * DAY
    log = f"{plan.batches[0].sow},sown,,,basil,8,,\n{on},emerged,,,basil,8,,"
    _, same = again(season, tmp_path / "same", on, log)
    assert same.batches[0].transplant == planned
    # Basil dies at 2 degC (crops/data/basil.yaml); nights of -3 from tomorrow to three days past
    # the planned day.
    snap = table(tmp_path / "snap.csv", on + DAY, 5, -3, 12)
    g, late = again(season, tmp_path / "late", on, log, "--climate", snap)
    assert late.batches[0].transplant > on + 5 * DAY
    followed = f"follow the forecast of {dated(on)} up to {dated(on + 5 * DAY)}, less with each day"
    assert followed in changes(tmp_path / "late")
    assert "forecast" not in changes(tmp_path / "same")
    assert "left aside" not in changes(tmp_path / "late")
    # Who opens the folder lives the years that the plan was made and promised with.
    old, _ = read_plan_dir(season)
    made, _ = with_weather(old, garden_sources(season / "garden.yaml"), snap, on)
    for purpose in PURPOSES:
        mine, other = (
            years_for(without_years(each), 4, 3, purpose, None, on) for each in (g, made)
        )
        assert (mine.tmin == other.tmin).all()
        assert (mine.et0 == other.et0).all()
    # Planned again the next day, without a table: the forecast is remembered.
    _, next_day = again(tmp_path / "late", tmp_path / "next", on + DAY, log)
    assert next_day.batches[0].transplant == late.batches[0].transplant
    assert (tmp_path / "next" / FORECAST_FILE).read_bytes() == (
        tmp_path / "late" / FORECAST_FILE
    ).read_bytes()


@pytest.mark.slow
def test_what_grows_dies_of_a_frost_near_ahead_and_not_of_one_far_ahead(
    season: Path, tmp_path: Path
) -> None:
    _, plan = read_plan_dir(season)
    batch = plan.batches[0]
    on = batch.transplant + 2 * DAY
    log = f"{batch.sow},sown,,,basil,8,,\n{batch.transplant},transplanted,A,1,basil,4,,"
    _, usual = again(season, tmp_path / "usual", on, log)
    assert usual.promise is not None
    assert usual.promise.usual > 0.15
    promised = {}
    for name, lead in (("near", 1), ("far", 16)):
        frost = table(tmp_path / f"{name}-frost.csv", on + lead * DAY, 4, -6, 8)
        _, made = again(season, tmp_path / name, on, log, "--climate", frost)
        assert made.promise is not None
        promised[name] = made.promise.usual
    # The forecast tells of days 0 to 19, of which 0 to 13 are followed.
    assert f"up to {dated(on + 13 * DAY)}" in changes(tmp_path / "far")
    assert "left aside" in changes(tmp_path / "far")
    assert promised["far"] == pytest.approx(usual.promise.usual, abs=0.005)
    assert promised["near"] < usual.promise.usual - 0.05
