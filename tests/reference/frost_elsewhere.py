"""Gardens of the six English counties whose frosts nothing was fitted to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
from frost_days import frosts
from verify_case import garden

from crops.climate import monthly_to_daily, weather
from scheduler.garden.model import Garden, Season
from scheduler.years.generator import generated_years

TABLE = pd.read_csv(Path(__file__).parent / "open_frosts_elsewhere.csv", comment="#")
FIRST, LAST = date(2027, 1, 1), date(2027, 12, 31)
YEARS = 200


def county(row: pd.Series) -> Garden:
    """A garden of the monthly means of a county's early years, over a whole year."""
    normals = pd.DataFrame(
        {
            "month": range(1, 13),
            "tmin": [row[f"low{k}"] for k in range(1, 13)],
            "tmax": [row[f"high{k}"] for k in range(1, 13)],
        }
    )
    days = weather(monthly_to_daily(normals, FIRST, LAST), row["latitude"], row["elevation"])
    base = garden()
    site = replace(
        base.site,
        latitude=row["latitude"],
        elevation=row["elevation"],
        weather=days,
        coastal=False,
    )
    return replace(base, site=site, season=Season(FIRST, LAST))


def later(half: str) -> Iterator[tuple[float, float]]:
    """By how many days the generated medians of the last and the first frost come later, a pair a
    county; ``half`` : early or late."""
    for _at, row in TABLE.iterrows():
        made = frosts(generated_years(county(row), YEARS, seed=11).tmin, 0.0)
        last, first = (float(np.median(days)) for days in made)
        yield last - row[f"last_{half}"], first - row[f"first_{half}"]
