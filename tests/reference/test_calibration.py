"""What a summer tier drinks and yields, and what a sheltered one does: one set of parameters.

Common practice, no source: the pail figures of open-air summer. The sheltered range of 11 to 20 mL
per g comes from Kratky 2010 (CTAHR VC-1, as reprinted); 15 % is allowed on each pail figure.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from crops.catalogue import catalogue
from crops.level import batch_course
from crops.vessel import Vessel

CROPS = catalogue()
SUMMER, SHELTER = 5.5, 3.0  # ET0 [mm/d]: open-air summer, and a sheltered or humid place
INCH, POUND, GALLON = 2.54, 453.59, 3.785

# 3.5 gallons to the brim, 10.9 L at 7.5 in. The widths are chosen to fit those two figures.
PAIL = Vessel("pail", "round", (26.2, 27.8), 24.0, 10.9)
# A 5 gallon pail of the same widths, filled to the same share of its brim: 15.6 L.
LARGE = Vessel("large pail", "round", (26.2, 27.8), 34.0, 10.9 * 5 / 3.5)


def weather(et0: float, temperature: float = 20.0, dli: float = 40.0) -> pd.DataFrame:
    """Invented steady weather; full light, so that the crops' own days hold."""
    return pd.DataFrame(
        {"tmin": temperature, "tmax": temperature, "dli": dli, "et0": et0},
        index=pd.date_range("2026-06-01", periods=90),
    )


def harvest(name: str, vessel: Vessel, et0: float, plants: int):
    """Course, day of readiness, litres drunk by then and mL per g, all picked when ready."""
    crop = CROPS[name]
    table = weather(et0, crop.reference_temperature)
    ready = batch_course(crop, vessel, table, 1.0, 0, plants).ready_index
    course = batch_course(crop, vessel, table, 1.0, 0, plants, [(ready, plants)])
    drunk = course.drinks.sum() / 1000
    return course, ready, drunk, 1000 * drunk / (plants * crop.fresh_mass)


def test_the_pail_itself():
    assert PAIL.depth(10.9) == pytest.approx(7.5 * INCH, rel=0.15)
    assert PAIL.capacity_l == pytest.approx(3.5 * GALLON, rel=0.15)
    assert LARGE.capacity_l == pytest.approx(5 * GALLON, rel=0.15)


def test_three_pak_choi_in_summer():
    """About 1.5 in left after four to five weeks, 0.77 lb together, just under 25 mL/g."""
    course, ready, drunk, per_gram = harvest("pak_choi", PAIL, SUMMER, 3)
    assert 28 <= ready <= 35
    assert course.depth_cm[ready] == pytest.approx(1.5 * INCH, rel=0.15)
    assert 3 * CROPS["pak_choi"].fresh_mass == pytest.approx(0.77 * POUND, rel=0.15)
    assert per_gram == pytest.approx(25, rel=0.15)
    # the three figures hang together: 10.9 L less 1.5 in over 0.77 lb is just under 25 mL/g
    assert 1000 * (10.9 - PAIL.volume(1.5 * INCH)) / (0.77 * POUND) == pytest.approx(25, rel=0.03)
    assert drunk == pytest.approx(10.9 - float(PAIL.volume(1.5 * INCH)), rel=0.15)


def test_three_lettuces_in_summer():
    """About 0.75 in left, 0.75 lb together, about 29 mL/g.

    0.75 in is 1.05 L, just under a tenth of the fill: the tier is at the end of its solution. A
    model within 15 % of what is drunk (9.85 L) may miss what is left by more; both are asked here.
    """
    course, ready, drunk, per_gram = harvest("leaf_lettuce", PAIL, SUMMER, 3)
    assert 28 <= ready <= 35
    assert 3 * CROPS["leaf_lettuce"].fresh_mass == pytest.approx(0.75 * POUND, rel=0.15)
    assert per_gram == pytest.approx(29, rel=0.15)
    assert drunk == pytest.approx(10.9 - float(PAIL.volume(0.75 * INCH)), rel=0.15)
    assert course.depth_cm[ready] == pytest.approx(0.75 * INCH, rel=0.15)


