"""What a list of work says beside the work: events and how much of them is there, what is over.

By day for lists of a day (page, phone, feed, the sheet of a day), by week for lists of a week.
"""

from __future__ import annotations

from datetime import date
from itertools import groupby

from scheduler.base.weeks import week_of
from scheduler.garden.model import Event, Garden
from scheduler.garden.weekly import weeks_served
from scheduler.outputs.table import event_text, events_met, over, over_of_week, over_text
from scheduler.plans.model import Plan
from scheduler.words.words import Units, sheet_week


def of_days(garden: Garden, plan: Plan, units: Units) -> dict[date, list[str]]:
    """Sentences by day.

    An event stands on its date and on the days of the picks that count for it; a surplus stands on
    the day of its pick.
    """
    out: dict[date, list[str]] = {}
    for one in events_met(garden, plan):
        said = as_sentence(event_text(one, units))
        for day in sorted({one.event.date, *_picked_for(garden, plan, one.event)}):
            out.setdefault(day, []).append(said)
    for day, some in groupby(over(garden, plan), key=lambda o: o.date):
        out.setdefault(day, []).append(as_sentence(over_of_week(list(some), units)))
    return out


def of_weeks(garden: Garden, plan: Plan, units: Units, brief: bool = False) -> dict[str, list[str]]:
    """By week of the calendar: how much of each event is there, and what is over.

    ``brief``: what is over in the week, without its days.
    """
    out: dict[str, list[str]] = {}
    for one in events_met(garden, plan):
        out.setdefault(sheet_week(one.event.date), []).append(event_text(one, units))
    for week, some in groupby(over(garden, plan), key=lambda o: sheet_week(o.date)):
        found = list(some)
        said = over_of_week(found, units) if brief else over_text(found, units)
        out.setdefault(week, []).append(said)
    return out


def as_sentence(text: str) -> str:
    """A text as a sentence of its own."""
    return f"{text[:1].upper()}{text[1:]}."


def _picked_for(garden: Garden, plan: Plan, event: Event) -> set[date]:
    """Days of the picks that count for an event."""
    days = set()
    for batch in plan.batches:
        demand = garden.demand_of(batch.crop)
        if demand is None or demand.group != event.group:
            continue
        life, events = garden.crops[batch.crop].storage_life, garden.event_weeks(batch.crop)
        for pick in batch.picks:
            if week_of(event.date) in weeks_served(pick.date, life, events):
                days.add(pick.date)
    return days
