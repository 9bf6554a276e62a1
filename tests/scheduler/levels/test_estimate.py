"""The estimate of a tier against general methods: Bayesian linear regression, quadrature, sampling."""

from __future__ import annotations

import numpy as np
import pytest
from levels_case import DAYS, READINGS, course
from scipy import integrate, stats

from scheduler.levels.chances import median, normal, within
from scheduler.levels.estimate import (
    LEVEL_SPREAD,
    SLOPE_SPREAD,
    Course,
    Estimate,
    Reading,
)
from scheduler.watch.explain import estimated


def regression(c: Course, readings, own: list[float]):
    """Posterior of level, slope and pace, and log of the readings' joint density.

    Bayesian linear regression with known noise (Bishop 2006, Pattern Recognition and Machine
    Learning, section 2.3.3, from memory): all readings at once, by solving, where the estimate
    takes them one after the other. The walk gives two readings the variance that both have seen;
    ``own`` is the thirst that each stretch of it is multiplied by.
    """
    prior = np.array(c.years) + np.diag([LEVEL_SPREAD**2, SLOPE_SPREAD**2, 0.0])
    mean = np.array([1.0, 0.0, 0.0])
    h = np.array([[c.water[r.day], c.slope[r.day], 0.0] for r in readings])
    days = [0, *(r.day for r in readings)]
    steps = [own[k] ** 2 * (c.walk[days[k + 1]] - c.walk[days[k]]) for k in range(len(readings))]
    seen = np.cumsum(steps)
    noise = np.minimum.outer(seen, seen) + np.diag([r.error**2 for r in readings])
    y = np.array([r.gone for r in readings])
    both = h @ prior @ h.T + noise
    gain = np.linalg.solve(both, h @ prior).T
    density = stats.multivariate_normal(h @ mean, both).logpdf(y)
    return mean + gain @ (y - h @ mean), prior - gain @ h @ prior, density


@pytest.mark.parametrize("n", [1, 2, 3])
@pytest.mark.parametrize("noise", [0.0, 0.002, 0.05])
def test_readings_one_by_one_say_what_a_regression_on_all_says(n: int, noise: float) -> None:
    c, state = course(noise), Estimate(course(noise))
    own, score = [], 0.0
    for reading in READINGS[:n]:
        own.append(state._own)
        mean, sd = state.read(reading)
        score += stats.norm(mean, sd).logpdf(reading.gone)
    mean, cov, density = regression(c, READINGS[:n], own)
    np.testing.assert_allclose(state.mean[:3], mean, atol=1e-9)
    np.testing.assert_allclose(np.array(state.cov)[:3, :3], cov, atol=1e-9)
    assert score == pytest.approx(density)


def test_the_chance_of_being_dry_is_the_integral_over_the_level_of_thirst() -> None:
    """Level alone in doubt: Bayes' rule by Simpson's, which knows no conjugate formula."""
    c = course(0.0, [[0.0] * 3] * 3)
    flat = Course(c.drinks, [0.0] * DAYS, c.noise, c.growth, c.growth_spread, c.years)
    state, out = estimated(flat, READINGS, 12.0)[:2]
    assert out == ()

    a = np.linspace(0, 3, 60_001)
    weight = stats.norm(1, LEVEL_SPREAD).pdf(a)
    for r in READINGS:
        weight *= stats.norm(a * c.water[r.day], r.error).pdf(r.gone)
    usable = 9.0
    chances = state.dry_by(usable)
    for day in (22, 24, 26):
        dry = a >= usable / c.water[day]  # who drinks as much as this is dry by then
        share = integrate.simpson(weight[dry], x=a[dry]) / integrate.simpson(weight, x=a)
        assert chances[day - state.day] == pytest.approx(share, abs=1e-3)


