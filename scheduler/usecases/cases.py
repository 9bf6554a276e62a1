"""What to do if: the cases of `replanning.in_case` for a plan's folder."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.log.model import Log
    from scheduler.plans.model import Plan
    from scheduler.replanning.in_case import Cases

HOTTER = 5.0  # [K] that a hot week is above the days expected: common practice, no source


def cases_of(
    folder: Path, garden: Garden, plan: Plan, log: Log, on: date, seconds: float = 40.0
) -> Cases:
    """The cases of the next days; see `replanning.in_case.in_case`.

    Parameters
    ----------
    folder : of ``plan``; garden : as read from it.

    Raises
    ------
    BadInput
        As `in_case`; past weather that is gone.
    """
    from scheduler.lived.spans import without_spans
    from scheduler.plans.plan_years import expected
    from scheduler.replanning.in_case import in_case
    from scheduler.years.expected import without_years

    on = min(max(on, garden.first), garden.season.end)
    hot = _hotter(folder, garden, on)
    if plan.years is not None:
        garden = expected(folder, without_years(garden), plan, on)
        # What is asked is what a hotter week would do, whatever a forecast says of it.
        hot = expected(folder, without_years(hot), plan, on, forecast=False)
    return in_case(garden, without_spans(plan), log, on, hot, seconds)


def _hotter(folder: Path, garden: Garden, on: date) -> Garden:
    """The garden with a week from ``on`` on that is `HOTTER` by day and by night."""
    from scheduler.garden.climate_file import daily_rows, read_climate
    from scheduler.replanning.new_weather import climate_name, table_bytes, with_weather
    from scheduler.usecases.planning_again import season_sources

    sources = season_sources(folder, garden)
    name = climate_name(sources)
    old, faults = read_climate(sources[name].decode("utf-8-sig"), name)
    assert old is not None, faults  # the garden was read from it
    rows, _ = daily_rows(old, garden.season.start, garden.season.end)
    assert rows is not None
    week = rows.loc[str(on) : str(on + timedelta(days=6))].copy()
    for column in ("tmin", "tmax"):
        week[column] += HOTTER
    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "hot.csv"
        file.write_bytes(table_bytes(week))
        return with_weather(garden, sources, file)[0]
