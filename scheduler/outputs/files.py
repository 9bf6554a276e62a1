"""The files that lie beside plan.json: the calendar, and the table of forecasts."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.garden.model import Garden
from scheduler.outputs import csv, text
from scheduler.outputs.act import with_act
from scheduler.outputs.work import Work, work_items
from scheduler.plans.model import Plan
from scheduler.watch.forecast import WATCH_FILE, parsed, written
from scheduler.watch.made import forecasts
from scheduler.words.words import Units


def calendar_files(
    garden: Garden, plan: Plan, items: Sequence[Work] | None = None
) -> dict[str, bytes]:
    """Name to content of calendar.txt, calendar.csv, batches.csv and weeks.csv.

    ``items``: the `work_items` of the plan, where they are at hand.
    """
    units = Units(garden.units)
    items = work_items(garden, plan) if items is None else items
    made = {
        "calendar.txt": text.calendar(garden, plan, items, units),
        "calendar.csv": csv.BOM + csv.work_csv(garden, items, units),
        "batches.csv": csv.BOM + csv.batches_csv(garden, plan, units),
        "weeks.csv": csv.BOM + csv.weeks_csv(garden, plan, units),
    }
    return {name: body.encode() for name, body in made.items()}


def season_files(
    garden: Garden, plan: Plan, items: Sequence[Work] | None = None
) -> dict[str, bytes]:
    """The calendar with the levels to act below, and the table of forecasts that tells them."""
    items = work_items(garden, plan) if items is None else items
    raw = written(forecasts(garden, plan, items), plan)
    # As the table is read again: a calendar printed later says the same levels.
    made = calendar_files(garden, plan, with_act(plan, items, parsed(raw, plan)))
    return {**made, WATCH_FILE: raw}
