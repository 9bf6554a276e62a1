"""Replay a plan over many weather years: what runs dry, what is not ready, what comes to the table.

The calendar is followed to the day: nobody looks at the plants. That is what the plan itself
promises; who looks does better.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from scheduler.base.weeks import week_of
from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.plans.model import CLEARED, FAILED, Batch, Plan
from scheduler.risk.courses import Course, Replay
from scheduler.schedule.produce import most_even
from scheduler.words.language import N_
from scheduler.years.weather_years import WeatherYears

PERCENT = (0.05, 0.50, 0.95)
NONE = np.iinfo(np.int32).max  # days, where the weather ends first

ASSUMED = (
    N_("The calendar is followed to the day; nobody waits, hurries or tops up."),
    N_(
        "What stands in a tier that falls to its keep level before a pick is "
        "lost from then on, and "
        "so is a crop that bolts, or that cold or heat kills."
    ),
    N_(
        "A head that is not ready on its day is picked all the same, and is "
        "smaller. One that is past "
        "its best counts in full: you would have picked it sooner."
    ),
    N_("Seedlings, pests and the grower's hand are as planned: only the weather varies."),
)


@dataclass(frozen=True)
class BatchRisk:
    """Chances [0..1] of one batch, and days from its last pick to its dry date.

    Attributes
    ----------
    dry : it falls to its keep level before its last pick.
    unready : it is not ready on the day of its first pick.
    overdue : it is ready so early that its last pick (first cut) comes after its hold.
    bolts : it has bolted before its last pick. killed : cold or heat has killed it by then.
    wait : days its first pick would have to wait to be ready, in the worst year of twenty; None if
        it is then never ready while there is weather.
    margin_days : as planned; margin_low : one year in twenty has fewer. None: never dry while
        there is weather.
    """

    id: str
    crop: str
    column: str
    tier: int
    last_pick: date
    margin_days: int | None
    margin_low: int | None
    dry: float
    unready: float
    overdue: float
    bolts: float
    killed: float
    wait: int | None


@dataclass(frozen=True)
class WeekSpread:
    """Produce [g] of a group in a week: wished, planned, and 5, 50 and 95 % over the years.

    ``served`` is what comes to the table of the wish, storage counted; ``picked`` what is picked.
    """

    group: str
    week: str
    wish: int
    planned: int
    served: tuple[int, int, int]
    picked: tuple[int, int, int]


@dataclass(frozen=True)
class Risk:
    """What `replay` found.

    Attributes
    ----------
    years : how many; notes : how they were made and what is assumed.
    batches : those still ahead, in the plan's order; weeks : by group and week.
    produce : weighted grams of the wish met, 5, 50 and 95 %; planned : the same as planned.
    any_dry : chance that at least one batch runs dry; lost : mean number of batches that do.
    """

    years: int
    notes: tuple[str, ...]
    batches: tuple[BatchRisk, ...]
    weeks: tuple[WeekSpread, ...]
    produce: tuple[float, float, float]
    any_dry: float
    lost: float


def replay(garden: Garden, plan: Plan, years: WeatherYears) -> Risk:
    """Follow ``plan`` through every year of ``years``.

    The plan must be sound (`scheduler.verify`); batches that are cleared or failed are facts.
    """
    tool = Replay(garden, years)
    n = years.count
    groups = [d.group for d in garden.demands]
    weeks = season_weeks(garden.season)
    lots: dict[tuple[str, int, int], np.ndarray] = {}
    picked: dict[tuple[str, str], np.ndarray] = {}
    risks: list[BatchRisk] = []
    any_dry, lost = np.zeros(n, bool), np.zeros(n)
    known: dict[tuple[object, ...], Course] = {}
    for batch in plan.batches:
        over = batch.state in (CLEARED, FAILED) or not batch.picks
        if plan.as_of is not None and batch.picks:
            over = over or batch.picks[-1].date < plan.as_of
        if over:
            grams = np.tile([p.grams for p in batch.picks], (n, 1))
        else:
            key = _alike(garden, batch)
            if key not in known:
                known[key] = tool.course(batch, plan.as_of)
            course = known[key]
            grams = course.grams
            risk, dry = _judge(garden, plan, batch, course, tool)
            risks.append(risk)
            any_dry |= dry
            lost += dry
        wished = garden.demand_of(batch.crop)
        if wished is None:
            continue
        life = garden.crops[batch.crop].storage_life
        for k, pick in enumerate(batch.picks):
            _add(picked, (wished.group, week_of(pick.date)), grams[:, k])
            served = weeks_served(pick.date, life, garden.event_weeks(batch.crop))
            if served and served[0] in weeks:
                first = weeks.index(served[0])
                last = min(first + len(served) - 1, len(weeks) - 1)
                _add(lots, (wished.group, first, last), grams[:, k])
    want = wish(garden)
    served_by: dict[tuple[str, str], np.ndarray] = {}
    for group in groups:
        wished_by = np.array([want.get((group, week), 0) for week in weeks], dtype=int)
        mine = [
            (first, last, k, grams)
            for k, ((name, first, last), grams) in enumerate(lots.items())
            if name == group
        ]
        met = most_even(mine, np.tile(wished_by[:, None], n))
        served_by |= {(group, week): met[i] for i, week in enumerate(weeks) if wished_by[i]}
    short = {(u.group, u.week): u.grams for u in plan.unmet}
    out = []
    for group in groups:
        for week in weeks:
            got = served_by.get((group, week), np.zeros(n, int))
            cut = picked.get((group, week), np.zeros(n, int))
            if want.get((group, week), 0) or cut.any():
                wished_for = want.get((group, week), 0)
                planned = wished_for - short.get((group, week), 0)
                out.append(WeekSpread(group, week, wished_for, planned, _spread(got), _spread(cut)))
    weight = {d.group: d.weight for d in garden.demands}
    value = np.zeros(n)
    for (group, _), got in served_by.items():
        value += weight[group] * got
    low, middle, high = np.quantile(value, PERCENT, method="inverted_cdf")
    return Risk(
        n,
        (*years.notes, *ASSUMED),
        tuple(risks),
        tuple(out),
        (float(low), float(middle), float(high)),
        float(any_dry.mean()),
        float(lost.mean()),
    )


def _judge(
    garden: Garden, plan: Plan, batch: Batch, course: Course, tool: Replay
) -> tuple[BatchRisk, np.ndarray]:
    """Chances of a batch, and in which years it runs dry before its last pick."""
    crop = garden.crops[batch.crop]
    last = (batch.picks[-1].date - tool.years.first).days
    ahead = [p for p in batch.picks if plan.as_of is None or p.date >= plan.as_of]
    begun = len(ahead) < len(batch.picks)
    first = (batch.picks[0].date - tool.years.first).days
    dry = (course.dry_index >= 0) & (course.dry_index < last)
    ready = course.ready_index
    late, overdue = np.zeros(tool.years.count, bool), np.zeros(tool.years.count, bool)
    waits = np.zeros(tool.years.count, int)
    if not begun and not ahead[0].early:  # an early pick is a choice already made
        late = (ready < 0) | (ready > first)
        waits = np.where(ready < 0, NONE, np.maximum(ready - first, 0))
    if not (begun and crop.cuts > 1) and not ahead[-1].early:
        end = last if crop.cuts == 1 else first
        overdue = (ready >= 0) & (end > ready + crop.hold)
    bolted = (course.bolted_index >= 0) & (course.bolted_index <= last)
    killed = (course.killed_index >= 0) & (course.killed_index <= last)
    margins = np.where(course.dry_index < 0, NONE, course.dry_index - last)
    risk = BatchRisk(
        id=batch.id,
        crop=batch.crop,
        column=batch.column,
        tier=batch.tier,
        last_pick=batch.picks[-1].date,
        margin_days=batch.margin_days,
        margin_low=_quantile(margins, PERCENT[0]),
        dry=float(dry.mean()),
        unready=float(late.mean()),
        overdue=float(overdue.mean()),
        bolts=float(bolted.mean()),
        killed=float(killed.mean()),
        wait=_quantile(waits, PERCENT[2]),
    )
    return risk, dry


def _quantile(days: np.ndarray, share: float) -> int | None:
    found = int(np.quantile(days, share, method="inverted_cdf"))
    return None if found == NONE else found


def _alike(garden: Garden, batch: Batch) -> tuple[object, ...]:
    """Batches with the same key fare alike."""
    tier = garden.tier(batch.column, batch.tier)
    return (
        batch.crop,
        tier.light,
        tier.stays,
        tier.vessel,
        batch.plants,
        batch.transplant,
        batch.picks,
        batch.demand_factor,
    )


def _add(into: dict[Any, np.ndarray], key: Any, grams: np.ndarray) -> None:
    into[key] = into[key] + grams if key in into else grams.copy()


def _spread(values: np.ndarray) -> tuple[int, int, int]:
    low, middle, high = np.quantile(values, PERCENT, method="inverted_cdf")
    return int(low), int(middle), int(high)
