"""Weeks of a season: what is wished in each, and which of them a pick serves."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from scheduler.base.weeks import week_of, week_start
from scheduler.garden.model import ONE_DAY, EventWeeks, Garden, Season

if TYPE_CHECKING:
    import numpy as np


def season_weeks(season: Season) -> list[str]:
    """ISO weeks that the season touches, in order."""
    monday = season.start - timedelta(days=season.start.weekday())
    weeks = []
    while monday <= season.end:
        weeks.append(week_of(monday))
        monday += timedelta(days=7)
    return weeks


def wish(garden: Garden) -> dict[tuple[str, str], int]:
    """Weekly wish [g] by (group, week): whole grams, prorated in weeks cut by season or wish.

    What is wanted for an event comes on top of the wish of its week.
    """
    out: dict[tuple[str, str], int] = {}
    for demand in garden.demands:
        for week in season_weeks(garden.season):
            monday = week_start(week)
            first = max(monday, demand.start, garden.season.start)
            last = min(monday + 6 * ONE_DAY, demand.end, garden.season.end)
            days = (last - first).days + 1
            if days > 0:
                out[demand.group, week] = round(demand.grams_per_week * days / 7)
    groups, season = {d.group for d in garden.demands}, garden.season
    for event in garden.events:
        if event.group in groups and season.start <= event.date <= season.end:
            key = (event.group, week_of(event.date))
            out[key] = out.get(key, 0) + round(event.grams)
    return out


def eaten_on(garden: Garden) -> np.ndarray:
    """Day at whose end each week's wish is taken from the kitchen [groups, weeks].

    Its last day in the season; with an event the date of it, as what is picked later comes too
    late.
    """
    import numpy as np

    season, weeks = garden.season, season_weeks(garden.season)
    ends = [min(week_start(w) + 6 * ONE_DAY, season.end) for w in weeks]
    out = np.array([[season.index(end) for end in ends] for _ in garden.demands], dtype=int)
    for g, demand in enumerate(garden.demands):
        for week, first, _ in garden.event_weeks_of(demand.group):
            if week in weeks:
                out[g, weeks.index(week)] = season.index(first)
    return out.reshape(len(garden.demands), len(weeks))


def weeks_served(picked: date, storage_days: float, events: EventWeeks = ()) -> list[str]:
    """Weeks whose wish a pick can meet.

    The week it is picked in, and each later week in which it is still good on the Wednesday
    (stored ``storage_days`` after the pick). Our own rule, on the cautious side. Of a week with an
    event (`Garden.event_weeks`) only what is picked by then and still good on the date counts;
    the weeks are in a row even so, and there may be none.
    """
    weeks = [week_of(picked)]
    monday = picked - timedelta(days=picked.weekday()) + timedelta(days=7)
    while (monday + timedelta(days=2) - picked).days <= storage_days:
        weeks.append(week_of(monday))
        monday += timedelta(days=7)
    for week, first, last in events:
        if week in weeks and (picked > first or (last - picked).days > storage_days):
            weeks.remove(week)
    return weeks
