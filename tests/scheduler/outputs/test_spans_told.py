"""A pick's span, what to look for, and until when seedlings keep, in every form of the calendar."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import calendar_case
import pytest

from scheduler.garden.model import Garden
from scheduler.outputs import csv as tables
from scheduler.outputs import html, ics, text
from scheduler.outputs.sentences import look_ahead, look_days, sentence
from scheduler.outputs.together import HARD, day_lines
from scheduler.outputs.work import PICK, TRANSPLANT, Work, work_items
from scheduler.plans.model import Chances, Plan
from scheduler.words.language import sheet_week, use_language
from scheduler.words.units import Units
from scheduler.words.words import short_date

METRIC = Units("metric")
DAY = timedelta(days=1)


def spanned() -> tuple[Garden, Plan]:
    """Every pick two days either way, looked at three days before; seedlings keep for four."""
    g = calendar_case.garden()
    made = calendar_case.plan(g)
    batches = tuple(
        replace(
            b,
            picks=tuple(
                replace(
                    p,
                    look_from=p.date - 3 * DAY,
                    from_=p.date - 2 * DAY,
                    to=p.date + 2 * DAY,
                    share=1.0,
                )
                for p in b.picks
            ),
            transplant_until=b.transplant + 4 * DAY,
            chances=Chances(0.1, 0.0, 0.5),
        )
        for b in made.batches
    )
    return g, replace(made, batches=batches)


def pick(**changes: object) -> Work:
    """Four heads of 140 g on 24 May, 42 days after they were planted."""
    made = Work(
        date(2027, 5, 24),
        PICK,
        "A",
        2,
        "b1",
        "leaf_lettuce",
        plants=4,
        grams=560,
        count=1,
        number=1,
        look_from=date(2027, 5, 20),
        first=date(2027, 5, 22),
        last=date(2027, 5, 28),
        in_years=1.0,
        age=42,
    )
    return replace(made, **changes)  # type: ignore[arg-type]


MAY_22, MAY_24 = date(2027, 5, 22), date(2027, 5, 24)
LATER = date(2027, 6, 3)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "; pick 22 to 28 May, look from 20 May: 140 g each, 42 days after planting"),
        ({"look_from": MAY_22}, "; pick 22 to 28 May: 140 g each, 42 days after planting"),
        (
            {"last": LATER},
            "; pick 22 May to 3 June, look from 20 May: 140 g each, 42 days after pl",
        ),
        ({"first": MAY_24, "last": MAY_24}, "; look from 20 May: 140 g each, 42 days after"),
        ({"look_from": None, "first": None, "last": None}, "about 560 g"),
        ({"age": 1}, ": 140 g each, 1 day after planting"),
        ({"young": 0.8}, " after planting; young, from 80 % of full size"),
        ({"in_years": 0.8}, "42 days after planting"),
        ({"in_years": 0.79}, "42 days after planting; comes in 8 of 10 years"),
        ({"in_years": 0.4, "bolts": 0.5, "dries": 0.04}, "; comes in 4 of 10 years, bolts in 5"),
        ({"in_years": 0.3, "bolts": 0.3, "dries": 0.4}, " years, bolts in 3, runs dry in 4"),
        (
            {"in_years": 0.6, "freezes": 0.1, "overheats": 0.3},
            ", cold kills it in 1, heat kills it in 3",
        ),
        ({"in_years": 0.6, "freezes": 0.04}, "; comes in 6 of 10 years"),
        ({"in_years": 0.9, "bolts": 0.1}, "42 days after planting"),
        ({"in_years": 0.04}, "42 days after planting; hardly ever comes"),
    ],
)
def test_a_pick_says_when_and_what_to_look_for(changes: dict[str, object], said: str) -> None:
    g = calendar_case.garden()
    told = sentence(g, pick(**changes), METRIC)
    assert said in told
    if said.endswith(
        ("planting", "560 g", "size", "years", "comes", "in 4", "in 5")
    ):  # nothing follows
        assert told.endswith(said)


def test_in_german() -> None:
    use_language("de")
    try:
        told = sentence(calendar_case.garden(), pick(), METRIC)
    finally:
        use_language(None)
    assert told.endswith(
        "; ernten 22. bis 28. Mai, ansehen ab 20. Mai: 140 g je Pflanze, 42 Tage nach dem Setzen"
    )


def test_every_pick_and_transplant_of_a_plan_tells_it() -> None:
    g, plan = spanned()
    for w in work_items(g, plan):
        said = sentence(g, w, METRIC)
        if w.kind == PICK:
            assert "; pick " in said
            assert "look from" in said
        if w.kind == TRANSPLANT:
            assert "seedlings keep until" in said
            assert "runs dry about" not in said
            assert " in 1 year of 10" in said


def test_what_has_been_picked_has_no_span_any_more() -> None:
    g, plan = spanned()
    items = [w for w in work_items(g, plan) if w.kind == PICK]
    on = items[len(items) // 2].date
    told = [w for w in work_items(g, replace(plan, as_of=on)) if w.kind == PICK]
    assert {w.date < on for w in told} == {True, False}
    assert all((w.look_from is None) == (w.date < on) for w in told)


def test_a_plan_of_the_mean_year_says_none_of_it() -> None:
    g = calendar_case.garden()
    made = calendar_case.plan(g)
    said = text.calendar(g, made, work_items(g, made), METRIC)
    for word in ("look from", "each,", "keep until"):
        assert word not in said


def test_text_csv_feed_and_page_say_the_same() -> None:
    g, plan = spanned()
    items = work_items(g, plan)
    first = next(w for w in items if w.kind == PICK)
    said = text.calendar(g, plan, items, METRIC, first.date, first.date)
    assert max(map(len, said.splitlines())) <= 80
    (line, *_) = (
        x
        for x in day_lines(g, [w for w in items if w.date == first.date], METRIC)
        if x.kind == PICK
    )
    assert first in line.items
    assert "3 to 7 June, look from 2 June" in line.text
    assert line.text.replace(HARD, " ") in " ".join(said.split())
    told = " ".join(sentence(g, first, METRIC).split())
    assert told in html.page(g, plan, items, METRIC)
    stamp = datetime(2027, 1, 1, tzinfo=UTC)
    sent = ics.feed(g, plan, items, METRIC, stamp).decode().replace("\r\n ", "")
    assert line.text.replace(HARD, " ").replace(",", "\\,").replace(";", "\\;") in sent
    rows = list(csv.DictReader(io.StringIO(tables.work_csv(g, items, METRIC))))
    (row, *_) = [r for r in rows if r["work"] == PICK]
    assert [row[n] for n in ("look from", "pick from", "date", "pick to", "share of years")] == [
        str(first.date + n * DAY) for n in (-3, -2, 0, 2)
    ] + ["1.0"]
    kept = next(r for r in rows if r["work"] == TRANSPLANT)
    assert kept["until"] == str(date.fromisoformat(kept["date"]) + 4 * DAY)


def test_a_week_names_what_to_look_at_before_the_week_of_its_pick() -> None:
    """24 May 2027 is a Monday: looked at from Thursday 20 May, or from the day itself."""
    early = pick()
    twice = [early, replace(early, number=2), replace(early, tier=3, look_from=date(2027, 5, 21))]
    assert look_ahead(look_days(twice), "2027-W20").endswith(": A 2 from 20 May; A 3 from 21 May")
    assert look_ahead(look_days(twice), "2027-W21") == ""
    assert look_ahead(look_days([pick(look_from=MAY_24)]), "2027-W21") == ""
    assert look_ahead(look_days([pick(look_from=None)]), "2027-W20") == ""


def test_text_and_page_have_the_line_in_the_week_of_the_look() -> None:
    g, plan = spanned()
    items = work_items(g, plan)
    weeks = {sheet_week(w.look_from) for w in items if w.look_from}
    lines = [said for week in sorted(weeks) if (said := look_ahead(look_days(items), week))]
    assert lines
    said = " ".join(text.calendar(g, plan, items, METRIC).split())
    shown = html.page(g, plan, items, METRIC)
    for line in lines:
        assert line in shown
    for day, tiers in look_days(items).items():  # on its day, or in the week's line
        named = ", ".join(tiers)
        assert f"LOOK AT {named}" in said or f"{named} from {short_date(day)}" in said
