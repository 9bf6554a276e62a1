"""The work as a calendar feed (RFC 5545) to subscribe to or import.

One all-day event a day, with the list of its work. An event is named after its day, so that a
re-plan changes it instead of doubling it; a day that a re-plan left without work is sent once more
as cancelled. A feed of one kind of work names its events after that kind too.
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
from scheduler.outputs.act import act_note
from scheduler.outputs.beside import of_days
from scheduler.outputs.cautions import due
from scheduler.outputs.sentences import crop_title
from scheduler.outputs.together import HARD, day_lines, heaviest, tiers
from scheduler.outputs.work import Work
from scheduler.plans.model import Plan
from scheduler.words.words import HEADING, VERB, Units, _, plan_mark

_EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
PRODID = "-//dryline//season calendar//EN"


@dataclass(frozen=True)
class _Event:
    """One event before it is written: what names it, its day and items."""

    key: str
    day: date
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
    name = "day" if set(kinds) == set(work.KINDS) else "+".join(k for k in work.KINDS if k in kinds)
    now = _events(name, (w for w in items if w.kind in kinds))
    keys = {e.key for e in now}  # of all days: a feed of some days cancels nothing outside them
    gone = [e for e in _events(name, (w for w in before if w.kind in kinds)) if e.key not in keys]
    now = [e for e in now if (not first or e.day >= first) and (not last or e.day <= last)]
    beside = of_days(garden, plan, units) if work.PICK in kinds else {}
    for made, cancelled in [*((e, False) for e in now), *((e, True) for e in gone)]:
        event = event_class()
        event.add("uid", str(uuid5(NAMESPACE_URL, f"dryline:{_season(garden, plan)}:{made.key}")))
        event.add("dtstamp", stamp.astimezone(UTC))
        event.add("sequence", sequence)
        event.add("dtstart", made.day)
        event.add("dtend", made.day + ONE_DAY)  # exclusive
        event.add("summary", _summary(garden, made))
        event.add("description", _description(garden, made, units, mark, beside.get(made.day, ())))
        found = {w.kind for w in made.items}
        event.add("categories", [_(HEADING[k]) for k in work.KINDS if k in found])
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


def _events(name: str, items: Iterable[Work]) -> list[_Event]:
    return [
        _Event(f"{name}/{day.isoformat()}", day, tuple(group))
        for day, group in groupby(items, key=lambda w: w.date)
    ]


# What a day is known by comes first: a telephone shows the beginning of a title.
_TOLD = (
    work.PICK,
    work.FILL,
    work.CLEAR,
    work.MOVE,
    work.SOW,
    work.HARDEN,
    work.SUPPORT,
    work.SHELTER,
    work.PROTECT,
    work.SHADE,
    work.TRANSPLANT,
    work.LEVEL,
)


def _summary(garden: Garden, event: _Event) -> str:
    """``Pick A 2, C 3; fill A 4; level 16``: tiers by kind of work; levels and sowings counted."""
    parts = []
    kinds = {w.kind for w in event.items}
    for kind in _TOLD:
        some = [w for w in event.items if w.kind == kind]
        if not some or (kind == work.TRANSPLANT and work.FILL in kinds):
            continue
        if kind == work.SOW:
            which = ", ".join(dict.fromkeys(crop_title(garden, w.crop) for w in some))
        elif kind == work.LEVEL and len(kinds) > 1:
            which = str(len(some))
        else:
            which = tiers(some)
        parts.append(f"{_(VERB[kind])} {which}")
    said = "; ".join(parts).replace(HARD, " ")
    return said[:1].upper() + said[1:]


def _description(
    garden: Garden, event: _Event, units: Units, mark: str, beside: Sequence[str]
) -> str:
    """The work, the cautions, and the plan: telephones show no description of a calendar."""
    lines = [
        f"{_(VERB[line.kind]).upper()} {line.text}"
        for line in day_lines(garden, event.items, units)
    ]
    lines += beside
    if kg := heaviest(event.items):
        lines.append(_("Lift off up to {kg}.").format(kg=units.weight_text(kg)))
    if any(w.act_cm is not None for w in event.items):
        lines.append(act_note())
    lines += [f"{_(c.name)}: {_(c.short)}" for c in due(w.kind for w in event.items)]
    lines += [mark] if mark else []
    return "\n".join(lines).replace(HARD, " ")
