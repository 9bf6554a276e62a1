"""What the levels of a finished crop say of its thirst, and how surely."""

from __future__ import annotations

from datetime import date

import numpy as np

from crops.crop import Crop
from crops.level import batch_course
from scheduler.garden.placed import weather_at
from scheduler.levels.batch import course_from
from scheduler.levels.estimate import Estimate, Inflow, Reading
from scheduler.levels.events import ruler_error
from scheduler.log.finished import Stand
from scheduler.replanning.measured import MOST_FACTOR, falling_levels, without_water

# The estimate of a tier under way is drawn towards what is usual. That of a finished crop is not:
# `crops.learning` draws all crops together towards the catalogue, and twice would be once too much.
# So wide that readings alone count.
NOT_DRAWN = 10.0


def demand_factor(paced: Crop, stand: Stand) -> tuple[float, float] | None:
    """Drunk over expected by the last pick, and its doubt; None where levels cannot tell.

    Returns
    -------
    factor : the tier's own thirst, what the weather of days and weeks adds left out [-].
    doubt : one standard deviation of its logarithm [-].
    """
    garden, vessel = stand.garden, stand.vessel
    index = garden.season.index
    start = index(stand.transplant)
    if not 0 <= start < len(garden.site.weather) or stand.elsewhere:
        return None  # what a crop drinks in shade, or elsewhere, says nothing of its place
    picks = [(index(d), int(p or 0)) for d, (p, _) in sorted(stand.picks.items())]
    if paced.cuts == 1 and sum(p for _, p in picks) < stand.left:
        # Weighed but not counted: the last pick took what was left.
        picks[-1] = (picks[-1][0], stand.left - sum(p for _, p in picks[:-1]))
    tier = garden.tier(stand.column, stand.tier)
    course = batch_course(
        paced, vessel, weather_at(garden, tier), tier.light, start, stand.left, picks
    )
    lost = np.zeros(len(course.drinks))
    for f in stand.fewer:
        lost[: max(index(f.date) - start, 0)] += f.plants
    drinks = course.drinks * (1 + lost / np.maximum(course.plants[:-1], 1)) / 1000
    state = Estimate(course_from(drinks, course.progress), NOT_DRAWN)
    used = [
        (index(r.date) - start, r)
        for r in falling_levels(
            vessel, without_water(sorted(stand.levels, key=lambda r: r.date), stand.water)
        )
        if r.date > stand.transplant and index(r.date) - start <= len(drinks)
    ]
    expected = np.array([state.course.water[day] for day, _ in used])
    gone = np.array([vessel.fill_l - r.litres for _, r in used])
    slack = 0.1 * vessel.fill_l
    if not len(expected) or expected[-1] < slack:
        return None  # too little was to be drunk by then to tell
    if (gone - slack > MOST_FACTOR * expected).any():
        return None  # a leak on the way, whatever the crop drank later
    # What came in is set right in the readings already; how much it was is not known for sure.
    events: list[tuple[date, int, Reading | Inflow]] = [
        (w.date, w.line, Inflow(index(w.date) - start, 0.0, w.spread)) for w in stand.water
    ]
    for (day, r), litres in zip(used, gone, strict=True):
        events.append((r.date, r.line, Reading(day, litres, ruler_error(vessel, max(r.litres, 0)))))
    for _day, _line, event in sorted(events, key=lambda e: e[:2]):
        if 0 <= event.day <= len(drinks):
            state.take(event)
    factor, sd = state.thirst_by(len(drinks))
    return (factor, sd / factor) if factor > 0 else None
