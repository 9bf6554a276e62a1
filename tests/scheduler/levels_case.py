"""A tier that drinks more from day to day, and readings of it; what readings of a box foretell."""

from __future__ import annotations

import numpy as np

from scheduler.levels.estimate import Course, Reading

DAYS = 40
YEARS = [[0.004, 0.001, 0.002], [0.001, 0.003, 0.0], [0.002, 0.0, 0.01]]


def course(noise: float = 0.002, years=YEARS) -> Course:
    """A tier that drinks 0.1 L on its first day and 0.02 L more on each, ripe after 30 days."""
    drinks = [0.1 + 0.02 * d for d in range(DAYS)]
    growth = [d / 30 for d in range(DAYS + 1)]
    slopes = [q * (min(x, 1.0) - 0.5) for q, x in zip(drinks, growth, strict=False)]
    return Course(drinks, slopes, [noise] * DAYS, growth, [0.01 * x for x in growth], years)


READINGS = [Reading(7, 1.5, 0.3), Reading(14, 4.1, 0.3), Reading(21, 7.7, 0.4)]


def in_a_box(readings: list[tuple[int, float]]) -> tuple[int, float]:
    """What readings of a box of `verify_case` foretell: day it is dry, factor on the plan by then.

    ``readings``: days after transplanting, litres gone. Four plants drink 0.4 L a day, 10.8 L can be
    drunk, and a head is ready after 20 days. A Bayesian regression on all readings at once,
    with known noise (Bishop 2006, Pattern Recognition and Machine Learning, section 2.3.3, from
    memory). Two readings share the weather that both have seen, each stretch of it times the
    thirst found before it.
    """
    prior = np.array([[0.2**2 + 0.15**2, -0.021], [-0.021, 0.25**2 + 0.2**2]])
    day = np.arange(41)
    water = 0.4 * day
    leaf = np.minimum(day[:-1] / 20, 1) - 0.5
    slope = np.concatenate([[0.0], np.cumsum(0.4 * leaf)])
    own, seen, at, mean = 1.0, [], 0, np.array([1.0, 0.0])
    for n, (d, _) in enumerate(readings, 1):
        seen.append((seen[-1] if seen else 0.0) + own**2 * (d - at) * (0.41 * 0.4) ** 2)
        at, days = d, np.array([d for d, _ in readings[:n]])
        h = np.column_stack([water[days], slope[days]])
        walk = np.minimum.outer(seen, seen)
        both = h @ prior @ h.T + walk + np.eye(n) * 0.254**2
        off = np.array([y for _, y in readings[:n]]) - h @ np.array([1.0, 0.0])
        mean = np.array([1.0, 0.0]) + prior @ h.T @ np.linalg.solve(both, off)
        added, own = float(walk[-1] @ np.linalg.solve(both, off)), float(mean[0])
    gone = mean[0] * water + mean[1] * slope + added
    dry = at + int(np.argmax(gone[at:] >= 10.8))
    return dry, float(gone[dry] / water[dry])
