"""Plans as pandas frames: work, levels, produce; batches come from `Plan.to_frame`.

Numbers stay in the units of the plan, named in the column: L, cm, g, kg. Dates are timestamps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import pandas as pd

from scheduler.garden.model import Garden
from scheduler.outputs.weeks import table_weeks
from scheduler.outputs.work import Work, work_items
from scheduler.plans.model import Plan

_RENAMED = {"litres": "solution_l", "grams": "mass_g"}


def work_to_frame(garden: Garden, plan: Plan, items: Sequence[Work] | None = None) -> pd.DataFrame:
    """One row an item of work, in the order in which it is done.

    Columns: ``date, kind, column, tier, batch, crop, plants, seeds, cells, solution_l, depth_cm,
    ec`` [mS/cm], ``ph_low, ph_high, mass_g, number, count, lift_kg, until, dry_date,
    look_from, first, last, in_years, bolts, dries, age, young``.
    ``tier`` is missing (NA) where the work is on a whole column.
    """
    made = work_items(garden, plan) if items is None else items
    rows = []
    for w in made:
        row = {f.name: getattr(w, f.name) for f in fields(Work)}
        row["ph_low"], row["ph_high"] = row.pop("ph") or (None, None)
        rows.append(row)
    order = [
        "date",
        "kind",
        "column",
        "tier",
        "batch",
        "crop",
        "plants",
        "seeds",
        "cells",
        "litres",
        "depth_cm",
        "ec",
        "ph_low",
        "ph_high",
        "grams",
        "number",
        "count",
        "lift_kg",
        "until",
        "dry_date",
        "look_from",
        "first",
        "last",
        "in_years",
        "bolts",
        "dries",
        "age",
        "young",
    ]
    frame = pd.DataFrame(rows, columns=order).rename(columns=_RENAMED)
    for name in ("date", "until", "dry_date", "look_from", "first", "last"):
        frame[name] = pd.to_datetime(frame[name])
    for name in (
        "solution_l",
        "depth_cm",
        "ec",
        "ph_low",
        "ph_high",
        "in_years",
        "bolts",
        "dries",
        "age",
        "young",
    ):
        frame[name] = frame[name].astype(float)
    frame["tier"] = frame["tier"].astype("Int64")
    return frame


def levels_to_frame(plan: Plan) -> pd.DataFrame:
    """One row a batch and day: ``date, batch, crop, column, tier, solution_l, depth_cm``."""
    rows = [
        (level.date, b.id, b.crop, b.column, b.tier, level.litres, level.depth_cm)
        for b in plan.batches
        for level in b.levels
    ]
    names = ["date", "batch", "crop", "column", "tier", "solution_l", "depth_cm"]
    frame = pd.DataFrame(rows, columns=names)
    frame["date"] = pd.to_datetime(frame["date"])
    return frame


def produce_to_frame(garden: Garden, plan: Plan) -> pd.DataFrame:
    """One row a week and group: ``week, monday, group, picked_g, served_g, wish_g, short_g``."""
    rows = [
        (r.week, r.monday, r.group, r.picked, r.served, r.wish, r.short)
        for r in table_weeks(garden, plan)
    ]
    names = ["week", "monday", "group", "picked_g", "served_g", "wish_g", "short_g"]
    frame = pd.DataFrame(rows, columns=names)
    frame["monday"] = pd.to_datetime(frame["monday"])
    return frame
