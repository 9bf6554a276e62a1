"""From when to when a pick may come: the calendar's spans, from the years that chose the plan.

The rule. A plan is lived by the sensible grower in the years that it was chosen with, never in
those that judge its promise. A pick is made on the day by which as much of its batch has been
picked as the plan says by then. Of the n years in which it is made

- ``share`` is n by all years;
- ``from`` is the day of the k-th earliest of them, k a tenth of n + 1, rounded down; ``to`` that of
  the k-th latest: four fifths of the years, or some more, lie between, and both are days on which
  it was picked in some year (k / (n + 1) as in `years.quantiles`);
- ``look_from`` is its earliest day: from then on the crop is looked at on each work day.

All three hold the planned day, the usual one, too. Of a pick that is made in no year they are the
planned day.

The chances of a batch are shares of the same years (`plans.model.Chances`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from scheduler.batches.seedlings import seedling_days
from scheduler.garden.model import Garden
from scheduler.lived.doubt import Doubt
from scheduler.lived.growing import BOLTED, DRY, FROZEN, OVERHEATED
from scheduler.lived.laid import FAR
from scheduler.lived.live import Lived, live
from scheduler.lived.water import with_water
from scheduler.plans.model import (
    GROWING,
    PLANNED,
    SOWN,
    WITH_YEARS,
    Batch,
    Chances,
    Level,
    Pick,
    Plan,
)
from scheduler.plans.part import lived_part
from scheduler.years.weather_years import WeatherYears

ONE_IN = 10  # years: one of so many lies before ``from``, one after ``to``


def spanned(
    garden: Garden, batches: Sequence[Batch], years: WeatherYears, seed: int, today: int = 0
) -> tuple[Batch, ...]:
    """The batches with spans of picks, chances, water over the years, how long seedlings keep.

    Parameters
    ----------
    garden : of the mean year. years : those that the plan was chosen with.
    seed : of the doubt in the crops' numbers. today : days before it have happened as told.

    Of a large garden what stands in columns that are lived (`plans.part`) has spans and chances.
    """
    part, mine = lived_part(garden, batches)
    lived = live(part, mine, years, doubt=Doubt(), seed=seed, today=today)
    at = {b.id: i for i, b in enumerate(lived.batches)}
    out = []
    for b in with_water(garden, batches, years, seed):
        until = None
        if b.state in (PLANNED, SOWN):
            until = seedling_days(garden, b.crop, b.sow)[1]
        b = replace(b, transplant_until=until)
        if b.id in at:
            made = lived.made[at[b.id]]
            picks = tuple(_span(garden, p, made[k]) for k, p in enumerate(b.picks))
            b = replace(b, picks=picks, chances=_chances(garden, b, lived, at[b.id]))
        out.append(b)
    return tuple(out)


def without_spans(plan: Plan) -> Plan:
    """The plan before its years were told, but for dry dates: planned again it has them anew."""
    pick: dict[str, Any] = dict.fromkeys(WITH_YEARS[Pick])
    level: dict[str, Any] = dict.fromkeys(WITH_YEARS[Level])
    batch: dict[str, Any] = dict.fromkeys(WITH_YEARS[Batch])
    shared: dict[int, tuple[Level, ...]] = {}  # batches alike share their levels
    for b in plan.batches:
        if id(b.levels) not in shared:
            shared[id(b.levels)] = tuple(replace(v, **level) for v in b.levels)
    batches = tuple(
        replace(
            b,
            picks=tuple(replace(p, **pick) for p in b.picks),
            levels=shared[id(b.levels)],
            **batch,
        )
        for b in plan.batches
    )
    return replace(plan, batches=batches)


def _chances(garden: Garden, batch: Batch, lived: Lived, at: int) -> Chances | None:
    """Chances of the batch in row ``at``; None once it is over."""
    if batch.state not in (PLANNED, SOWN, GROWING) or not batch.picks:
        return None
    first = garden.season.index(batch.picks[0].date)
    return Chances(
        dry=_share(lived.lost[at] == DRY),
        bolted=_share(lived.lost[at] == BOLTED),
        unripe=_share(lived.due_fit[at] > first),
        cold=_share(lived.lost[at] == FROZEN),
        heat=_share(lived.lost[at] == OVERHEATED),
    )


def _share(years: np.ndarray) -> float:
    """Share of the years in which something is so, to a ten thousandth."""
    return round(float(np.mean(years)), 4)


def _span(garden: Garden, pick: Pick, days: np.ndarray) -> Pick:
    """A pick with its span; ``days`` on which it is made [years], `FAR` if never."""
    season = garden.season
    there = np.sort(days[days < FAR]).tolist()
    usual = season.index(pick.date)
    k = max((len(there) + 1) // ONE_IN, 1) - 1
    early = [usual] if not there else [there[0], there[k], usual]
    late = [usual] if not there else [there[-1 - k], usual]
    return replace(
        pick,
        look_from=season.date(min(early)),
        from_=season.date(min(early[1:] or early)),
        to=season.date(max(late)),
        share=round(len(there) / len(days), 4),
    )
