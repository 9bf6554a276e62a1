"""What the bench of real years reads and writes, on invented series in place of the open ones."""

from __future__ import annotations

import sys
import zipfile
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from scheduler.garden.file import load_garden

sys.path.append(str(Path(__file__).parents[2] / "bench" / "real_years"))
from gardens import CASES, lived, write_garden
from stations import STATIONS, between, find_series, read_series


@pytest.fixture(scope="module")
def series(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel with four files of the open package's form: tmin is the month, tmax the year's last digits."""
    wheel = tmp_path_factory.mktemp("series") / "package.whl"
    with zipfile.ZipFile(wheel, "w") as out:
        for place in STATIONS:
            days = pd.date_range(f"{place.early[0]}-01-01", f"{place.late[1]}-12-31")
            table = pd.DataFrame(
                {
                    "Day": days.day,
                    "Month": days.month,
                    "Year": days.year,
                    "Tmin(C)": days.month - 1.0,
                    "Tmax(C)": 20.0 + days.year % 10,
                    "Prcp(mm)": 0.0,
                    "Et0(mm)": 3.0,
                }
            )
            out.writestr(
                f"aquacrop/data/{place.name}_climate.txt", table.to_csv(sep="\t", index=False)
            )
    return wheel


@pytest.mark.parametrize("one", CASES, ids=lambda c: c.name)
def test_a_case_is_planned_with_early_years_and_lived_in_later_ones(
    series: Path, tmp_path: Path, one
) -> None:
    place = next(s for s in STATIONS if s.name == one.station)
    file = write_garden(one, series, tmp_path / one.name, past=True)
    garden = load_garden(file)
    assert (garden.season.start, garden.season.end) == (one.start, one.end)
    assert garden.season.start.weekday() == 0
    assert garden.season.days == 7 * one.weeks
    assert garden.invented
    for wish in garden.demands:
        assert garden.season.start < wish.start < wish.end == garden.season.end
    # The normals are those of the early years alone: tmin is the month's number less one.
    normals = pd.read_csv(file.parent / "climate.csv", comment="#")
    assert normals["tmin"].tolist() == [float(m) for m in range(12)]
    early = [20 + y % 10 for y in range(place.early[0], place.early[1] + 1)]
    assert normals["tmax"].to_numpy() == pytest.approx(np.mean(early), abs=0.03)
    assert garden.site.past is not None
    assert garden.site.past.index[-1].date() == date(place.early[1], 12, 31)
    years = lived(one, garden, series)
    first = years.names[0][:4]
    assert int(first) == place.late[0]
    assert years.count >= place.late[1] - place.late[0]  # the last may want its horizon
    assert years.tmax[0, 0] == 20 + place.late[0] % 10


def test_early_and_late_years_have_no_day_in_common() -> None:
    for place in STATIONS:
        assert place.early[0] < place.early[1] < place.late[0] < place.late[1]


def test_a_folder_will_do_and_what_is_not_there_is_told(series: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(series) as wheel:
        wheel.extractall(tmp_path)
    from_folder = read_series("tunis", tmp_path / "aquacrop" / "data")
    assert from_folder.equals(read_series("tunis", series))
    assert len(between(from_folder, (1980, 1981))) == 366 + 365
    with pytest.raises(SystemExit, match="not there"):
        find_series(tmp_path / "none")
    with pytest.raises(ValueError, match="no station"):
        read_series("nowhere", series)
