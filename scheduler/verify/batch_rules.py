"""Rules that one batch keeps or breaks by itself."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise

from crops.development import cells_to_sow
from crops.years import most_killed, most_lost
from scheduler.plans.model import Pick
from scheduler.plans.rules import (
    AVAILABLE,
    BOLTING,
    DRY,
    DRY_YEARS,
    ENOUGH_SOWN,
    LIGHT,
    ORDER,
    REST,
    RIPE,
    SEEDLING,
    SURVIVAL,
    WHOLE_TIER,
)
from scheduler.verify import work_days
from scheduler.verify.case import Case, Standing
from scheduler.verify.course import TINY


def check(case: Case) -> None:
    """Check every batch."""
    case.each(_check)


def _check(case: Case, s: Standing) -> None:
    _order(case, s)
    work_days.check(case, s)
    _tier(case, s)
    if s.over:
        return  # past and done: whether it was wise is no longer asked
    if not s.sown:
        _enough_sown(case, s)
    if not s.planted:
        _seedlings(case, s)
    _picks(case, s)
    _light_and_bolting(case, s)
    _dry(case, s)
    _dry_years(case, s)
    _survival(case, s)


def _order(case: Case, s: Standing) -> None:
    b = s.batch
    dates = [p.date for p in b.picks]
    rising = all(a < c for a, c in pairwise(dates))
    ends = b.transplant <= dates[0] and dates[-1] <= b.clear if dates else b.transplant <= b.clear
    case.check(
        ORDER,
        b.sow < b.transplant and rising and ends,
        f"{s.name}: sown {b.sow}, transplanted {b.transplant}, "
        f"picked {', '.join(map(str, dates)) or 'never'}, cleared {b.clear}",
        witnesses=[b.id],
    )


def _tier(case: Case, s: Standing) -> None:
    b, tier = s.batch, s.tier
    if not s.planted:
        case.check(
            WHOLE_TIER,
            b.plants == tier.plants,
            f"{s.name}: {b.plants} plants in {tier.plants} holes",
            abs(b.plants - tier.plants),
            [b.id, s.place],
            "plants",
        )
    if not s.over:
        # What stands already is judged from today on; where the tier was not to be had and was
        # used all the same, that has happened.
        begin = max(b.transplant, case.plan.as_of or b.transplant) if s.planted else b.transplant
        inside = not tier.available or any(
            span.start <= begin and b.clear <= span.end for span in tier.available
        )
        inside |= s.planted and not any(begin in span for span in tier.available)
        case.check(
            AVAILABLE,
            inside,
            f"{s.name}: stands from {b.transplant} to {b.clear}, when the tier may not "
            "be used throughout",
            _days_outside(s),
            [b.id, s.place],
            "days",
        )
    if not s.planted:
        until = max(_rests(case, s), default=date.min)
        case.check(
            REST,
            b.transplant > until,
            f"{s.name}: transplanted {b.transplant}; {s.crop.family} must wait there until {until}",
            (until - b.transplant).days + 1,
            [b.id, s.place],
            "days",
        )


def _rests(case: Case, s: Standing) -> Iterator[date]:
    """Last days of waiting for the family of a batch: the tier's, and those its sick left."""
    for rest in s.tier.rests:
        if rest.family == s.crop.family:
            yield rest.until
    for other in case.by_tier[s.batch.column, s.batch.tier]:
        sick = other is not s and other.batch.transplant <= s.batch.transplant
        if sick and other.crop.family == s.crop.family and other.batch.rest_until is not None:
            yield other.batch.rest_until


def _days_outside(s: Standing) -> int:
    """Days of standing outside every single span, at best."""
    b = s.batch
    stands = (b.clear - b.transplant).days + 1
    inside = [
        max((min(b.clear, span.end) - max(b.transplant, span.start)).days + 1, 0)
        for span in s.tier.available
    ]
    return stands - max(inside, default=stands)


def _enough_sown(case: Case, s: Standing) -> None:
    b, crop = s.batch, s.crop
    need = cells_to_sow(crop, s.tier.plants)
    enough = b.cells >= need and b.seeds == b.cells * crop.seeds_per_cell
    case.check(
        ENOUGH_SOWN,
        enough,
        f"{s.name}: {b.cells} cells and {b.seeds} seeds; {need} cells are needed, "
        f"{crop.seeds_per_cell} seeds in each",
        max(need - b.cells, abs(b.cells * crop.seeds_per_cell - b.seeds)),
        [b.id],
        "cells" if b.cells < need else "seeds",
    )


