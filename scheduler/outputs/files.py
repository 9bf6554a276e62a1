"""The calendar files that lie beside plan.json."""

from __future__ import annotations

from pathlib import Path

from scheduler.garden import Garden
from scheduler.outputs import csv, text
from scheduler.outputs.words import Units
from scheduler.plan import Plan, write_atomic
from scheduler.work import work_items


def write_calendar_files(folder: Path, garden: Garden, plan: Plan) -> list[Path]:
    """Write calendar.txt, calendar.csv, batches.csv and weeks.csv; returns what was written.

    Raises
    ------
    OSError
        The folder cannot be written.
    """
    units = Units(garden.units)
    items = work_items(garden, plan)
    made = {
        "calendar.txt": text.calendar(garden, plan, items, units),
        "calendar.csv": csv.BOM + csv.work_csv(garden, items, units),
        "batches.csv": csv.BOM + csv.batches_csv(garden, plan, units),
        "weeks.csv": csv.BOM + csv.weeks_csv(garden, plan, units),
    }
    paths = []
    for name, body in made.items():
        write_atomic(folder / name, body)
        paths.append(folder / name)
    return paths
