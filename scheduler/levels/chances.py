"""Chances by day: when something has rather happened than not, and between which days."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from math import erf, sqrt


def normal(z: float) -> float:
    """Standard normal distribution function."""
    return (1 + erf(z / sqrt(2))) / 2


def within(chances: Sequence[float], share: float = 0.9) -> tuple[int | None, int | None]:
    """First and last place of the interval of days that holds about a ``share`` of the chances.

    Days are whole, so the ends are those that come nearest to it. None: not seen.

    Parameters
    ----------
    chances : that it has happened by each day, rising [0..1].
    """
    below = [0.0, *chances]  # that it has happened before each day
    low, high = (1 - share) / 2, (1 + share) / 2
    first, last = _nearest(below, low), _nearest(chances, high)
    if first is not None and first >= len(chances):
        first = None
    return first, last if last is None or first is None else max(first, last)


def _nearest(chances: Sequence[float], wanted: float) -> int | None:
    """Place whose chance is nearest; None where none is as high."""
    at = bisect_left(chances, wanted)
    if at == len(chances):
        return None
    return at - 1 if at and wanted - chances[at - 1] < chances[at] - wanted else at


def median(chances: Sequence[float]) -> int | None:
    """First place at which it has rather happened than not; None: not seen."""
    at = bisect_left(chances, 0.5)
    return at if at < len(chances) else None
