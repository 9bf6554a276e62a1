"""A tier that drinks more from day to day, and readings of it."""

from __future__ import annotations

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
