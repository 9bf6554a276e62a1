"""What is met, what spoils, what stays unmet: counted by hand."""

from __future__ import annotations

from dataclasses import replace

from verify_case import LETTUCE, batch, day, garden, heads, plan

from scheduler.garden.model import Demand
from scheduler.verify import verify


def test_what_spoils_first_is_served_first() -> None:
    # Day 30 (week 18 and 19) and day 28 of chard in the same group with 5 days: week 18 alone.
    # Week 18 wishes 300: 300 of the chard's 360; the lettuce keeps 300 for week 19, 100 over.
    g = garden(demands=(Demand("leaves", ("lettuce", "chard"), 300.0, day(28), day(41)),))
    both = plan(heads("x", "A1", 10), batch("y", "chard", "B1", 1, 11, [(31, 4)], 31))
    verdict = verify(g, both)
    assert verdict.values["produce"] == 600
    assert verdict.values["evenness"] == 160  # 60 chard, 100 lettuce
    assert not verdict.unmet


def met(pick: int, first: int, last: int, storage: float = 7.0) -> float:
    """Grams met of a wish of 300 g a week from day ``first`` to ``last`` by 400 g on a day."""
    wish = (Demand("lettuce", ("lettuce",), 300.0, day(first), day(last)),)
    g = garden(demands=wish, crops={"lettuce": replace(LETTUCE, storage_life=storage)})
    return verify(g, plan(heads("x", "A1", pick - 20))).values["produce"]


def test_weeks_and_wishes_at_their_edges() -> None:
    # Week 18 is days 28 to 34, week 19 days 35 to 41 with its Wednesday on day 37.
    assert met(30, 35, 41, storage=7.0) == 300  # keeps just to that Wednesday
    assert met(30, 35, 41, storage=6.9) == 0
    assert met(35, 28, 34) == 0  # a Monday's pick is of its own week
    assert met(34, 28, 34, storage=0.0) == 300
    # A wish of three days, both ends counted: 300 * 3/7 = 128.6.
    assert met(30, 30, 32) == 129
    # A week cut by the season: begun on Thursday, day 31, four of week 18's days are left.
    late = replace(garden().season, start=day(31), end=day(86))
    wish = (Demand("lettuce", ("lettuce",), 300.0, day(0), day(90)),)
    verdict = verify(garden(season=late, demands=wish), plan(start=day(31), end=day(86)))
    # Ends on Wednesday, day 86, of week 26: three days.
    assert [u.grams for u in verdict.unmet] == [171, *[300] * 7, 129]
    assert (verdict.unmet[0].week, verdict.unmet[-1].week) == ("2027-W18", "2027-W26")


def test_half_a_wish_short_counts_as_uneven() -> None:
    # 400 g on day 30 for two weeks of 300 g. In turn week 18 would take 300 and leave 100, 50 under
    # half of 300; as many grams are met with 250 and 150, and no week falls below its half.
    g = garden(demands=(Demand("lettuce", ("lettuce",), 300.0, day(28), day(41)),))
    verdict = verify(g, plan(heads("x", "A1", 10)))
    assert verdict.values["evenness"] == 0
    assert [(u.week, u.grams) for u in verdict.unmet] == [("2027-W18", 50), ("2027-W19", 150)]
    # Halves of 401 are 200: just enough. Of 403 they are 201: 2 g short in all.
    for wish, short in ((401.0, 0), (403.0, 2)):
        g = garden(demands=(Demand("lettuce", ("lettuce",), wish, day(28), day(41)),))
        assert verify(g, plan(heads("x", "A1", 10))).values["evenness"] == short


def test_a_half_is_not_bought_with_grams() -> None:
    """Chard for week 18 alone, lettuce for 18 and 19: what spoils is never kept for a half."""
    # 360 g for week 18 and 400 g on day 30: halves are 300; 18 takes the chard and 240, 19 160.
    # 160 is 140 under its half; with 300 there only 60 + 360 could be met in 18: as many, 720.
    g = garden(demands=(Demand("leaves", ("lettuce", "chard"), 600.0, day(28), day(41)),))
    both = plan(heads("x", "A1", 10), batch("y", "chard", "B1", 1, 11, [(31, 4)], 31))
    verdict = verify(g, both)
    assert (verdict.values["produce"], verdict.values["evenness"]) == (760, 0)
    # 18 has 460 and 19 its half of 300: week 18 gets what is left.
    assert [u.grams for u in verdict.unmet] == [140, 300]


def test_a_crop_that_counts_for_no_wish_is_all_waste() -> None:
    g = garden(demands=())
    verdict = verify(g, plan(heads("x", "A1", 10)))
    assert (verdict.values["produce"], verdict.values["evenness"]) == (0, 400)
