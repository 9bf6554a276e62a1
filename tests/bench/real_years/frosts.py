"""Last and first nights of frost in the open series: writes the table that tests read.

    .venv/bin/python tests/bench/real_years/frosts.py --series WHEEL_OR_FOLDER

Of each station, its early and its late years: on which day the last night of spring and the first
of autumn below 0 and below -2 degC come, in one year of ten sooner, in half the years, in nine of
ten. Days count from 1 January (cordoba: from 1 July), spring ends and autumn begins 210 days later.
A year without such a night has its last on day 0 and its first on day 365.

Six more series of the same package, of English counties, 1991 to 2022, are used for nothing but to
be held against: of their early half the monthly means, of both halves the median frosts below 0.
"""

from __future__ import annotations

import argparse
import csv
import io
import sys
from pathlib import Path

import numpy as np
import pandas as pd
from stations import STATIONS, between, find_series, read_daily, read_series

REFERENCE = Path(__file__).parents[2] / "reference"
sys.path.insert(0, str(REFERENCE))
from frost_days import frosts  # noqa: E402

TABLE = REFERENCE / "open_frosts.csv"
DEGREES = (0.0, -2.0)
QUANTILES = (0.1, 0.5, 0.9)
FIELDS = ("station", "years", "count", "celsius", "kind", "q10", "q50", "q90")
ELSEWHERE = REFERENCE / "open_frosts_elsewhere.csv"
# Latitude and elevation, from memory: the files name none.
COUNTIES = {
    "cambridge": (52.2, 20),
    "lincolnshire": (53.1, 40),
    "norfolk": (52.6, 40),
    "north_yorks": (54.2, 100),
    "northumberland": (55.2, 150),
    "suffolk": (52.2, 50),
}


def years_of(rows: pd.DataFrame, south: bool) -> np.ndarray:
    """Minima of whole years [years, 365], from January or from July on; 29 February is left out."""
    time = pd.DatetimeIndex(rows.index)
    rows = rows[~((time.month == 2) & (time.day == 29))]
    time = pd.DatetimeIndex(rows.index)
    label = time.year - ((time.month < 7) & south)
    groups = [g["tmin"].to_numpy(float) for _year, g in rows.groupby(np.asarray(label))]
    return np.array([g for g in groups if len(g) == 365])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--series", help="wheel or folder; the installed package unless given")
    where = find_series(parser.parse_args().series)
    text = io.StringIO()
    text.write(
        "# Derived from the climate files of the open package aquacrop (MIT licence), by\n"
        "# tests/bench/real_years/frosts.py, whose first lines say how. No series is kept here.\n"
    )
    table = csv.DictWriter(text, FIELDS, lineterminator="\n")
    table.writeheader()
    for place in STATIONS:
        series = read_series(place.name, where)
        for label, years in (("early", place.early), ("late", place.late)):
            tmin = years_of(between(series, years), place.latitude < 0)
            for celsius in DEGREES:
                for kind, days in zip(("last", "first"), frosts(tmin, celsius), strict=True):
                    low, mid, high = np.quantile(days, QUANTILES)
                    table.writerow(
                        dict(
                            zip(
                                FIELDS,
                                (place.name, label, len(tmin), f"{celsius:g}", kind,
                                 f"{low:.0f}", f"{mid:.0f}", f"{high:.0f}"),
                                strict=True,
                            )
                        )
                    )  # fmt: skip
    TABLE.write_text(text.getvalue())
    elsewhere(where)
    print(f"wrote {TABLE.name} and {ELSEWHERE.name}")


def elsewhere(where: Path) -> None:
    """The table of the series that nothing is fitted to."""
    out = [
        "# Derived from the climate files of the open package aquacrop (MIT licence), by",
        "# tests/bench/real_years/frosts.py, whose first lines say how. No series is kept here.",
        "# last, first: medians [d] of the early and of the late half; low, high: monthly means of",
        "# the early half [degC].",
        ",".join(
            ["station", "latitude", "elevation", "early", "late"]
            + ["last_early", "first_early", "last_late", "first_late"]
            + [f"{what}{k}" for what in ("low", "high") for k in range(1, 13)]
        ),
    ]
    for name, (latitude, elevation) in COUNTIES.items():
        series = read_daily(name, where)
        begin, end = series.index[0].year, series.index[-1].year
        middle = (begin + end) // 2
        halves = [between(series, span) for span in ((begin, middle), (middle + 1, end))]
        years = [years_of(half, latitude < 0) for half in halves]
        medians = [f"{np.median(days):g}" for tmin in years for days in frosts(tmin, 0.0)]
        months = halves[0].groupby(pd.DatetimeIndex(halves[0].index).month).mean()
        means = [f"{v:.2f}" for column in ("tmin", "tmax") for v in months[column]]
        counts = [str(len(tmin)) for tmin in years]
        out.append(",".join([name, str(latitude), str(elevation), *counts, *medians, *means]))
    ELSEWHERE.write_text("\n".join(out) + "\n")


if __name__ == "__main__":
    main()
