"""What else a log may tell: water, shade, plants lost, seedlings that came up, pests, notes.

`verify_case`: vessels 20 x 20 cm, so that 1 mm of rain is 0.04 L; 4 plants in a tier; b1 lettuce
A3 from day 10, picks 30 (2) and 33 (2); b2 chard A1 from day 11; b3 lettuce B1 day 20 to 40; b4
lettuce sown on day 24 for A3 on day 34, 4 cells.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest
import rebalance_case
import verify_case as case

from crops.vessel import Vessel
from scheduler.base.faults import BadInput
from scheduler.log.model import HEADER, read_log
from scheduler.log.state import PEST_REST_DAYS, over_on, seedlings_on, state_on
from scheduler.log.tracks import Water
from scheduler.replanning.take_stock import commitments_of
from scheduler.verify import verify

GARDEN, PLAN = case.garden(), case.good_plan()


def row(day: int, what: str, place: str = "", amount: str = "", crop: str = "", note: str = ""):
    column, tier = (place[:1], place[1:]) if place else ("", "")
    return f"{case.day(day)},{what},{column},{tier},{crop},{amount},,{note}"


def log(*lines: str):
    return read_log("\n".join([HEADER, *lines]).encode(), "log.csv", GARDEN)


def state(on: int, *lines: str):
    return state_on(GARDEN, PLAN, log(*lines), case.day(on))


def one(name: str, on: int, *lines: str):
    return next(f for f in state(on, *lines).batches if f.batch.id == name)


def bad(on: int, *lines: str):
    try:
        state(on, *lines)
    except BadInput as error:
        return [(f.line, f.path, f.expected) for f in error.faults]
    return []


# What can be read


@pytest.mark.parametrize(
    ("line", "amount", "unit", "of"),
    [
        (row(5, "rain", "", "12 mm"), 12, "mm", 0),
        (row(5, "rain", "", "1/2 in"), 12.7, "mm", 0),  # 25.4 mm an inch
        (row(5, "rain", "A", "12"), 12, "mm", 0),
        (row(5, "rain", "A1", "0.5 L"), 0.5, "L", 0),
        (row(5, "topped", "A1", "1"), 1, "L", 0),
        (row(5, "topped", "A1", "1 gal"), 3.785411784, "L", 0),
        (row(5, "width", "A1", "18"), 18, "cm", 0),
        (row(5, "emerged", "", "9 of 12", "lettuce"), 9, "cells", 12),
        (row(5, "emerged", "", "9/12", "lettuce"), 9, "cells", 12),
        (row(5, "emerged", "A1", "0 of 7"), 0, "cells", 7),
        (row(5, "lost", "A1", "2 of 4 plants"), 2, "plants", 4),
        (row(5, "thinned", "A1", "1"), 1, "plants", 0),
        (row(5, "ripe", "A1"), None, "", 0),
        (row(5, "shaded", "A"), None, "", 0),
        (row(5, "covered"), None, "", 0),
        (row(5, "shaded"), None, "", 0),
        (row(5, "note", note="frost in the lane"), None, "", 0),
    ],
)
def test_what_is_read(line, amount, unit, of):
    found = log(line)
    assert not found.faults
    (e,) = found.entries
    assert e.amount == (amount if amount is None else pytest.approx(amount))
    assert (e.unit, e.of) == (unit, of)


@pytest.mark.parametrize(
    ("line", "path"),
    [
        (row(5, "rain", "A", "501 mm"), "amount"),  # 500 are read
        (row(5, "rain"), "amount"),
        (row(5, "rain", "A", "0.5 L"), "tier"),  # into which?
        (row(5, "topped", "A", "1 L"), "tier"),
        (row(5, "topped", "A1", "3 cm"), "amount"),
        (row(5, "emerged", "", "13 of 12", "lettuce"), "amount"),
        (row(5, "emerged", "", "", "lettuce"), "amount"),
        (row(5, "lost", "A1", "0 of 4"), "amount"),
        (row(5, "lost", "A", "1 of 4"), "tier"),
        (row(5, "ripe", "A1", "3"), "amount"),
        (row(5, "pest", "A1"), "note"),
        (row(5, "note"), "note"),
        (row(5, "ripe"), "column"),
    ],
)
def test_what_is_no_entry(line, path):
    found = log(line)
    assert [f.path for f in found.faults] == [path]
    assert not found.entries


def test_two_notes_of_one_day_are_two_and_one_said_twice_is_a_fault():
    assert not log(row(5, "note", note="a"), row(5, "note", note="b")).faults
    assert len(log(row(5, "note", note="a"), row(5, "note", note="a")).faults) == 1


# Water


def test_half_the_rain_gets_into_the_top_tier_give_or_take():
    """12 mm on 400 cm2 are 0.48 L: 0.24 on average, 0.48 / sqrt(12) = 0.1386 of spread."""
    got = state(25, row(22, "rain", "", "12 mm")).batches
    water = {f.batch.id: f.water for f in got if f.water}
    assert set(water) == {"b2", "b3"}  # A 1 and B 1, not A 3 below
    (w,) = water["b3"]
    assert (w.litres, w.spread) == (pytest.approx(0.24), pytest.approx(0.48 / 12**0.5))


def test_rain_in_litres_is_taken_as_told_and_in_any_tier():
    assert one("b1", 25, row(22, "rain", "A3", "0.5 L")).water == (Water(case.day(22), 0.5, 0, 2),)
    assert one("b1", 25, row(22, "rain", "A3", "10 mm")).water[0].litres == pytest.approx(0.2)


@pytest.mark.parametrize("cover", ["", "A"])
def test_what_is_covered_keeps_rain_out_until_it_is_uncovered(cover):
    lines = [row(21, "covered", cover), row(22, "rain", "", "12 mm")]
    assert not one("b2", 25, *lines).water
    lines += [row(23, "uncovered", cover), row(24, "rain", "", "12 mm")]
    assert [w.date for w in one("b2", 25, *lines).water] == [case.day(24)]


def test_no_more_is_topped_up_than_the_vessel_holds():
    """20 x 20 x 40 cm are 16 L."""
    assert one("b2", 25, row(22, "topped", "A1", "16 L")).water[0].litres == 16
    ((line, path, expected),) = bad(25, row(22, "topped", "A1", "16.1 L"))
    assert (line, path) == (2, "amount")
    assert "16.0 L" in expected


def test_nothing_is_topped_up_in_an_empty_tier():
    cleared, topped = row(22, "cleared", "A1"), row(23, "topped", "A1", "1 L")
    assert [(line, path) for line, path, _ in bad(25, cleared, topped)] == [(3, "tier")]
    assert bad(25, topped) == []


@pytest.mark.parametrize(
    ("vessel", "area"),
    [
        (Vessel("r", "rectangular", (20, 30), 20, 5), 600),
        (Vessel("c", "round", (20, 30), 20, 5), pi * 225),
        (Vessel("t", "table", (0, 10, 20), 20, 5, table_l=(0, 3, 8)), 500),  # 5 L in 10 cm
    ],
)
def test_rain_falls_on_the_mouth(vessel, area):
    assert vessel.mouth_cm2 == pytest.approx(area)


# Plants


def test_lost_plants_are_no_longer_picked_and_shrink_the_last_pick():
    """b1 has 4: after 1 is lost 2 are picked on day 30, and 1 on day 33."""
    f = one("b1", 25, row(22, "lost", "A3", "1 of 4"))
    assert (f.batch.plants, f.standing) == (3, 3)
    assert [(p.plants, p.grams) for p in f.batch.picks] == [(2, 200), (1, 100)]
    assert [(x.date, x.plants) for x in f.fewer] == [(case.day(22), 1)]


def test_a_crop_cut_again_gives_its_share():
    f = one("b2", 25, row(22, "thinned", "A1", "1"))
    assert [(p.plants, p.grams) for p in f.batch.picks] == [(3, 270), (3, 180)]


@pytest.mark.parametrize(
    ("amount", "right"), [("3 of 4", True), ("4 of 4", False), ("3 of 5", False), ("3", True)]
)
def test_no_more_are_lost_than_stand(amount, right):
    line = row(22, "lost", "A3", amount)
    if right:
        assert one("b1", 25, line).batch.plants == 1
        return
    ((_, path, expected),) = bad(25, line)
    assert path == "amount"
    assert "4 plants of b1" in expected
    assert "failed" in expected


def test_no_more_are_picked_than_are_left():
    lost = row(22, "lost", "A3", "2 of 4")
    assert one("b1", 31, lost, row(30, "picked", "A3", "2")).standing == 0
    ((_, path, _),) = bad(31, lost, row(30, "picked", "A3", "3"))
    assert path == "amount"


@pytest.mark.parametrize("as_of", [22, 23, 30])
def test_what_a_replan_has_counted_is_not_counted_twice(as_of):
    """The plan made since knows 3 plants; the log still tells of the one that was lost."""
    plan = case.changed(PLAN, "b1", plants=3, state="growing")
    plan = replace(plan, as_of=case.day(as_of))
    lines = log(row(22, "lost", "A3", "1 of 4"))
    f = next(
        f for f in state_on(GARDEN, plan, lines, case.day(as_of)).batches if f.batch.id == "b1"
    )
    assert f.batch.plants == 3
    assert [x.settled for x in f.fewer] == [True]


# Seedlings


def test_seedlings_that_came_up():
    lines = log(row(28, "emerged", "", "3 of 4", "lettuce"))
    ((batch, n),) = seedlings_on(GARDEN, PLAN, lines, case.day(29))
    assert (batch.id, n) == ("b4", 3)
    assert not seedlings_on(GARDEN, PLAN, lines, case.day(35))  # transplanted by then
    later = log(row(28, "emerged", "", "3 of 4", "lettuce"), row(30, "lost", "", "1", "lettuce"))
    assert seedlings_on(GARDEN, PLAN, later, case.day(31))[0][1] == 2


@pytest.mark.parametrize("what", ["emerged", "lost", "thinned"])
def test_where_nothing_is_sown_nothing_comes_up(what):
    assert bad(25, row(8, what, "", "1", "chard")) == []  # b2 is in the nursery
    assert [p for _, p, _ in bad(25, row(22, what, "", "1", "chard"))] == ["crop"]


# Pests


@pytest.mark.parametrize(("day", "waits"), [(34 - PEST_REST_DAYS - 1, False), (6, True)])
def test_after_a_pest_the_family_waits_as_long_as_is_said(day, waits):
    """b005 is to be planted in B 1 on day 34, whose rest ends with day 33, or with day 34."""
    assert day + PEST_REST_DAYS == (34 if waits else 33)
    line = rebalance_case.row(day, "pest", "B1", crop="lettuce", note="aphids")
    garden, plan = rebalance_case.garden(), rebalance_case.plan()
    known = state_on(garden, plan, rebalance_case.log(line), case.day(12))
    got = commitments_of(garden, plan, known)
    assert [b.id for b in got.gone] == (["b005"] if waits else [])
    assert ("rest in B 1 until" in got.reasons.get("b005", "")) is waits
    rests = [
        r
        for c in got.garden.columns
        for t in c.tiers
        if (c.name, t.number) == ("B", 1)
        for r in t.rests
    ]
    assert [(r.family, r.until) for r in rests] == [("Asteraceae", case.day(day + PEST_REST_DAYS))]


def test_a_pest_in_an_empty_tier_needs_the_crop():
    assert [p for _, p, _ in bad(9, row(5, "pest", "A1", note="slugs"))] == ["crop"]
    assert state(9, row(5, "pest", "A1", crop="chard", note="slugs")).pests[0][1] == "Amaranthaceae"


def test_a_failed_tier_is_over():
    assert "b3" in over_on(GARDEN, PLAN, log(row(25, "failed", "B1")), case.day(26))
    assert "b3" not in over_on(GARDEN, PLAN, log(row(25, "note", "B1", note="wilts")), case.day(26))


# In a re-plan


def test_a_replan_picks_the_plants_that_are_left_and_counts_them_once():
    """b001 stands in B 1 from day 10 and is picked on day 30; 4 plants less 1 give 300 g.

    Not measured, it is taken to have drunk by day 20 what it did with 4 to day 16 and 3 since:
    (6 x 4 + 4 x 3) / (10 x 3) = 1.2 times what three drink.
    """
    lines = [rebalance_case.row(16, "lost", "B1", "1 of 4")]
    first = rebalance_case.go(20, *lines).plan
    one = next(b for b in first.batches if b.id == "b001")
    assert (one.plants, [(p.plants, p.grams) for p in one.picks]) == (3, [(3, 300)])
    assert one.demand_factor == 1.2
    again = rebalance_case.go(22, *lines, of=first).plan
    same = next(b for b in again.batches if b.id == "b001")
    assert (same.plants, same.demand_factor, same.picks) == (3, 1.2, one.picks)
    garden = rebalance_case.garden()
    for made in (first, again):
        assert not verify(garden, made).broken


@pytest.mark.parametrize(("came_up", "free"), [(4, True), (3, False)])
def test_seedlings_in_hand_go_only_where_as_many_came_up_as_there_are_holes(came_up, free):
    """b003 is sown on day 10 for A 2; every tier has four holes. It may stay where it was planned:
    how many are planted there the log tells then."""
    line = rebalance_case.row(13, "emerged", "A2", f"{came_up} of 4", "lettuce")
    garden, plan = rebalance_case.garden(), rebalance_case.plan()
    known = state_on(garden, plan, rebalance_case.log(line), case.day(18))
    (item,) = (i for i in commitments_of(garden, plan, known).items if i.batch.id == "b003")
    assert item.as_known == 0
    assert (len(item.options) > 1) is free


def test_a_replan_says_what_it_made_of_what_was_told():
    lines = [
        rebalance_case.row(14, "topped", "B1", "0.5 L"),
        rebalance_case.row(15, "lost", "B1", "1 of 4"),
        rebalance_case.row(16, "emerged", "A2", "3 of 4", "lettuce"),
        rebalance_case.row(17, "pest", "B2", crop="chard", note="leaf miner"),
    ]
    said = "\n".join(rebalance_case.go(18, *lines).remarks)
    assert "b001 (lettuce) in B 1: 0.5 L came in; to be safe the plan reckons without it" in said
    assert "b001 (lettuce) in B 1: 1 plant lost, 3 left" in said
    assert "b003 (lettuce) in A 2: 3 came up, 4 are planned: sow again" in said
    assert f"B 2: no Amaranthaceae is planted there up to {case.day(17 + PEST_REST_DAYS)}" in said
