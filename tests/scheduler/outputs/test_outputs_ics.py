"""The calendar feed, read back by a second parser that shares no code with the writer."""

import builtins
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import calendar_case
import pytest
import vobject

from scheduler.base.faults import DrylineError
from scheduler.garden.model import Column, Season
from scheduler.outputs import ics, work
from scheduler.outputs.together import HARD, day_lines
from scheduler.outputs.work import KINDS, work_items
from scheduler.words import words
from scheduler.words.words import Units

METRIC = Units("metric")
THEN, LATER = datetime(2027, 1, 1, 8, tzinfo=UTC), datetime(2027, 6, 1, 8, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def case():
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    return garden, plan, work_items(garden, plan)


def events(raw):
    return vobject.readOne(raw.decode()).vevent_list


def by_uid(raw):
    found = events(raw)
    out = {e.uid.value: e for e in found}
    assert len(out) == len(found)  # a UID stands once
    return out


def test_a_day_is_one_event_with_the_list_of_its_work(case):
    garden, plan, items = case
    read = {e.dtstart.value: e for e in events(ics.feed(garden, plan, items, METRIC, THEN))}
    assert sorted(read) == sorted({w.date for w in items})
    for day, event in read.items():
        assert event.dtend.value - day == DAY  # DTEND is exclusive (RFC 5545)
        assert type(day) is date
        today = [w for w in items if w.date == day]
        said = event.description.value.split("\n")
        for line in day_lines(garden, today, METRIC):
            verb = words.VERB[line.kind].upper()
            assert f"{verb} {line.text}".replace(HARD, " ") in said
        for w in today:
            if w.kind not in (work.SOW, work.LEVEL, work.TRANSPLANT, work.SHELTER):
                assert f"{w.column} {w.tier}" in event.summary.value
    filled = [d for d, e in read.items() if "fill " in e.summary.value.lower()]
    assert sorted(filled) == sorted({b.transplant for b in plan.batches})


def test_the_title_of_a_day(case):
    """9 June of this plan: picked A 1, A 2 and B 1 by now; the order is what a day is known by."""
    garden, plan, items = case
    read = {e.dtstart.value: e for e in events(ics.feed(garden, plan, items, METRIC, THEN))}
    said = read[date(2027, 6, 9)].summary.value
    assert said.startswith("Pick A 1, ")
    assert said.endswith("; fill A 3; clear A 1, A 2")


def test_wire_format(case):
    garden, plan, items = case
    raw = ics.feed(garden, plan, items, METRIC, THEN)
    lines = raw.split(b"\r\n")
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-2:] == [b"END:VCALENDAR", b""]
    assert b"\n" not in raw.replace(b"\r\n", b"")
    # RFC 5545, 3.1: lines no longer than 75 octets without the line break.
    assert max(len(line) for line in lines) <= 75
    assert b"DTSTART;VALUE=DATE:20270424" in lines
    assert b"DTEND;VALUE=DATE:20270425" in lines


def test_letters_outside_ascii_and_special_characters_survive(case):
    garden, plan, _ = case
    name = "Übersee, Fuß; 庭\\Süd"
    columns = (Column(name, garden.columns[0].tiers), garden.columns[1])
    batches = tuple(replace(b, column=name if b.column == "A" else b.column) for b in plan.batches)
    garden, plan = replace(garden, columns=columns), replace(plan, batches=batches)
    raw = ics.feed(garden, plan, work_items(garden, plan), METRIC, THEN)
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75
    picked = [e for e in events(raw) if e.summary.value.startswith("Pick " + name)]
    days = {p.date for b in batches if b.column == name for p in b.picks}
    assert {e.dtstart.value for e in picked} == days


