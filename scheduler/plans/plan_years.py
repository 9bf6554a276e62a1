"""The weather years of a plan: those that it was made with, made again from its folder."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.garden.model import Garden
from scheduler.plans.folder import GARDEN_FILE, PAST_FILE
from scheduler.plans.model import Plan

if TYPE_CHECKING:
    import pandas as pd


# Climate of the days that a forecast tells of, as it was without it; the forecast itself stands in
# the climate table. Its first row is the day on which the forecast was made.
FORECAST_FILE = "climate-before-forecast.csv"


def expected(
    folder: Path,
    garden: Garden,
    plan: Plan,
    as_of: date | None,
    most: float | None = None,
    forecast: bool = True,
) -> Garden:
    """The garden with the weather years that a plan was made with; of the mean year none.

    ``as_of``: what lies before has happened, and is the same in every year. ``most``: share of the
    years in which a batch may be lost [0..1], in place of the plan's. ``forecast``: whether they
    follow the forecast in the folder; one that the garden carries already goes before it.
    """
    if plan.years is None:
        return garden
    from scheduler.years.expected import expecting, may_kill, with_past

    if forecast and as_of is not None and (folder / FORECAST_FILE).is_file():
        garden = read_forecast(folder, garden, as_of)
    if (folder / PAST_FILE).is_file():  # given with --past, in place of the garden's own
        plain = garden
        garden = with_past(plain, lambda: _past(folder, plain))
    lost = most if most is not None or plan.risk is None else plan.risk.most
    planned, seed = plan.years.planned, plan.years.seed
    return expecting(garden, planned, seed, as_of, lost, may_kill(garden))


def _past(folder: Path, garden: Garden) -> pd.DataFrame:
    from scheduler.garden.past_file import read_past

    return read_past(folder / PAST_FILE, garden, folder / GARDEN_FILE)


def read_forecast(folder: Path, garden: Garden, as_of: date) -> Garden:
    """The garden with the forecast in a folder, unless it carries one: read with its weather.

    What lies before ``as_of`` has happened.

    Raises
    ------
    BadInput
        Where the weather is asked for: every fault of the table.
    """
    from scheduler.years.expected import foretelling

    def read() -> pd.DataFrame:
        from crops.climate import weather
        from scheduler.garden.climate_file import read_daily_file

        site, rows = garden.site, read_daily_file(folder / FORECAST_FILE)
        return weather(rows, site.latitude, site.elevation, site.coastal)

    return foretelling(garden, read, as_of)
