"""The calendar's spans, checked: the years that the plan was chosen with are lived once more."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

from scheduler.garden.model import Garden
from scheduler.plans.model import GROWING, PLANNED, SOWN, Batch, Pick
from scheduler.plans.part import lived_part
from scheduler.plans.rules import CLAIMS
from scheduler.verify.case import Case, Standing
from scheduler.verify.lived import Life
from scheduler.verify.year import Year, doubts
from scheduler.years.expected import without_years
from scheduler.years.purposes import years_for

LOST_TO = {"cold": "frozen", "heat": "overheated"}  # as `Life` calls it
NEAR = 1.01e-4  # shares are written to a ten thousandth
# Batches times years that are lived again, a quarter of a minute; of more, as many years as that.
BATCH_YEARS = 3000

Days = list[int]  # on which a pick is made, of the years in which it is


def check(case: Case) -> None:
    """Check spans of picks and how long seedlings keep; a plan of the mean year tells neither."""
    years = case.plan.years
    told = years is not None and years.chosen_with > 0
    for s in case.standing:
        _keeps(case, s, told)
    sound = True
    lived = {b.id for b in lived_part(case.garden, case.plan.batches)[1]} if told else set()
    for b in case.plan.batches:
        sound = _has_chances(case, b, b.id in lived) and sound
        for p in b.picks:
            sound = _in_order(case, b, p, b.id in lived) and sound
    known = all(b.crop in case.garden.crops for b in case.plan.batches)  # others are told elsewhere
    if told and sound and known and case.plan.as_of is None and case.plan.promise is not None:
        _lived_again(case)


def _keeps(case: Case, s: Standing, told: bool) -> None:
    b, until = s.batch, None
    if told and b.state in (PLANNED, SOWN) and case.physics.inside(b.sow):
        fit = case.physics.fit(s.crop, case.physics.index(b.sow))
        if fit is not None and fit < case.physics.n:
            until = case.physics.first + timedelta(days=fit + int(s.crop.nursery_wait))
    case.check(
        CLAIMS,
        b.transplant_until == until,
        f"{s.name}: seedlings keep until {b.transplant_until or 'no day'}; "
        f"computed {until or 'no day'}",
        witnesses=[b.id],
    )


def _has_chances(case: Case, b: Batch, told: bool) -> bool:
    wanted = told and b.state in (PLANNED, SOWN, GROWING) and bool(b.picks)
    shares = [] if b.chances is None else [x for x in vars(b.chances).values() if x is not None]
    good = (b.chances is not None) == wanted and all(0 <= x <= 1 for x in shares)
    case.check(
        CLAIMS,
        good,
        f"{b.id}: chances {b.chances}; expected {'shares' if wanted else 'none'}",
        witnesses=[b.id],
    )
    return good


def _in_order(case: Case, b: Batch, p: Pick, told: bool) -> bool:
    four = (p.look_from, p.from_, p.to, p.share)
    if not told:
        good = four == (None, None, None, None)
        wanted = "none where no years were lived"
    else:
        wanted = "look_from, from, date, to, in this order, and a share"
        good = (
            p.look_from is not None
            and p.from_ is not None
            and p.to is not None
            and p.share is not None
            and p.look_from <= p.from_ <= p.date <= p.to
            and 0 <= p.share <= 1
        )
    case.check(
        CLAIMS,
        good,
        f"{b.id}: pick on {p.date}, look_from {p.look_from}, from {p.from_}, to {p.to}, "
        f"share {p.share}; expected {wanted}",
        witnesses=[b.id, p.date],
    )
    return good


def _lived_again(case: Case) -> None:
    """All the years, or of a large plan the first ones, which say less."""
    plan, taken, promise = case.plan, case.plan.years, case.plan.promise
    assert taken is not None
    assert promise is not None
    garden, batches = lived_part(without_years(case.garden), plan.batches)
    count = min(taken.chosen_with, BATCH_YEARS // max(len(batches), 1))
    if count == 0:
        return
    years = years_for(garden, taken.chosen_with, taken.seed, "choose", garden.site.past)
    factors = doubts(garden, batches, years.count, promise.seed)
    days: dict[tuple[str, int], Days] = {}
    wrong: Counter[tuple[str, str]] = Counter()
    first = {b.id: garden.season.index(b.picks[0].date) for b in batches if b.picks}
    for number in range(count):
        life = Life(garden, batches, Year(garden, years, number, factors[number]))
        life.share()
        wrong.update(life.lost.items())
        wrong.update((n, "unripe") for n, d in first.items() if life.fit_on.get(n, d + 1) > d)
        for name, picks in life.made.items():
            for k, day in picks.items():
                days.setdefault((name, k), []).append(day)
    for b in batches:
        for name, stated in () if b.chances is None else vars(b.chances).items():
            if stated is None:  # a plan of before
                continue
            least = wrong[b.id, LOST_TO.get(name, name)] / years.count
            case.check(
                CLAIMS,
                least - NEAR <= stated <= least + 1 - count / years.count + NEAR,
                f"{b.id}: {name} in {stated:g} of the years; of {count} lived again in "
                f"{wrong[b.id, LOST_TO.get(name, name)]}",
                abs(stated - least),
                [b.id],
            )
        for k, p in enumerate(b.picks):
            found = sorted(days.get((b.id, k), []))
            if count == years.count:
                _all_years(case, garden, b, p, found, count)
            else:
                _some_years(case, garden, b, p, found, count, years.count)


def _all_years(case: Case, garden: Garden, b: Batch, p: Pick, found: Days, count: int) -> None:
    """Exactly: a tenth of the years before ``from`` and after ``to``, none before ``look_from``."""
    usual = garden.season.index(p.date)
    at = (len(found) + 1) // 10
    first, last = (found[max(at, 1) - 1], found[-max(at, 1)]) if found else (usual, usual)
    want = [
        garden.season.start + timedelta(days=d)
        for d in (min([*found, usual]), min(first, usual), max(last, usual))
    ]
    for name, stated, computed in zip(
        ("look_from", "from", "to"), (p.look_from, p.from_, p.to), want, strict=True
    ):
        _same_day(case, b, p, name, stated, computed)
    share = len(found) / count
    assert p.share is not None
    case.check(
        CLAIMS,
        abs(p.share - share) <= NEAR,
        f"{b.id}: pick on {p.date} in {p.share:g} of the years; lived again {share:.4f}",
        abs(p.share - share),
        [b.id, p.date],
    )


def _same_day(
    case: Case, b: Batch, p: Pick, name: str, stated: date | None, computed: date
) -> None:
    case.check(
        CLAIMS,
        stated == computed,
        f"{b.id}: pick on {p.date}, {name} {stated}; lived again {computed}",
        abs((stated - computed).days) if stated else 1,
        [b.id, p.date],
        "days",
    )


def _some_years(
    case: Case, garden: Garden, b: Batch, p: Pick, found: Days, lived: int, count: int
) -> None:
    """What ``lived`` of ``count`` years rule out.

    A later day on which it was made before, a share that cannot come out any more.
    """
    assert p.look_from is not None
    assert p.share is not None
    first = garden.season.date(found[0]) if found else p.date
    case.check(
        CLAIMS,
        p.look_from <= first,
        f"{b.id}: pick on {p.date}, look_from {p.look_from}; made on {first} in a year",
        (p.look_from - first).days,
        [b.id, p.date],
        "days",
    )
    least, most = len(found) / count, (len(found) + count - lived) / count
    case.check(
        CLAIMS,
        least - NEAR <= p.share <= most + NEAR,
        f"{b.id}: pick on {p.date} in {p.share:g} of the years; of {lived} of them lived again "
        f"{len(found)} have it",
        max(least - p.share, p.share - most),
        [b.id, p.date],
    )
