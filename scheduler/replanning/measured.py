"""Measured levels against expected ones: by what factor a batch drinks more or less.

The estimate is that of `scheduler.levels.estimate`: level and slope of the tier's own thirst, drawn
towards what is usual as far as readings leave room. A plan has one factor on all that a batch
drinks. It is the one with which the plan has drunk as much as the estimate foretells by the day
that matters: the day on which the tier will be dry, or the last on which the crop can wait.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from crops.level import BatchCourse, batch_course
from crops.solution.balance import NINETY
from crops.vessel import Vessel
from scheduler.garden.model import Garden
from scheduler.garden.placed import weather_at
from scheduler.levels.batch import course_from
from scheduler.levels.estimate import Estimate
from scheduler.levels.events import IN_SHADE, events_of, shaded
from scheduler.log.state import Followed
from scheduler.log.tracks import Fewer, Reading, Water
from scheduler.plans.model import Batch, Pick
from scheduler.words.language import _
from scheduler.words.units import Units

# Common practice, no source: a ruler in a moving surface is read to about half a centimetre;
# a batch that seems to drink under a third or over three times what is expected has a leak, a
# top-up or a wrong reading behind it, not a thirst.
READING_CM = 0.5
LEAST_FACTOR, MOST_FACTOR = 1 / 3, 3.0

Show = Callable[[float], str]  # litres in the grower's units


@dataclass(frozen=True)
class Anchor:
    """What the readings of one batch say.

    Attributes
    ----------
    factor : demand against the expected [-]; 1 without a usable reading.
    used, refused : readings behind it; readings that cannot be true, with the reason.
    expected_l, measured_l : at the last used reading, expected without correction and measured [L].
    low, high : 90 % interval of the factor, with what the weather to come may add; None: not read.
    """

    factor: float
    used: tuple[Reading, ...] = ()
    refused: tuple[tuple[Reading, str], ...] = ()
    expected_l: float | None = None
    measured_l: float | None = None
    low: float | None = None
    high: float | None = None


def course_of(garden: Garden, batch: Batch, factor: float | None = None) -> BatchCourse:
    """The course of a batch as it stands in its tier, picks as they are in it.

    ``factor`` replaces the batch's own demand factor.
    """
    tier = garden.tier(batch.column, batch.tier)
    season = garden.season
    return batch_course(
        garden.crops[batch.crop],
        garden.vessels[tier.vessel],
        weather_at(garden, tier),
        tier.light,
        season.index(batch.transplant),
        batch.plants,
        [(season.index(p.date), p.plants) for p in batch.picks],
        batch.demand_factor if factor is None else factor,
    )


def standing_on(garden: Garden, batch: Batch, done: int) -> Batch:
    """The batch with a last pick far off, so that its course runs on undisturbed.

    ``done`` of its picks are made; those ahead may be overdue or a mere guess.
    """
    end = garden.season.date(len(garden.site.weather) - 1)
    made = batch.picks[:done]
    left = batch.plants - sum(p.plants for p in made)
    return replace(batch, picks=(*made, Pick(end, max(left, 0), 0)))


def anchor(garden: Garden, followed: Followed) -> Anchor:
    """The demand factor of a growing batch from its measured levels.

    Only picks that were made change what it drinks: with one that is overdue, or only guessed
    because the plan did not know the batch, nothing would be expected to be gone.
    """
    batch = followed.batch
    if not followed.readings:
        return Anchor(batch.demand_factor)
    vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
    show = Units(garden.units).volume_text
    course = course_of(garden, standing_on(garden, batch, followed.done), 1.0)
    lost = plants_lost_later(followed, followed.fewer, len(course.drinks))
    there = 1 + lost / np.maximum(course.plants[:-1], 1)
    drunk = np.concatenate([[0.0], np.cumsum(course.drinks * there)]) / 1000
    start = garden.season.index(batch.transplant)
    refused: list[tuple[Reading, str]] = []
    kept: list[tuple[Reading, float]] = []
    for reading in without_water(followed.readings, followed.water):
        expected = float(drunk[garden.season.index(reading.date) - start])
        why = _impossible(vessel, reading, expected, show)
        if why:
            refused.append((reading, why))
        elif expected > 0:
            kept.append((reading, expected))
    falling = falling_levels(vessel, [r for r, _ in kept])
    for reading, _expected in kept:
        if reading not in falling:
            refused.append((reading, _rise_text(vessel, reading, falling, show)))
    used = [(r, d) for r, d in kept if r in falling]
    refused.sort(key=lambda pair: pair[0].date)
    if not used:
        return Anchor(batch.demand_factor, (), tuple(refused))
    last, last_expected = used[-1]
    if len(used) == 1 and last.date == garden.today:
        # A plan from today on starts from the level that its garden tells (`verify.standing`), so
        # its course goes through it, whatever one level alone can tell of what is to come.
        ratio = _believable(round((vessel.fill_l - last.litres) / last_expected, 4))
        left = max(vessel.fill_l - last_expected, 0.0)
        return Anchor(ratio, (last,), tuple(refused), left, last.litres)
    factor, sd = _thirst(garden, followed, course, course.drinks * there, [r for r, _ in used])
    return Anchor(
        _believable(round(factor, 4)),
        tuple(r for r, _ in used),
        tuple(refused),
        max(vessel.fill_l - last_expected, 0.0),
        last.litres,
        _believable(round(factor - NINETY * sd, 4)),
        _believable(round(factor + NINETY * sd, 4)),
    )


def _thirst(
    garden: Garden,
    followed: Followed,
    course: BatchCourse,
    drinks: np.ndarray,
    used: Sequence[Reading],
) -> tuple[float, float]:
    """The factor on the plan's ``course`` that readings teach: mean and standard deviation [-].

    ``drinks``: what the plants that really stood were expected to drink on each day [mL]. A plan
    knows only those that are left: what those that are lost drank is gone too.
    """
    batch = followed.batch
    vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
    drinks = drinks / 1000
    drinks[shaded(followed, len(drinks))] *= IN_SHADE
    state = Estimate(course_from(drinks, course.progress))
    mine = {(r.date, r.line) for r in used}
    told = replace(
        followed, readings=tuple(r for r in followed.readings if (r.date, r.line) in mine)
    )
    for event in events_of(garden, told, None, len(drinks), date.max):
        state.take(event)
    came_in = sum(w.litres for w in followed.water)
    planned = np.concatenate([[0.0], np.cumsum(course.drinks)]) / 1000
    by = _day_that_matters(garden, batch, course, state, vessel.fill_l - vessel.floor_l - came_in)
    gone, sd = state.drunk(by)
    if planned[by] <= 0:
        return batch.demand_factor, 0.0
    return float((gone + came_in) / planned[by]), float(sd / planned[by])


def _day_that_matters(
    garden: Garden, batch: Batch, course: BatchCourse, state: Estimate, usable: float
) -> int:
    """Days after transplanting by which the tier is dry, or by which its crop is past its hold."""
    index, hold = garden.season.index, int(garden.crops[batch.crop].hold)
    last = max(course.ready_index or 0, *(index(p.date) for p in batch.picks), 0)
    end = min(max(last + hold - course.transplant, state.day), len(course.drinks))
    days = range(state.day, end)
    return next((d for d in days if state.drunk(d)[0] >= usable), end)


def believed(garden: Garden, followed: Followed, day: date) -> tuple[float, float]:
    """The lowest and the highest level that a batch can have on the morning of a day [L]."""
    batch = followed.batch
    vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
    course = course_of(garden, standing_on(garden, batch, followed.done), 1.0)
    drunk = float(course.drinks[: (day - batch.transplant).days].sum()) / 1000
    low, high = vessel.fill_l - MOST_FACTOR * drunk, vessel.fill_l - LEAST_FACTOR * drunk
    return max(low, 0.0), max(high, 0.0)


def thirst_of_fewer(garden: Garden, followed: Followed, on: date) -> float:
    """The demand factor of a batch that lost plants and was not measured.

    With it the plants that are left have drunk by ``on`` what all of them drank: on the safe side,
    as it goes on.
    """
    batch = followed.batch
    course = course_of(garden, standing_on(garden, batch, followed.done), 1.0)
    at = garden.season.index(on) - garden.season.index(batch.transplant)
    new = [f for f in followed.fewer if not f.settled]
    there = 1 + plants_lost_later(followed, new, len(course.drinks)) / np.maximum(
        course.plants[:-1], 1
    )
    as_left = float(course.drinks[:at].sum())
    if as_left <= 0:
        return batch.demand_factor
    more = float((course.drinks * there)[:at].sum()) / as_left
    return _believable(round(batch.demand_factor * more, 4))


def plants_lost_later(followed: Followed, fewer: Sequence[Fewer], days: int) -> np.ndarray:
    """Plants that still stood on each day after transplanting and were lost later [days]."""
    out = np.zeros(days)
    for f in fewer:
        out[: max((f.date - followed.batch.transplant).days, 0)] += f.plants
    return out


def without_water(readings: Sequence[Reading], water: Sequence[Water]) -> list[Reading]:
    """Readings as they were, had nothing come in: topped up, or rained in on average.

    A level is that of the morning, unless the log tells of the water on an earlier line.
    """
    return [
        replace(
            r,
            litres=r.litres - sum(w.litres for w in water if (w.date, w.line) < (r.date, r.line)),
        )
        for r in readings
    ]


def _believable(factor: float) -> float:
    """What a batch can drink: a reading just believed for its error may say more, or less."""
    least = math.ceil(LEAST_FACTOR * 1e4) / 1e4  # in the digits of a factor
    return min(max(factor, least), MOST_FACTOR)


def _impossible(vessel: Vessel, reading: Reading, expected: float, show: Show) -> str:
    """Why a single reading cannot be true; empty if it can."""
    gone = vessel.fill_l - reading.litres
    slack = _slack(vessel, reading.litres)
    if gone + slack < LEAST_FACTOR * expected:
        return _(
            "{litres} left, {gone} gone where {expected} were expected: was it "
            "topped up, or did rain come in?"
        ).format(litres=show(reading.litres), gone=show(max(gone, 0)), expected=show(expected))
    if gone - slack > MOST_FACTOR * expected:
        return _(
            "{litres} left, {gone} gone where {expected} were expected: is there a leak?"
        ).format(litres=show(reading.litres), gone=show(gone), expected=show(expected))
    return ""


def _slack(vessel: Vessel, litres: float) -> float:
    """What a reading may be off by [L]."""
    depth = float(vessel.depth(litres))
    return float(vessel.volume(min(depth + READING_CM, vessel.height_cm))) - litres


def falling_levels(vessel: Vessel, readings: Sequence[Reading]) -> list[Reading]:
    """The most readings, by date, that never rise by more than a reading's error.

    A reservoir that is filled once only falls. Where readings contradict each other, those that
    agree with most others stand; of equal numbers the later ones.
    """
    n = len(readings)
    if not n:
        return []
    best, before = [1] * n, [-1] * n
    for i in range(n):
        for j in range(i):
            most = readings[j].litres + _slack(vessel, readings[j].litres)
            if readings[i].litres <= most and best[j] + 1 >= best[i]:
                best[i], before[i] = best[j] + 1, j
    i = max(range(n), key=lambda k: (best[k], k))
    chain = []
    while i >= 0:
        chain.append(readings[i])
        i = before[i]
    return chain[::-1]


def _rise_text(vessel: Vessel, reading: Reading, falling: Sequence[Reading], show: Show) -> str:
    earlier = [r for r in falling if r.date < reading.date]
    low = [r for r in earlier if r.litres + _slack(vessel, r.litres) < reading.litres]
    if low:
        return _("{litres} left after {before} on {date}: a level only falls").format(
            litres=show(reading.litres), before=show(low[-1].litres), date=low[-1].date
        )
    later = next((r for r in falling if r.date > reading.date), None)
    then = (
        _(", but {litres} on {date}").format(litres=show(later.litres), date=later.date)
        if later
        else ""
    )
    return _("{litres} left{then}: it does not fit the other readings").format(
        litres=show(reading.litres), then=then
    )
