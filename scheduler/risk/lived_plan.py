"""A plan lived in many weather years by the grower of its promise: what is late, lost or short."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks, wish
from scheduler.lived.doubt import Doubt
from scheduler.lived.growing import (
    BOLTED,
    DRY,
    FROZEN,
    NEVER_BEGUN,
    OVERHEATED,
    SEEDLINGS_TOO_OLD,
    TOO_OLD,
)
from scheduler.lived.laid import FAR
from scheduler.lived.live import Lived, live
from scheduler.lived.promise import summed_up
from scheduler.plans.model import CLEARED, FAILED, Batch, Plan, Promise
from scheduler.plans.part import lived_part
from scheduler.words.language import _
from scheduler.years.quantiles import share_below
from scheduler.years.weather_years import WeatherYears

FIFTHS = (0.2, 0.5, 0.8)  # one year in five below, a usual one, one in five above


@dataclass(frozen=True)
class BatchLived:
    """How a batch fares, in shares of the years [0..1].

    Attributes
    ----------
    first_pick : as planned. late : days by which its first pick comes later in one year of five;
        None: in one year of five it never comes.
    unripe : on its planned day it is not ripe, or if planned young not large enough.
    dry, bolted, cold, heat, too_old : some of it is lost to that; unplanted : it never comes into
        its tier.
    mass : what is picked of it on the mean, as a share of what is planned.
    """

    id: str
    crop: str
    column: str
    tier: int
    first_pick: date
    late: int | None
    unripe: float
    dry: float
    bolted: float
    cold: float
    heat: float
    too_old: float
    unplanted: float
    mass: float

    @property
    def lost(self) -> float:
        """Share of the years in which some of it is lost."""
        killed = self.cold + self.heat
        return self.dry + self.bolted + killed + self.too_old + self.unplanted


@dataclass(frozen=True)
class WeekLived:
    """Of a group's wish in a week [g]: planned, and served in a poor, a usual and a good year.

    One year in five is poorer than the poor, one better than the good one.
    """

    group: str
    week: str
    wish: int
    planned: int
    served: tuple[int, int, int]


@dataclass(frozen=True)
class LivedPlan:
    """What came of a plan.

    Attributes
    ----------
    years : lived; real : how many of them have been. notes : how they were made.
    batches : those still ahead, in the plan's order; weeks : by group and week.
    promise : a usual year, one in five below, the worst fifth.
    any_lost : share of the years in which some batch is lost in part or whole.
    """

    years: int
    real: int
    notes: tuple[str, ...]
    batches: tuple[BatchLived, ...]
    weeks: tuple[WeekLived, ...]
    promise: Promise
    any_lost: float


def lived_plan(
    garden: Garden, plan: Plan, years: WeatherYears, seed: int, reachable: float = 1.0
) -> LivedPlan:
    """Live a plan in ``years``, as its promise was.

    Parameters
    ----------
    garden : of the mean year. seed : of the doubt in the crops' numbers.
    reachable : share of the wish that any plan can reach.
    """
    today = 0 if plan.as_of is None else garden.season.index(plan.as_of)
    part, mine = lived_part(garden, plan.batches)
    lived = live(part, mine, years, doubt=Doubt(), seed=seed, today=today)
    at = {b.id: i for i, b in enumerate(lived.batches)}
    ahead = [b for b in mine if b.state not in (CLEARED, FAILED) and b.picks]
    notes = tuple(years.notes)
    if part is not garden:
        n, m = len(garden.columns), len(part.columns)
        notes += (
            _(
                "Of {n:,} columns {m} were lived, evenly spaced in the garden file; "
                "weeks are told for all of them, at the same share of the wish."
            ).format(n=n, m=m),
        )
    rows = np.array([at[b.id] for b in ahead], dtype=int)
    lost = (lived.lost[rows] >= 0).any(axis=0) if len(rows) else np.zeros(years.count, bool)
    return LivedPlan(
        years.count,
        years.real,
        notes,
        tuple(_batch(garden, b, lived, at[b.id]) for b in ahead),
        _weeks(garden, part, plan, lived),
        summed_up(lived.share, reachable, seed),
        float(lost.mean()),
    )


def _batch(garden: Garden, batch: Batch, lived: Lived, at: int) -> BatchLived:
    first = garden.season.index(batch.picks[0].date)
    made = lived.made[at, 0].astype(float)
    made[made >= FAR] = np.inf
    late = float(share_below(made - first, FIFTHS[2]))
    lost = lived.lost[at]
    grams = float(lived.pick_grams[at].sum(axis=0).mean())
    return BatchLived(
        id=batch.id,
        crop=batch.crop,
        column=batch.column,
        tier=batch.tier,
        first_pick=batch.picks[0].date,
        late=None if np.isinf(late) else max(round(late), 0),
        unripe=float((lived.due_fit[at] > first).mean()),
        dry=float((lost == DRY).mean()),
        bolted=float((lost == BOLTED).mean()),
        cold=float((lost == FROZEN).mean()),
        heat=float((lost == OVERHEATED).mean()),
        too_old=float((lost == TOO_OLD).mean()),
        unplanted=float(((lost == SEEDLINGS_TOO_OLD) | (lost == NEVER_BEGUN)).mean()),
        mass=grams / max(batch.grams, 1),
    )


def _weeks(garden: Garden, part: Garden, plan: Plan, lived: Lived) -> tuple[WeekLived, ...]:
    short = {(u.group, u.week): u.grams for u in plan.unmet}
    wished, there = wish(garden), wish(part)
    out = []
    for g, demand in enumerate(garden.demands):
        for w, week in enumerate(season_weeks(garden.season)):
            want = wished.get((demand.group, week), 0)
            if want:
                met = lived.met[g, w] * want / max(there.get((demand.group, week), 0), 1)
                low, usual, high = (round(float(share_below(met, s))) for s in FIFTHS)
                planned = want - short.get((demand.group, week), 0)
                out.append(WeekLived(demand.group, week, want, planned, (low, usual, high)))
    return tuple(out)
