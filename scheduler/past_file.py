"""Past weather for the replay of a plan: a daily climate table of whole years."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd

from crops.climate import weather
from scheduler.climate_file import MAX_BYTES, read_climate
from scheduler.faults import BadInput, Fault
from scheduler.garden import Garden
from scheduler.yaml_lines import decode, read_document


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
    file = Path(path)
    if not file.is_file():
        raise BadInput([Fault(str(path), None, "", "not there", "a daily climate table")])
    if file.stat().st_size > MAX_BYTES:
        most = f"at most {MAX_BYTES / 1e6:g} MB"
        raise BadInput([Fault(str(path), None, "", "too large", most)])
    rows, faults = read_climate(decode(file.read_bytes(), str(path), MAX_BYTES), str(path))
    if rows is None:
        raise BadInput(faults)
    if "month" in rows:
        raise BadInput([Fault(str(path), 1, "month", "monthly rows", "a column date, daily rows")])
    if len(rows) < 365:
        raise BadInput([Fault(str(path), None, "date", f"{len(rows)} days", "365 days or more")])
    body: Any = read_document(Path(garden_file).read_bytes(), str(garden_file)).data
    coastal = body["site"].get("coastal", False) is True
    return weather(rows, garden.site.latitude, garden.site.elevation, coastal)