@pytest.mark.parametrize("name", ["leaf_lettuce", "butterhead", "romaine", "pak_choi"])
def test_the_same_crops_under_shelter(name):
    """11 to 20 mL/g at ET0 3 mm/d, and above 20 at 5.5: only the weather differs."""
    assert 11 <= harvest(name, PAIL, SHELTER, 1)[3] <= 20
    assert 20 < harvest(name, PAIL, SUMMER, 1)[3] <= 29 * 1.15


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        # Langenfeld et al. 2022, Sustainability 14(16):10204: 3 to 6 g dry mass per L, at 5 % dry
        # matter 8.3 to 16.7 mL/g, at 6 % up to 20; Barbosa et al. 2015: lettuce 20 +/- 3.8
        ("arugula", 8.3, 20),
        ("mizuna", 8.3, 20),
        ("coriander", 8.3, 20),
        ("dill", 8.3, 20),
        ("parsley", 8.3, 20),
        # from memory: spinach, chard and kale 15 to 25, basil 20 to 30 mL/g
        ("spinach", 15, 25),
        ("swiss_chard", 15, 25),
        ("kale", 15, 25),
        ("basil", 20, 30),
    ],
)
def test_other_crops_under_shelter(name, low, high):
    """Over all cuts; a plant cut again drinks on from the first cut to the last."""
    crop = CROPS[name]
    table = weather(SHELTER, crop.reference_temperature)
    ready = batch_course(crop, PAIL, table, 1.0, 0, 1).ready_index
    picks = [(ready + round(k * crop.cut_interval), 1) for k in range(crop.cuts)]
    drunk = batch_course(crop, PAIL, table, 1.0, 0, 1, picks).drinks.sum()
    assert low <= drunk / crop.fresh_mass <= high


@pytest.mark.parametrize("name", ["leaf_lettuce", "pak_choi"])
def test_shelter_saves_in_proportion(name):
    summer, shelter = (harvest(name, PAIL, et0, 1)[3] for et0 in (SUMMER, SHELTER))
    assert shelter / summer == pytest.approx(SHELTER / SUMMER)


def days_to_spare(vessel: Vessel, heads: int, name: str) -> int:
    """Days from ready to dry; 0 or below: dry by the morning on which it is ready."""
    course = harvest(name, vessel, SUMMER, heads)[0]
    assert course.dry_index is not None
    assert course.ready_index is not None
    return course.dry_index - course.ready_index


@pytest.mark.parametrize("name", ["leaf_lettuce", "pak_choi"])
def test_five_gallons_carry_four_heads_where_three_and_a_half_carry_three(name):
    """Common practice, no source. Carried: ripe a day or more before it is dry."""
    assert days_to_spare(PAIL, 3, name) >= 1
    assert days_to_spare(PAIL, 4, name) < 1
    assert days_to_spare(LARGE, 4, name) >= 1
    assert days_to_spare(LARGE, 5, name) < 1


def test_one_gallon_carries_one_lettuce_under_shelter():
    """Kratky 2009, Acta Horticulturae 843:65-72: one plant in 4 L, no refill, to harvest.

    Heads of 150 to 250 g use 3 to 6 L (VC-1, as reprinted).
    """
    jug = Vessel("jug", "rectangular", (16, 16), 20, 4.0)
    course, ready, drunk, per_gram = harvest("leaf_lettuce", jug, SHELTER, 1)
    assert course.dry_index is None or course.dry_index > ready
    assert 3 <= per_gram * 0.200 <= 6
    assert drunk < 0.9 * 4.0


def test_heads_at_the_edge_of_a_vessel_in_a_plan():
    """A day more of summer than the pail holds is a dry tier: two mornings around the dry day."""
    course = batch_course(CROPS["pak_choi"], PAIL, weather(SUMMER), 1.0, 0, 4)
    k = course.dry_index
    assert course.unpicked[k] <= PAIL.floor_l < course.unpicked[k - 1]
    assert np.all(np.diff(course.unpicked[: k + 1]) < 0)
