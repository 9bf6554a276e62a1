"""One batch day by day: who drinks when, the level, the dry day; the constructed cases E1 to E8."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from crops import demand, growth
from crops.catalogue import catalogue
from crops.level import batch_course
from crops.vessel import Vessel

CROPS = catalogue()
# A crop that drinks 1 mL a day per mm of ET0 in the open, always: ET0 then is the drink itself.
PLAIN = replace(
    CROPS["leaf_lettuce"],
    peak_demand=1.0,
    demand_et0=1.0,
    stage_initial=1.0,
    stage_late=1.0,
    days_to_harvest=10,
    light_gain=0.0,
    fresh_mass=100.0,
)
FOUR = Vessel("four litres", "rectangular", (20, 20), 12, 4.0)  # 2.5 cm a litre, dry at 0.4 L


def weather(et0, temperature=20.0, dli=40.0):
    et0 = np.asarray(et0, float)
    return pd.DataFrame(
        {"tmin": temperature, "tmax": temperature, "dli": dli, "et0": et0},
        index=pd.date_range("2026-06-01", periods=len(et0)),
    )


@pytest.mark.parametrize(
    ("per_gram", "mass", "days"),
    [(20, 182.0, 30.07), (15, 242.0, 31.97), (11, 329.3, 34.02), (10, 362.0, 34.66)],
)
def test_e1_to_e3_and_e6_growth_to_dry_day(per_gram, mass, days):
    """4.0 L, 3.6 L of them usable, m(t) = 2 exp(0.15 t) g, so many mL per gram gained.

    3600/20 = 180 g gained: m = 182, t = ln(91)/0.15 = 30.07 days, and so on; at half the water
    per gram the day moves by about ln(2)/0.15 = 4.6 days and does not double.
    """
    grams = 2 * np.exp(0.15 * np.arange(46))
    course = batch_course(PLAIN, FOUR, weather(per_gram * np.diff(grams)), 1.0, 0, 1)
    # the level falls with the gain, so log mass is a line in time also between two mornings
    gained = np.concatenate([[0], np.cumsum(course.drinks)]) / per_gram
    dry_mass = 2 + (4.0 - FOUR.floor_l) * 1000 / per_gram
    k = course.dry_index
    assert gained[k - 1] + 2 < dry_mass <= gained[k] + 2
    assert dry_mass == pytest.approx(mass, abs=0.05)
    t = np.interp(np.log(dry_mass), np.log(gained[: k + 1] + 2), np.arange(k + 1))
    assert t == pytest.approx(days, abs=0.01)
    assert k == np.ceil(days)


def test_e4_canopy_at_the_lyon_et0():
    """0.04 m2 x Kcb 1.0 x 5.033 mm = 0.2013 L a day: 3.6 L last 17.9 days, dry on the 18th."""
    crop = replace(PLAIN, peak_demand=0.04 * 5.033 * 1000, demand_et0=5.033)
    course = batch_course(crop, FOUR, weather(np.full(30, 5.033)), 1.0, 0, 1)
    assert course.drinks[0] == pytest.approx(201.3, abs=0.05)
    assert 3600 / course.drinks[0] == pytest.approx(17.9, abs=0.05)
    assert course.dry_index == 18


def test_stop_rule_at_ten_per_cent():
    """Just above a tenth of the fill is not dry, a tenth is (Kratky 2004, Acta Hort 648:83-89)."""
    just_above = batch_course(PLAIN, FOUR, weather([3599, 0, 0]), 1.0, 0, 1)
    assert just_above.dry_index is None
    at = batch_course(PLAIN, FOUR, weather([3600, 0, 0]), 1.0, 0, 1)
    assert at.dry_index == 1
    keep = replace(FOUR, keep_cm=2.0)  # 0.8 L
    assert batch_course(PLAIN, keep, weather([3200, 0]), 1.0, 0, 1).dry_index == 1
    assert batch_course(PLAIN, keep, weather([3199, 0]), 1.0, 0, 1).dry_index is None


def test_heads_leave_one_by_one():
    """100 mL a head and day. Four heads; one is picked on day 5, two on day 7, one on day 8.

    Level: 5 x 0.4 = 2.0 L drunk by day 5, then 2 x 0.3, then 0.1: 1.3 L from day 8. Had the last
    head stayed it would drink 0.1 L a day on: 0.4 L on day 17.
    """
    course = batch_course(
        PLAIN, FOUR, weather(np.full(30, 100)), 1.0, 0, 4, [(5, 1), (7, 2), (8, 1)]
    )
    assert course.litres[[0, 5, 6, 7, 8, 9, 30]] == pytest.approx(
        [4.0, 2.0, 1.7, 1.4, 1.3, 1.3, 1.3]
    )
    assert course.depth_cm[8] == pytest.approx(1.3 * 2.5)
    assert course.plants[[0, 4, 5, 6, 7, 8]].tolist() == [4, 4, 3, 3, 1, 0]
    assert course.drinks.sum() == pytest.approx(2700)
    assert course.dry_index == 17
    assert course.ready_index == 10


def test_a_single_pick_leaves_the_dry_day_alone():
    days = weather(np.full(30, 100))
    kept = batch_course(PLAIN, FOUR, days, 1.0, 0, 4)
    picked = batch_course(PLAIN, FOUR, days, 1.0, 0, 4, [(8, 4)])
    assert kept.dry_index == picked.dry_index == 9
    assert picked.litres[-1] == pytest.approx(0.8)
    assert kept.litres[-1] == 0  # never below empty


def test_cut_again():
    """Two plants, 100 mL each; after the first cut on day 10 half; last cut on day 14.

    2.0 L by day 10, 0.1 L a day to day 14: 1.6 L stay. As if uncut: 2.0 - 0.1 n = 0.4, day 26.
    """
    crop = replace(PLAIN, cuts=2, cut_interval=4, cut_shares=(0.5, 0.5), after_cut=0.5)
    course = batch_course(crop, FOUR, weather(np.full(40, 100)), 1.0, 0, 2, [(10, 2), (14, 2)])
    assert course.litres[[10, 12, 14, 40]] == pytest.approx([2.0, 1.8, 1.6, 1.6])
    assert course.dry_index == 26
    assert course.plants[[9, 10, 13, 14]].tolist() == [2, 2, 2, 0]


def test_transplanted_later_reads_the_later_weather():
    et0 = np.concatenate([np.full(10, 900.0), np.full(20, 100.0)])
    course = batch_course(PLAIN, FOUR, weather(et0), 1.0, 10, 1)
    assert course.litres[0] == 4.0
    assert course.litres[1] == pytest.approx(3.9)
    assert len(course.drinks) == 20
    assert course.ready_index == 20
    assert course.dry_index is None
    double = batch_course(PLAIN, FOUR, weather(et0), 1.0, 10, 1, demand_factor=2.0)
    assert double.dry_index == 28  # 3.6 L at 0.2 L a day
    for bad in (-1, 30):
        with pytest.raises(ValueError, match="outside the weather"):
            batch_course(PLAIN, FOUR, weather(et0), 1.0, bad, 1)
    with pytest.raises(ValueError, match="order"):
        batch_course(PLAIN, FOUR, weather(et0), 1.0, 0, 2, [(9, 1), (8, 1)])


def test_progress_and_mass_on_the_morning():
    course = batch_course(PLAIN, FOUR, weather(np.full(30, 10)), 1.0, 0, 1)
    assert course.progress[:3] == pytest.approx([0, 0.1, 0.2])
    assert course.ready_index == 10
    assert course.plant_grams[10] == pytest.approx(PLAIN.fresh_mass)
    assert course.plant_grams[0] < 5


STAGED = replace(PLAIN, stage_initial=0.2, stage_start=0.1, stage_full=0.6, stage_late=0.8)


def test_by_harvest_as_much_is_drunk_as_the_stages_say():
    """0.2 up to 0.1, then in a line to 1 at 0.6: 0.02 + 0.3 + 0.4 = 0.72 of the peak in the mean.

    ``stage_late`` of old files has no effect.
    """
    assert demand.mean_stage(STAGED) == pytest.approx(0.72)
    days = (np.arange(10_000) + 0.5) / 10_000
    assert demand.leaf_share(STAGED, days).mean() == pytest.approx(0.72, rel=1e-4)


def test_demand_grows_with_the_leaves_and_never_falls():
    """It begins at ``stage_initial`` of what it is when ready, and goes as mass^(2/3) between."""
    share = demand.leaf_share(STAGED, [0, 0.25, 0.5, 1.0, 1.5, 2.0])
    assert share[0] / share[3] == pytest.approx(0.2)
    area = growth.mass_share([0, 0.25, 0.5, 1.0, 1.5, 1.5]) ** (2 / 3)
    wanted = 0.2 + 0.8 * (area - area[0]) / (1 - area[0])
    assert share / share[3] == pytest.approx(wanted)
    assert (np.diff(share)[:-1] > 0).all()
    assert share[5] == share[4]


def test_straight_pieces_keep_to_the_curve():
    x = np.linspace(0, 1.5, 301)
    line = np.interp(x, growth.KNOTS, growth.AREAS)
    assert np.abs(line - growth.leaf_area(growth.mass_share(x))).max() < 0.016


def test_demand_follows_the_weather_and_the_light():
    crop = replace(PLAIN, peak_demand=100.0, demand_et0=5.0)
    assert demand.plant_demand(crop, 2.5, 1.0, 0.9) == pytest.approx(50)
    # 0.3 of the demand stay in full shade: 0.3 + 0.7 x 0.5 = 0.65
    assert demand.plant_demand(crop, 5.0, 0.5, 0.9) == pytest.approx(65)
    assert demand.plant_demand(crop, 5.0, 0.0, 0.9) == pytest.approx(30)
    many = demand.plant_demand(crop, np.array([5, 2]), np.array([1, 0]), np.array([1, 0]))
    assert many == pytest.approx([100, 12])


days = st.lists(
    st.tuples(st.floats(0.1, 12), st.floats(2, 60), st.floats(-2, 38)), min_size=90, max_size=90
)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    days, st.sampled_from(sorted(CROPS)), st.floats(0.05, 1), st.floats(0.05, 1), st.integers(1, 6)
)
def test_e7_less_light_drinks_less_and_dries_later(rows, name, one, other, plants):
    """Any crop, any weather: every day's drink is less, so the dry day not earlier."""
    low, high = sorted((one, other))
    if high - low < 1e-6:
        return
    et0, dli, temperature = map(np.array, zip(*rows, strict=True))
    table = weather(et0, temperature, dli)
    dark = batch_course(CROPS[name], FOUR, table, low, 0, plants)
    lit = batch_course(CROPS[name], FOUR, table, high, 0, plants)
    assert (dark.drinks < lit.drinks).all()
    assert (dark.progress <= lit.progress + 1e-12).all()
    if dark.dry_index is not None:
        assert lit.dry_index is not None
        assert dark.dry_index >= lit.dry_index


def test_e7_in_figures():
    """Light 0.4: 0.3 + 0.7 x 0.4 = 0.58 of the drink, so later by far."""
    table = weather(np.full(120, 5.5))
    top, low = (
        batch_course(CROPS["pak_choi"], FOUR, table, light, 0, 1).dry_index for light in (1, 0.4)
    )
    assert low >= top + 10
    for a, b in itertools.pairwise(np.linspace(0.1, 1, 10)):
        dry = [batch_course(CROPS["pak_choi"], FOUR, table, w, 0, 1).dry_index for w in (a, b)]
        assert dry[0] >= dry[1]
