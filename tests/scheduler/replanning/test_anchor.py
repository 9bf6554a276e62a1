"""Measured levels correct a batch's demand; what can be done when its tier runs dry too soon.

`verify_case`: 12 L filled, four plants drink 0.4 L a day, so that 4 L are expected to be gone ten
days after transplanting; floor 1.2 L; a head is ready 20 days after transplanting; 2.5 cm a litre.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import verify_case as case
from hypothesis import given, settings
from hypothesis import strategies as st

from crops.development import mass_share
from scheduler.log.state import Followed
from scheduler.log.tracks import Fewer, Reading, Water
from scheduler.plans.model import GROWING
from scheduler.replanning.measured import (
    LEAST_FACTOR,
    MOST_FACTOR,
    anchor,
    falling_levels,
    fitted_factor,
    thirst_of_fewer,
)
from scheduler.replanning.outlook import EARLY, GIVE_UP, RIPE, TODAY, outlook

GARDEN = case.garden()
HEADS = replace(case.heads("b1", "A1", 10), state=GROWING)  # ready on day 30


def followed(*readings: tuple[int, float], batch=HEADS, done: int = 0) -> Followed:
    return Followed(
        batch, done, tuple(Reading(case.day(d), x, n) for n, (d, x) in enumerate(readings, 2))
    )


def test_one_reading_gives_its_own_ratio():
    # Day 20: 4 L expected to be gone, 5 L are: factor 1.25.
    got = anchor(GARDEN, followed((20, 7.0)))
    assert got.factor == 1.25
    assert (got.expected_l, got.measured_l) == (pytest.approx(8.0), 7.0)


def test_several_readings_are_combined_by_least_squares():
    # D = 2, 4, 6 L; y = 3, 5, 6.5 L: f = (2*3 + 4*5 + 6*6.5) / (4 + 16 + 36) = 65 / 56 = 1.1607.
    got = anchor(GARDEN, followed((15, 9.0), (20, 7.0), (25, 5.5)))
    assert got.factor == pytest.approx(65 / 56, abs=5e-5)
    assert len(got.used) == 3


def test_the_factor_is_that_of_a_general_least_squares_routine():
    rng = np.random.default_rng(3)
    expected, gone = rng.uniform(0.5, 10, 20), rng.uniform(0.5, 10, 20)
    solution = np.linalg.lstsq(expected[:, None], gone, rcond=None)[0][0]
    assert fitted_factor(expected, gone) == pytest.approx(solution, abs=5e-5)


def test_no_reading_keeps_the_factor_known_before():
    assert anchor(GARDEN, followed()).factor == 1.0
    assert anchor(GARDEN, followed(batch=replace(HEADS, demand_factor=1.2))).factor == 1.2


def test_readings_replace_the_factor_known_before():
    got = anchor(GARDEN, followed((20, 7.0), batch=replace(HEADS, demand_factor=2.0)))
    assert got.factor == 1.25


# Day 20, 4 L expected to be gone. A reading is off by 0.5 cm = 0.2 L at most. Three times 4 L is
# all 12 L: a level of 0 is just believed. A third of 4 L is 1.33 L: 10.8 L left (1.2 + 0.2 gone)
# is just believed, 11 L (1.0 + 0.2) not.
@pytest.mark.parametrize(
    ("litres", "believed"), [(0.0, True), (10.8, True), (11.0, False), (12.0, False)]
)
def test_readings_beyond_belief_are_told_and_not_used(litres, believed):
    got = anchor(GARDEN, followed((20, litres)))
    assert bool(got.used) == believed
    assert len(got.refused) == (not believed)
    if not believed:
        assert got.factor == 1.0
        assert "topped up" in got.refused[0][1]


# Day 12: 0.8 L expected, 2.55 L gone, 2.35 L if the ruler erred; day 20: 4 L expected, 1.2 L gone.
@pytest.mark.parametrize(("day", "litres", "factor"), [(12, 9.45, 3.0), (20, 10.8, 0.3334)])
def test_a_reading_just_believed_teaches_no_more_than_can_be(day, litres, factor):
    got = anchor(GARDEN, followed((day, litres)))
    assert got.used
    assert got.factor == factor
    assert LEAST_FACTOR <= got.factor <= MOST_FACTOR  # or the check refuses a plan of ours


def test_a_leak_is_asked_for():
    # Day 12: 0.8 L expected; 2.4 L is three times that; 2.7 L - 0.2 L is more.
    got = anchor(GARDEN, followed((12, 9.3)))
    assert "leak" in got.refused[0][1]


def test_a_level_never_rises():
    got = anchor(GARDEN, followed((15, 9.5), (18, 8.0), (19, 7.7), (20, 9.0), (22, 7.0)))
    assert [r.litres for r, _ in got.refused] == [9.0]
    assert "only falls" in got.refused[0][1]
    # 0.2 L above the reading before is still within what a ruler shows.
    assert not anchor(GARDEN, followed((18, 8.0), (20, 8.2))).refused


def test_the_reading_that_contradicts_most_others_goes():
    readings = [
        Reading(case.day(d), x, 0) for d, x in ((12, 11.0), (13, 6.0), (15, 9.8), (18, 9.0))
    ]
    vessel = GARDEN.vessels["box"]
    assert [r.litres for r in falling_levels(vessel, readings)] == [11.0, 9.8, 9.0]


def test_a_pick_before_the_reading_counts():
    # Two of four picked on day 30: 8 L gone by then, 0.2 L a day after; day 33: 8.6 L.
    batch = replace(case.batch("b1", "lettuce", "A1", 0, 10, [(30, 2), (33, 2)], 33), state=GROWING)
    got = anchor(GARDEN, followed((33, 12 - 8.6 * 1.1), batch=batch, done=1))
    assert got.factor == pytest.approx(1.1, abs=1e-4)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 2.5), st.lists(st.integers(12, 29), min_size=1, max_size=6, unique=True))
def test_a_batch_that_drinks_f_times_as_much_is_found_out(factor, days):
    readings = [(d, 12 - 0.4 * factor * (d - 10)) for d in sorted(days)]
    readings = [(d, x) for d, x in readings if x >= 0]
    got = anchor(GARDEN, followed(*readings))
    assert not got.refused
    assert got.factor == pytest.approx(factor if readings else 1.0, abs=1e-3)


def look(factor: float, on: int, batch=HEADS, done: int = 0, garden=GARDEN):
    found = followed(batch=batch, done=done)
    return outlook(garden, found, replace(batch, demand_factor=factor), case.day(on))


def test_as_expected_it_is_picked_when_ready():
    # Dry when 10.8 L are gone: 27 days after day 10. Two days of margin: good until day 35, and it
    # holds 5 days: day 35.
    got = look(1.0, 20)
    assert (got.first, got.last, got.dry) == (case.day(30), case.day(35), case.day(37))
    assert not got.urgent
    assert [c.what for c in got.choices] == [RIPE, TODAY]
    assert got.choices[0].grams == 400
    # Half grown on day 20.
    young = round(400 * float(mass_share(0.5)))
    assert (got.choices[1].grams, got.choices[1].why) == (young, "not ripe yet")


# At factor f the tier is dry 27 / f days after filling, rounded up. Ready on the 20th day; with two
# days of margin the 22nd is the last dry day that will do: 27 / 22 = 1.2273.
@pytest.mark.parametrize(("factor", "urgent"), [(1.227, False), (1.29, True)])
def test_just_in_time_and_just_too_late(factor, urgent):
    assert look(factor, 20).urgent == urgent


def test_dry_before_ready_leaves_three_choices_and_no_top_up():
    # Factor 1.8: dry 15 days after filling, on day 25; two days of margin: pick on day 23, when
    # 13 / 20 of the growth is done.
    got = look(1.8, 20)
    assert got.dry == case.day(25)
    early, today, give_up = got.choices
    assert (today.what, today.date, today.why) == (TODAY, case.day(20), "not ripe yet")
    assert (early.what, early.date) == (EARLY, case.day(23))
    assert early.grams == round(400 * float(mass_share(13 / 20)))
    assert (give_up.what, give_up.grams) == (GIVE_UP, 0)
    assert "dry in 5 days (2027-04-30), ready in 10 days (2027-05-05)" in got.text()


def test_the_margin_gives_way_when_there_is_no_time_for_it():
    assert look(1.8, 24).choices[0].date == case.day(24)


# Dry on day 25: plants without solution can be eaten for two days more.
@pytest.mark.parametrize(("on", "edible"), [(27, True), (28, False)])
def test_dry_plants_can_be_picked_for_two_days(on, edible):
    assert [c.what for c in look(1.8, on).choices] == [TODAY, GIVE_UP][not edible :]


def test_away_until_it_is_dry_leaves_giving_up():
    season = GARDEN.season
    away = replace(season, away=(case.Span(case.day(20), case.day(26)),))
    got = look(1.8, 20, garden=replace(GARDEN, season=away))
    assert [c.what for c in got.choices] == [GIVE_UP]


# Ready on day 30, holds 5 days: to day 35; a week more it can still be eaten.
@pytest.mark.parametrize(
    ("on", "why"),
    [
        (36, "past its best for 1 day"),
        (38, "past its best for 3 days"),
        (42, "past its best for 7 days"),
        (43, None),
    ],
)
def test_past_its_hold_it_can_be_picked_on_the_day(on, why):
    got = look(0.5, on)
    assert got.last == case.day(35)
    if why is None:
        assert [c.what for c in got.choices] == [GIVE_UP]
        return
    today, give_up = got.choices
    assert (today.what, today.date, today.grams) == (TODAY, case.day(on), 400)
    assert (today.why, give_up.what) == (why, GIVE_UP)
    assert today.text("metric") == f"pick today, about 400 g ({why})"


# It stands three bolting days from day 21 on: bolted on the morning of day 25.
@pytest.mark.parametrize(("on", "edible"), [(25, True), (32, True), (33, False)])
def test_a_bolted_batch_can_be_picked_for_a_week(on, edible):
    crop = replace(case.LETTUCE, bolt_daylength=14.5, bolt_days=3.0)
    weather = GARDEN.site.weather.copy()
    weather.iloc[21:, weather.columns.get_loc("daylength")] = 15.0
    garden = replace(
        GARDEN, site=replace(GARDEN.site, weather=weather), crops={**GARDEN.crops, "lettuce": crop}
    )
    got = look(1.0, on, garden=garden)
    assert [c.what for c in got.choices] == [TODAY, GIVE_UP][not edible :]
    if edible:
        assert "bolting since 2027-04-30, taste it first" in got.choices[0].why


def test_heads_left_after_a_first_pick():
    batch = replace(case.batch("b1", "lettuce", "A1", 0, 10, [(30, 2), (33, 2)], 33), state=GROWING)
    got = look(1.0, 31, batch=batch, done=1)
    assert (got.days[0], got.choices[0].grams) == (case.day(31), 200)


def test_the_second_cut_waits_for_its_interval():
    batch = replace(case.batch("b1", "chard", "A1", 0, 10, [(30, 4), (37, 4)], 38), state=GROWING)
    got = look(1.0, 31, batch=batch, done=1)
    assert got.first == case.day(37)
    # 150 g * 4 plants * 0.4 = 240 g
    assert got.choices[0].grams == 240


def test_a_batch_that_bolts_first_is_picked_early():
    # Bolting days from day 21 of the season on; it stands 3 of them: bolted on the morning of 25.
    crop = replace(case.LETTUCE, bolt_daylength=14.5, bolt_days=3.0)
    weather = GARDEN.site.weather.copy()
    weather.iloc[21:, weather.columns.get_loc("daylength")] = 15.0
    garden = replace(
        GARDEN, site=replace(GARDEN.site, weather=weather), crops={**GARDEN.crops, "lettuce": crop}
    )
    got = look(1.0, 20, garden=garden)
    assert got.bolts == case.day(25)
    assert (got.choices[0].what, got.choices[0].date) == (EARLY, case.day(24))


def test_an_overdue_pick_does_not_stop_the_drinking():
    # Two of four were picked on day 30, the other two were due on day 33 and still stand on day
    # 36: 8 L are gone by day 30, then 0.2 L a day: 9.2 L by day 36.
    batch = replace(case.batch("b1", "lettuce", "A1", 0, 10, [(30, 2), (33, 2)], 33), state=GROWING)
    got = anchor(GARDEN, followed((36, 12 - 9.2 * 1.1), batch=batch, done=1))
    assert not got.refused
    assert got.factor == pytest.approx(1.1, abs=1e-4)


# What else came to the tier


def test_water_that_came_in_is_no_water_saved():
    """Day 20: 4 L expected to be gone; 7 L are left after 1 L was topped up: 6 L gone, 1.5."""
    topped = Water(case.day(15), 1.0, 0.0, 1)
    f = replace(followed((20, 7.0)), water=(topped,))
    assert anchor(GARDEN, f).factor == 1.5
    late = replace(topped, date=case.day(20), line=9)  # on a later line of the same day
    assert anchor(GARDEN, replace(f, water=(late,))).factor == 1.25


def test_a_plan_that_knows_only_the_plants_left_still_has_the_water_gone():
    """4 plants to day 15, then 2: 2 L + 5 x 0.2 L = 3 L gone by day 20, as expected.

    Two plants alone would have drunk 2 L by then: with the factor 1.5 the plan has 3 L gone.
    """
    two = replace(HEADS, plants=2, picks=(replace(HEADS.picks[0], plants=2, grams=200),))
    lost = (Fewer(case.day(15), 2, False),)
    got = anchor(GARDEN, replace(followed((20, 9.0), batch=two), fewer=lost))
    assert got.factor == 1.5
    assert got.expected_l == pytest.approx(9.0)
    assert thirst_of_fewer(GARDEN, replace(followed(batch=two), fewer=lost), case.day(20)) == 1.5
    settled = (replace(lost[0], settled=True),)
    assert thirst_of_fewer(GARDEN, replace(followed(batch=two), fewer=settled), case.day(20)) == 1.0
