"""Four open daily series, read from the data files of the registry package ``aquacrop``.

Nothing of the package is run and nothing of it is committed: ``pip download --no-deps aquacrop``
fetches a wheel, of which only the four climate files are read. A wheel, a folder with the files,
or an installed package will do.
"""

from __future__ import annotations

import importlib.util
import io
import zipfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from crops.climate import weather


@dataclass(frozen=True)
class Station:
    """One series: place (from memory: the files name none) and its years.

    Attributes
    ----------
    early : first and last year of the climate that a garden is planned with.
    late : first and last year that are lived.
    """

    name: str
    title: str
    latitude: float
    elevation: float
    coastal: bool
    early: tuple[int, int]
    late: tuple[int, int]

    @property
    def growing(self) -> tuple[int, ...]:
        """Months of the growing half-year, in order."""
        return (4, 5, 6, 7, 8, 9) if self.latitude > 0 else (10, 11, 12, 1, 2, 3)


# Cordoba's file is warm in January: it is the town in Argentina.
STATIONS = (
    Station("brussels", "cool maritime", 50.8, 100, False, (1976, 1992), (1993, 2005)),
    Station("champion", "continental", 40.5, 1030, False, (1982, 2004), (2005, 2018)),
    Station("tunis", "Mediterranean", 36.8, 5, True, (1979, 1993), (1994, 2001)),
    Station("cordoba", "subtropical, southern", -31.4, 430, False, (1991, 2009), (2010, 2021)),
)
NAMES = tuple(s.name for s in STATIONS)


def station(name: str) -> Station:
    return next(s for s in STATIONS if s.name == name)


def find_series(given: str | Path | None = None) -> Path:
    """The wheel or folder with the files: as given, or the installed package.

    Raises
    ------
    SystemExit
        Neither is there, with what to do.
    """
    if given is not None:
        path = Path(given)
        if path.exists():
            return path
        raise SystemExit(f"{path} is not there")
    spec = importlib.util.find_spec("aquacrop")  # found, not imported
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit(
            "no station series: pip download --no-deps aquacrop, and name the wheel with --series"
        )
    return Path(next(iter(spec.submodule_search_locations))) / "data"


def read_series(name: str, where: Path) -> pd.DataFrame:
    """Daily ``tmin``, ``tmax`` [degC] and ``et0_told`` [mm/d] of a station, every day of its years.

    Raises
    ------
    ValueError
        A name that is none of `NAMES`, or a series with gaps.
    """
    if name not in NAMES:
        raise ValueError(f"no station {name!r}; expected one of {', '.join(NAMES)}")
    return read_daily(name, where)


def read_daily(name: str, where: Path) -> pd.DataFrame:
    """As `read_series`, of any climate file of the package, known here or not."""
    file = f"{name}_climate.txt"
    if where.is_dir():
        text = (where / file).read_text()
    else:
        with zipfile.ZipFile(where) as wheel:
            text = wheel.read(f"aquacrop/data/{file}").decode()
    table = pd.read_csv(io.StringIO(text), sep=r"\s+")
    days = table[["Year", "Month", "Day"]].set_axis(["year", "month", "day"], axis=1)
    table.index = pd.DatetimeIndex(pd.to_datetime(days))
    columns = {"Tmin(C)": "tmin", "Tmax(C)": "tmax", "Et0(mm)": "et0_told"}
    rows = table[list(columns)].rename(columns=columns).astype(float)
    if (np.diff(rows.index.to_numpy()) != np.timedelta64(1, "D")).any() or rows.isna().any(
        axis=None
    ):
        raise ValueError(f"{name}: days are missing")
    return rows


def complete(place: Station, rows: pd.DataFrame) -> pd.DataFrame:
    """Complete daily weather; light and ET0 from the daily range, as for any grower's own file."""
    return weather(rows, place.latitude, place.elevation, place.coastal)


def between(rows: pd.DataFrame, years: tuple[int, int]) -> pd.DataFrame:
    """The rows of the years, both included."""
    return rows.loc[f"{years[0]}-01-01" : f"{years[1]}-12-31"]
