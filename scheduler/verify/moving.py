"""Columns that change their place: no vessel is too heavy to be carried on that day."""

from __future__ import annotations

from datetime import timedelta

from scheduler.plans.rules import MOVED
from scheduler.verify.case import Case, Standing
from scheduler.verify.places import carried

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
        if k == 0 or day >= s.batch.clear or not carried(case.garden, s.tier, day):
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
