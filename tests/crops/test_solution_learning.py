"""Estimates between catalogue and experience: the rule, its limits, and coverage by simulation."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from crops.learning import DEMAND, PRIORS, Prior, believable, estimate


def test_without_crops_the_catalogue_stands():
    found = estimate(DEMAND, [])
    assert found.factor == 1
    assert found.share == 0
    # Student's t with 6 degrees of freedom: 1.943 standard deviations of 0.30.
    assert math.log(found.high) == pytest.approx(1.943 * 0.30, abs=1e-3)


def test_one_crop_by_hand():
    # doubt 0.3, noise 0.12: k0 = 0.16; one crop of x = 0.2: centre 0.2 / 1.16.
    found = estimate(DEMAND, [math.exp(0.2)])
    assert math.log(found.factor) == pytest.approx(0.2 / 1.16)
    s2 = (6 * 0.12**2 + 0.16 * 0.2**2 / 1.16) / 7
    half = stats.t.ppf(0.95, 7) * math.sqrt(s2 / 1.16)
    assert math.log(found.high / found.factor) == pytest.approx(half)


@given(st.lists(st.floats(0.4, 2.5), min_size=1, max_size=12))
@settings(max_examples=100, deadline=None)
def test_between_catalogue_and_what_was_seen(factors):
    found = estimate(DEMAND, factors)
    low, high = sorted((1.0, found.seen))
    assert low - 1e-9 <= found.factor <= high + 1e-9
    assert found.low < found.factor < found.high
    assert found.next_low < found.low
    assert found.next_high > found.high


def test_more_of_the_same_counts_for_more():
    shares = [estimate(DEMAND, [1.3, 1.35] * n).share for n in (1, 5, 20)]
    widths = [(e := estimate(DEMAND, [1.3, 1.35] * n)).high / e.low for n in (1, 5, 20)]
    assert shares == sorted(shares)
    assert widths == sorted(widths, reverse=True)
    assert estimate(DEMAND, [1.3, 1.35] * 100).factor == pytest.approx(
        math.sqrt(1.3 * 1.35), rel=1e-3
    )


def test_a_crop_of_which_little_is_known_counts_for_less_by_hand():
    # Known no better than crops differ, 0.12: half a crop. k0 = 0.16: centre 0.5 x 0.2 / 0.66.
    found = estimate(DEMAND, [math.exp(0.2)], [0.12])
    assert math.log(found.factor) == pytest.approx(0.1 / 0.66)
    assert found.share == pytest.approx(0.5 / 0.66)
    s2 = (6 * 0.12**2 + 0.16 * 0.5 * 0.2**2 / 0.66) / 7
    half = stats.t.ppf(0.95, 7) * math.sqrt(s2 / 0.66)
    assert math.log(found.high / found.factor) == pytest.approx(half)
    assert estimate(DEMAND, [1.3, 1.1], [0.0, 0.0]) == estimate(DEMAND, [1.3, 1.1])


@pytest.mark.parametrize("bad", [[0.1], [0.1, -0.1], [0.1, math.nan]])
def test_what_is_no_doubt(bad):
    with pytest.raises(ValueError, match="2 numbers, 0 or above"):
        estimate(DEMAND, [1.0, 1.1], bad)


@pytest.mark.slow
@pytest.mark.parametrize("doubts", [(), (0.0, 0.15, 0.3)])
def test_the_same_as_integrating_the_posterior(doubts):
    """Conjugate formulas against a grid over mu and s2: prior times likelihood, summed."""
    prior = Prior("x", 0.3, 0.15, 5.0)
    x = np.log([1.1, 1.45, 1.3])
    mu = np.linspace(-1.5, 1.8, 1501)
    s2 = np.exp(np.linspace(math.log(1e-3), math.log(2.0), 1201))
    grid_mu, grid_s2 = np.meshgrid(mu, s2, indexing="ij")
    log_p = stats.norm.logpdf(grid_mu, 0, np.sqrt(grid_s2 / prior.worth))
    log_p += stats.invgamma.logpdf(
        grid_s2, prior.weight / 2, scale=prior.weight * prior.noise**2 / 2
    )
    for value, doubt in zip(x, doubts or (0.0,) * 3, strict=True):
        weight = prior.noise**2 / (prior.noise**2 + doubt**2)
        log_p += stats.norm.logpdf(value, grid_mu, np.sqrt(grid_s2 / weight))
    weight = integrate.trapezoid(np.exp(log_p - log_p.max()), s2, axis=1)
    below = integrate.cumulative_trapezoid(weight, mu, initial=0)
    below /= below[-1]
    found = estimate(prior, np.exp(x), doubts)
    for q, ours in ((0.05, found.low), (0.5, found.factor), (0.95, found.high)):
        assert np.interp(q, below, mu) == pytest.approx(math.log(ours), abs=2e-3)


@pytest.mark.slow
@pytest.mark.parametrize("n", [3, 10, 30])
@pytest.mark.parametrize("prior", PRIORS, ids=lambda p: p.name)
def test_intervals_cover_nine_truths_in_ten(prior, n):
    """Places whose truth lies around the catalogue as the prior says, with noisy crops."""
    rng = np.random.default_rng(n)
    places = 3000
    held = 0
    for _ in range(places):
        s2 = stats.invgamma.rvs(
            prior.weight / 2, scale=prior.weight * prior.noise**2 / 2, random_state=rng
        )
        truth = rng.normal(0, math.sqrt(s2 / prior.worth))
        found = estimate(prior, np.exp(rng.normal(truth, math.sqrt(s2), n)))
        held += math.log(found.low) <= truth <= math.log(found.high)
    # Standard error of a share of 0.9 in 3000: 0.0055.
    assert held / places == pytest.approx(0.9, abs=0.02)


@pytest.mark.parametrize("truth", [-0.4, -0.15, 0.0, 0.15, 0.4])
@pytest.mark.parametrize("n", [3, 10, 30])
def test_coverage_at_one_truth_with_the_usual_noise(truth, n):
    """A fixed truth, up to 1.3 doubts from the catalogue, crops as noisy as usual."""
    rng = np.random.default_rng(11)
    held = 0
    for _ in range(1500):
        found = estimate(DEMAND, np.exp(rng.normal(truth, DEMAND.noise, n)))
        held += found.low <= math.exp(truth) <= found.high
    assert held / 1500 >= 0.87


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_what_is_no_factor(bad):
    with pytest.raises(ValueError, match="above 0"):
        estimate(DEMAND, [1.0, bad])


def test_what_is_believable():
    assert believable(2.99)
    assert believable(0.34)
    assert not believable(3.01)
    assert not believable(0.33)
    assert not believable(0.0)
    assert not believable(None)
