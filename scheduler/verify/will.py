"""What the grower has settled: what may never stand somewhere, and batches that are fixed."""

from __future__ import annotations

from scheduler.garden.model import Demand, Fixed
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.plans.model import Batch
from scheduler.plans.rules import FIXED, NEVER, SAME_KIND, SHARE
from scheduler.verify.case import Case, Standing


def check(case: Case) -> None:
    """Check every batch, and for every fixed one that it is there."""
    case.each(_never)
    for one in case.garden.fixed:
        _fixed(case, one)
    # Of a plan made again part has happened: how the rest is mixed is left to it.
    for wished in case.garden.demands if case.plan.as_of is None else ():
        _mix(case, wished)


def _mix(case: Case, wished: Demand) -> None:
    """Of what is picked for a wish: each crop's share, and how long one kind alone is."""
    mine = [b for b in case.plan.batches if b.crop in wished.crops]
    picked = {name: sum(b.grams for b in mine if b.crop == name) for name in wished.crops}
    total = sum(picked.values())
    for name, least, most in wished.shares:
        grams = picked.get(name, 0)
        told = f"{name} is {grams} g of {total} g that are picked for {wished.group}"
        over = 1000 * grams - most * total
        case.check(
            SHARE,
            over <= 0,
            f"{told}, at most {most / 10:g} % are asked for",
            max(over, 0) / 1000,
            [wished.group, name],
            "g",
        )
        under = least * total - 1000 * grams
        case.check(
            SHARE,
            under <= 0,
            f"{told}, at least {least / 10:g} % are asked for",
            max(under, 0) / 1000,
            [wished.group, name],
            "g",
        )
    if wished.same_kind_weeks is None:
        return
    wanted, weeks = wish(case.garden), season_weeks(case.garden.season)
    for name in wished.crops:
        run: list[str] = []
        longest: list[str] = []
        for week in weeks:
            asked = bool(wanted.get((wished.group, week)))
            run = [*run, week] if asked and _is_of_one(case, mine, name, week) else []
            longest = max(longest, run, key=len)
        case.check(
            SAME_KIND,
            len(longest) <= wished.same_kind_weeks,
            f"{wished.group} is of {name} in {len(longest)} weeks running, from "
            f"{''.join(longest[:1])} on; at most {wished.same_kind_weeks} are asked for",
            len(longest) - wished.same_kind_weeks,
            [wished.group, name, *longest[:1]],
            "weeks",
        )


def _is_of_one(case: Case, mine: list[Batch], name: str, week: str) -> bool:
    """Whether a crop is more than three quarters of what is picked and can serve a week."""
    own = total = 0
    for b in mine:
        crop, events = case.garden.crops[b.crop], case.garden.event_weeks(b.crop)
        for p in b.picks:
            if week in weeks_served(p.date, crop.storage_life, events):
                total += p.grams
                own += p.grams if b.crop == name else 0
    return 4 * own > 3 * total


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
