"""What lamps take: hours, energy and money, over columns and over the nursery.

A lamp burns its hours on each day on which something stands below it: in a column that is in its
place, or in the nursery.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from crops.place import Lamp
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.garden.placed import place_on
from scheduler.plans.model import Plan

NURSERY = "nursery"


@dataclass(frozen=True)
class Burnt:
    """What the lamp over a column, or over the nursery, takes in a plan's season.

    Attributes
    ----------
    where : name of the column, or `NURSERY`; place : the column's; empty for the nursery.
    days : on which it burns; hours : in all [h]; kwh : energy [kWh]; money : in the grower's.
    dli : of the lamp alone [mol m-2 d-1].
    """

    where: str
    place: str
    days: int
    hours: float
    kwh: float
    money: float
    dli: float


def lamps(garden: Garden, plan: Plan) -> tuple[Burnt, ...]:
    """Every lamp that burns in a plan, column by column and place by place, the nursery last."""
    out = []
    for column in garden.columns:
        if not any(stay.place.lamp for stay in column.tiers[0].stays):
            continue
        days: dict[tuple[str, Lamp], int] = {}
        stood = _days((b.transplant, b.clear) for b in plan.batches if b.column == column.name)
        for day in sorted(stood):
            place = place_on(column.tiers[0], day)
            if place.lamp is not None:
                days[place.name, place.lamp] = days.get((place.name, place.lamp), 0) + 1
        out += [_burnt(column.name, name, lamp, n) for (name, lamp), n in days.items()]
    if garden.nursery.lamp is not None:
        raised = _days((b.sow, b.transplant) for b in plan.batches)
        if raised:
            out.append(_burnt(NURSERY, "", garden.nursery.lamp, len(raised)))
    return tuple(out)


def _days(spans: Iterable[tuple[date, date]]) -> set[date]:
    """Days of some spans, each without its last."""
    return {a + k * ONE_DAY for a, b in spans for k in range((b - a).days)}


def _burnt(where: str, place: str, lamp: Lamp, days: int) -> Burnt:
    kwh = days * lamp.kwh
    return Burnt(where, place, days, days * lamp.hours, kwh, kwh * lamp.price, lamp.dli)
