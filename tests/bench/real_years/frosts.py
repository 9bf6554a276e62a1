"""Last and first nights of frost in the open series: writes the table that tests read.

    .venv/bin/python tests/bench/real_years/frosts.py --series WHEEL_OR_FOLDER

Of each station, its early and its late years: on which day the last night of spring and the first
of autumn below 0 and below -2 degC come, in one year of ten sooner, in half the years, in nine of
ten. Days count from 1 January (cordoba: from 1 July), spring ends and autumn begins 210 days later.
A year without such a night has its last on day 0 and its first on day 365.
"""

from __future__ import annotations

import argparse
import csv
import io
import sys
from pathlib import Path

import numpy as np
import pandas as pd
from stations import STATIONS, between, find_series, read_series

REFERENCE = Path(__file__).parents[2] / "reference"
sys.path.insert(0, str(REFERENCE))
from frost_days import frosts  # noqa: E402

TABLE = REFERENCE / "open_frosts.csv"
DEGREES = (0.0, -2.0)
QUANTILES = (0.1, 0.5, 0.9)
FIELDS = ("station", "years", "count", "celsius", "kind", "q10", "q50", "q90")


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
    print(f"wrote {TABLE.name}")


if __name__ == "__main__":
    main()
