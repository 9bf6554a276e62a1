"""How far days, months and half-years stray in the open series: writes the table that tests read.

    .venv/bin/python tests/bench/real_years/spreads.py --series WHEEL_OR_FOLDER

Of each station and its early and late years: monthly means, and of the growing half-year standard
deviations of days, of monthly means and of half-year means, from a smooth course of the year (mean
and three harmonics) of the same years; daily range, ET0 and light as shares of it. ET0 and light are those that
`crops.climate` works out from tmin and tmax, since the series have no radiation; ``et0_told`` is
the ET0 that the series carry themselves.
"""

from __future__ import annotations

import argparse
import csv
import io
from pathlib import Path

import numpy as np
import pandas as pd
from stations import STATIONS, Station, between, complete, find_series, read_series

TABLE = Path(__file__).parents[2] / "reference" / "open_stations.csv"
VARIABLES = ("tmean", "range", "et0", "et0_told", "dli")
FIELDS = (
    "station", "years", "first", "last", "variable", "day_sd", "month_sd", "season_sd", "next_day",
    *(f"m{k}" for k in range(1, 13)),
)  # fmt: skip


def smooth(values: pd.Series) -> np.ndarray:
    """Course of the year with three harmonics, for each day of ``values``."""
    time = pd.DatetimeIndex(values.index)
    angle = 2 * np.pi * np.minimum(time.dayofyear.to_numpy(), 365) / 365
    waves = [np.ones_like(angle)]
    for k in (1, 2, 3):
        waves += [np.sin(k * angle), np.cos(k * angle)]
    design = np.column_stack(waves)
    return design @ np.linalg.lstsq(design, values.to_numpy(), rcond=None)[0]


def spreads(values: pd.Series, months: tuple[int, ...], share: bool) -> tuple[float, ...]:
    """Standard deviations of days, months, half-years, and the correlation of a day with the next.

    Half-years that are cut by the first or the last day of the series are left out.
    """
    course = smooth(values)
    away = values / course - 1 if share else values - course
    time = pd.DatetimeIndex(away.index)
    inside = time.month.isin(months)
    season = time.year + ((time.month >= months[0]) & (months[0] > months[-1]))
    grown = away[inside]
    label = season[inside]
    by_season = grown.groupby(label)
    whole = by_season.size() >= 181
    means = by_season.mean()[whole]
    by_month = grown.groupby([label, time.month[inside]]).mean()
    pairs = inside[:-1] & inside[1:]
    before, after = away.to_numpy()[:-1][pairs], away.to_numpy()[1:][pairs]
    return (
        float(grown.std()),
        float(by_month.std()),
        float(means.std(ddof=1)),
        float(np.corrcoef(before, after)[0, 1]),
    )


def rows_of(place: Station, where: Path) -> list[dict[str, object]]:
    out = []
    series = read_series(place.name, where)
    for label, years in (("early", place.early), ("late", place.late)):
        own = between(series, years)
        days = complete(place, own).assign(
            et0_told=own["et0_told"], range=own["tmax"] - own["tmin"]
        )
        monthly = days.groupby(pd.DatetimeIndex(days.index).month).mean()
        for name in VARIABLES:
            found = spreads(days[name], place.growing, name != "tmean")
            row: dict[str, object] = {
                "station": place.name, "years": label, "first": years[0], "last": years[1], "variable": name,
                **{f: f"{v:.3f}" for f, v in zip(FIELDS[5:9], found, strict=True)},
                **{f"m{k}": f"{monthly[name][k]:.2f}" for k in range(1, 13)},
            }  # fmt: skip
            out.append(row)
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--series", help="wheel or folder; the installed package unless given")
    where = find_series(parser.parse_args().series)
    text = io.StringIO()
    text.write(
        "# Derived from the climate files of the open package aquacrop (MIT licence), by\n"
        "# tests/bench/real_years/spreads.py, whose first lines say how. No series is kept here.\n"
        "# Standard deviations of the growing half-year (April to September, cordoba October to\n"
        "# March): tmean degC, range, et0 and dli as shares; et0 and dli from tmin and tmax, et0_told by the\n"
        "# series themselves; m1 to m12: monthly means degC, mm/d, mol/m2/d.\n"
    )
    table = csv.DictWriter(text, FIELDS, lineterminator="\n")
    table.writeheader()
    for place in STATIONS:
        table.writerows(rows_of(place, where))
    TABLE.write_text(text.getvalue())
    print(f"wrote {TABLE.name}")


if __name__ == "__main__":
    main()
