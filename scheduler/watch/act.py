"""The level below which to act: a reading below it, taken alone, alarms."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from datetime import timedelta

from crops.vessel import Vessel
from scheduler.garden.model import Garden
from scheduler.levels.estimate import Course, Estimate, Reading
from scheduler.levels.events import drinking, ruler_error
from scheduler.log.state import Followed
from scheduler.plans.model import Batch, Plan
from scheduler.watch.forecast import Foretold
from scheduler.watch.judge import ALARM, DRY, View

CLOSE_CM = 0.1  # how closely the level is found [cm]; a ruler shows no more


def act_levels(
    garden: Garden, plan: Plan, foretold: Foretold, days: Mapping[str, Sequence[int]]
) -> dict[str, list[float | None]]:
    """The level to act below [cm] of each batch on some days after its transplanting.

    None where no level above the keep level alarms: it is so late that what is left does.
    """
    found: dict[str, list[float | None]] = {}
    alike: dict[Hashable, list[float | None]] = {}
    for batch in plan.batches:
        known = foretold.of(batch)
        if known is None or not batch.picks or batch.id not in days:
            continue
        kind, _ = known
        vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
        wanted = tuple(days[batch.id])
        key = (id(kind), vessel.name, batch.plants, batch.picks, batch.transplant, wanted)
        if key not in alike:
            course = kind.course(drinking(garden, Followed(batch)))
            alike[key] = [_act(course, vessel, batch, day) for day in wanted]
        found[batch.id] = alike[key]
    return found


def _act(course: Course, vessel: Vessel, batch: Batch, day: int) -> float | None:
    """By halving: the less is left, the sooner it is dry."""
    if not 0 < day <= course.days:
        return None
    low, high = vessel.depth_at(vessel.floor_l), vessel.depth_at(vessel.fill_l)
    if not _alarms(course, vessel, batch, day, low):
        return None
    while high - low > CLOSE_CM:
        middle = (low + high) / 2
        if _alarms(course, vessel, batch, day, middle):
            low = middle
        else:
            high = middle
    return low


def _alarms(course: Course, vessel: Vessel, batch: Batch, day: int, depth: float) -> bool:
    litres = vessel.volume_at(depth)
    state = Estimate(course)
    state.read(Reading(day, vessel.fill_l - litres, ruler_error(vessel, litres)))
    on = batch.transplant + timedelta(days=day)
    view = View(state, vessel.fill_l - vessel.floor_l, batch.transplant, on)
    return view.verdict(max(batch.picks[-1].date, on))[0] in (ALARM, DRY)
