"""Newer weather laid over a garden's climate table: a forecast, a heat wave, measured days."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from crops.climate import MEASURED
from scheduler.base.faults import BadInput, Fault
from scheduler.base.yaml_lines import read_document
from scheduler.garden.climate_file import daily_rows, read_climate, read_daily_file
from scheduler.garden.file import load_garden, write_sources
from scheduler.garden.model import Garden
from scheduler.plans.plan_years import FORECAST_FILE, read_forecast

GARDEN_FILE = "garden.yaml"


def with_weather(
    garden: Garden, sources: Mapping[str, bytes], path: str | Path, on: date | None = None
) -> tuple[Garden, dict[str, bytes]]:
    """The garden with daily rows of another table in place of its own for those days.

    Parameters
    ----------
    sources : the files the garden was read from, as `garden_sources` gives them.
    path : a daily climate table; what it does not tell of a day stays as it was.
    on : from this day on the rows are a forecast, made that morning, which weather years follow
        (`years.forecast`); an earlier one is forgotten. None: they are the climate.

    Returns
    -------
    The garden, and its files with a daily climate table in place of the old one, and beside it
    what the climate says of the days of the forecast.

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
    if on is not None and days[-1].date() < on:
        on = None  # all of it was lived: an earlier forecast still stands
    if on is not None:
        rows = _before(rows, sources, on)
    merged = rows.copy()
    for column in MEASURED:
        if column in new:
            if column not in merged:
                merged[column] = math.nan
            given_days = new.loc[days, column].dropna()
            merged.loc[given_days.index, column] = given_days
    files = {**sources, name: table_bytes(merged)}
    if on is not None:
        files[FORECAST_FILE] = table_bytes(rows.loc[str(on) : str(days[-1].date())])
    with tempfile.TemporaryDirectory() as folder:
        write_sources(Path(folder), files)
        made = load_garden(Path(folder) / GARDEN_FILE)
        if on is not None:
            made = read_forecast(Path(folder), made, on)
            _ = made.site.weather  # read now: the folder goes
    return replace(made, crops=garden.crops), files  # the crops stay those of the plan


def _before(rows: pd.DataFrame, sources: Mapping[str, bytes], on: date) -> pd.DataFrame:
    """The rows with the climate in place of what an earlier forecast says of ``on`` and after."""
    if FORECAST_FILE not in sources:
        return rows
    known, faults = read_climate(sources[FORECAST_FILE].decode("utf-8-sig"), FORECAST_FILE)
    if known is None or "month" in known:
        monthly = Fault(FORECAST_FILE, 1, "month", "monthly rows", "a column date, daily rows")
        raise BadInput(faults or [monthly])
    out = rows.copy()
    days = out.index.intersection(known.loc[str(on) :].index)
    out.loc[days] = known.loc[days].reindex(columns=out.columns)
    return out


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
