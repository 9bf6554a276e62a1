"""Work on a whole column: covering it against rain, carrying it to another place."""

from __future__ import annotations

import math
from datetime import date

from scheduler.garden.model import ONE_DAY, Garden, Season
from scheduler.garden.placed import moves
from scheduler.outputs.covers import covers
from scheduler.outputs.item import Work
from scheduler.plans.model import Plan
from scheduler.schedule.masses import Standing
from scheduler.words.work_kinds import MOVE, SHELTER


def work_day_by(season: Season, day: date) -> date:
    """The last work day on or before ``day``; ``day`` itself if the season has none."""
    back = day
    while back >= season.start:
        if season.is_work_day(back):
            return back
        back -= ONE_DAY
    return day


def shelter(garden: Garden, plan: Plan) -> list[Work]:
    """Cover a column while rain may drown the roots of one of its tiers (`outputs.covers`)."""
    count: dict[str, int] = {}
    items = []
    for cover in covers(garden, plan):
        count[cover.column] = number = count.get(cover.column, 0) + 1
        items.append(
            Work(
                work_day_by(garden.season, cover.first),
                SHELTER,
                cover.column,
                None,
                number=number,
                until=cover.last,
                tiers=cover.tiers,
                rain_cm=math.floor(10 * cover.rain_cm + 1e-6) / 10,
            )
        )
    return items


def moving(garden: Garden, standing: Standing) -> list[Work]:
    """Columns carried elsewhere, vessel by vessel."""
    count: dict[str, int] = {}
    items = []
    for move in moves(garden):
        count[move.column] = number = count.get(move.column, 0) + 1
        tiers = next(c.tiers for c in garden.columns if c.name == move.column)
        kg = [standing.vessel_kg(move.column, t.number, move.date) for t in tiers]
        items.append(
            Work(
                move.date,
                MOVE,
                move.column,
                None,
                number=number,
                lift_kg=max(kg),
                tiers=tuple(t.number for t in tiers),
                place=move.there.name,
            )
        )
    return items
