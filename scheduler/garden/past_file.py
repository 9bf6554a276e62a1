"""Past weather: a daily climate table of at least a year."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from crops.climate import weather
from scheduler.base.faults import BadInput, Fault
from scheduler.base.yaml_lines import read_document
from scheduler.garden.climate_file import read_daily_file
from scheduler.garden.model import Garden

if TYPE_CHECKING:
    import pandas as pd

LEAST_DAYS = 365


def too_short(file: str, days: int) -> Fault:
    """The fault of a table of past weather that has fewer than `LEAST_DAYS`."""
    return Fault(file, None, "date", f"{days} days", f"{LEAST_DAYS} days or more")


def read_past(path: str | Path, garden: Garden, garden_file: str | Path) -> pd.DataFrame:
    """Complete daily weather of the past at the garden's site.

    Parameters
    ----------
    path : table with a column ``date`` and any of `crops.climate.MEASURED`, at least 365 days in a
        row; of any years.
    garden_file : the garden.yaml of ``garden``, which tells whether the site lies on the coast.

    Raises
    ------
    BadInput
        Not there, every fault of the table, monthly, or too short.
    """
    rows = read_daily_file(path)
    if len(rows) < LEAST_DAYS:
        raise BadInput([too_short(str(path), len(rows))])
    body: Any = read_document(Path(garden_file).read_bytes(), str(garden_file)).data
    coastal = body["site"].get("coastal", False) is True
    return weather(rows, garden.site.latitude, garden.site.elevation, coastal)
