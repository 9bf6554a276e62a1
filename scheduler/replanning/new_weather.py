"""Newer weather laid over a garden's climate table: a forecast, a heat wave, measured days."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd

from crops.climate import MEASURED
from scheduler.base.faults import BadInput, Fault
from scheduler.base.yaml_lines import read_document
from scheduler.garden.climate_file import daily_rows, read_climate, read_daily_file
from scheduler.garden.file import load_garden, write_sources
from scheduler.garden.model import Garden

GARDEN_FILE = "garden.yaml"


def with_weather(
    garden: Garden, sources: Mapping[str, bytes], path: str | Path
) -> tuple[Garden, dict[str, bytes]]:
    """The garden with daily rows of another table in place of its own for those days.

    Parameters
    ----------
    sources : the files the garden was read from, as `garden_sources` gives them.
    path : a daily climate table; what it does not tell of a day stays as it was.

    Returns
    -------
    The garden, and its files with a daily climate table in place of the old one.

    Raises
    ------
    BadInput
        The table has faults, is monthly, or tells of no day of the garden's weather.
    """
    new = read_daily_file(path)
    name = climate_name(sources)
    old, faults = read_climate(sources[name].decode("utf-8-sig"), name)
    assert old is not None, faults  # the garden was read from it
    rows, _ = daily_rows(old, garden.season.start, garden.season.end)
    assert rows is not None
    days = rows.index.intersection(new.index)
    if not len(days):
        given = f"{new.index[0].date()} to {new.index[-1].date()}"
        wanted = f"days from {rows.index[0].date()} to {rows.index[-1].date()}"
        raise BadInput([Fault(str(path), None, "date", given, wanted)])
    merged = rows.copy()
    for column in MEASURED:
        if column in new:
            if column not in merged:
                merged[column] = math.nan
            given_days = new.loc[days, column].dropna()
            merged.loc[given_days.index, column] = given_days
    files = {**sources, name: table_bytes(merged)}
    with tempfile.TemporaryDirectory() as folder:
        write_sources(Path(folder), files)
        made = load_garden(Path(folder) / GARDEN_FILE)
    return replace(made, crops=garden.crops), files  # the crops stay those of the plan


def climate_name(sources: Mapping[str, bytes]) -> str:
    """The name of the climate table among a garden's files."""
    body: Any = read_document(sources[GARDEN_FILE], GARDEN_FILE).data
    return str(body["site"]["climate"])


def table_bytes(rows: pd.DataFrame) -> bytes:
    """Daily rows as a climate table."""
    columns = [c for c in MEASURED if c in rows]
    lines = [",".join(["date", *columns])]
    for day, values in zip(rows.index, rows[columns].to_numpy(float), strict=True):
        cells = ["" if math.isnan(x) else repr(float(x)) for x in values]
        lines.append(",".join([f"{day:%Y-%m-%d}", *cells]))
    return ("\n".join(lines) + "\n").encode()
