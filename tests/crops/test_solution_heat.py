"""How warm a vessel gets, and how much oxygen is left in it, against sums by hand and tables."""

from __future__ import annotations

import math

import numpy as np
import pytest

from crops.solution_heat import WHITE, lag, oxygen, sun_gain, temperatures


def test_the_sun_on_a_wall_by_hand() -> None:
    """40 mol are 19.82 MJ, 229.4 W/m2 over the day; 0.6 x 0.4 x 229.4 / 17 = 3.24 K in full light."""
    assert float(sun_gain(40.0, 1.0)) == pytest.approx(3.24, abs=0.02)
    assert float(sun_gain(40.0, 0.5)) == pytest.approx(1.62, abs=0.01)
    assert float(sun_gain(40.0, 1.0, WHITE)) == pytest.approx(1.62, abs=0.01)
    assert float(sun_gain(0.0, 1.0)) == 0


def test_a_small_vessel_follows_the_air_within_a_day() -> None:
    """18 L: 5 x 0.018^(2/3) = 0.3434 m2; 18 x 4186 / 3.434 = 21,942 s; 1 - exp(-3.938) = 0.980."""
    assert lag(18.0) == pytest.approx(1 - math.exp(-86400 * 3.434 / (18 * 4186)), rel=1e-3)
    assert lag(18.0) == pytest.approx(0.980, abs=0.001)
    # 1000 L: 5 m2 and 4.186 MJ/K; 1 - exp(-1.032) = 0.644.
    assert lag(1000.0) == pytest.approx(0.644, abs=0.001)
    assert lag(2.0) > lag(18.0) > lag(200.0)


def test_a_step_of_the_air_is_closed_day_by_day() -> None:
    """Of 10 degC more, 18 L have 9.80 on the day it comes and 10 - 10 x 0.0195^2 on the next."""
    air = np.array([[10.0, 20.0, 20.0, 20.0]])
    share = lag(18.0)
    expected = [10, 10 + 10 * share, 20 - 10 * (1 - share) ** 2, 20 - 10 * (1 - share) ** 3]
    assert temperatures(air, 18.0)[0] == pytest.approx(expected)
    assert temperatures(air[0], 18.0) == pytest.approx(expected)  # of one year alike


@pytest.mark.parametrize(
    ("celsius", "held"),
    # At 760 mm, from a manual's table of dissolved oxygen in saturated water: to a tenth, rounded.
    [(0, 14.6), (5, 12.8), (10, 11.3), (15, 10.2), (20, 9.2), (23, 8.7)],
)
def test_oxygen_against_a_printed_table(celsius: float, held: float) -> None:
    assert float(oxygen(celsius)) == pytest.approx(held, abs=0.16)
