"""Climate files as others publish them: typical years by the hour, a station's days, normals.

The TMY3 file is one that pvlib carries (NREL, public domain). The others are written here in the
published formats: EPW (EnergyPlus, Auxiliary Programs), NOAA daily summaries and 1991-2020 monthly
normals (columns from memory).
"""

from __future__ import annotations

import csv
import json
import math
import sys
from collections import defaultdict
from datetime import date, timedelta
from pathlib import Path

import pytest

from scheduler.base.faults import BadInput, DrylineError
from scheduler.cli import main
from scheduler.garden.climate_import import import_climate
from scheduler.garden.climate_table import table
from scheduler.garden.file import load_garden
from scheduler.years.purposes import years_for

pvlib = pytest.importorskip("pvlib")
TMY3 = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"


def test_a_typical_year_by_hand() -> None:
    """The same sums by plain loops: an hour counts for the day in which it ends, 24:00 too."""
    temperature, light = defaultdict(list), defaultdict(float)
    with TMY3.open() as handle:
        next(handle)
        for row in csv.DictReader(handle):
            month, day, _ = row["Date (MM/DD/YYYY)"].split("/")
            temperature[int(month), int(day)].append(float(row["Dry-bulb (C)"]))
            light[int(month), int(day)] += float(row["GHI (W/m^2)"]) * 3600 / 1e6
    got = import_climate(TMY3)
    assert len(temperature) == 365
    for month in (1, 7):
        days = [d for d in temperature if d[0] == month]
        row = got.monthly.set_index("month").loc[month]
        assert row["tmin"] == pytest.approx(sum(min(temperature[d]) for d in days) / len(days))
        assert row["tmax"] == pytest.approx(sum(max(temperature[d]) for d in days) / len(days))
        assert row["rs"] == pytest.approx(sum(light[d] for d in days) / len(days))
    assert (got.latitude, got.elevation) == (36.1, 273.0)
    assert got.daily is None


HEADS = (
    "LOCATION,Nowhere,-,-,invented,000000,44.10,15.50,1.0,180.0",
    *(f"{name},0" for name in ("DESIGN CONDITIONS", "TYPICAL/EXTREME PERIODS")),
    *("GROUND TEMPERATURES,0", "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,", "COMMENTS 2,"),
    "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
)


def epw(folder: Path) -> Path:
    """Every day from 5 degC at night to 15 at noon, a degree more each month; 500 W/m2 for ten hours.

    Humidity 60 %, wind 3 m/s.
    """
    lines = list(HEADS)
    day = date(2001, 1, 1)
    while day.year == 2001:
        for hour in range(1, 25):
            t = 10 + day.month - 5 * math.cos((hour - 1) * math.pi / 12)
            sun = 500 if 8 <= hour < 18 else 0
            cells = [day.year, day.month, day.day, hour, 60, "?", f"{t:.4f}", 3.0, 60, 99000]
            cells += [0, 0, 300, sun, 0, 0, *([0] * 4), 180, 3.0, *([0] * 13)]
            lines.append(",".join(map(str, cells)))
        day += timedelta(days=1)
    file = folder / "year.epw"
    file.write_text("\n".join(lines) + "\n")
    return file


def test_epw_by_its_published_columns(tmp_path: Path) -> None:
    got = import_climate(epw(tmp_path))
    row = got.monthly.set_index("month").loc[6]
    # Ten hours of 500 W/m2 are 5,000 Wh, 18 MJ.
    wanted = {"tmin": 11.0, "tmax": 21.0, "rs": 18.0, "rh": 60.0, "wind": 3.0}
    assert {k: row[k] for k in wanted} == pytest.approx(wanted)
    assert (got.latitude, got.elevation) == (44.1, 180.0)


DEGREES = {
    "degC": lambda c: f"{c:.1f}",
    "degF": lambda c: f"{c * 1.8 + 32:.0f}",
    "tenths": lambda c: f"{10 * c:.0f}",
}


def summaries(folder: Path, unit: str, years: int = 2, skip: frozenset[date] = frozenset()) -> Path:
    """5 degC colder at night than at noon; noon from 5 in January to 30 in July by halves."""
    told = DEGREES[unit]
    lines = ["STATION,NAME,LATITUDE,LONGITUDE,ELEVATION,DATE,PRCP,TMAX,TMIN"]
    day = date(1990, 1, 1)
    while day.year < 1990 + years:
        if day not in skip:
            top = 5.0 + 25 * (1 - abs(day.month - 7) / 6)
            lines.append(
                f'X1,"NOWHERE, INVENTED",44.1,15.5,180,{day},0,{told(top)},{told(top - 5)}'
            )
        day += timedelta(days=1)
    file = folder / f"{unit}.csv"
    file.write_text("\n".join(lines) + "\n")
    return file


@pytest.mark.parametrize("unit", DEGREES)
def test_daily_summaries_in_each_unit_that_is_handed_out(tmp_path: Path, unit: str) -> None:
    got = import_climate(summaries(tmp_path, unit))
    assert got.hints[0].startswith(f"Temperatures are taken as {unit}")
    july = got.monthly.set_index("month").loc[7]
    assert july["tmax"] == pytest.approx(30.0, abs=0.3)
    assert july["tmin"] == pytest.approx(25.0, abs=0.3)
    assert got.daily is not None
    assert len(got.daily) == 730
    assert (got.latitude, got.longitude, got.elevation) == (44.1, 15.5, 180.0)
    assert "no radiation" in " ".join(got.hints)


