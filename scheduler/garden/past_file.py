"""Past weather for the replay of a plan: a daily climate table of whole years."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd

from crops.climate import weather
from scheduler.base.faults import BadInput, Fault
from scheduler.base.yaml_lines import read_document
from scheduler.garden.climate_file import read_daily_file
from scheduler.garden.model import Garden


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
    if len(rows) < 365:
        raise BadInput([Fault(str(path), None, "date", f"{len(rows)} days", "365 days or more")])
    body: Any = read_document(Path(garden_file).read_bytes(), str(garden_file)).data
    coastal = body["site"].get("coastal", False) is True
    return weather(rows, garden.site.latitude, garden.site.elevation, coastal)
