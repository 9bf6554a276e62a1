"""Columns that change their place: no vessel is too heavy to be carried on that day."""

from __future__ import annotations

from datetime import date, timedelta

from crops.place import OPEN, Place
from scheduler.garden.model import Tier
from scheduler.plans.rules import MOVED
from scheduler.verify.case import Case, Standing

HAIR = 1e-6  # [kg]: sums in another order


def check(case: Case) -> None:
    """Check every batch that is still to be planted."""
    if case.garden.limits.lift_kg is not None:
        case.each(_check)


def _check(case: Case, s: Standing) -> None:
    most = case.garden.limits.lift_kg
    if most is None or s.over or s.planted or s.course is None or not s.tier.stays:
        return
    for k, kg in enumerate(s.course.kg):
        day = s.batch.transplant + timedelta(days=k)
        # On its own filling and clearing day a vessel counts as empty.
        if k == 0 or day >= s.batch.clear or not _carried(case, s.tier, day):
            continue
        case.check(
            MOVED,
            kg <= most + HAIR,
            f"{s.name}: weighs {case.units.weight_text(kg)} on {day}, when its column is moved; "
            f"at most {case.units.weight_text(most)}",
            kg - most,
            [s.batch.id, day],
            "kg",
        )


def _carried(case: Case, tier: Tier, day: date) -> bool:
    season = case.garden.season
    if not season.start < day <= season.end:
        return False
    return _where(tier, day) != _where(tier, day - timedelta(days=1))


def _where(tier: Tier, day: date) -> Place:
    found = [stay.place for stay in tier.stays if stay.start <= day <= stay.end]
    return found[0] if found else OPEN
