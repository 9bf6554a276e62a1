"""The estimate of a tier beside a general Kalman filter that others wrote; run by hand.

    python -m tests.bench.tier_watch_filter

Random tiers of the plans that `tier_watch` simulates, with random readings, water that came in,
changes of thirst and looks at the crop. The same model goes into ``filterpy.kalman.KalmanFilter``
(filterpy, a general library for estimation, no dependency of the tests), which predicts with its own
matrices and updates by Joseph's form; state and covariance are compared after every event. The line
that it prints stands at the end of ``tier_watch.md``.
"""

from __future__ import annotations

import sys
from importlib.metadata import version

import numpy as np

from scheduler.levels.estimate import (
    LEVEL_SPREAD,
    SLOPE_SPREAD,
    Course,
    Estimate,
    Event,
    Grown,
    Inflow,
    Reading,
    Shift,
)
from tests.bench.tier_watch import planned

try:
    from filterpy.kalman import KalmanFilter
except ImportError:
    sys.exit("this bench needs filterpy: pip install filterpy")

TIERS, SEED = 2000, 77


class Other:
    """The same model in the general filter: level, slope, pace [-], what the weather added [L]."""

    def __init__(self, course: Course) -> None:
        self.course, self.day = course, 0
        self.filter = KalmanFilter(dim_x=4, dim_z=1)
        self.filter.x = np.array([[1.0], [0.0], [0.0], [0.0]])
        prior = np.zeros((4, 4))
        prior[:3, :3] = course.years
        prior[0, 0] += LEVEL_SPREAD**2
        prior[1, 1] += SLOPE_SPREAD**2
        self.filter.P, self.filter.F = prior, np.eye(4)

    def take(self, event: Event) -> None:
        c, kf = self.course, self.filter
        noise = np.zeros((4, 4))
        own = max(float(kf.x[0, 0]), 0.1)
        noise[3, 3] = own**2 * (c.walk[event.day] - c.walk[self.day])
        self.day = event.day
        kf.predict(Q=noise)
        if isinstance(event, Reading):
            h = np.array([[c.water[event.day], c.slope[event.day], 0.0, 1.0]])
            kf.update(event.gone, R=event.error**2, H=h)
        elif isinstance(event, Inflow):
            came = np.zeros((4, 4))
            came[3, 3] = event.spread**2
            kf.predict(u=np.array([[event.litres]]), B=np.array([[0], [0], [0], [-1.0]]), Q=came)
        elif isinstance(event, Shift):
            g = np.array([[1.0, 0.0, 0.0, -c.water[event.day]]])
            kf.predict(Q=event.spread**2 * g.T @ g)
        else:
            grown = c.growth[event.day]
            off = event.spread**2 + c.growth_spread[event.day] ** 2
            kf.update(event.progress - grown, R=off, H=np.array([[0.0, 0.0, grown, 0.0]]))


def events(course: Course, rng: np.random.Generator) -> list[Event]:
    """Up to twelve, by day."""
    days = sorted(rng.choice(course.days, size=min(12, course.days), replace=False).tolist())
    thirst = rng.uniform(0.6, 1.6)
    out: list[Event] = []
    for day in days:
        kind = rng.choice(4, p=[0.7, 0.1, 0.1, 0.1])
        if kind == 0:
            error = float(rng.uniform(0.05, 0.5))
            out.append(
                Reading(day, float(thirst * course.water[day] + rng.normal(0, error)), error)
            )
        elif kind == 1:
            out.append(Inflow(day, float(rng.uniform(0, 2)), float(rng.uniform(0, 0.5))))
        elif kind == 2:
            out.append(Shift(day, float(rng.uniform(0.05, 0.2))))
        else:
            look = course.growth[day] * rng.uniform(0.8, 1.2) + 0.01
            out.append(Grown(day, float(look), 0.05))
    return out


def main() -> None:
    rng = np.random.default_rng(SEED)
    worst, count = 0.0, 0
    kinds = [k for name in ("courtyard", "balcony") for k in planned(name).table.kinds]
    for _ in range(TIERS):
        kind = kinds[int(rng.integers(len(kinds)))]
        course = kind.course([float(rng.integers(1, 7))] * len(kind.drinks))
        mine, other = Estimate(course), Other(course)
        for event in events(course, rng):
            mine.take(event)
            other.take(event)
            count += 1
            scale = np.sqrt(np.abs(np.diag(other.filter.P))) + 1e-6
            off = np.abs(np.array(mine.mean) - other.filter.x[:, 0]) / scale
            spread = np.abs(np.array(mine.cov) - other.filter.P) / np.outer(scale, scale)
            worst = max(worst, float(off.max()), float(spread.max()))
    print(
        f"Beside the Kalman filter of filterpy {version('filterpy')} ({TIERS:,} tiers, {count:,} "
        f"readings, inflows, changes of thirst and looks, seed {SEED}): state and covariance differ "
        f"by at most {worst:.1e} of a standard deviation."
    )


if __name__ == "__main__":
    main()
