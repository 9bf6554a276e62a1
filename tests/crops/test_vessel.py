"""Depth and volume of vessels, the level that must remain, and the late rise."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from crops.vessel import Vessel, refuse_late_rise


def straight(fill: float = 15.0, **more) -> Vessel:
    return Vessel("bucket", "round", (28, 28), 30, fill, **more)


def test_straight_bucket_of_28_cm():
    """pi x 14**2 = 615.75 cm2: 1000/615.75 = 1.624 cm a litre; 8 cm are 4.926 L.

    8 cm is the least depth of solution (Kratky 2004, Acta Horticulturae 648:83-89, abstract).
    """
    v = straight()
    assert v.depth(11) - v.depth(10) == pytest.approx(1.624, abs=0.0005)
    assert v.volume(8) == pytest.approx(4.93, abs=0.005)
    assert v.capacity_l == pytest.approx(18.47, abs=0.01)


def test_tapered_round_is_a_frustum():
    """h/3 x (A1 + A2 + sqrt(A1 A2)), radii 11 and 14, 30 cm: pi x 10 x (121+196+154) = 14.797 L."""
    v = Vessel("pail", "round", (22, 28), 30, 10)
    assert v.capacity_l == pytest.approx(14.797, abs=0.001)
    # half way up the radius is 12.5: pi x 5 x (121 + 156.25 + 137.5) = 6.515 L
    assert v.volume(15) == pytest.approx(6.515, abs=0.001)
    # a litre is deeper near the narrow bottom
    assert v.depth(1) > v.depth(10) - v.depth(9)


def test_rectangular():
    v = Vessel("tub", "rectangular", (60, 40), 15, 30)
    assert v.volume(10) == pytest.approx(24)
    assert v.depth(30) == pytest.approx(12.5)


def test_depth_volume_table():
    v = Vessel("measured", "table", (0, 5, 10, 20), 20, 12, table_l=(0, 3, 7, 16))
    assert v.volume(7.5) == pytest.approx(5)
    assert v.depth(11.5) == pytest.approx(15)
    assert v.capacity_l == pytest.approx(16)


def test_three_and_a_half_gallon_pail():
    """Common practice, no source: a round pail holds 10.9 L at 7.5 in (19.05 cm) of depth.

    A pail of 26.2 cm at the bottom and 27.8 cm at 24 cm of height has 13.74 L to the brim, and
    10.9 L at 19.26 cm: within 15 %, indeed 1.1 %.
    """
    pail = Vessel("pail", "round", (26.2, 27.8), 24.0, 10.9)
    assert pail.depth(10.9) == pytest.approx(7.5 * 2.54, rel=0.02)
    assert pail.capacity_l == pytest.approx(3.5 * 3.785, rel=0.05)


sizes = st.floats(5, 120)


@given(sizes, sizes, st.floats(5, 80), st.floats(0, 1))
def test_depth_undoes_volume(bottom, top, height, share):
    v = Vessel("x", "round", (bottom, top), height, 0.05)
    assert float(v.depth(v.volume(share * height))) == pytest.approx(share * height, abs=1e-6)


@given(sizes, st.floats(-1e-6, 1e-6))
def test_depth_of_an_almost_straight_vessel(width, taper):
    """No loss of digits where the two formulas meet."""
    v = Vessel("x", "round", (width, width + taper), 20.0, 0.05)
    level = 1000 * v.volume(10.0) / (np.pi * width**2 / 4)
    # A micrometre: with 113 cm and a taper of 5e-8 cm the digits end at a tenth of that.
    assert float(level) == pytest.approx(10, abs=1e-4)
    assert float(v.depth(v.volume(10.0))) == pytest.approx(10, abs=1e-4)


def test_an_array_gives_what_each_number_gives_and_whole_numbers_do():
    for v in (
        straight(),
        Vessel("p", "round", (22, 28), 30, 10),
        Vessel("m", "table", (0, 10), 10, 5, table_l=(0, 9)),
    ):
        litres = np.array([0, 1, 4, 9])
        assert v.depth(litres) == pytest.approx([float(v.depth(float(x))) for x in litres])
        assert v.volume(litres) == pytest.approx([float(v.volume(float(x))) for x in litres])


def test_floor_is_the_higher_of_keep_level_and_ten_per_cent():
    """Below 10 % of the fill the crop ends (Kratky 2004, Acta Horticulturae 648:83-89)."""
    # 2 cm of 615.75 cm2 are 1.2315 L: above a tenth of 10 L, below a tenth of 15 L
    assert straight(10, keep_cm=2).floor_l == pytest.approx(1.2315, abs=1e-4)
    assert straight(15, keep_cm=2).floor_l == pytest.approx(1.5)
    assert straight(15).floor_l == pytest.approx(1.5)


def test_tank_trial_of_2005():
    """109 L at 7.6 cm; 1.3 cm left at harvest (Kratky 2005, J. Vegetable Science 11(1):35-42).

    So the tank is 1.434 m2, 90.4 L were used, 17.1 % were left: above the 10 % at which a crop
    ends. At 220 g a head that is 20.5 heads if a kilogram takes 20 L, 27.4 if it takes 15.
    """
    side = np.sqrt(109_000 / 7.6)
    tank = Vessel("tank", "rectangular", (side, side), 8.9, 109)
    assert side**2 / 1e4 == pytest.approx(1.434, abs=0.001)
    assert tank.depth(109) == pytest.approx(7.6)
    left = float(tank.volume(1.3))
    assert 109 - left == pytest.approx(90.4, abs=0.05)
    assert left / 109 == pytest.approx(0.171, abs=0.0005)
    assert left > tank.floor_l == pytest.approx(10.9)
    assert (109 - left) / (0.220 * 20) == pytest.approx(20.5, abs=0.05)
    assert (109 - left) / (0.220 * 15) == pytest.approx(27.4, abs=0.05)


def test_late_rise():
    """More than 2 cm is refused (Kratky 2004, abstract); up to that and adding nothing is not."""
    v = straight(15)
    litre_of_2_cm = 2 * 615.752 / 1000
    refuse_late_rise(v, 6, 6)
    refuse_late_rise(v, 6, 5)
    refuse_late_rise(v, 6, 6 + 0.99 * litre_of_2_cm)
    refuse_late_rise(v, float(v.volume(5.1)), float(v.volume(7.1)))  # 2 cm exactly
    with pytest.raises(ValueError, match="drown"):
        refuse_late_rise(v, 6, 6 + 1.01 * litre_of_2_cm)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"fill_l": 19}, "fill of 19 L"),
        ({"fill_l": 0}, "fill of 0 L"),
        ({"fill_l": float("nan")}, "fill of nan L"),
        ({"shape": "oval"}, "oval"),
        ({"keep_cm": 25}, "keep level of 25 cm"),
    ],
)
def test_impossible_vessels_are_refused(more, says):
    base = {"name": "x", "shape": "round", "size_cm": (28, 28), "height_cm": 30, "fill_l": 15}
    Vessel(**base)
    with pytest.raises(ValueError, match=says):
        Vessel(**base | more)
