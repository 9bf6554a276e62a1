"""After poor emergence: by when to sow again, what it costs (`verify_case`).

A seedling is fit 10 days after it was sown, and can wait 3; b4 is sown on day 24 for four plants of
100 g in A 3 on day 34.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
import verify_case as case
from lived_case import mean_years

from scheduler.log.model import HEADER, read_log
from scheduler.watch import forecast
from scheduler.watch.day import day as day_of
from scheduler.watch.emergence import emergences, said_of_seedlings
from scheduler.watch.made import foretold, leads_of
from scheduler.words.language import use_language
from scheduler.words.units import Units

GARDEN, PLAN = case.garden(), case.changed(case.good_plan(), "b4", sow=case.day(21))
TABLE = replace(foretold(GARDEN, PLAN, mean_years(GARDEN, 3)), leads=leads_of(GARDEN, PLAN))


def told(came_up: int, on: int, table=TABLE):
    line = f"{case.day(on)},emerged,,,lettuce,{came_up} of 4,,"
    log = read_log(f"{HEADER}\n{line}\n".encode(), "log.csv", GARDEN)
    (found,) = emergences(GARDEN, PLAN, log, table, case.day(on))
    return found


def test_the_table_tells_by_when_a_batch_must_be_sown():
    assert set(TABLE.leads.values()) == {10}
    raw = forecast.written(TABLE, PLAN)
    assert forecast.parsed(raw, PLAN).leads == TABLE.leads


@pytest.mark.parametrize(("on", "late"), [(24, None), (25, 1), (28, 4)])
def test_the_last_day_to_sow_again_holds_the_day_of_transplanting(on, late):
    e = told(3, on)
    assert (e.again_by, e.transplant, e.late) == (case.day(24), case.day(34), late)
    assert e.grams == 100


def test_enough_is_as_many_as_the_tier_takes():
    assert told(4, 25).enough
    assert not told(3, 25).enough


def test_what_is_said():
    units = Units("metric")

    def said(e):
        return said_of_seedlings(GARDEN, e, units)

    assert said(told(4, 25)) == "lettuce for A 3: 4 came up, 4 are wanted."
    assert said(told(1, 24)) == (
        "lettuce for A 3: 1 came up, 4 are wanted; without the others about 300 g less. Sow again by "
        "29 April, so that they are fit on 9 May, their day."
    )
    assert said(told(3, 27)).endswith(
        "Sown again today they are fit 3 days after 9 May, their day."
    )
    assert said(told(3, 28)).endswith("Those that came up cannot wait so long.")
    assert said(told(3, 28, replace(TABLE, leads={}))).endswith("about 100 g less.")
    use_language("de")
    assert said(told(3, 27)).endswith("3 Tage nach ihrem Tag, dem 9. Mai, pflanzfertig.")
    use_language(None)


def test_today_tells_of_it_until_they_are_transplanted():
    line = f"{case.day(25)},emerged,,,lettuce,3 of 4,,"
    log = read_log(f"{HEADER}\n{line}\n".encode(), "log.csv", GARDEN)
    for on, told_of in ((25, 1), (34, 1), (36, 0)):
        got = day_of(GARDEN, PLAN, log, TABLE, (), case.day(on))
        assert len(got.seedlings) == told_of
