"""From level readings of one tier: how thirsty it is, how fast it grows, when it will be dry.

Plain numbers, no arrays: a line of the log does not wait for them.

The model. By the morning of day h a tier has drunk

    D(h) = a * water(h) + b * slope(h) + e(h)   [L]

``water`` is what it is expected to drink, ``slope`` the same weighted by how far the crop has come
(progress less a half), ``a`` and ``b`` are the tier's own thirst: level and slope, 1 and 0 where
it drinks as expected. ``e`` is what the weather of days and weeks adds: a walk whose steps are
independent. Progress is ``(1 + v) * growth(h)`` and a walk of its own. What differs from year to
year in ``a``, ``b`` and ``v``, and how they go together, the weather years tell; what differs from
tier to tier is our own judgement. All of it is normal, and a reading is D with the error of a
ruler, so each reading is one step of a Kalman filter (Kalman 1960, J. Basic Eng. 82:35-45, from
memory), and the filter's answer is exact.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, combinations
from math import erf, log, pi, sqrt

# How one tier of a crop differs from another in thirst, one standard deviation: level, and slope
# against progress. Own judgement, common practice, no source.
LEVEL_SPREAD, SLOPE_SPREAD = 0.20, 0.25
# One reading in so many is a slip of the eye or the pen. Own judgement.
MISREAD = 0.02
FAR_OFF = 3.5  # standard deviations: such a reading is looked at twice
_MOST_LEFT_OUT = 2

Matrix = list[list[float]]


@dataclass(frozen=True)
class Reading:
    """A level measured on the morning of ``day`` after transplanting.

    ``gone``: what the tier has drunk by then [L]; ``error``: one standard deviation of it [L].
    """

    day: int
    gone: float
    error: float


@dataclass(frozen=True)
class Course:
    """What one tier is expected to do, day by day from its transplanting on.

    Attributes
    ----------
    drinks, slopes : of each day [L]; noise : variance of what the weather adds to it [L2].
    growth : progress expected on each morning, one more than days [-].
    growth_spread : standard deviation of it around ``(1 + v) * growth`` [-].
    years : covariance over the years of level, slope and pace [3 x 3].
    """

    drinks: Sequence[float]
    slopes: Sequence[float]
    noise: Sequence[float]
    growth: Sequence[float]
    growth_spread: Sequence[float]
    years: Sequence[Sequence[float]]

    @cached_property
    def water(self) -> list[float]:
        """Drunk by each morning as expected [L]."""
        return list(accumulate(self.drinks, initial=0.0))

    @cached_property
    def slope(self) -> list[float]:
        """The same weighted by progress less a half [L]."""
        return list(accumulate(self.slopes, initial=0.0))

    @cached_property
    def walk(self) -> list[float]:
        """Variance of what the weather has added by each morning [L2]."""
        return list(accumulate(self.noise, initial=0.0))

    @property
    def days(self) -> int:
        return len(self.drinks)


class Estimate:
    """What is known of a tier on the morning of ``day`` after transplanting.

    Attributes
    ----------
    mean, cov : of level, slope, pace [-] and of what the weather has added by ``day`` [L].
    """

    def __init__(self, course: Course) -> None:
        own = (LEVEL_SPREAD, SLOPE_SPREAD, 0.0)
        self.course, self.day = course, 0
        self.mean = [1.0, 0.0, 0.0, 0.0]
        self.cov: Matrix = [
            [course.years[i][j] + (own[i] ** 2 if i == j else 0.0) for j in range(3)] + [0.0]
            for i in range(3)
        ] + [[0.0] * 4]

    def read(self, reading: Reading) -> tuple[float, float]:
        """Take a reading in; what it was expected to show and how surely [L, L: mean, sd]."""
        self._go(reading.day)
        h = self._seen(reading.day)
        ph = [sum(row[j] * h[j] for j in range(4)) for row in self.cov]
        expected = sum(m * x for m, x in zip(self.mean, h, strict=True))
        seen = sum(x * y for x, y in zip(h, ph, strict=True))
        var = max(seen, 0.0) + max(reading.error**2, 1e-12)
        gain = [p / var for p in ph]
        off = reading.gone - expected
        self.mean = [m + g * off for m, g in zip(self.mean, gain, strict=True)]
        self.cov = [[self.cov[i][j] - gain[i] * ph[j] for j in range(4)] for i in range(4)]
        return expected, sqrt(var)

    def _go(self, day: int) -> None:
        """On to a later morning: the weather has added what none has seen."""
        walk = self.course.walk
        self.cov[3][3] += self._own**2 * (walk[day] - walk[self.day])
        self.day = day

    @property
    def _own(self) -> float:
        """What the weather adds goes with the thirst of the tier."""
        return max(self.mean[0], 0.1)

    def _seen(self, day: int) -> list[float]:
        return [self.course.water[day], self.course.slope[day], 0.0, 1.0]

    def drunk(self, day: int) -> tuple[float, float]:
        """Drunk by the morning of ``day``, not before the last reading [L: mean, sd]."""
        # Written out, as it is asked for every day of every tier; pace has no part in it.
        x, y, walk = self.course.water[day], self.course.slope[day], self.course.walk
        (a, b, _, e), (p, q, _, r) = self.mean, self.cov[3]
        (aa, ab, _, _), (_, bb, _, _) = self.cov[0], self.cov[1]
        var = x * (aa * x + 2 * (ab * y + p)) + y * (bb * y + 2 * q) + r
        var += self._own**2 * (walk[day] - walk[self.day])
        return a * x + b * y + e, sqrt(max(var, 1e-12))

    def told_by(self, day: int, at: int, error: float) -> float:
        """By how much a reading on ``day`` would move what is expected for ``at`` [L, sd]."""
        h, g, walk = self._seen(day), self._seen(at), self.course.walk
        step = self._own**2 * (walk[day] - walk[self.day])
        both = sum(h[i] * self.cov[i][j] * g[j] for i in range(4) for j in range(4)) + step
        return abs(both) / sqrt(self.drunk(day)[1] ** 2 + error**2)

    @property
    def factor(self) -> tuple[float, float]:
        """Thirst today against the expected [-: mean, sd], as the crop stands."""
        at = min(self.course.growth[self.day], 1.0) - 0.5
        var = self.cov[0][0] + 2 * at * self.cov[0][1] + at * at * self.cov[1][1]
        return self.mean[0] + at * self.mean[1], sqrt(max(var, 0.0))

    def progress(self, day: int) -> tuple[float, float]:
        """Progress on the morning of ``day`` [-: mean, sd]."""
        grown = self.course.growth[day]
        spread = self.course.growth_spread[day]
        return (1 + self.mean[2]) * grown, sqrt(self.cov[2][2] * grown**2 + spread**2 + 1e-12)

    def dry_by(self, usable: float) -> list[float]:
        """Chance [0..1] that ``usable`` litres are gone by each morning from ``day`` on."""
        chance, out = 0.0, []
        for day in range(self.day, self.course.days + 1):
            mean, sd = self.drunk(day)
            # What is gone stays gone; a hair more, so that equal parts are gone when they should.
            chance = max(chance, normal((mean - usable + 1e-9) / sd))
            out.append(chance)
        return out

    def ready_on(self) -> int | None:
        """First morning from ``day`` on on which it is rather ready than not; None: not seen."""
        days = range(self.day, self.course.days + 1)
        return next((d for d in days if self.progress(d)[0] >= 1 - 1e-9), None)


def estimated(
    course: Course, readings: Sequence[Reading], most: float
) -> tuple[Estimate, tuple[int, ...]]:
    """What the readings say, and which of them (by place) were left out as misread.

    Where all agree none is left out. Else the choice of at most two is left out that makes what
    remains most likely, a misread level being anywhere between nothing and ``most`` litres.

    Parameters
    ----------
    readings : by day, no two of one day; within the course.
    """
    found, score, far = _told(course, readings, (), most)
    if far <= FAR_OFF:
        return found, ()
    best: tuple[int, ...] = ()
    for count in range(1, min(_MOST_LEFT_OUT, len(readings)) + 1):
        for out in combinations(range(len(readings)), count):
            other, value, _ = _told(course, readings, out, most)
            if value > score:
                found, score, best = other, value, out
    return found, best


def _told(
    course: Course, readings: Sequence[Reading], out: tuple[int, ...], most: float
) -> tuple[Estimate, float, float]:
    """Estimate without some readings, its logarithm of likelihood, its worst surprise [sd]."""
    state, score, far = Estimate(course), len(out) * log(MISREAD / most), 0.0
    for i, reading in enumerate(readings):
        if i in out:
            continue
        mean, sd = state.read(reading)
        off = (reading.gone - mean) / sd
        score += log((1 - MISREAD) / (sd * sqrt(2 * pi))) - off * off / 2
        far = max(far, abs(off))
    return state, score, far


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