def test_uids_stay_and_moved_work_moves(case):
    garden, plan, items = case
    first = by_uid(ics.feed(garden, plan, items, METRIC, THEN))
    assert first.keys() == by_uid(ics.feed(garden, plan, items, METRIC, LATER)).keys()
    old = plan.batches[3]
    moved = replace(old, clear=old.clear + 3 * DAY)
    batches = (*plan.batches[:3], moved, *plan.batches[4:])
    again = replace(plan, batches=batches)
    second = by_uid(ics.feed(garden, again, work_items(garden, again), METRIC, LATER, before=items))
    assert first.keys() <= second.keys()  # an event of a day that is left, or cancelled

    def cleared(feed):
        """Days on which its tier is cleared, as their lists say."""
        return {
            e.dtstart.value
            for e in feed.values()
            if e.status.value == "CONFIRMED"
            for line in e.description.value.split("\n")
            if line.startswith("CLEAR ") and f"{old.column} {old.tier}" in line
        }

    assert old.clear in cleared(first)
    assert moved.clear in cleared(second)
    assert old.clear not in cleared(second)
    # What is newer must say so: a higher sequence and a later stamp (RFC 5545, 3.8.7).
    for uid, event in first.items():
        assert int(second[uid].sequence.value) > int(event.sequence.value)
        assert second[uid].dtstamp.value > event.dtstamp.value


def test_a_day_left_without_work_is_cancelled_once_and_the_rest_stands(case):
    garden, plan, items = case
    first = by_uid(ics.feed(garden, plan, items, METRIC, THEN))
    fewer = replace(plan, batches=plan.batches[:-1])
    left = work_items(garden, fewer)
    second = by_uid(ics.feed(garden, fewer, left, METRIC, LATER, before=items, alarm_hour=7))
    assert second.keys() == first.keys()
    off = {e.dtstart.value for e in second.values() if e.status.value == "CANCELLED"}
    assert off == {w.date for w in items} - {w.date for w in left} != set()
    assert not any(hasattr(e, "valarm") for e in second.values() if e.dtstart.value in off)
    stand = {u for u, e in second.items() if e.dtstart.value not in off}
    assert stand == by_uid(ics.feed(garden, fewer, left, METRIC, LATER)).keys()


def test_some_days_cancel_nothing_outside_them(case):
    garden, plan, items = case
    day = plan.batches[0].transplant
    made = events(ics.feed(garden, plan, items, METRIC, LATER, first=day, last=day, before=items))
    assert {e.dtstart.value for e in made} == {day}
    assert {e.status.value for e in made} == {"CONFIRMED"}


def test_one_calendar_per_kind_holds_all_between_them(case):
    garden, plan, items = case
    whole = by_uid(ics.feed(garden, plan, items, METRIC, THEN)).keys()
    seen = set(whole)
    for kind in sorted({w.kind for w in items}, key=KINDS.index):
        part = by_uid(ics.feed(garden, plan, items, METRIC, THEN, kinds=[kind]))
        assert {e.dtstart.value for e in part.values()} == {w.date for w in items if w.kind == kind}
        assert (
            not seen & part.keys()
        )  # beside the whole, in one program, no event takes another's place
        seen |= part.keys()


def test_alarm(case):
    garden, plan, items = case
    made = events(ics.feed(garden, plan, items, METRIC, THEN, alarm_hour=6))
    assert {e.valarm.trigger.value for e in made} == {timedelta(hours=6)}
    assert not any(
        hasattr(e, "valarm") for e in events(ics.feed(garden, plan, items, METRIC, THEN))
    )


def test_leap_day_and_new_year():
    garden = calendar_case.garden(date(2027, 11, 1), date(2028, 3, 31))
    garden = replace(garden, season=Season(garden.season.start, garden.season.end))
    b = replace(
        calendar_case.plan().batches[0],
        sow=date(2027, 12, 31),
        transplant=date(2028, 2, 29),
        clear=date(2028, 3, 31),
        levels=(),
        picks=(),
    )
    plan = replace(
        calendar_case.plan(), start=garden.season.start, end=garden.season.end, batches=(b,)
    )
    raw = ics.feed(garden, plan, work_items(garden, plan), METRIC, THEN)
    spans = {(e.dtstart.value, e.dtend.value) for e in events(raw)}
    assert (date(2027, 12, 31), date(2028, 1, 1)) in spans
    assert (date(2028, 2, 29), date(2028, 3, 1)) in spans


def test_without_the_library_the_message_says_what_to_install(case, monkeypatch):
    real = builtins.__import__

    def missing(name, *args, **kwargs):
        if name.split(".")[0] == "icalendar":
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(DrylineError, match=r"pip install 'dryline\[ics\]'"):
        ics.feed(*case, METRIC, THEN)
