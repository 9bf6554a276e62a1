"""The work as a calendar feed (RFC 5545) to subscribe to or import.

All-day events, one an item of work; the level readings of a day are one event. An event keeps its
UID as long as its batch keeps its id, so that a re-plan moves events instead of doubling them; work
that a re-plan dropped is sent once more as cancelled.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import groupby
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from scheduler.base.faults import DrylineError
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.outputs import work
from scheduler.outputs.cautions import due
from scheduler.outputs.sentences import crop_title, sentence
from scheduler.outputs.work import Work
from scheduler.plans.model import Plan
from scheduler.words.words import HEADING, Units, _, plan_mark, tier_label

_EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
PRODID = "-//dryline//season calendar//EN"


@dataclass(frozen=True)
class _Event:
    """One event before it is written: what names it, its day, kind and items."""

    key: str
    day: date
    kind: str
    items: tuple[Work, ...]


def feed(
    garden: Garden,
    plan: Plan,
    items: Sequence[Work],
    units: Units,
    stamp: datetime,
    *,
    first: date | None = None,
    last: date | None = None,
    kinds: Collection[str] = work.KINDS,
    alarm_hour: int | None = None,
    before: Sequence[Work] = (),
) -> bytes:
    """The feed.

    Parameters
    ----------
    items : all work of the plan; first, last, kinds : send only that of these days and kinds.
    stamp : when the plan was made, with its time zone; later plans must have later stamps.
    alarm_hour : hour of the day at which each event reminds [0..23]; None: no alarms.
    before : all work of the plan that was sent before; what is gone is cancelled.

    Raises
    ------
    DrylineError
        The library for feeds is not installed.
    """
    cal, event_class, alarm_class, text = _library()
    root = cal()
    root.add("prodid", PRODID)
    root.add("version", "2.0")
    root.add("calscale", "GREGORIAN")
    root.add("method", "PUBLISH")
    root.add("x-wr-calname", text(garden.name))  # some versions escape no name they don't know
    mark = plan_mark(plan)
    if mark:  # RFC 7986, 5.2, and the older name that more programs read
        root.add("description", mark)
        root.add("x-wr-caldesc", text(mark))
    # A re-plan must count as newer than what it replaces (RFC 5545, 3.8.7.4).
    sequence = max(0, int((stamp - _EPOCH).total_seconds() // 60))
    now = _events(w for w in items if w.kind in kinds)
    keys = {e.key for e in now}  # of all days: a feed of some days cancels nothing outside them
    gone = [e for e in _events(w for w in before if w.kind in kinds) if e.key not in keys]
    now = [e for e in now if (not first or e.day >= first) and (not last or e.day <= last)]
    for made, cancelled in [*((e, False) for e in now), *((e, True) for e in gone)]:
        event = event_class()
        event.add("uid", str(uuid5(NAMESPACE_URL, f"dryline:{_season(garden, plan)}:{made.key}")))
        event.add("dtstamp", stamp.astimezone(UTC))
        event.add("sequence", sequence)
        event.add("dtstart", made.day)
        event.add("dtend", made.day + ONE_DAY)  # exclusive
        event.add("summary", _summary(garden, made))
        event.add("description", _description(garden, made, units, mark))
        event.add("categories", [_(HEADING[made.kind])])
        event.add("transp", "TRANSPARENT")  # work in the garden blocks nobody's day
        event.add("status", "CANCELLED" if cancelled else "CONFIRMED")
        if alarm_hour is not None and not cancelled:
            alarm = alarm_class()
            alarm.add("action", "DISPLAY")
            alarm.add("trigger", timedelta(hours=alarm_hour))
            alarm.add("description", _summary(garden, made))
            event.add_component(alarm)
        root.add_component(event)
    return bytes(root.to_ical())


def _library() -> tuple[Any, Any, Any, Any]:
    try:
        from icalendar import Alarm, Calendar, Event, vText
    except ImportError:
        raise DrylineError(
            "calendar feeds need the library icalendar: pip install 'dryline[ics]'"
        ) from None
    return Calendar, Event, Alarm, vText


def _season(garden: Garden, plan: Plan) -> str:
    return f"{garden.name}:{plan.start.isoformat()}"


def _events(items: Iterable[Work]) -> list[_Event]:
    made = []
    for (day, kind), group in groupby(items, key=lambda w: (w.date, w.kind)):
        if kind == work.LEVEL:
            made.append(_Event(f"level/{day.isoformat()}", day, kind, tuple(group)))
        else:
            made += [_Event(w.key, day, kind, (w,)) for w in group]
    return made


def _summary(garden: Garden, event: _Event) -> str:
    heading = _(HEADING[event.kind])
    first = event.items[0]
    if event.kind == work.LEVEL:
        return f"{heading}: " + ", ".join(tier_label(w.column, w.tier) for w in event.items)
    if event.kind == work.SHELTER:
        return f"{heading}: {first.column}"
    crop = crop_title(garden, first.crop)
    if event.kind == work.SOW:
        return f"{heading}: {crop}"
    return f"{heading}: {tier_label(first.column, first.tier)} {crop}"


def _description(garden: Garden, event: _Event, units: Units, mark: str) -> str:
    """The work, the cautions, and the plan: telephones show no description of a calendar."""
    lines = [
        ("" if w.kind == work.SOW else tier_label(w.column, w.tier) + ": ")
        + sentence(garden, w, units)
        for w in event.items
    ]
    lines += [f"{_(c.name)}: {_(c.short)}" for c in due([event.kind])]
    lines += [mark] if mark else []
    return "\n".join(lines)
