"""The weather of a garden's site for other days than its season's: for a season that is longer."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pandas as pd

from crops.climate import weather
from scheduler.base.yaml_lines import decode, read_document
from scheduler.garden import climate_file
from scheduler.garden.model import Garden
from scheduler.garden.shape import read_sections

# Daily frame (as `garden.model.Site.weather`) from a first day to 120 days past a last one;
# None where the climate table does not go so far.
WeatherOf = Callable[[date, date], pd.DataFrame | None]


def weather_of(garden_file: str | Path) -> WeatherOf:
    """Weather by the site and the climate table of a garden file that has no fault."""
    path = Path(garden_file)
    sections = read_sections(read_document(path.read_bytes(), str(path)))
    site = sections.site
    if site is None:
        raise ValueError(f"{path} has no site; load the garden first, that tells every fault")
    table = path.parent / site.climate
    text = decode(table.read_bytes(), str(table), climate_file.MAX_BYTES)
    frame, _ = climate_file.read_climate(text, str(table))

    def between(first: date, last: date) -> pd.DataFrame | None:
        if frame is None:
            return None
        rows, _ = climate_file.daily_rows(frame, first, last)
        return None if rows is None else weather(rows, site.latitude, site.elevation, site.coastal)

    return between


def weather_in_hand(garden: Garden) -> WeatherOf:
    """Weather as far as a garden that comes from no file has it."""
    frame = garden.site.weather

    def between(first: date, last: date) -> pd.DataFrame | None:
        there = frame.index[0].date() <= first and last <= frame.index[-1].date()
        return frame.loc[pd.Timestamp(first) :] if there else None

    return between
