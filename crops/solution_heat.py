"""How warm the solution of a vessel gets: the air's day, the sun on its wall, what is left in it.

A vessel follows its surroundings with a lag (lumped capacitance, Incropera & DeWitt, Fundamentals
of Heat and Mass Transfer, chapter 5): after a day it has closed 1 - exp(-day/tau) of what it was
off, tau = m c / (h A). What it follows is the sol-air temperature (ASHRAE Handbook of
Fundamentals): air + a I / h, with the sun on a wall that sees half of the sky. Both from memory.
Coefficients of the air at a wall and of a grey vessel are common practice, no source.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from crops.radiation import Array, light_integral

HEAT = 4186.0  # of a litre of solution [J/K]
STILL, OUTSIDE = 10.0, 17.0  # air at a wall: a day's mean, and ASHRAE's 3.0 Btu [W m-2 K-1]
GREY, WHITE = 0.6, 0.3  # share of the sun that a wall takes in
WALLS = {"dark": 0.9, "grey": GREY, "white": WHITE}  # a pale wrap, or foil, counts as white
WALL = 0.4  # share of the sun on level ground that falls on a wall, mean of its sides
SHAPE = 5.0  # wall and bottom [m2] for each m2 of volume to the power of 2/3: a pail half again as
# high as wide has 4.9
DAY = 86400.0  # [s]


def sun_gain(dli: ArrayLike, light: float, takes: float = GREY) -> Array:
    """By how much the sun warms a vessel over a day [K], in a tier with ``light`` [0..1].

    ``dli`` : of the open sky, or of the place [mol m-2 d-1]; ``takes`` : share its wall takes in.
    """
    mean = np.asarray(dli, float) / light_integral(1.0) * 1e6 / DAY  # [W/m2]
    gain: Array = takes * WALL * light * mean / OUTSIDE
    return gain


def lag(litres: float) -> float:
    """Share of the way to its surroundings that a vessel with ``litres`` [L] goes in a day."""
    wall = SHAPE * (max(litres, 0.1) / 1000) ** (2 / 3)
    return 1 - math.exp(-DAY * STILL * wall / (max(litres, 0.1) * HEAT))


def temperatures(surroundings: Array, litres: float) -> Array:
    """Mean of the solution on each day [degC; .., days] among ``surroundings`` [degC; .., days]."""
    share = lag(litres)
    out: Array = np.array(surroundings, float)
    for day in range(1, out.shape[-1]):
        before = out[..., day - 1]
        out[..., day] = before + share * (surroundings[..., day] - before)
    return out


class Bath(NamedTuple):
    """What decides on how warm the solution of a tier gets, beside the weather where it stands.

    ``light`` : share of the open sky's [0..1]; ``litres`` : at filling [L], as it is while the
    level is high: what is left later follows the days faster, about the same mean. ``takes`` : the
    share of the sun that the wall takes in.
    """

    light: float
    litres: float
    takes: float = GREY

    def solution(self, tmin: Array, tmax: Array, sun: Array) -> Array:
        """Mean of each day [degC] among daily extremes [degC] and daylight [mol m-2 d-1]."""
        around = (tmin + tmax) / 2 + sun_gain(sun, self.light, self.takes)
        return temperatures(around, self.litres)


# Oxygen that water holds in the air: APHA 1985, as printed in the SWAT+ documentation, eq. 7:3.5.3.
_APHA = (-139.34410, 1.575701e5, -6.642308e7, 1.243800e10, -8.621949e11)


def oxygen(celsius: ArrayLike) -> Array:
    """Oxygen in water that is saturated with air, at 1 atm [mg/L]; [degC]."""
    kelvin = np.asarray(celsius, float) + 273.15
    held: Array = np.exp(sum(c / kelvin**k for k, c in enumerate(_APHA)))
    return held
