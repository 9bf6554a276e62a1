"""What is late moves what follows in its tier by as little as keeps every rule.

Fifty random gardens (`late_case`), each judged by the verifier's own code, and against two other
ways to go on: dropping what no longer fits, and a shift made here by trial alone, which moves what
would be dropped day by day until the verifier finds no fault.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cache

import pytest
import rebalance_case as rc
import verify_case as case
from late_case import Late, late
from rebalance_case import full_log, go

from scheduler.garden.model import Garden
from scheduler.lived.worth import FLAT, Taste
from scheduler.log.state import state_on
from scheduler.plans.model import FAILED, PLANNED, Batch, Plan
from scheduler.plans.rules import CLAIMS, VALUES
from scheduler.replanning.baseline import go_on_as_planned
from scheduler.replanning.diff import DROPPED, MOVED
from scheduler.replanning.rebalance import Rebalanced, made_of, rebalance
from scheduler.replanning.shift import shifted
from scheduler.replanning.slip import slipping
from scheduler.replanning.take_stock import commitments_of
from scheduler.replanning.ways_on import finished
from scheduler.schedule import assemble
from scheduler.schedule.stages import CHANGES
from scheduler.solvers.cp_sat import LIVING, Settings
from scheduler.usecases.promising import YearsOf
from scheduler.verify import verify
from scheduler.years.weather_years import WeatherYears

GARDENS = 50
HURRIED = Settings(time_limit=0.1, gap=0.0, seed=1, workers=1)
LIVED = replace(HURRIED, deterministic=0.1)


def produce(g: Garden, batches: tuple[Batch, ...]) -> float:
    return assemble.produce_value(g, assemble.serve(g, batches))


def faults(g: Garden, plan: Plan, batches: tuple[Batch, ...]) -> list[str]:
    """Rules that batches break; what a plan claims in sum is left aside."""
    broken = verify(g, replace(plan, batches=batches, stages=(), unmet=())).broken
    return [b.message for b in broken if b.rule not in (CLAIMS.name, VALUES.name)]


@cache
def outcome(seed: int) -> tuple[Late, Rebalanced, list[tuple[Batch, ...]]]:
    """A season with something late, planned again, and the other ways: dropping, then shifted."""
    it = late(seed)
    done = rebalance(it.garden, it.plan, it.log, it.on, HURRIED, complete=True)
    commitments = commitments_of(
        it.garden, it.plan, state_on(it.garden, it.plan, it.log, it.on, True)
    )
    kept = go_on_as_planned(commitments)
    ways = [kept, *shifted(commitments, kept)] if kept.whole else []
    return it, done, [made_of(it.garden, it.plan, commitments, way) for way in ways]


@pytest.mark.slow
@pytest.mark.parametrize(
    "seed",
    [pytest.param(s, marks=[] if s % 5 == 0 else [pytest.mark.deep]) for s in range(GARDENS)],
)
def test_nothing_less_than_the_shifted_plan_is_written(seed: int) -> None:
    it, done, ways = outcome(seed)
    verdict = verify(it.garden, done.plan)
    assert verdict.ok, [b.message for b in verdict.broken]
    reached = done.plan.stages[0].value
    for way in ways:
        assert not faults(it.garden, done.plan, way)
        assert reached >= produce(it.garden, way) - 1e-6
    if ways:
        assert reached >= produce(it.garden, by_trial(it, done, ways[0])) - 1e-6


def by_trial(it: Late, done: Rebalanced, batches: tuple[Batch, ...]) -> tuple[Batch, ...]:
    """What dropping leaves, and each batch dropped moved as a whole to the first days that do."""
    g, have = it.garden, {b.id for b in batches}
    state = {f.batch.id: f.batch.state for f in done.state.batches}
    for b in it.plan.batches:
        for days in range(1, 15) if b.id not in have and state.get(b.id) == PLANNED else ():
            late = timedelta(days=days)
            if b.clear + late > g.season.end:
                break
            picks = tuple(replace(p, date=p.date + late) for p in b.picks)
            moved = replace(b, sow=b.sow + late, transplant=b.transplant + late, picks=picks)
            more = (*batches, finished(g, moved, b.clear + late))
            if not faults(g, done.plan, more):
                batches = more
                break
    return batches


@pytest.mark.deep
def test_few_batches_are_dropped() -> None:
    """Of those not even sown: two in three of what dropping loses, at most.

    Some must go: at the season's end, or because they bring nothing once the one before is late.
    """
    lost, dropped = 0, 0
    for seed in range(GARDENS):
        _, done, ways = outcome(seed)
        planned = {f.batch.id for f in done.state.batches if f.batch.state == PLANNED}
        lost += len(planned - {b.id for b in ways[0]}) if ways else 0
        dropped += len(planned - {b.id for b in done.plan.batches})
    assert lost > 20
    assert dropped <= lost * 2 / 3


def batches_of(done: Rebalanced) -> dict[str, Batch]:
    return {b.id: b for b in done.plan.batches}


def shifted_plan(g: Garden, on: int, *lines: str, complete: bool) -> dict[str, Batch]:
    """The floor by itself, before any search."""
    state = state_on(g, rc.plan(), rc.log(*lines, of=g), case.day(on), complete)
    commitments = commitments_of(g, rc.plan(), state)
    kept = go_on_as_planned(commitments)
    first = [*shifted(commitments, kept), kept][0]
    return {b.id: b for b in made_of(g, rc.plan(), commitments, first)}


def closed() -> Garden:
    """The garden of `rebalance_case` without A3, which stands empty there; more is wished."""
    g = rc.garden()
    lettuce, greens = g.demands
    g = replace(g, demands=(replace(lettuce, grams_per_week=900.0), greens))
    a, b = g.columns
    never = replace(a.tiers[2], available=(case.Span(case.day(89), case.day(90)),))
    return replace(g, columns=(replace(a, tiers=(*a.tiers[:2], never)), b))


# The plan (`rebalance_case.plan`): b001 lettuce stands in B1 from day 10 and is picked and cleared
# on day 30, b005 lettuce follows there, sown on day 24, transplanted on day 34, picked on day 54.
@pytest.mark.slow
@pytest.mark.parametrize(("on", "day"), [(34, 35), (36, 37)])
def test_a_tier_cleared_late_moves_its_seedlings(on: int, day: int) -> None:
    # Not cleared on the day before, it is cleared on the day itself and filled a day later.
    # Seedlings fit on day 34 wait 3 days: day 37 is the last.
    lines = [
        line
        for line in full_log(rc.plan(), case.day(on))
        if "cleared,B,1" not in line and f"{case.day(34)},transplanted" not in line
    ]
    b = shifted_plan(closed(), on, *lines, complete=True)["b005"]
    assert (b.sow, b.transplant) == (case.day(24), case.day(day))
    done = go(on, *lines, within=closed(), complete=True)
    assert verify(closed(), done.plan).ok
    assert "b005" in batches_of(done)


@pytest.mark.slow
def test_seedlings_that_cannot_wait_for_a_late_tier_are_told() -> None:
    # A day later they are too old; what is sown anew on day 37 is fit on day 47 and ready on day
    # 67, after the last wish on day 59.
    lines = [
        line
        for line in full_log(rc.plan(), case.day(37))
        if "cleared,B,1" not in line and f"{case.day(34)},transplanted" not in line
    ]
    done = go(37, *lines, within=closed(), complete=True)
    assert verify(closed(), done.plan).ok
    (lost,) = done.diff.of(DROPPED)
    assert lost.id == "b005"


@pytest.mark.deep
@pytest.mark.parametrize(("nights", "day"), [(3, 34), (4, 35)])
def test_cold_days_move_what_is_not_sown_with_its_sowing(nights: int, day: int) -> None:
    # Nothing grows for some days from day 20 on. After 4 of them b001 in B1 is ready on day 34, and
    # the tier can be filled on day 35: b005 moves by one day, its sowing with it. After 3 of them
    # it need not move. (Chard in A1 is late as well; nothing follows there.)
    weather = case.garden().site.weather.copy()
    for column in ("tmin", "tmax", "tmean"):
        weather.iloc[20 : 20 + nights, weather.columns.get_loc(column)] = 2.0
    g = closed()
    nursery = replace(g.nursery, temperature=20.0)
    g = replace(g, site=replace(g.site, weather=weather), nursery=nursery)
    if nights == 4:
        b = shifted_plan(g, 20, complete=False)["b005"]
        assert (b.sow, b.transplant) == (case.day(day - 10), case.day(day))
    for limit in (0.1, 4.0):
        done = go(20, within=g, settings=replace(rc.QUICK, time_limit=limit))
        assert verify(g, done.plan).ok
        assert batches_of(done)["b005"].transplant >= case.day(day)
        assert not done.diff.of(DROPPED)
        told = {c.id: c.why for c in done.diff.of(MOVED)}
        assert ("B 1 is not free on" in told.get("b005", "")) == (nights == 4)


def test_lost_seedlings_are_sown_again() -> None:
    # b001, sown on day 0 for B1, dies on day 5. Sown anew on day 6 it is fit on day 16; b005 goes
    # there on day 34, which leaves no time for it: ready on day 36. At no price of changes is
    # less returned than by dropping it.
    told = rc.row(5, "failed", "", "", "lettuce", "damped off")
    done = go(6, told, settings=replace(rc.QUICK, time_limit=0.1), change_grams=10_000.0)
    assert verify(rc.garden(), done.plan).ok
    assert done.plan.stages[0].value >= 2571 - 400


@pytest.mark.slow
@pytest.mark.parametrize("filled", [1, 2])
def test_what_was_filled_on_the_day_itself_counts(filled: int) -> None:
    # Of one fill a day b003 takes that of day 20, as planned. What was not planned is planted in A3
    # on that day: with one fill a day b003 waits, with two it does not.
    limits = replace(rc.garden().limits, fills_per_day=filled, picks_per_day=None)
    g = replace(rc.garden(), limits=limits)
    lines = [*full_log(rc.plan(), case.day(20)), rc.row(20, "transplanted", "A3", "", "chard")]
    first = shifted_plan(g, 20, *lines, complete=True)
    assert first["b003"].transplant == case.day(20 if filled == 2 else 21)
    assert verify(g, go(20, *lines, within=g, complete=True).plan).ok


def differing() -> tuple[Late, Rebalanced, list[tuple[Batch, ...]]]:
    """A season whose search found something else than each way that it began with."""
    for seed in range(GARDENS):
        it, done, ways = outcome(seed)
        ways = [w for w in ways if {b.id for b in w} != {b.id for b in done.plan.batches}]
        if done.searched and ways:
            return it, done, ways
    raise AssertionError("no such season")


def days_of(batches: tuple[Batch, ...]) -> set[tuple[object, ...]]:
    return {
        (b.crop, b.column, b.tier, b.transplant, tuple(p.date for p in b.picks)) for b in batches
    }


@dataclass
class Judged:
    """Years ahead of which it is told what they are worth."""

    grams: Callable[[Sequence[Batch]], float]
    planning: WeatherYears
    seed: int = 0
    taste: Taste = FLAT


def ahead_of(it: Late, count: int = 4) -> YearsOf:
    return YearsOf(it.garden, count, 0, it.on)


@pytest.mark.parametrize("liked", [0, 1])
def test_what_the_years_value_most_is_kept_of_what_was_found_and_shifted(liked: int) -> None:
    """They see much in one way to go on, and nothing in the others."""
    it, _, ways = differing()
    seen: list[set[tuple[object, ...]]] = []

    def judge(made: Sequence[Batch]) -> float:
        seen.append(days_of(tuple(made)))
        return 1e6 * (len(seen) - 1 == liked)

    ahead = Judged(judge, ahead_of(it).planning)
    again = rebalance(it.garden, it.plan, it.log, it.on, HURRIED, complete=True, ahead=ahead)
    assert len(seen) >= 2
    assert days_of(ways[0]) in seen[1:]  # going on as far as it goes is among them
    assert days_of(again.plan.batches) == seen[liked]
    verdict = verify(it.garden, again.plan)
    assert verdict.ok, [b.message for b in verdict.broken]


def test_a_change_that_years_see_little_in_is_not_made() -> None:
    """Judged alike the fewest changes win, whatever the search found for the weather expected."""
    it, done, _ = differing()
    ahead = Judged(lambda made: 0.0, ahead_of(it).planning)
    again = rebalance(it.garden, it.plan, it.log, it.on, HURRIED, complete=True, ahead=ahead)

    def changed(one: Rebalanced) -> float:
        return next(s.value for s in one.plan.stages if s.name == CHANGES)

    assert changed(again) <= changed(done)
    assert verify(it.garden, again.plan).ok


@pytest.mark.slow
@pytest.mark.parametrize("first", [0, pytest.param(27, marks=pytest.mark.deep)])
def test_what_is_lived_on_keeps_every_rule_and_brings_more_for_its_changes(first: int) -> None:
    """Seasons with something late, some with seedlings and vessels in each other's way: what the
    search by living gives is a plan, is never worth less than the ways it began with, and in some
    seasons more. Judged in years that it was not made in."""
    better = 0
    for seed in range(first, min(first + 27, GARDENS), 3):  # every kind of lateness twice
        it, done, ways = outcome(seed)
        if not done.searched:
            continue
        ahead = ahead_of(it)
        again = rebalance(
            it.garden, it.plan, it.log, it.on, LIVED, 0, 0.0, complete=True, ahead=ahead
        )
        verdict = verify(it.garden, again.plan)
        assert verdict.ok, [b.message for b in verdict.broken]
        brought = ahead.grams(again.plan.batches)
        # Changes cost nothing here: so nothing that was looked at brings more.
        assert brought >= max([ahead.grams(way) for way in ways], default=0.0) - 1e-6
        better += brought > ahead.grams(done.plan.batches) + 1.0
    assert better >= 3


def late_only() -> Late:
    """A season in which something is late and nothing lost."""
    for seed in range(GARDENS):
        it, done, _ = outcome(seed)
        lost = done.state.lost or any(f.batch.state == FAILED for f in done.state.batches)
        if done.searched and not lost and slipping(done.state, done.commitments) is not None:
            return it
    raise AssertionError("no such season")


def old_plan(it: Late) -> tuple[Batch, ...] | None:
    state = state_on(it.garden, it.plan, it.log, it.on, True)
    return slipping(state, commitments_of(it.garden, it.plan, state))


@pytest.mark.parametrize("more", [-1.0, 0.0, 1.0])
def test_the_old_plan_stays_where_letting_it_slip_brings_as_much(more: float) -> None:
    """Whatever is found is worth 1,000 g, at no price for changes; slipping so much more."""
    it = late_only()
    slips = old_plan(it)
    ahead = Judged(
        lambda made: 1000.0 + (more if tuple(made) == slips else 0.0), ahead_of(it).planning
    )
    again = rebalance(
        it.garden, it.plan, it.log, it.on, HURRIED, 0, 0.0, complete=True, ahead=ahead
    )
    assert again.stay == (more >= 0)
    assert verify(it.garden, again.plan).ok  # what is found is a plan even so


def test_what_is_due_and_not_done_waits_for_the_day() -> None:
    it = late_only()
    state = state_on(it.garden, it.plan, it.log, it.on, True)
    slips = old_plan(it)
    assert slips is not None
    for f, b in zip(state.batches, slips, strict=True):
        if b.state in ("cleared", "failed"):
            assert b == f.batch
            continue
        assert b.picks[: f.done] == f.batch.picks[: f.done]
        assert all(p.date >= it.on for p in b.picks[f.done :])
        assert b.clear >= it.on
        if b.state == "planned":
            assert b.sow >= it.on
        # What is not due yet keeps its day.
        for new, old in zip(b.picks[f.done :], f.batch.picks[f.done :], strict=True):
            assert new.date == max(old.date, it.on)


def test_living_a_season_on_ends_when_it_is_asked_to_and_tells_how_far_it_is(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Both as in the search before it: what the caller hands in reaches the last step."""
    from scheduler.replanning import by_living
    from scheduler.search.living import improved

    seen: list[tuple[object, ...]] = []

    def looked_at(*given: object) -> object:
        seen.append(given)
        return improved(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(by_living, "improved", looked_at)
    it, told, stop = late_only(), [], threading.Event()
    rebalance(
        it.garden,
        it.plan,
        it.log,
        it.on,
        LIVED,
        complete=True,
        ahead=ahead_of(it),
        report=told.append,
        stop=stop,
    )
    assert seen[0][6] is stop
    assert LIVING in {p.stage for p in told}
