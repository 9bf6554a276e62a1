"""What else is told of a tier, and readings that disagree, against general methods.

Conditioning of a joint normal distribution by solving (Bishop 2006, Pattern Recognition and Machine
Learning, section 2.3, from memory), and weights of hypotheses by Simpson's rule: neither goes
through the readings one by one, as the estimate does.
"""

from __future__ import annotations

import numpy as np
import pytest
from levels_case import DAYS, READINGS, YEARS, course
from scipy import integrate, stats

from scheduler.levels.estimate import (
    LEVEL_SPREAD,
    SLOPE_SPREAD,
    Course,
    Estimate,
    Grown,
    Inflow,
    Reading,
    Shift,
)
from scheduler.watch.explain import (
    FLOWS,
    LEAKED,
    MISREAD,
    ODDS,
    RAINED,
    RIGHT,
    estimated,
)

STILL = course(0.0, [[0.0] * 3] * 3)
FLAT = Course(STILL.drinks, [0.0] * DAYS, STILL.noise, STILL.growth, STILL.growth_spread, YEARS)


def taken(c: Course, *events) -> Estimate:
    state = Estimate(c)
    for event in events:
        state.take(event)
    return state


def conditioned(h, noise, y, prior_mean, prior):
    """Posterior mean and covariance of a normal vector x, of which y = h x + noise is seen."""
    h, noise, y = np.array(h), np.diag(noise), np.array(y)
    both = h @ prior @ h.T + noise
    gain = np.linalg.solve(both, h @ prior).T
    return prior_mean + gain @ (y - h @ prior_mean), prior - gain @ h @ prior


def test_water_and_a_change_of_thirst_are_what_a_joint_normal_says():
    """x = (level, slope, pace, water in on day 10, change from day 12 on); no weather on the way."""
    c = course(0.0)
    events = [
        READINGS[0],
        Inflow(10, 1.0, 0.3),
        Shift(12, 0.2),
        READINGS[1],
        Reading(21, 6.9, 0.4),
    ]
    prior = np.zeros((5, 5))
    prior[:3, :3] = np.array(YEARS) + np.diag([LEVEL_SPREAD**2, SLOPE_SPREAD**2, 0.0])
    prior[3, 3], prior[4, 4] = 0.3**2, 0.2**2
    w, s = c.water, c.slope
    h = [
        [w[7], s[7], 0, 0, 0],
        [w[14], s[14], 0, -1, w[14] - w[12]],
        [w[21], s[21], 0, -1, w[21] - w[12]],
    ]
    mean, cov = conditioned(
        h, [0.09, 0.09, 0.16], [1.5, 4.1, 6.9], np.array([1, 0, 0, 1.0, 0]), prior
    )
    at = np.array([w[30], s[30], 0, -1, w[30] - w[12]])
    state = taken(c, *events)
    assert state.drunk(30) == pytest.approx((at @ mean, np.sqrt(at @ cov @ at)), abs=1e-9)


def test_how_it_looks_moves_its_pace_as_a_normal_says():
    """Progress (1 + v) * growth is seen to be 1 with 0.05 where 0.8 was expected."""
    c = course(0.0)
    state = taken(c, Grown(24, 1.0, 0.05, least=True))
    var = YEARS[2][2]
    off = 0.05**2 + c.growth_spread[24] ** 2
    mean, cov = conditioned([[0.8]], [off], [1.0 - 0.8], np.array([0.0]), np.array([[var]]))
    assert state.mean[2] == pytest.approx(mean[0])
    assert state.cov[2][2] == pytest.approx(cov[0, 0])
    assert state.ready_on() < Estimate(c).ready_on() == 30


def test_who_is_expected_further_on_learns_nothing_from_looking_ripe():
    c = course(0.0)
    assert taken(c, Grown(33, 1.0, 0.05, least=True)).mean[2] == 0.0
    assert taken(c, Grown(33, 1.0, 0.05)).mean[2] < 0.0  # 1.1 was expected, and 1 is seen


