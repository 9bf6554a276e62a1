"""``site.past``: daily rows of past years beside the climate table."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from crops.climate import weather
from scheduler.base.faults import BadInput
from scheduler.garden.climate_file import read_daily_file
from scheduler.garden.file import garden_sources, load_garden, write_sources
from scheduler.replanning.new_weather import with_weather

HERE = Path(__file__).parents[1] / "malformed"
BASE = (HERE / "base.yaml").read_text()


def rows(days: int, first: date = date(2015, 1, 1)) -> str:
    lines = [f"{first + timedelta(days=k)},{5 + k % 7},{15 + k % 9}" for k in range(days)]
    return "\n".join(["date,tmin,tmax", *lines]) + "\n"


def written(
    folder: Path, past: str | None, named: str = "older/past.csv", text: str = BASE
) -> Path:
    """base.yaml that names past weather, and the table if there is one."""
    for name in ("climate.csv", "tatsoi.yaml"):
        shutil.copy(HERE / name, folder)
    if past is not None:
        (folder / named).parent.mkdir(exist_ok=True)
        (folder / named).write_text(past)
    file = folder / "garden.yaml"
    file.write_text(
        text.replace("  climate: climate.csv\n", f"  climate: climate.csv\n  past: {named}\n")
    )
    return file


def faults(file: Path) -> list[tuple[str, int | None, str, str]]:
    with pytest.raises(BadInput) as caught:
        load_garden(file)
    return [(Path(f.file).name, f.line, f.path, f.expected) for f in caught.value.faults]


def test_past_weather_is_complete_weather_at_the_site(tmp_path: Path) -> None:
    garden = load_garden(written(tmp_path, rows(1000)))
    past = garden.site.past
    assert past is not None
    want = weather(read_daily_file(tmp_path / "older" / "past.csv"), 44.1, 180.0, False)
    assert past.equals(want)
    assert len(past) == 1000
    assert load_garden(HERE / "base.yaml").site.past is None


def test_the_coast_counts_for_past_weather_too(tmp_path: Path) -> None:
    file = written(tmp_path, rows(400))
    inland = load_garden(file).site.past
    file.write_text(file.read_text().replace("coastal: false", "coastal: true"))
    coast = load_garden(file).site.past
    assert load_garden(file).site.coastal
    assert load_garden(file, late_weather=True).site.coastal
    assert not load_garden(HERE / "base.yaml").site.coastal
    # FAO-56 eq. 50: kRs is 0.19 on the coast and 0.16 inland.
    assert coast["rs"].iloc[180] == pytest.approx(inland["rs"].iloc[180] * 0.19 / 0.16)


@pytest.mark.parametrize(
    ("table", "line", "path", "expected"),
    [
        (rows(364), None, "date", "365 days or more"),
        ((HERE / "climate.csv").read_text(), 1, "month", "a column date, daily rows"),
        (rows(400).replace("2015-01-04,8,18", "2015-01-04,8,cold"), 5, "tmax", "-60 to 60 degC"),
        (rows(400).replace("2015-01-04,8,18\n", ""), 5, "date", "every day"),
    ],
)
def test_faults_of_the_table_are_told_with_their_line(
    tmp_path: Path, table: str, line: int | None, path: str, expected: str
) -> None:
    (found,) = faults(written(tmp_path, table))
    assert found[:3] == ("past.csv", line, path)
    assert expected in found[3]


def test_a_year_to_the_day_is_enough(tmp_path: Path) -> None:
    assert len(load_garden(written(tmp_path, rows(365))).site.past) == 365


def test_a_table_that_is_not_there_is_told_in_the_garden_s_line(tmp_path: Path) -> None:
    ((file, line, path, expected),) = faults(written(tmp_path, None))
    assert (file, line, path) == ("garden.yaml", 9, "site.past")
    assert "a file that can be read" in expected


def test_its_faults_are_told_beside_those_of_the_site_and_the_climate(tmp_path: Path) -> None:
    file = written(tmp_path, rows(20), text=BASE.replace("44.1 degree", "144.1 degree"))
    (tmp_path / "climate.csv").write_text("month,tmin\n1,2\n")
    told = faults(file)
    assert {name for name, *_ in told} == {"garden.yaml", "climate.csv", "past.csv"}
    assert {path for _, _, path, _ in told} == {"site.latitude", "tmax", "date"}


def test_no_text_is_no_file_name(tmp_path: Path) -> None:
    file = written(tmp_path, None, named="[1]")
    assert [path for _, _, path, _ in faults(file)] == ["site.past"]


def test_a_log_reads_past_weather_only_when_asked(tmp_path: Path) -> None:
    file = written(tmp_path, rows(20))
    late = load_garden(file, late_weather=True)
    with pytest.raises(BadInput):
        _ = late.site.past
    (tmp_path / "older" / "past.csv").write_text(rows(500))
    late = load_garden(file, late_weather=True)
    assert len(late.site.past) == 500
    assert replace(late.site, elevation=5.0).past is late.site.past
    assert load_garden(HERE / "base.yaml", late_weather=True).site.past is None


def test_it_is_copied_and_the_copy_is_the_same_garden(tmp_path: Path) -> None:
    file = written(tmp_path, rows(500))
    sources = garden_sources(file)
    assert sorted(sources) == [
        "garden.yaml",
        "inputs/climate.csv",
        "inputs/past.csv",
        "inputs/tatsoi.yaml",
    ]
    (tmp_path / "copy").mkdir()
    write_sources(tmp_path / "copy", sources)
    again = load_garden(tmp_path / "copy" / "garden.yaml")
    assert again.site.past.equals(load_garden(file).site.past)


def test_weather_of_the_season_leaves_the_past_as_it_is(tmp_path: Path) -> None:
    # One daily table is both; then the season's first days are put in.
    file = written(tmp_path, None, named="climate.csv")
    (tmp_path / "climate.csv").write_text(rows(900, date(2026, 1, 1)))
    garden, sources = load_garden(file), garden_sources(file)
    assert sources["inputs/climate.csv"] == sources["inputs/climate-2.csv"]
    new = tmp_path / "new.csv"
    new.write_text("date,tmin,tmax\n2027-04-12,1,2\n")
    made, _ = with_weather(garden, sources, new)
    assert made.site.weather["tmax"].iloc[0] == 2.0
    assert made.site.past.equals(garden.site.past)
