"""A reading in the middle of a crop foretells the rest without bias, of thirsty tiers and of others.

The truth is not the program's: mass grows hour by hour with the rate of expolinear growth (Goudriaan
& Monteith 1990), leaves go with mass^(2/3), and a tier drinks by them times a thirst of its own.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from crops import demand, growth
from crops.catalogue import catalogue
from scheduler.levels.batch import course_from
from scheduler.levels.estimate import Course, Estimate, Reading
from scheduler.levels.kind import Kind
from scheduler.watch.made import kind_of

CROP = catalogue()["leaf_lettuce"]
DAYS, PLANTS, YEARS = 34, 4, 60  # of which the last six are of the hold


def truth(rate: np.ndarray, sky: np.ndarray) -> np.ndarray:
    """What a tier drinks on each day [L; years, days], hour by hour.

    rate : progress of each day; sky : what leaves lose on it [mm/d]; both [years, days].
    """
    mass = np.full(len(rate), math.log1p(math.exp(-growth.RELATIVE * growth.TURN)))
    full = math.log1p(math.exp(growth.RELATIVE * (1 - growth.TURN)))
    first = (mass[0] / full) ** (2 / 3)
    s = CROP.stage_initial
    out = np.zeros_like(rate)
    for d in range(rate.shape[1]):
        for _hour in range(24):
            area = (mass / full) ** (2 / 3)
            leaves = s + (1 - s) * (area - first) / (1 - first)
            out[:, d] += leaves * sky[:, d] / 24
            # d ln(1 + e^x) = r (1 - e^-y) with y the value itself: exponential, then linear.
            mass = mass + growth.RELATIVE * -np.expm1(-mass) * rate[:, d] / 24
    # By harvest as much as the crop's numbers say, at the pace and under the sky of the mean.
    x = np.linspace(0, 1, 2001)
    area = growth.leaf_area(growth.mass_share(x))
    mean = float((s + (1 - s) * (area - first) / (1 - first)).mean())
    peak = CROP.peak_demand / CROP.demand_et0 * demand.mean_stage(CROP) / mean
    return out * peak * PLANTS / 1000


def weather() -> tuple[np.ndarray, np.ndarray]:
    """Progress of a day and what leaves lose on it, in years that stray; invented."""
    rng = np.random.default_rng(3)
    pace = np.exp(0.06 * rng.standard_normal((YEARS, 1)))
    rate = pace * np.exp(0.10 * rng.standard_normal((YEARS, DAYS))) / 28
    sky = np.exp(0.05 * rng.standard_normal((YEARS, 1)) + 0.2 * rng.standard_normal((YEARS, DAYS)))
    return rate, 5.0 * sky


RATE, SKY = weather()
TRUE = truth(RATE, SKY)
PROGRESS = np.concatenate([np.zeros((YEARS, 1)), np.cumsum(RATE, axis=1)], axis=1)


def expected() -> Kind:
    """The program's own table for one plant in those years."""
    per_mm = CROP.peak_demand / CROP.demand_et0 / 1000
    return kind_of(per_mm * demand.leaf_share(CROP, PROGRESS[:, :-1]) * SKY, PROGRESS)


def course() -> Course:
    made: Course = expected().course([float(PLANTS)] * DAYS)
    return made


@pytest.mark.parametrize("thirst", [0.75, 1.0, 1.35])
@pytest.mark.parametrize("day", [14, 21])
def test_the_rest_is_foretold_without_bias(day: int, thirst: float) -> None:
    """What is drunk from a reading to the end of the hold: 8 % on the mean of the years, as the
    thirst of a tier is drawn a little to what is usual."""
    gone = thirst * np.cumsum(TRUE, axis=1)
    off = []
    for year in gone:
        state = Estimate(course())
        state.read(Reading(day, float(year[day - 1]), 0.05))
        ahead = state.drunk(DAYS)[0] - state.drunk(day)[0]
        off.append(ahead / (year[-1] - year[day - 1]) - 1)
    assert abs(float(np.mean(off))) < 0.08


@pytest.mark.parametrize("thirst", [0.75, 1.35])
def test_the_course_of_a_plan_made_again_foretells_the_rest_too(thirst: float) -> None:
    """`rebalance` goes on from the course of the mean year: levels on days 7 and 14. Days are half as
    wild here as it takes them to be, so that it is drawn to what is usual somewhat further."""
    mean = expected()
    drinks = np.array(mean.drinks) * PLANTS
    off = []
    for year in thirst * np.cumsum(TRUE, axis=1):
        state = Estimate(course_from(drinks, np.array(mean.growth)))
        for day in (7, 14):
            state.read(Reading(day, float(year[day - 1]), 0.05))
        ahead = state.drunk(DAYS)[0] - state.drunk(14)[0]
        off.append(ahead / (year[-1] - year[13]) - 1)
    assert abs(float(np.mean(off))) < 0.15
