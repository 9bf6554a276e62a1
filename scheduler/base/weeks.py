"""ISO weeks (ISO 8601): a week begins on Monday and bears the year of its Thursday."""

from __future__ import annotations

from datetime import date


def week_of(day: date) -> str:
    """ISO week of a day, such as ``2027-W18`` (ISO 8601; weeks start on Monday)."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def week_start(week: str) -> date:
    """Monday of an ISO week."""
    year, number = week.split("-W")
    return date.fromisocalendar(int(year), int(number), 1)