def _seedlings(case: Case, s: Standing) -> None:
    b, crop = s.batch, s.crop
    if not case.physics.inside(b.sow):
        return  # outside the season: named by the work days
    sown, moved = case.physics.index(b.sow), case.physics.index(b.transplant)
    fit = case.physics.fit(crop, sown)
    if fit is None or moved < fit:
        text = "never" if fit is None else str(_day(case, fit))
        early = case.physics.n - moved if fit is None else fit - moved
        case.check(
            SEEDLING,
            False,
            f"{s.name}: sown {b.sow}, transplanted {b.transplant}; fit on {text}",
            early,
            [b.id, b.transplant],
            "days",
        )
        return
    case.check(
        SEEDLING,
        moved - fit <= crop.nursery_wait,
        f"{s.name}: fit on {_day(case, fit)}, waits {moved - fit} days until "
        f"{b.transplant}; at most {crop.nursery_wait:g}",
        moved - fit - crop.nursery_wait,
        [b.id, b.transplant],
        "days",
    )


def _picks(case: Case, s: Standing) -> None:
    b, crop, course = s.batch, s.crop, s.course
    if not b.picks:
        case.check(RIPE, False, f"{s.name}: is never picked", b.plants, [b.id], "plants")
        return
    if course is None:
        return
    if crop.cuts == 1:
        total = sum(p.plants for p in b.picks)
        whole = total == b.plants and all(p.plants > 0 for p in b.picks)
        case.check(
            RIPE,
            whole,
            f"{s.name}: {total} plants picked of {b.plants}",
            abs(total - b.plants),
            [b.id],
            "plants",
        )
    else:
        case.check(
            RIPE,
            len(b.picks) <= crop.cuts,
            f"{s.name}: cut {len(b.picks)} times; at most {crop.cuts}",
            len(b.picks) - crop.cuts,
            [b.id],
            "cuts",
        )
        for p in b.picks:
            case.check(
                RIPE,
                p.plants == b.plants,
                f"{s.name}: {p.plants} of {b.plants} plants cut on {p.date}",
                abs(p.plants - b.plants),
                [b.id, p.date],
                "plants",
            )
    before: date | None = None
    for p in b.picks:
        if s.is_fact("pick", p.date):
            before = p.date
            continue
        if before is None or crop.cuts == 1:
            if p.young:
                _young(case, s, p)
                before = p.date
                continue
            if p.early:
                _early(case, s, p)
                before = p.date
                continue
            if course.ready is None:
                case.check(
                    RIPE,
                    False,
                    f"{s.name}: picked {p.date}; not ready while there is weather to tell",
                    witnesses=[b.id, p.date],
                )
                continue
            first, why = _day(case, course.ready), "ready"
        else:
            first, why = before + timedelta(days=round(crop.cut_interval)), "grown back"
        late = (p.date - first).days
        case.check(
            RIPE,
            late >= 0,
            f"{s.name}: picked {p.date}; {why} on {first}",
            -late,
            [b.id, p.date],
            "days",
        )
        case.check(
            RIPE,
            late <= crop.hold,
            f"{s.name}: picked {p.date}; {why} on {first}, holds {crop.hold:g} days",
            late - crop.hold,
            [b.id, p.date],
            "days",
        )
        before = p.date


def _young(case: Case, s: Standing, p: Pick) -> None:
    """A head that is planned young: grown as far as the grower allows, not yet ripe."""
    course, least = s.course, case.garden.limits.young
    assert course is not None
    if not case.physics.inside(p.date):
        return
    day = case.physics.index(p.date)
    shares = case.physics.at(s.tier).mass_shares(s.crop, s.tier.light, course.start, day)
    enough = sum(1 for share in shares if share >= least - TINY)
    ripe = course.ready is not None and day >= course.ready
    case.check(
        RIPE,
        s.crop.cuts == 1 and not ripe and (enough >= 0.8 * len(shares) - TINY or s.planted),
        f"{s.name}: picked young on {p.date}, when in {enough} of {len(shares)} years it has "
        f"{least:.0%} of its mass; expected heads, not yet ripe, in four years of five",
        witnesses=[s.batch.id, p.date],
    )


def _early(case: Case, s: Standing, p: Pick) -> None:
    """A pick before its time: only of plants that stand already, if none can be picked ripe."""
    ripe = _ripe_days(case, s)
    case.check(
        RIPE,
        s.planted and not ripe,
        f"{s.name}: picked early on {p.date}, though it "
        + (f"can be picked ripe on {ripe[0]}" if ripe else "need not be planted so"),
        witnesses=[s.batch.id, p.date],
    )


