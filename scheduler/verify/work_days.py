"""Days on which one batch is worked on: work days of the season, and picks on days for picking."""

from __future__ import annotations

from datetime import date

from scheduler.garden.model import Season
from scheduler.plans.rules import PICK_DAYS, WORK_DAYS
from scheduler.verify.case import Case, Standing


def is_work_day(season: Season, day: date) -> bool:
    """Whether somebody works on ``day``."""
    if day < season.start or day > season.end or day.weekday() not in season.work_days:
        return False
    return all(day < span.start or day > span.end for span in season.away)


def is_pick_day(season: Season, day: date) -> bool:
    """Whether somebody works on ``day``, and its weekday is for picking."""
    return is_work_day(season, day) and day.weekday() in season.pick_days


def check(case: Case, s: Standing) -> None:
    """Check the days of one batch that are still ahead."""
    b, season = s.batch, case.garden.season
    events = [("sow", b.sow), ("transplant", b.transplant), ("clear", b.clear)]
    events += [("pick", p.date) for p in b.picks]
    for event, day in events:
        if s.is_fact(event, day):
            continue
        case.check(
            WORK_DAYS,
            is_work_day(season, day),
            f"{s.name}: {event} on {day}, {day:%A}, which is no work day of the season",
            witnesses=[b.id, day],
        )
    for pick in b.picks:
        # What would be lost otherwise is picked early, on any work day.
        if s.is_fact("pick", pick.date) or pick.early:
            continue
        case.check(
            PICK_DAYS,
            pick.date.weekday() in season.pick_days,
            f"{s.name}: pick on {pick.date}, {pick.date:%A}, which is no day for picking",
            witnesses=[b.id, pick.date],
        )
