"""The examples' gardens in real places: planned with the climate of early years, lived in later ones.

    .venv/bin/python tests/bench/real_years/gardens.py --series WHEEL_OR_FOLDER --out DIR [--past]

writes a folder per garden-place with garden.yaml and climate.csv (monthly normals of the early
years; with --past also their daily rows, as ``site.past``). The years to live are made by `lived`.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pandas as pd
import yaml
from stations import Station, between, complete, find_series, read_series, station

from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.years.past import whole_years
from scheduler.years.weather_years import WeatherYears

EXAMPLES = Path(__file__).parents[3] / "examples"


@dataclass(frozen=True)
class Case:
    """A garden of ``examples/`` in a place: from a Monday on, for so many weeks."""

    name: str
    example: str
    station: str
    start: date
    weeks: int

    @property
    def end(self) -> date:
        return self.start + timedelta(weeks=self.weeks, days=-1)


CASES = (
    Case("courtyard-maritime", "courtyard", "brussels", date(2027, 4, 12), 26),
    Case("courtyard-continental", "courtyard", "champion", date(2027, 4, 12), 26),
    Case("balcony-maritime", "balcony", "brussels", date(2027, 4, 12), 26),
    Case("balcony-continental", "balcony", "champion", date(2027, 4, 12), 26),
    Case("balcony-mediterranean", "balcony", "tunis", date(2027, 3, 29), 13),
    # South of the equator, through the winter: the summer there is too hot for the crops.
    Case("courtyard-southern", "courtyard", "cordoba", date(2027, 3, 15), 26),
)


def case(name: str) -> Case:
    return next(c for c in CASES if c.name == name)


def write_garden(one: Case, where: Path, folder: Path, past: bool = False) -> Path:
    """garden.yaml and climate.csv of a case in ``folder``; the path of garden.yaml.

    Parameters
    ----------
    where : of the series, as `stations.find_series` gives it.
    past : the daily rows of the early years lie beside it and are named as ``site.past``.
    """
    place = station(one.station)
    early = between(read_series(place.name, where), place.early)[["tmin", "tmax"]]
    folder.mkdir(parents=True, exist_ok=True)
    body = yaml.safe_load((EXAMPLES / one.example / "garden.yaml").read_text())
    body = _moved(body, one)
    body["name"] = one.name
    body["site"] = {
        "latitude": f"{place.latitude} degree",
        "elevation": f"{place.elevation} m",
        "climate": "climate.csv",
        "coastal": place.coastal,
    }
    (folder / "climate.csv").write_text(_normals(early, place))
    if past:
        body["site"]["past"] = "past.csv"
        early.to_csv(folder / "past.csv", index_label="date", date_format="%Y-%m-%d")
    file = folder / "garden.yaml"
    file.write_text(
        "# An invented garden of examples/ in a real place's weather, for measuring.\n"
        + yaml.safe_dump(body, sort_keys=False)
    )
    return file


def _normals(rows: pd.DataFrame, place: Station) -> str:
    """Monthly means of daily rows as a climate table."""
    months = rows.groupby(pd.DatetimeIndex(rows.index).month).mean()
    lines = [f"# Monthly means of {place.name}, {place.early[0]} to {place.early[1]}."]
    lines += ["month,tmin,tmax"]
    lines += [f"{m},{r.tmin:.2f},{r.tmax:.2f}" for m, r in months.iterrows()]
    return "\n".join(lines) + "\n"


def _moved(body: dict[str, Any], one: Case) -> dict[str, Any]:
    """The garden with all its dates moved to the case's season, its last day to the season's."""
    start, end = body["season"]["start"], body["season"]["end"]

    def moved(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: moved(inner) for key, inner in value.items()}
        if isinstance(value, list):
            return [moved(inner) for inner in value]
        if isinstance(value, date):
            return one.end if value == end else value + (one.start - start)
        return value

    out: dict[str, Any] = moved(body)
    return out


def lived(one: Case, garden: Garden, where: Path) -> WeatherYears:
    """The case's later years, in the days of the garden's season and of what follows it."""
    place = station(one.station)
    rows = complete(place, between(read_series(place.name, where), place.late))
    return whole_years(garden, rows).years


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--series", help="wheel or folder; the installed package unless given")
    parser.add_argument("--out", type=Path, required=True, help="folder to write into")
    parser.add_argument("--past", action="store_true", help="daily rows of the early years, too")
    asked = parser.parse_args()
    where = find_series(asked.series)
    for one in CASES:
        file = write_garden(one, where, asked.out / one.name, asked.past)
        garden = load_garden(file)
        years = lived(one, garden, where)
        print(f"{one.name}: {years.count} years to live, {years.names[0]} to {years.names[-1]}")


if __name__ == "__main__":
    main()