def _ripe_days(case: Case, s: Standing) -> list[date]:
    """Pick days still ahead on which the batch is ready, holds, stands upright and has water."""
    course, physics = s.course, case.physics
    assert course is not None
    if course.ready is None:
        return []
    last = course.ready + s.crop.hold
    if course.dry is not None:
        last = min(last, course.dry - case.garden.limits.dry_margin_days)
    days = []
    for day in range(course.ready, min(physics.n, int(last) + 1)):
        if physics.at(s.tier).hot_days(s.crop, course.start, day) > s.crop.bolts_after + TINY:
            break
        ahead = s.as_of is None or _day(case, day) >= s.as_of
        if ahead and work_days.is_pick_day(case.garden.season, _day(case, day)):
            days.append(_day(case, day))
    return days


def _light_and_bolting(case: Case, s: Standing) -> None:
    b, crop, course = s.batch, s.crop, s.course
    if course is None or not b.picks or not case.physics.inside(b.picks[-1].date):
        return
    if s.is_fact("pick", b.picks[-1].date):
        return
    last = case.physics.index(b.picks[-1].date)
    if last < course.start:
        return  # named by the order of dates
    light = 0.0
    for day in range(course.start, last + 1):
        light += case.physics.at(s.tier).dli[day] * s.tier.light
    mean = light / (last + 1 - course.start)
    if not s.planted:  # where it stands is no longer a choice
        case.check(
            LIGHT,
            mean >= crop.dli_min - TINY,
            f"{s.name}: {mean:.1f} mol/m2 a day from {b.transplant} to "
            f"{b.picks[-1].date}; at least {crop.dli_min:g}",
            crop.dli_min - mean,
            [b.id, s.place],
            "mol/m2/d",
        )
    hot = case.physics.at(s.tier).hot_days(crop, course.start, last)
    case.check(
        BOLTING,
        hot <= crop.bolts_after + TINY,
        f"{s.name}: {round(hot, 1):g} bolting days before {b.picks[-1].date}; stands "
        f"{crop.bolts_after:g}",
        hot - crop.bolts_after,
        [b.id, b.picks[-1].date],
        "days",
    )


def _dry(case: Case, s: Standing) -> None:
    course, picks = s.course, s.batch.picks
    if course is None or not picks or s.is_fact("pick", picks[-1].date):
        return
    # A tier that is nearly dry is picked early, with whatever margin is left.
    least = 0 if picks[-1].early else case.garden.limits.dry_margin_days
    margin = least if course.dry is None else course.dry - case.physics.index(picks[-1].date)
    dry = "never" if course.dry is None else str(_day(case, course.dry))
    case.check(
        DRY,
        margin >= least,
        f"{s.name}: dry on {dry}, {margin} days after its last pick on "
        f"{picks[-1].date}; at least {least}",
        least - margin,
        [s.batch.id, picks[-1].date],
        "days",
    )


def _dry_years(case: Case, s: Standing) -> None:
    """Of what is not filled yet: in how many of the weather years it is dry too soon."""
    picks = s.batch.picks
    if s.planted or s.course is None or not picks or not case.physics.inside(picks[-1].date):
        return
    share = case.physics.at(s.tier).dry_years(s.batch, s.crop, s.tier, s.vessel)
    if share is None:
        return
    most = most_lost(case.garden.site.weather)
    case.check(
        DRY_YEARS,
        share <= most + TINY,
        f"{s.name}: dry before its last pick on {picks[-1].date} in {100 * share:.0f} % of the "
        f"weather years; at most {100 * most:.0f} %",
        share - most,
        [s.batch.id, picks[-1].date],
        "of the years",
    )


def _survival(case: Case, s: Standing) -> None:
    """Of what is not planted yet: in how many of the weather years it dies too soon."""
    picks = s.batch.picks
    if s.planted or s.course is None or not picks or not case.physics.inside(picks[-1].date):
        return
    last = case.physics.index(picks[-1].date)
    there = case.physics.at(s.tier)
    dead, years = there.killed_years(s.crop, s.course.start, last, s.tier, s.vessel)
    # Of one year, the mean one, none may be lost.
    may = int(years * most_killed(case.garden.site.weather) + TINY) if years > 1 else 0
    case.check(
        SURVIVAL,
        dead <= may,
        f"{s.name}: killed by cold or heat before its last pick on {picks[-1].date} in {dead} of "
        f"{years} weather years; at most {may}",
        dead - may,
        [s.batch.id, picks[-1].date],
        "years",
    )


def _day(case: Case, index: int) -> date:
    return case.physics.first + timedelta(days=index)
