"""What the garden says stands today: all of it is in the plan, as told, and nothing else is begun.

A later log may tell otherwise of plants picked or failed; planting and sowing stay what they were.
"""

from __future__ import annotations

from collections import Counter

from scheduler.plans.model import CLEARED, FAILED, GROWING, SOWN
from scheduler.plans.rules import CLAIMS
from scheduler.verify.case import Case, Standing

RULER_CM = 0.6  # a ruler is read to half a centimetre; levels are told to a tenth of one


def check(case: Case) -> None:
    """Check each standing crop and each sowing of the garden against the plan's batches."""
    garden, plan = case.garden, case.plan
    if garden.today is None:
        return
    begun = {(s.batch.column, s.batch.tier, s.batch.transplant): s for s in case.standing}
    for one in garden.standing:
        found = begun.get((one.column, one.tier, one.planted_on))
        place = f"{one.column} {one.tier}"
        told = found is not None and (
            found.batch.crop == one.crop
            and found.batch.plants == one.plants
            and found.batch.state in (GROWING, CLEARED, FAILED)
        )
        case.check(
            CLAIMS,
            told,
            f"{place}: {one.plants} plants of {one.crop} stand there since {one.planted_on}, by "
            "the garden; the plan has no such batch",
            witnesses=[place, one.planted_on],
        )
        if found is not None and told and one.level is not None and plan.as_of == garden.today:
            _level(case, found, one.level)
    if plan.as_of != garden.today:
        return  # planned again since: what was begun later is told by a log
    places = {(o.column, o.tier, o.planted_on) for o in garden.standing}
    raised = Counter((o.crop, o.sown_on, o.cells) for o in garden.seedlings)
    for s in case.standing:
        b = s.batch
        if b.state == SOWN:
            key = (b.crop, b.sow, b.cells)
            raised[key] -= 1
            case.check(
                CLAIMS,
                raised[key] >= 0,
                f"{s.name}: {b.cells} cells sown {b.sow}; the garden has no such seedlings",
                witnesses=[b.id, b.sow],
            )
        elif b.state in (GROWING, CLEARED, FAILED):
            case.check(
                CLAIMS,
                (b.column, b.tier, b.transplant) in places,
                f"{s.name}: begun on {b.transplant}; by the garden nothing stands there since",
                witnesses=[b.id, b.transplant],
            )
        else:
            case.check(
                CLAIMS,
                b.sow >= garden.today,
                f"{s.name}: to be sown on {b.sow}, before {garden.today}, the first day planned",
                (garden.today - b.sow).days,
                [b.id, b.sow],
                "days",
            )


def _level(case: Case, s: Standing, litres: float) -> None:
    """The level told is the level planned with, but for what a ruler may be off."""
    b, course = s.batch, s.course
    if course is None or case.garden.today is None or b.state != GROWING:
        return
    k = (case.garden.today - b.transplant).days
    if not 0 <= k < len(course.litres):
        return
    off = abs(course.depth_cm[k] - s.vessel.depth_at(litres))
    case.check(
        CLAIMS,
        off <= RULER_CM,
        f"{s.name}: {case.units.exact_text(course.litres[k], 'L')} left on {case.garden.today}; "
        f"the garden tells {case.units.exact_text(litres, 'L')}",
        off,
        [b.id, case.garden.today],
        "cm",
    )
