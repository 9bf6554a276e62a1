"""Which tiers stand empty for weeks, and the surest reason that plan and garden tell."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
import verify_case as case

from scheduler.garden.model import Column, Demand, Season, Span, Tier
from scheduler.outputs import text
from scheduler.outputs.empty import (
    AWAY,
    EARLY,
    LEAST_DAYS,
    NONE,
    RESTS,
    SHORT,
    empty_text,
    empty_tiers,
    quickest,
)
from scheduler.outputs.work import work_items
from scheduler.words.words import Units

LAST = 99


def garden(available=(), wish: int = 0, **changes):
    """One tier, a season of 100 days; lettuce is ripe 20 days after it is planted."""
    return case.garden(
        season=Season(case.day(0), case.day(LAST)),
        columns=(Column("A", (Tier(1, "box", 1.0, 4, available),)),),
        demands=(Demand("lettuce", ("lettuce",), 300.0, case.day(wish), case.day(LAST)),),
        **changes,
    )


def plan(*batches):
    return case.plan(*batches, end=case.day(LAST))


def days(found):
    return [((e.first - case.day(0)).days, (e.last - case.day(0)).days, e.why) for e in found]


def stand(first: int, last: int, **changes):
    made = case.heads(f"b{first}", "A1", first)
    return replace(made, clear=case.day(last), **changes)


@pytest.mark.parametrize(("gap", "told"), [(LEAST_DAYS - 1, False), (LEAST_DAYS, True)])
def test_a_gap_of_three_weeks_is_told(gap, told):
    """Cleared on day 40, empty from 41 on; planted again so many days later."""
    again = 41 + gap
    found = days(empty_tiers(garden(), plan(stand(0, 40), stand(again, LAST))))
    assert found == ([(41, again - 1, NONE)] if told else [])


def test_the_surest_reason_is_told():
    whole = plan(stand(0, 40), stand(80, LAST))
    gone = (Span(case.day(0), case.day(40)), Span(case.day(80), case.day(LAST)))
    assert days(empty_tiers(garden(gone), whole)) == [(41, 79, AWAY)]
    part = (Span(case.day(0), case.day(60)), Span(case.day(80), case.day(LAST)))
    assert days(empty_tiers(garden(part), whole)) == [(41, 79, NONE)]
    for until, why in ((79, RESTS), (78, NONE)):
        ill = plan(stand(0, 40, rest_until=case.day(until)), stand(80, LAST))
        assert days(empty_tiers(garden(), ill)) == [(41, 79, why)]
    late = plan(stand(30, LAST))
    assert days(empty_tiers(garden(wish=30), late)) == [(0, 29, EARLY)]
    assert days(empty_tiers(garden(wish=29), late)) == [(0, 29, NONE)]


@pytest.mark.parametrize(("needs", "why"), [(29, NONE), (30, SHORT)])
def test_a_gap_that_no_crop_fits_into_is_too_short(needs, why):
    """From day 0 to day 29; planted on day 0 a crop of 30 days is ripe on day 30."""
    slow = {"lettuce": replace(case.LETTUCE, days_to_harvest=float(needs))}
    g = garden(crops=slow)
    assert quickest(g) == needs
    assert days(empty_tiers(g, plan(stand(30, LAST)))) == [(0, 29, why)]


def test_all_in_one_paragraph_of_the_whole_season_alone():
    g, made = garden(wish=30), plan(stand(30, 60))
    assert empty_text(g, made) == (
        "Empty for weeks: A 1 until 4 May (before the first wish, from 5 May); A 1 5 June to "
        "13 July (nothing was found that brings more; dryline windows says what could grow)."
    )
    units, items = Units("metric"), work_items(g, made)
    assert "Empty for weeks" in text.calendar(g, made, items, units)
    some = text.calendar(g, made, items, units, made.start + timedelta(1), made.end)
    assert "Empty for weeks" not in some
    assert empty_text(g, plan(stand(0, LAST))) == ""
    assert case.day(0) == date(2027, 4, 5)


@pytest.mark.parametrize(("count", "told"), [(3, False), (4, True)])
def test_tiers_first_filled_on_many_days_are_counted(count, told):
    """Before the first wish, each from another day on: up to three days they are named."""
    names = "ABCD"[:count]
    tier = garden().columns[0].tiers[0]
    g = replace(
        garden(wish=60),
        columns=tuple(Column(n, (replace(tier, number=1),)) for n in names),
    )
    made = plan(*(replace(stand(30 + k, LAST), id=f"b{n}", column=n) for k, n in enumerate(names)))
    said = empty_text(g, made)
    assert (f"{count} tiers until they are first filled" in said) is told
    assert ("A 1 until" in said) is not told
