"""Weeks of a season: what is wished in each, and which of them a pick serves."""

from __future__ import annotations

from datetime import date, timedelta

from scheduler.base.weeks import week_of, week_start
from scheduler.garden.model import ONE_DAY, Garden, Season


def season_weeks(season: Season) -> list[str]:
    """ISO weeks that the season touches, in order."""
    monday = season.start - timedelta(days=season.start.weekday())
    weeks = []
    while monday <= season.end:
        weeks.append(week_of(monday))
        monday += timedelta(days=7)
    return weeks


def wish(garden: Garden) -> dict[tuple[str, str], int]:
    """Weekly wish [g] by (group, week): whole grams, prorated in weeks cut by season or wish."""
    out: dict[tuple[str, str], int] = {}
    for demand in garden.demands:
        for week in season_weeks(garden.season):
            monday = week_start(week)
            first = max(monday, demand.start, garden.season.start)
            last = min(monday + 6 * ONE_DAY, demand.end, garden.season.end)
            days = (last - first).days + 1
            if days > 0:
                out[demand.group, week] = round(demand.grams_per_week * days / 7)
    return out


def weeks_served(picked: date, storage_days: float) -> list[str]:
    """Weeks whose wish a pick can meet.

    The week it is picked in, and each later week in which it is still good on the Wednesday
    (stored ``storage_days`` after the pick). Our own rule, on the cautious side.
    """
    weeks = [week_of(picked)]
    monday = picked - timedelta(days=picked.weekday()) + timedelta(days=7)
    while (monday + timedelta(days=2) - picked).days <= storage_days:
        weeks.append(week_of(monday))
        monday += timedelta(days=7)
    return weeks
