"""What a plan promises, checked: its sums, and some of its years lived once more."""

from __future__ import annotations

from scheduler.plans.model import TwoKinds
from scheduler.plans.part import lived_part
from scheduler.plans.rules import VALUES
from scheduler.verify.case import Case
from scheduler.verify.lived import Life
from scheduler.verify.year import Year, doubts
from scheduler.years.expected import without_years
from scheduler.years.purposes import years_for

NEAR = 1.01e-4  # shares are written to a ten thousandth
BATCH_YEARS = 150  # batches times years that are lived again, about a second


def check(case: Case) -> None:
    """Check a promise; a plan of the mean year has none."""
    promise, years = case.plan.promise, case.plan.years
    if promise is None and years is None:
        return
    if promise is None or years is None:
        case.check(VALUES, False, "promise and years: one without the other")
        return
    ranked = sorted(promise.shares)
    sound = (
        len(ranked) == years.judged > 0
        and 0 <= years.real <= years.judged
        and years.planned >= 0
        and all(0 <= share <= 1 + NEAR for share in ranked)
    )
    case.check(
        VALUES,
        sound,
        f"promise: {len(ranked)} shares; expected {years.judged} from 0 to 1, {years.real} real",
    )
    if not sound:
        return
    worst = max(1, round(len(ranked) / 5))
    for name, stated, computed in (
        ("usual", promise.usual, _quantile(ranked, 0.5)),
        ("one_in_five", promise.one_in_five, _quantile(ranked, 0.2)),
        ("worst_fifth", promise.worst_fifth, sum(ranked[:worst]) / worst),
    ):
        case.check(
            VALUES,
            abs(stated - computed) <= NEAR,
            f"promise: {name} {stated:g}; the years give {computed:.4f}",
            abs(stated - computed),
        )
    case.check(
        VALUES,
        0 <= promise.reachable <= 1 + NEAR,
        f"promise: reachable {promise.reachable:g}; expected a share",
    )
    sample, columns = years.sample, len(case.garden.columns)
    case.check(
        VALUES,
        sample is None or 1 <= sample <= columns,
        f"years: {sample} columns planned by living; the garden has {columns}",
    )
    _foreseen(case)
    groups = {d.group for d in case.garden.demands}
    for told in promise.two_kinds:
        case.check(VALUES, told.group in groups, f"promise: {told.group} is no group of a wish")
        case.check(
            VALUES,
            len(told.by_year) == years.judged and all(0 <= n <= told.weeks for n in told.by_year),
            f"promise: two kinds of {told.group} in {len(told.by_year)} years; expected "
            f"{years.judged}, each of 0 to {told.weeks} weeks",
        )
    _lived_again(case)


def _foreseen(case: Case) -> None:
    """What a year could bring at most is no less than what it brings."""
    promise = case.plan.promise
    assert promise is not None
    shares, numbers, most = promise.shares, promise.foreseen_years, promise.foreseen
    known = len(set(numbers)) == len(numbers) == len(most)
    known = known and all(0 <= number < len(shares) for number in numbers)
    case.check(VALUES, known, f"promise: {len(most)} years foreseen, of numbers {list(numbers)}")
    if not known:
        return
    for number, bound in zip(numbers, most, strict=True):
        case.check(
            VALUES,
            shares[number] <= bound + NEAR,
            f"promise: year {number + 1} brings {shares[number]:g}; at most {bound:g} foreseen",
            shares[number] - bound,
        )


def _quantile(ranked: list[float], share: float) -> float:
    """Value that a further year stays below with chance ``share``.

    Below the k-th smallest of n it stays with chance k / (n + 1), and a straight line runs between.
    """
    place = share * (len(ranked) + 1)
    k = min(max(int(place + 1e-9), 1), len(ranked))
    after = ranked[min(k, len(ranked) - 1)]
    return ranked[k - 1] + min(max(place - k, 0.0), 1.0) * (after - ranked[k - 1])


def _lived_again(case: Case) -> None:
    """Some of the years, from the first on: they have nothing to do with how they turned out."""
    promise, taken, plan = case.plan.promise, case.plan.years, case.plan
    assert promise is not None
    assert taken is not None
    whole = without_years(case.garden)
    known = all(b.crop in whole.crops for b in plan.batches)  # others are told elsewhere
    if plan.as_of is not None or not plan.batches or not known:
        return
    garden, batches = lived_part(whole, plan.batches)
    columns = None if garden is whole else len(garden.columns)
    case.check(
        VALUES,
        taken.columns == columns,
        f"years: {taken.columns or 'all'} columns lived; expected {columns or 'all'}",
    )
    if not batches:
        return
    years = years_for(garden, taken.judged, taken.seed, "promise", garden.site.past)
    factors = doubts(garden, batches, years.count, promise.seed)
    for number in range(min(years.count, max(2, BATCH_YEARS // len(batches)))):
        life = Life(garden, batches, Year(garden, years, number, factors[number]))
        share = life.share()
        stated = promise.shares[number]
        case.check(
            VALUES,
            abs(share - stated) <= NEAR,
            f"promise: year {number + 1} brings {stated:g}; lived again {share:.4f}",
            abs(share - stated),
        )
        for told in promise.two_kinds:
            _two_kinds(case, told, number, life)


def _two_kinds(case: Case, told: TwoKinds, number: int, life: Life) -> None:
    """Weeks with a second kind of a tenth of the wish; what is a tenth but for rounding is both."""
    wished = {w: life.wish.get((told.group, name), 0) for w, name in enumerate(life.weeks)}
    second = life.pantry.second.get(told.group, {})
    weeks = [w for w, grams in wished.items() if grams > 0]
    surely = sum(second.get(w, 0.0) > wished[w] / 10 + 1e-6 for w in weeks)
    perhaps = sum(second.get(w, 0.0) > wished[w] / 10 - 1e-6 for w in weeks)
    stated = told.by_year[number] if number < len(told.by_year) else -1
    case.check(
        VALUES,
        told.weeks == len(weeks) and surely <= stated <= perhaps,
        f"promise: two kinds of {told.group} in {stated} of {told.weeks} weeks of year "
        f"{number + 1}; lived again {perhaps} of {len(weeks)}",
        abs(stated - perhaps),
    )
