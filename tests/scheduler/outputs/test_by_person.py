"""The day's work by person: nothing left over, nothing twice, nobody over their minutes."""

from __future__ import annotations

import io
from collections import Counter
from dataclasses import replace

import calendar_case
import pytest
from pypdf import PdfReader

from scheduler.garden.model import Helper
from scheduler.outputs import labour, pdf
from scheduler.outputs.by_person import said, shares
from scheduler.outputs.together import day_lines
from scheduler.outputs.work import work_items
from scheduler.words.words import Units

METRIC = Units("metric")
EVERY = frozenset(range(7))
GARDEN = calendar_case.garden()
PLAN = calendar_case.plan(GARDEN)
ITEMS = work_items(GARDEN, PLAN)
DAY = max({w.date for w in ITEMS}, key=lambda d: sum(w.date == d for w in ITEMS))
TODAY = [w for w in ITEMS if w.date == DAY]


def helped(*helpers: Helper):
    return replace(GARDEN, limits=replace(GARDEN.limits, helpers=helpers))


@pytest.mark.parametrize("people", [1, 3])
def test_each_line_is_given_once(people):
    garden = helped(*(Helper(f"P{n}", EVERY, 60.0) for n in range(people)))
    made = shares(garden, DAY, TODAY, METRIC)
    assert len(made) == people
    given = Counter(line.text for s in made for line in s.lines)
    assert given == Counter(line.text for line in day_lines(garden, TODAY, METRIC))
    took = sum(s.taken(garden) for s in made)
    assert took == pytest.approx(labour.of_items(garden, TODAY))


def test_the_longest_line_goes_to_who_has_the_most_time():
    garden = helped(Helper("Short", EVERY, 10.0), Helper("Long", EVERY, 120.0))
    short, long = shares(garden, DAY, TODAY, METRIC)
    assert long.taken(garden) > short.taken(garden)
    longest = max(day_lines(garden, TODAY, METRIC), key=lambda x: labour.of_items(garden, x.items))
    assert longest.text in {line.text for line in long.lines}


def test_who_is_not_there_on_the_day_gets_nothing():
    other = frozenset(range(7)) - {DAY.weekday()}
    garden = helped(Helper("Here", EVERY, 60.0), Helper("Away", other, 60.0))
    assert [s.name for s in shares(garden, DAY, TODAY, METRIC)] == ["Here"]
    assert shares(helped(Helper("Away", other, 60.0)), DAY, TODAY, METRIC) == []
    assert shares(GARDEN, DAY, TODAY, METRIC) == []


def test_the_day_sheet_says_who_does_what():
    garden = helped(Helper("Ada", EVERY, 60.0), Helper("Bo", EVERY, 30.0))
    raw = pdf.document(garden, PLAN, ITEMS, METRIC, "a4", DAY, DAY)
    (page,) = PdfReader(io.BytesIO(raw)).pages
    text = " ".join(page.extract_text().split())
    assert "Due by person" in text
    for share in shares(garden, DAY, TODAY, METRIC):
        assert said(garden, share).split(":")[0] in text
    plain = pdf.document(GARDEN, PLAN, ITEMS, METRIC, "a4", DAY, DAY)
    assert "Due by person" not in PdfReader(io.BytesIO(plain)).pages[0].extract_text()