def test_dry_dates_of_sampled_tiers_are_spread_as_foretold() -> None:
    """Monte Carlo: 20,000 tiers drawn from the posterior, walked day by day."""
    c = course()
    state, _ = estimated(c, READINGS, 12.0)[:2]
    rng = np.random.default_rng(5)
    theta = rng.multivariate_normal(state.mean, state.cov, 20_000)
    steps = rng.normal(0, state._own * np.sqrt(c.noise[21:]), (20_000, DAYS - 21))
    walk = theta[:, 3:] + np.concatenate([np.zeros((20_000, 1)), np.cumsum(steps, axis=1)], axis=1)
    drunk = theta[:, :1] * c.water[21:] + theta[:, 1:2] * c.slope[21:] + walk
    chances = state.dry_by(9.0)
    for day in (23, 25, 27):
        # By the day it is dry or was before: the walk may go back by a hair, a tier does not.
        share = (drunk[:, : day - 21 + 1] >= 9.0).any(axis=1).mean()
        assert chances[day - 21] == pytest.approx(share, abs=0.02)


def test_a_reading_moves_what_is_foretold_by_as_much_as_was_said() -> None:
    c = course()
    before, _ = estimated(c, READINGS[:2], 12.0)[:2]
    said = before.told_by(21, 30, 0.4)
    _, sd = before.drunk(30)
    after, _ = estimated(c, READINGS[:2], 12.0)[:2]
    after.read(Reading(21, before.drunk(21)[0], 0.4))  # as expected: thirst stays what it is
    left = after.drunk(30)[1]
    assert sd**2 - left**2 == pytest.approx(said**2, rel=1e-6)


def test_a_thirsty_tier_is_found_thirsty_and_a_late_thirst_as_a_slope() -> None:
    c = course()
    thirsty = [Reading(d, 1.4 * c.water[d], 0.1) for d in (7, 14, 21, 28)]
    late = [Reading(d, c.water[d] + 0.5 * c.slope[d], 0.1) for d in (7, 14, 21, 28)]
    assert estimated(c, thirsty, 12.0)[0].factor[0] == pytest.approx(1.4, abs=0.06)
    state, _ = estimated(c, late, 12.0)[:2]
    assert state.mean[1] > 0.25
    assert state.factor[0] > 1.1


def test_one_reading_that_contradicts_the_others_is_left_out_whichever_it_is() -> None:
    c = course()
    good = [Reading(d, 1.1 * c.water[d], 0.3) for d in (7, 14, 21, 28)]
    for i, r in enumerate(good):
        spoilt = [*good[:i], Reading(r.day, max(r.gone - 3.5, -0.2), 0.3), *good[i + 1 :]]
        state, out = estimated(c, spoilt, 12.0)[:2]
        assert out == ((i,) if r.gone > 2 else ())  # on day 7 only 1.2 L can be gone
        assert state.factor[0] == pytest.approx(1.1, abs=0.15)


def test_a_reading_just_off_counts_and_one_far_off_does_not() -> None:
    """With the walk of a week at 0.12 L and two errors of 0.1 L, 0.3 L off may be; 3 L may not."""
    c = course()
    good = [Reading(d, c.water[d], 0.1) for d in (7, 14, 21)]
    for off, out in ((0.3, ()), (3.0, (3,))):
        last = Reading(28, c.water[28] - off, 0.1)
        assert estimated(c, [*good, last], 12.0)[1] == out


def test_whole_days_hold_about_the_share_asked_for() -> None:
    assert within([0.02, 0.3, 0.8, 0.97, 1.0]) == (1, 3)  # 0.02 before day 1, 0.97 by day 3
    assert within([0.2, 0.94, 1.0]) == (0, 1)  # nothing is before day 0; 0.94 is nearer than 1
    assert within([0.0, 1.0]) == (1, 1)
    assert within([0.0, 0.03, 0.5]) == (2, None)
    assert within([0.0, 0.01]) == (None, None)
    assert (median([0.1, 0.5, 0.9]), median([0.1, 0.49])) == (1, None)


def test_intervals_of_whole_days_hold_their_share_on_the_mean() -> None:
    held = []
    for mean in np.arange(20, 21, 0.05):
        for sd in (1.0, 2.0, 4.0):
            chances = [normal((d - mean) / sd) for d in range(40)]
            first, last = within(chances)
            held.append(chances[last] - chances[first - 1])
    assert np.mean(held) == pytest.approx(0.9, abs=0.012)
