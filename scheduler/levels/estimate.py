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
memory), and the filter's answer is exact. Water that came in counts against D, with what is not
known of it; plants that are lost, and shade, change what is expected.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from math import sqrt

from scheduler.levels.chances import normal

# How one tier of a crop differs from another in thirst, one standard deviation: level, and slope
# against progress. Own judgement, common practice, no source.
LEVEL_SPREAD, SLOPE_SPREAD = 0.20, 0.25
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
class Inflow:
    """Water that came in on ``day`` after what was read before [L]; ``spread``: its sd [L]."""

    day: int
    litres: float
    spread: float


@dataclass(frozen=True)
class Shift:
    """From ``day`` on the tier's thirst may be another one; ``spread``: sd of the change [-]."""

    day: int
    spread: float


@dataclass(frozen=True)
class Grown:
    """How far the crop looked on ``day``: progress and one sd of it [-].

    ``least``: it looked at least so far, so that who is expected further on tells nothing.
    """

    day: int
    progress: float
    spread: float
    least: bool = False


Event = Reading | Inflow | Shift | Grown


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

    def __init__(self, course: Course, level_spread: float = LEVEL_SPREAD) -> None:
        """``level_spread``: how one tier differs from another in level, one sd [-]."""
        own = (level_spread, SLOPE_SPREAD, 0.0)
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

    def take(self, event: Event) -> tuple[float, float] | None:
        """Take in one event, not of an earlier day; of a reading what `read` gives."""
        if isinstance(event, Reading):
            return self.read(event)
        self._go(event.day)
        if isinstance(event, Inflow):
            self.mean[3] -= event.litres
            self.cov[3][3] += event.spread**2
        elif isinstance(event, Shift):
            # A level of a + change from now on drinks, until now, as if it had always been so, less
            # the change times what was expected until now.
            h = [1.0, 0.0, 0.0, -self.course.water[event.day]]
            var = event.spread**2
            self.cov = [[self.cov[i][j] + var * h[i] * h[j] for j in range(4)] for i in range(4)]
        else:
            self._look(event)
        return None

    def _look(self, seen: Grown) -> None:
        """Take in how far the crop looked: it moves the pace, and what goes with it."""
        grown = self.course.growth[seen.day]
        expected, _ = self.progress(seen.day)
        if seen.least and expected >= seen.progress:
            return
        ph = [row[2] * grown for row in self.cov]
        own = self.course.growth_spread[seen.day]
        var = grown * ph[2] + own**2 + seen.spread**2
        off = seen.progress - expected
        self.mean = [m + p / var * off for m, p in zip(self.mean, ph, strict=True)]
        self.cov = [[self.cov[i][j] - ph[i] * ph[j] / var for j in range(4)] for i in range(4)]

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

    def thirst_by(self, day: int) -> tuple[float, float]:
        """Own thirst over all days before ``day``, the weather's part left out [-: mean, sd].

        0 and 0 where nothing was expected to be drunk by then.
        """
        water = self.course.water[day]
        if water <= 0:
            return 0.0, 0.0
        s = self.course.slope[day] / water
        var = self.cov[0][0] + 2 * s * self.cov[0][1] + s * s * self.cov[1][1]
        return self.mean[0] + s * self.mean[1], sqrt(max(var, 0.0))

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
