"""Measured levels correct a batch's demand; what can be done when its tier runs dry too soon.

`verify_case`: 12 L filled, four plants drink 0.4 L a day, so that 4 L are expected to be gone ten
days after transplanting; floor 1.2 L; a head is ready 20 days after transplanting; 2.5 cm a litre.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
import verify_case as case
from hypothesis import given, settings
from hypothesis import strategies as st
from levels_case import in_a_box

from crops.development import mass_share
from scheduler.log.amounts import SHADED
from scheduler.log.state import Followed
from scheduler.log.tracks import Change, Fewer, Reading, Water
from scheduler.plans.model import GROWING
from scheduler.replanning.measured import (
    LEAST_FACTOR,
    MOST_FACTOR,
    anchor,
    course_of,
    falling_levels,
    thirst_of_fewer,
)
from scheduler.replanning.outlook import EARLY, GIVE_UP, RIPE, TODAY, outlook

GARDEN = case.garden()
HEADS = replace(case.heads("b1", "A1", 10), state=GROWING)  # ready on day 30


def followed(*readings: tuple[int, float], batch=HEADS, done: int = 0) -> Followed:
    return Followed(
        batch, done, tuple(Reading(case.day(d), x, n) for n, (d, x) in enumerate(readings, 2))
    )


# One reading on day 20, 10 days after transplanting: 4 L expected to be gone, 5 L are. Progress is
# h / 20, so the slope's weight is 0.4 (0 + ... + 9) / 20 - 0.4 x 10 / 2 = -1.1 L. What is believed
# before: level 0.2^2 + 0.15^2 = 0.0625, slope 0.25^2 + 0.2^2 = 0.1025, together -0.7 x 0.15 x 0.2 =
# -0.021. The reading's variance: 16 x 0.0625 + 2 x 4 x 1.1 x 0.021 + 1.21 x 0.1025 = 1.308825, of
# weather 10 x (0.41 x 0.4)^2 = 0.26896, of a quarter inch of 0.4 L a cm 0.254^2 = 0.064516; in all
# 1.642301. Its litre more makes level 1 + (4 x 0.0625 + 1.1 x 0.021) / 1.642301 = 1.166291, slope
# (-4 x 0.021 - 1.1 x 0.1025) / 1.642301 = -0.119801, weather 0.26896 / 1.642301 = 0.163770 L. By
# day 22 after transplanting 8.8 x 1.166291 - 0.2 x 0.119801 + 0.163770 = 10.40 L are gone, of 10.8;
# by day 23 9.2 x 1.166291 - 0.4 x 0.119801 + 0.163770 = 10.845727: dry. 10.845727 / 9.2 = 1.17888.
def test_one_reading_is_drawn_to_what_is_usual():
    got = anchor(GARDEN, followed((20, 7.0)))
    assert got.factor == pytest.approx(1.17888, abs=1e-4)
    assert (got.expected_l, got.measured_l) == (pytest.approx(8.0), 7.0)
    plan = course_of(GARDEN, HEADS, got.factor)
    assert plan.dry_index == 10 + 23


def test_readings_as_expected_leave_the_factor_alone():
    got = anchor(GARDEN, followed((15, 10.0), (20, 8.0), (25, 6.0)))
    assert got.factor == 1.0
    assert len(got.used) == 3
    assert got.low < 1 < got.high


@pytest.mark.parametrize("gone", [(2, 4, 6), (3, 5, 6.5), (2.8, 5.6, 8.4), (1.6, 3.4, 5.9)])
def test_several_readings_say_what_a_regression_says(gone):
    """After 5, 10, 15 days; a tier that drinks less and less, and one more and more, among them."""
    got = anchor(GARDEN, followed(*((15 + 5 * k, 12 - y) for k, y in enumerate(gone))))
    dry, factor = in_a_box([(5 + 5 * k, y) for k, y in enumerate(gone)])
    if dry <= 25:  # by then past its hold
        assert course_of(GARDEN, HEADS, got.factor).dry_index == 10 + dry
        assert got.factor == pytest.approx(factor, abs=1e-4)
    else:
        assert got.factor < 10.8 / 10


def test_no_reading_keeps_the_factor_known_before():
    assert anchor(GARDEN, followed()).factor == 1.0
    assert anchor(GARDEN, followed(batch=replace(HEADS, demand_factor=1.2))).factor == 1.2


def test_readings_replace_the_factor_known_before():
    got = anchor(GARDEN, followed((20, 7.0), batch=replace(HEADS, demand_factor=2.0)))
    assert got.factor == anchor(GARDEN, followed((20, 7.0))).factor


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


# Day 20: 4 L expected, 12 L gone, or 1.2 L; days 15, 18, 25: 2, 3.2, 6 L expected, a third of it
# gone, less what the ruler may err.
@pytest.mark.parametrize(
    ("readings", "end"),
    [([(20, 0.0)], "high"), ([(20, 10.8)], "low"), ([(15, 11.5), (18, 11.1), (25, 10.2)], "low")],
)
def test_a_reading_just_believed_teaches_no_more_than_can_be(readings, end):
    got = anchor(GARDEN, followed(*readings))
    assert len(got.used) == len(readings)
    assert LEAST_FACTOR <= got.low < got.factor < got.high <= MOST_FACTOR  # as the check asks
    assert getattr(got, end) == {"high": MOST_FACTOR, "low": 0.3334}[end]


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


# Two of four picked on day 30: 8 L gone by then, 0.2 L a day after; day 33: 8.6 L. The other two
# were due on day 33: where they still stand on day 36, 9.2 L are gone.
@pytest.mark.parametrize(("day", "gone"), [(33, 8.6), (36, 9.2)])
def test_picks_made_count_and_those_overdue_do_not(day, gone):
    batch = replace(case.batch("b1", "lettuce", "A1", 0, 10, [(30, 2), (33, 2)], 33), state=GROWING)
    as_expected = anchor(GARDEN, followed((day, 12 - gone), batch=batch, done=1))
    assert not as_expected.refused
    assert as_expected.factor == pytest.approx(1.0, abs=1e-4)
    more = anchor(GARDEN, followed((day, 12 - 1.1 * gone), batch=batch, done=1))
    assert 1.0 < more.factor < 1.1


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 2.5), st.lists(st.integers(12, 29), min_size=1, max_size=6, unique=True))
def test_a_batch_that_drinks_f_times_as_much_is_found_out(factor, days):
    """Never past the truth, and never on its other side."""
    readings = [(d, 12 - 0.4 * factor * (d - 10)) for d in sorted(days)]
    readings = [(d, x) for d, x in readings if x >= 0]
    got = anchor(GARDEN, followed(*readings))
    assert not got.refused
    low, high = sorted((1.0, factor))
    assert low - 1e-3 <= got.factor <= high + 1e-3
    if readings and 0.4 * abs(factor - 1) * (readings[-1][0] - 10) > 0.05:
        assert got.factor != 1.0


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


# What else came to the tier


def test_water_that_came_in_is_no_water_saved():
    """Day 20: 7 L are left after 1 L was topped up: 6 L are gone, as with 6 L left."""
    topped = Water(case.day(15), 1.0, 0.0, 1)
    f = replace(followed((20, 7.0)), water=(topped,))
    six, seven = (anchor(GARDEN, followed((20, x))).factor for x in (6.0, 7.0))
    assert anchor(GARDEN, f).factor == pytest.approx(six, abs=1e-4)
    late = replace(topped, date=case.day(20), line=9)  # on a later line of the same day
    assert anchor(GARDEN, replace(f, water=(late,))).factor == pytest.approx(seven, abs=1e-4)
    assert seven < six


def test_water_of_which_little_is_known_teaches_less():
    """Day 20: 6 L gone of 4 L expected, if it rained in 1 L, give or take nothing or half a litre."""
    sure, rain = (Water(case.day(15), 1.0, sd, 1) for sd in (0.0, 0.5))
    known, vague = (
        anchor(GARDEN, replace(followed((20, 7.0)), water=(w,))).factor for w in (sure, rain)
    )
    assert 1.0 < vague < known


def test_a_tier_in_shade_is_expected_to_drink_three_quarters():
    """In shade from day 15 on: 2 L, then 0.3 L a day, 3.5 L by day 20. To drink so is as expected,
    and by the day that matters the plan, which knows no shade, has drunk as much: 25 days after
    transplanting 2 + 20 x 0.3 = 8 L of 10."""
    f = replace(followed((20, 12 - 3.5)), changes=(Change(case.day(15), SHADED, 1),))
    assert anchor(GARDEN, f).factor == pytest.approx(0.8, abs=1e-4)


def test_a_plan_that_knows_only_the_plants_left_still_has_the_water_gone():
    """4 plants to day 15, then 2: 2 L + 5 x 0.2 L = 3 L gone by day 20, as expected.

    On the last day of their hold, 25 days after transplanting, 2 + 20 x 0.2 = 6 L will be gone. Two
    plants alone would have drunk 5 L by then: with the factor 1.2 the plan has 6 L gone too. Where
    nothing was measured the plan has gone by day 20 what is: 3 of 2 L.
    """
    two = replace(HEADS, plants=2, picks=(replace(HEADS.picks[0], plants=2, grams=200),))
    lost = (Fewer(case.day(15), 2, False),)
    got = anchor(GARDEN, replace(followed((20, 9.0), batch=two), fewer=lost))
    assert got.factor == pytest.approx(1.2, abs=1e-4)
    assert got.expected_l == pytest.approx(9.0)
    assert thirst_of_fewer(GARDEN, replace(followed(batch=two), fewer=lost), case.day(20)) == 1.5
    settled = (replace(lost[0], settled=True),)
    assert thirst_of_fewer(GARDEN, replace(followed(batch=two), fewer=settled), case.day(20)) == 1.0