def test_numbers_that_could_be_two_units_are_asked_for(tmp_path: Path) -> None:
    """Whole numbers up to 130: 13 degC in tenths, or 54 degC in degF."""
    file = summaries(tmp_path, "tenths")
    rows = [line.split(",") for line in file.read_text().splitlines()]
    for row in rows[1:]:
        row[-2], row[-1] = "130", "60"
    file.write_text("\n".join(",".join(r) for r in rows))
    with pytest.raises(BadInput, match="--degrees, one of degC, degF, tenths"):
        import_climate(file)
    assert import_climate(file, "tenths").monthly["tmax"].to_numpy() == pytest.approx(13.0)


def test_gaps_are_filled_and_told(tmp_path: Path) -> None:
    skip = frozenset(date(1990, 3, d) for d in (4, 5, 6)) | {date(1991, 8, 1)}
    got = import_climate(summaries(tmp_path, "degC", skip=skip))
    assert got.daily is not None
    assert len(got.daily) == 730
    assert not got.daily.isna().any().any()
    assert any("4 days are missing, 3 of them in a row" in h for h in got.hints)


def test_monthly_normals_are_in_fahrenheit_unless_told_otherwise(tmp_path: Path) -> None:
    file = tmp_path / "normals.csv"
    lines = [
        '"STATION","LATITUDE","LONGITUDE","ELEVATION","DATE","MLY-TMAX-NORMAL","MLY-TMIN-NORMAL"'
    ]
    lines += [f'"X1","44.1","15.5","180","{m:02d}","{50 + m}","{32 + m}"' for m in range(1, 13)]
    file.write_text("\n".join(lines))
    got = import_climate(file)
    assert got.monthly["tmin"].to_numpy() == pytest.approx([m / 1.8 for m in range(1, 13)])
    assert import_climate(file, "degC").monthly["tmax"].iloc[0] == 51.0


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (lambda t: t.replace("X1,", "X2,", 1), "2 stations"),
        (lambda t: t.replace("1990-07-04", "4 July", 1), "4 July"),
        (lambda t: t.replace("1990-07-04,0,30.0,25.0", "1990-07-04,0,20.0,25.0"), "above TMAX"),
        (lambda t: t.replace(",25.0\n", ",warm\n", 1), "warm"),
        (
            lambda t: "\n".join(t.splitlines()[:100]),
            "too few days in month 4, 5, 6, 7, 8, 9, 10, 11, 12",
        ),
        (lambda t: "name,age\nx,3\n", "none of the known kinds"),
        (lambda t: "", "none of the known kinds"),
    ],
)
def test_what_cannot_be_is_told_with_its_place(tmp_path: Path, change, fault: str) -> None:  # type: ignore[no-untyped-def]
    file = summaries(tmp_path, "degC")
    file.write_text(change(file.read_text()))
    with pytest.raises(BadInput) as caught:
        import_climate(file)
    assert fault in caught.value.text()
    assert str(file) in caught.value.text()


def test_without_pvlib_it_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = epw(tmp_path)
    monkeypatch.setitem(sys.modules, "pvlib", None)
    with pytest.raises(DrylineError, match=r"pip install 'dryline\[climate\]'"):
        import_climate(file)


def test_days_with_no_range_are_told_as_dark(tmp_path: Path) -> None:
    file = tmp_path / "flat.csv"
    file.write_text("month,tmin,tmax\n" + "".join(f"{m},10,10.2\n" for m in range(1, 13)))
    assert "next to none" in " ".join(import_climate(file).hints)
    assert "next to none" not in " ".join(import_climate(summaries(tmp_path, "degC")).hints)


def run(*arguments: object) -> int:
    with pytest.raises(SystemExit) as ended:
        main([str(a) for a in arguments])
    return int(ended.value.code or 0)


def test_from_a_stations_days_to_weather_years(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The garden that start writes, with the tables that were made: six real years to plan with."""
    home = tmp_path / "home"
    assert run("start", home) == 0
    file = summaries(tmp_path, "degC", years=20)
    assert run("climate", file, "--out", home) == 2  # start wrote a climate.csv already
    assert "there already" in capsys.readouterr().err
    assert run("climate", file, "--out", home, "--replace") == 0
    said = capsys.readouterr().out
    assert "latitude: 44.1 degree" in said
    assert max(map(len, said.replace(str(home), "home").splitlines())) <= 79
    garden = home / "garden.yaml"
    text = garden.read_text()
    garden.write_text(
        text.replace("climate: climate.csv", "climate: climate.csv\n  past: past.csv")
    )
    g = load_garden(garden)
    assert years_for(g, 20, 0, "plan", g.site.past).real == 6
    assert run("climate", file, "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert (body["days"], body["written"], len(body["monthly"])) == (7305, [], 12)


def test_a_table_made_is_read_again_as_it_was(tmp_path: Path) -> None:
    got = import_climate(TMY3)
    file = tmp_path / "made.csv"
    file.write_text(table(got.monthly, got.kind))
    again = import_climate(file)
    for name in ("tmin", "tmax", "rs", "rh", "wind"):
        assert again.monthly[name].to_numpy() == pytest.approx(
            got.monthly[name].to_numpy(), abs=0.006
        )


def test_a_table_of_days_of_ones_own_is_no_stations_table(tmp_path: Path) -> None:
    """date,tmin,tmax in small letters is degrees Celsius as dryline reads it, without a STATION."""
    rows = [f"{date(2025, 1, 1) + timedelta(days=k)},{k % 7},{k % 7 + 10}" for k in range(365)]
    file = tmp_path / "days.csv"
    file.write_text("\n".join(["date,tmin,tmax", *rows]) + "\n")
    got = import_climate(file)
    assert got.daily is not None
    assert len(got.daily) == 365
    assert got.monthly["tmax"].sub(got.monthly["tmin"]).round(6).eq(10).all()