def density(readings, *, out=(), flow=None, most=12.0):
    """Of the readings, level of thirst and what came in both in doubt, by Simpson's rule."""
    c = STILL
    a = np.linspace(0, 2, 801)[:, None]
    u = np.array([[0.0]]) if flow is None else np.linspace(-12, 12, 2401)[None, :]
    weight = stats.norm(1, LEVEL_SPREAD).pdf(a) * np.ones_like(u)
    before = len(readings)
    if flow is not None:
        before, (mean, sd) = flow[0], FLOWS[flow[1]]
        weight = weight * stats.norm(mean * most, sd * most).pdf(u)
    scale = 1.0
    for i, r in enumerate(readings):
        if i in out:
            scale /= most
            continue
        gone = a * c.water[r.day] - (u if i >= before else 0.0)
        weight = weight * stats.norm(gone, r.error).pdf(r.gone)
    if flow is not None:
        weight = integrate.simpson(weight, x=u[0], axis=1)[:, None]
    return scale * integrate.simpson(weight[:, 0], x=a[:, 0])


@pytest.mark.parametrize("off", [-2.8, -2.2, 2.5])
@pytest.mark.parametrize("at", [1, 3])
def test_odds_of_what_happened_are_those_of_bayes_rule_by_quadrature(off, at):
    """The level of thirst alone in doubt; one of four readings is off, and of it all is asked."""
    flat = Course(
        FLAT.drinks, FLAT.slopes, FLAT.noise, FLAT.growth, FLAT.growth_spread, [[0.0] * 3] * 3
    )
    days = (7, 14, 21, 28)
    rows = [
        Reading(d, 1.05 * flat.water[d] + (off if i == at else 0), 0.25) for i, d in enumerate(days)
    ]
    found = estimated(flat, rows, 12.0)
    assert found.suspect == at
    weight = {
        RIGHT: (1 - sum(ODDS.values())) * density(rows),
        MISREAD: ODDS[MISREAD] * density(rows, out=(at,)),
        RAINED: ODDS[RAINED] * density(rows, flow=(at, RAINED)),
        LEAKED: ODDS[LEAKED] * density(rows, flow=(at, LEAKED)),
    }
    total = sum(weight.values())
    for what, share in found.odds.items():
        assert share == pytest.approx(weight[what] / total, abs=2e-3), what


def test_a_level_that_stays_high_was_rained_on_and_one_that_comes_back_was_misread():
    c = course()
    good = [Reading(d, c.water[d], 0.15) for d in (7, 14, 18)]
    high = [Reading(d, c.water[d] - 2.2, 0.15) for d in (21, 28)]
    back = [high[0], Reading(28, c.water[28], 0.15)]
    stays, comes = estimated(c, good + high, 12.0), estimated(c, good + back, 12.0)
    assert (stays.suspect, next(iter(stays.odds))) == (3, RAINED)
    assert (comes.suspect, next(iter(comes.odds)), comes.out) == (3, MISREAD, (3,))
    assert stays.odds[RAINED] > 0.9
    assert comes.odds[MISREAD] > 0.9
    assert stays.state.drunk(30)[0] == pytest.approx(c.water[30] - 2.2, abs=0.5)


def test_a_leak_is_told_from_thirst_by_the_days_after_it():
    c = course()
    rows = [Reading(d, c.water[d] + (3.0 if d > 14 else 0), 0.25) for d in (7, 14, 21, 28)]
    found = estimated(c, rows, 14.0)
    assert (found.suspect, next(iter(found.odds))) == (2, LEAKED)
    assert found.state.factor[0] == pytest.approx(1.0, abs=0.1)


def test_readings_that_agree_leave_nothing_to_explain():
    found = estimated(course(), READINGS, 12.0)
    assert (found.suspect, found.odds, found.out) == (None, {}, ())


def test_shares_of_all_that_may_have_happened_add_up():
    c = course()
    rows = [Reading(7, c.water[7], 0.25), Reading(14, c.water[14] - 2.2, 0.25)]
    found = estimated(c, rows, 12.0)
    assert sum(found.odds.values()) == pytest.approx(1)
    assert sum(share for share, _ in found.states) == pytest.approx(1, abs=0.004)
