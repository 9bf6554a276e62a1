"""How strong a fill is: both ends in the crop's band, what salt costs where they are not."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from crops.catalogue import catalogue
from crops.solution import balance, strength
from crops.solution.strength import FITS, SALTY, STARVED, Source, choose

LETTUCE = catalogue()["leaf_lettuce"]  # 1.2 to 1.8 mS/cm, so 0.6 to 2.7 at the end


def test_nothing_drunk_leaves_the_strength():
    assert strength.ending(1.5, 1.0, 0.7) == pytest.approx(1.5)


def test_pure_water_drunk_concentrates():
    # A quarter of the water with all the salts: four times the strength.
    assert strength.ending(1.5, 0.25, 0.0) == pytest.approx(6.0)


def test_taken_up_as_given_holds_the_strength():
    assert strength.ending(1.5, 0.2, 1.5) == pytest.approx(1.5)


def test_sodium_of_the_water_stays():
    # 1.5 mS/cm, 0.3 of it sodium, half drunk; the other 1.2 taken up as given: 1.2 + 0.3 x 2.
    assert strength.ending(1.5, 0.5, 1.2, 0.3) == pytest.approx(1.8)


def test_more_is_taken_up_where_more_is_offered_but_not_in_proportion():
    # Eight times offered, 8 ** (2/3) = 4 times taken.
    assert strength.taken(8 * 0.9, 0.9) == pytest.approx(4 * 0.9)
    assert strength.taken(0.9, 0.9) == pytest.approx(0.9)


def test_uptake_is_tissue_over_water():
    # The same grams in twice the water: half the concentration; in half the water, twice.
    reference = balance.uptake(LETTUCE)["K"]
    assert balance.uptake(LETTUCE, 40.0)["K"] == pytest.approx(reference / 2)
    assert balance.uptake(LETTUCE, 10.0)["K"] == pytest.approx(reference * 2)


def test_an_element_is_used_up_where_more_is_taken_than_was_there():
    crop = replace(LETTUCE, uptake_n=100, uptake_p=10, uptake_k=100, uptake_ca=0, uptake_mg=0)
    held = {"K": 100.0, "P": 10.0, "N_NO3": 100.0}  # offered as held: as much is taken
    assert balance.used_up(crop, held, 0.1) == ()
    assert balance.used_up(crop, held | {"N_NO3": 89.9}, 0.1) == ("N",)
    assert balance.used_up(crop, held | {"N_NO3": 90.1}, 0.1) == ()


@given(st.floats(0.05, 0.99), st.floats(0.1, 2.5), st.floats(0, 0.5))
@settings(max_examples=80, deadline=None)
def test_mean_over_the_litres_is_that_of_small_steps(left, drawn, own):
    """The closed form against the solution drunk in 20,000 parts."""
    fill = 1.5
    up = float(strength.taken(fill - own, drawn))
    v = 1 - (1 - left) * (np.arange(20_000) + 0.5) / 20_000
    stepped = np.mean((fill - up * (1 - v)) / v)
    assert strength.average(fill, left, drawn, own) == pytest.approx(max(stepped, 0), abs=2e-3)


@given(st.floats(0.05, 0.99), st.floats(8, 60), st.floats(8, 60))
@settings(max_examples=60, deadline=None)
def test_drier_air_leaves_more_salt(left, one, other):
    low, high = sorted((one, other))
    weak = balance.expected_ec(LETTUCE, 1.5, left, low)
    strong = balance.expected_ec(LETTUCE, 1.5, left, high)
    assert strong.ec >= weak.ec - 1e-9
    assert weak.spread >= 0


def test_the_middle_of_the_range_where_both_ends_fit():
    (found,) = choose(LETTUCE, 0.5, 1.5).fill
    assert found == pytest.approx(1.5)


def _drawn(fill, left, end):
    """What tissue must hold for a fill to end at an EC: from end x left = fill - u (1 - left)."""
    up = (fill - end * left) / (1 - left)
    return (up / fill ** (2 / 3)) ** 3


@pytest.mark.parametrize(("end", "fill"), [(2.7, 1.5), (2.71, 1.4)])
def test_one_step_weaker_as_soon_as_the_end_is_too_salty(end, fill):
    """1.5 mS/cm that ends at just 2.7 is in the band of lettuce, 1.8 times 1.5; at 2.71 not."""
    found = choose(LETTUCE, 0.2, _drawn(1.5, 0.2, end))
    assert found.fill[0] == pytest.approx(fill)
    assert (found.state[0], found.end[0] <= 2.7 + 1e-9) == (FITS, True)


@pytest.mark.parametrize(("end", "state"), [(2.7, FITS), (2.71, SALTY)])
def test_the_weakest_where_none_fits(end, state):
    found = choose(LETTUCE, 0.2, _drawn(1.2, 0.2, end))
    assert found.fill[0] == 1.2
    assert found.end[0] == pytest.approx(end)
    assert found.state[0] == state


@pytest.mark.parametrize(("end", "state"), [(0.6, FITS), (0.59, STARVED)])
def test_the_strongest_where_all_starve(end, state):
    found = choose(LETTUCE, 0.2, _drawn(1.8, 0.2, end))
    assert found.fill[0] == 1.8
    assert found.state[0] == state


def test_what_salt_costs_by_hand():
    """Nothing is taken up, 30 % is left: the mean of 1.2 / v from 1 down to 0.3 is 1.2 x ln(1/0.3)
    / 0.7 = 2.064; in the extract 1.032. A crop with a threshold of 0.5 and 10 % loses 5.3 %.
    """
    crop = replace(LETTUCE, salt_threshold=0.5, salt_slope=0.1)
    found = choose(crop, 0.3, 0.0)
    assert found.fill[0] == 1.2
    assert found.lost[0] == pytest.approx(0.1 * (1.2 * math.log(1 / 0.3) / 0.7 / 2 - 0.5))
    assert found.lost[0] == pytest.approx(0.0532, abs=1e-4)


def test_the_published_response_by_hand():
    # Lettuce, 1.3 and 13 %: nothing up to 2.6 mS/cm in solution, 13 % at 4.6, never above all.
    assert strength.lost(LETTUCE, [0.0, 2.6, 4.6, 1e6]) == pytest.approx([0, 0, 0.13, 1])


def test_no_fill_without_room_for_fertilizer():
    assert min(strength.offers(LETTUCE, Source())) == pytest.approx(1.2)
    assert min(strength.offers(LETTUCE, Source(1.2))) == pytest.approx(1.5)  # 1.2 + 0.3
    assert list(strength.offers(LETTUCE, Source(1.6))) == [1.8]  # the recipe says what is wrong


@given(st.floats(0.02, 1.0), st.floats(0.05, 3.0), st.sampled_from(sorted(catalogue())))
@settings(max_examples=200, deadline=None)
def test_a_fill_is_in_the_crops_range_and_its_end_in_the_band_if_any_is(left, drawn, name):
    crop = catalogue()[name]
    found = choose(crop, left, drawn)
    low, high = strength.end_limits(crop)
    assert crop.ec_low <= found.fill[0] <= crop.ec_high
    every = strength.ending(strength.offers(crop, Source()), left, drawn)
    inside = ((every >= low) & (every <= high)).any()
    assert (found.state[0] == FITS) == bool(inside and found.lost[0] <= strength.MOST_LOST)


def test_many_at_once_are_as_one_by_one():
    left, drawn = np.linspace(0.1, 0.9, 9), np.linspace(0.2, 1.8, 9)
    many = choose(LETTUCE, left, drawn)
    ones = [choose(LETTUCE, a, b) for a, b in zip(left, drawn, strict=True)]
    assert many.fill.tolist() == [o.fill[0] for o in ones]
    assert many.lost == pytest.approx([o.lost[0] for o in ones])
