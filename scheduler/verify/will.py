"""What the grower has settled: what may never stand somewhere, and batches that are fixed."""

from __future__ import annotations

from scheduler.garden.model import Fixed
from scheduler.plans.model import Batch
from scheduler.plans.rules import FIXED, NEVER
from scheduler.verify.case import Case, Standing


def check(case: Case) -> None:
    """Check every batch, and for every fixed one that it is there."""
    case.each(_never)
    for one in case.garden.fixed:
        _fixed(case, one)


def _never(case: Case, s: Standing) -> None:
    """No crop stands from its planting to its last pick where and when it is told never to."""
    b = s.batch
    if s.planted or s.over:
        return
    last = b.picks[-1].date if b.picks else b.transplant
    shared = [
        (min(last, n.end) - max(b.transplant, n.start)).days + 1
        for n in s.tier.never
        if b.crop in n.crops
    ]
    days = max(shared, default=0)
    case.check(
        NEVER,
        days <= 0,
        f"{s.name}: stands there from {b.transplant} to {last}, {days} days of which the garden "
        "says never",
        days,
        [b.id, s.place],
        "days",
    )


def _fixed(case: Case, one: Fixed) -> None:
    if _excused(case, one):
        return
    place = f"{one.column} {one.tier}"
    picked = "" if not one.picked_on else f", picked {', '.join(map(str, one.picked_on))}"
    case.check(
        FIXED,
        any(_is(one, b, case) for b in case.plan.batches),
        f"{one.crop} in {place}, planted {one.planted_on}{picked}, is fixed and not in the plan",
        1,
        [one.crop, place, one.planted_on],
    )


def _is(one: Fixed, b: Batch, case: Case) -> bool:
    same = (b.crop, b.column, b.tier, b.transplant) == (
        one.crop,
        one.column,
        one.tier,
        one.planted_on,
    )
    picks = tuple(p.date for p in b.picks)
    stands = case.plan.as_of is not None and b.transplant < case.plan.as_of
    return same and (not one.picked_on or picks == one.picked_on or stands)


def _excused(case: Case, one: Fixed) -> bool:
    """Whether a plan made again under way cannot hold it any more.

    It should have been planted already, or sown already by the crop's usual days in the nursery;
    or what stands in its tier is cleared too late.
    """
    on = case.plan.as_of
    if on is None or on <= case.garden.first:
        return False
    crop = case.garden.crops.get(one.crop)
    if crop is None or (one.planted_on - on).days <= crop.nursery_days:
        return True
    pause = case.garden.limits.turnaround_days
    return any(
        (b.column, b.tier) == (one.column, one.tier)
        and b.transplant < on
        and (one.planted_on - b.clear).days < pause
        for b in case.plan.batches
    )
