"""Shortfall over years: what binds in cold years only, what chance is, what a search brings.

One tier, work every day, picks on Wednesdays, 400 g wished a day from day 28 on, heads eaten only
when ripe. A head is planted on day 10 at the earliest and ripe on Wednesday day 30 where it is
20 degC as the climate table says, on day 10 + n in a year in which it takes n days.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from lived_case import KNOWN, mean_years
from relax_case import STEADILY, day
from rich.cells import cell_len
from scipy import stats
from verify_case import LETTUCE, garden

from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Tier
from scheduler.plans.model import Plan
from scheduler.search.solve import solve
from scheduler.shortfall import live_again as living
from scheduler.shortfall import over_years as module
from scheduler.shortfall.answer import CANNOT, FOUND, HELPS, NOTHING, UNTRIED, MustGive, Tried
from scheduler.shortfall.data import data
from scheduler.shortfall.eased_rules import cells
from scheduler.shortfall.must_give import must_give
from scheduler.shortfall.paired import paired
from scheduler.shortfall.relaxation import Relaxation
from scheduler.shortfall.relaxations import one_step
from scheduler.shortfall.text import lines
from scheduler.years.purposes import cut
from scheduler.years.weather_years import WeatherYears

AHEAD = living.Ahead(20, 1, "flat")
SHORTLY = replace(STEADILY, deterministic=0.02)
YEARS = 40


def wednesdays(days: int, columns: str = "A", count: int = 400) -> Garden:
    """A season of so many days, a nursery with so many cells."""
    return garden(
        season=Season(day(0), day(days - 1), frozenset(range(7)), pick_days=frozenset({2})),
        columns=tuple(Column(name, (Tier(1, "box", 1.0, 4),)) for name in columns),
        nursery=Nursery(count, 20.0),
        demands=(Demand("lettuce", ("lettuce",), 2800.0, day(28), day(days - 1)),),
        limits=Limits(dry_margin_days=0, young=1.0),
        crops={"lettuce": replace(LETTUCE, parameters=KNOWN)},
    )


def ripe_after(monkeypatch: pytest.MonkeyPatch, days: Sequence[int]) -> None:
    """All years of every purpose are past years, each as warm as makes a head ripe so late."""

    def years(of: Garden, *_: object) -> WeatherYears:
        made = mean_years(of, len(days))
        warm = np.array([[min(4 + 320 / d + 1e-6, 20.0)] for d in days]) + 0 * made.tmin
        names = tuple(str(1900 + i) for i in range(len(days)))
        return replace(made, tmin=warm, tmax=warm, names=names)

    monkeypatch.setattr(living, "years_of", years)


def some_late(by: int, of: int) -> list[int]:
    """Of `YEARS` so many are late by so many days."""
    return [20 + by] * of + [20] * (YEARS - of)


def picking_on(g: Garden, *which: str) -> list[Relaxation]:
    return [r for r in one_step(g) if r.family == "pick days" and r.short in which]


def asked(g: Garden, plan: Plan, changes: Sequence[Relaxation], **more: object) -> MustGive:
    return must_give(g, plan, SHORTLY, changes=changes, ahead=AHEAD, **more)  # type: ignore[arg-type]


def one(m: MustGive, words: str) -> Tried:
    (found,) = [t for t in m.steps if words in t.relaxation.text]
    return found


def said(m: MustGive) -> str:
    out = lines(m)
    assert all(cell_len(line) <= 79 for line in out)
    return " ".join(" ".join(out).split())


@pytest.mark.parametrize(("late", "enough"), [(0, ""), (1, "Thursday"), (3, "Saturday")])
def test_a_limit_that_binds_only_in_cold_years(
    monkeypatch: pytest.MonkeyPatch, late: int, enough: str
) -> None:
    """Half of the years are late, and the season ends on the day on which they are ripe.

    Late by 1 day a head is ripe on Thursday: picking on that day too brings 400 g in each of those
    years, 200 g on the mean. Late by 3 it is Saturday; Friday is just too soon. The mean year, in
    which nothing is late, knows none of it.
    """
    g = wednesdays(31 + late)
    plan = solve(g, STEADILY).plan
    assert plan.stages[0].value == 400
    changes = picking_on(g, "Thursday", "Friday", "Saturday")
    assert {t.outcome for t in must_give(g, plan, SHORTLY, changes=changes).steps} == {CANNOT}
    ripe_after(monkeypatch, some_late(late, YEARS // 2))
    m = asked(g, plan, changes)
    assert m.given == m.value == (200 if late else 400)
    assert {t.relaxation.short: (t.outcome, t.gain) for t in m.steps} == {
        r.short: (HELPS, 200) if r.short == enough else (NOTHING, 0) for r in changes
    }


@pytest.mark.parametrize(("cold", "told"), [(3, True), (2, False)])
def test_what_the_years_cannot_tell_from_nothing_has_no_figure(
    monkeypatch: pytest.MonkeyPatch, cold: int, told: bool
) -> None:
    """With Thursdays 400 g come in 3 of 40 years: 30 g on the mean, with a standard error of 16.9 g
    (SciPy's paired t-test: p = 0.042); in 2 of 40 20 g with 14.0 g (p = 0.080)."""
    g = wednesdays(32)
    ripe_after(monkeypatch, some_late(1, cold))
    m = asked(g, solve(g, STEADILY).plan, picking_on(g, "Thursday"))
    t = one(m, "Thursday")
    assert t.paired is not None
    assert (t.paired.mean, t.paired.more, t.paired.less) == (10 * cold, cold, 0)
    outside = stats.ttest_1samp([400.0] * cold + [0.0] * (YEARS - cold), 0, alternative="greater")
    assert (outside.pvalue < 0.05) == told
    assert (t.outcome, t.gain > 0) == ((HELPS, True) if told else (FOUND, False))
    text = said(m)
    assert ("Too close to call: picking on Thursday too." in text) == (not told)
    assert ("picking on Thursday too +" in text) == told
    assert (data(m)["steps"][0]["paired"]["sure"] > 0) == told


@pytest.fixture
def crowded(monkeypatch: pytest.MonkeyPatch) -> tuple[Garden, Plan]:
    """Two tiers, cells for one batch in the nursery at a time, all years as the mean: 400 g, 800 g
    with four cells more. And a plan of nothing."""
    g = wednesdays(31, "AB", 4)
    ripe_after(monkeypatch, [20] * YEARS)
    made = solve(g, STEADILY).plan
    assert len(made.batches) == 1
    return g, replace(made, batches=())


def test_what_more_searching_brings_is_not_put_down_to_the_change(
    crowded: tuple[Garden, Plan],
) -> None:
    """Handed a plan of nothing: the garden as it is gives 400 g, and 400 g more are the cells'."""
    m = asked(*crowded, [cells(crowded[0], 4)])
    assert (m.given, m.value, m.steps[0].gain) == (0, 400, 400)
    assert "with a further search 33.3 %" in said(m)


def test_a_further_vessel_is_taken_back_with_what_stands_in_it(
    crowded: tuple[Garden, Plan],
) -> None:
    """Cells for one batch at a time: a third vessel brings nothing; with cells for all three it
    brings 1,200 g in place of 400 g. The garden as it is is searched on from that plan too."""
    g, nothing = crowded
    more = [r for r in one_step(g) if r.family == "vessel"]
    free = [replace(r, garden=replace(r.garden, nursery=Nursery(400, 20.0))) for r in more]
    m = asked(g, nothing, [*more, *free])
    assert len(more) == 1
    assert m.value == 400
    assert sorted((t.outcome, t.gain) for t in m.steps) == [(HELPS, 800), (NOTHING, 0)]


def test_what_a_change_found_and_does_not_need_is_the_gardens_own(
    monkeypatch: pytest.MonkeyPatch, crowded: tuple[Garden, Plan]
) -> None:
    """The searches of the garden as it is find nothing until they begin with what the change found:
    of the two batches one is then its own."""
    g, nothing = crowded
    search = living.live_again

    def blind(again: living.Again, stop: object) -> living.LivedAgain:
        found = search(again, stop)
        alone = again.task.garden is g and not again.others
        return replace(found, plan=None) if alone else found

    monkeypatch.setattr(module, "live_again", blind)
    m = asked(g, nothing, [cells(g, 4)])
    assert (m.given, m.value, m.steps[0].gain) == (0, 400, 400)


@pytest.mark.slow
def test_less_than_what_searches_differ_by_is_too_close_to_call(
    monkeypatch: pytest.MonkeyPatch, crowded: tuple[Garden, Plan]
) -> None:
    """Were the searches of the garden as it is 400 g apart, 400 g more would be none; were they
    399 g apart, they would be."""
    g, nothing = crowded
    search = living.live_again
    for apart, outcome in ((400.0, FOUND), (399.0, HELPS)):

        def astray(again: living.Again, stop: object, apart: float = apart) -> living.LivedAgain:
            found = search(again, stop)
            if again.draw != 1 or found.eaten is None:
                return found
            worse = replace(found.eaten, grams=found.eaten.grams - apart)
            return replace(found, eaten=worse, chosen=0.0)

        monkeypatch.setattr(module, "live_again", astray)
        m = asked(g, nothing, [cells(g, 4)])
        assert m.over is not None
        assert (m.over.apart, m.steps[0].outcome) == (apart, outcome)


def test_stopped_at_once_nothing_is_tried(crowded: tuple[Garden, Plan]) -> None:
    stop = threading.Event()
    stop.set()
    m = asked(*crowded, [cells(crowded[0], 4)], stop=stop)
    assert (m.given, m.value, [t.outcome for t in m.steps]) == (0, 0, [UNTRIED])
    assert "Not tried for want of time: 4 more nursery cells." in said(m)


@pytest.mark.slow
def test_a_large_garden_is_told_as_expected(monkeypatch: pytest.MonkeyPatch) -> None:
    g = wednesdays(31, "AB", 4)
    plan = solve(g, STEADILY).plan
    for most, lived in ((2, True), (1, False)):
        monkeypatch.setattr("scheduler.shortfall.must_give.LIVED_TIERS", most)
        m = asked(g, plan, [cells(g, 4)])
        assert (m.over is not None, m.large) == (lived, not lived)
        assert ("too many tiers to live every change" in said(m)) == (not lived)


def test_a_longer_season_is_compared_in_its_own_years() -> None:
    """Years are made for a season's days, so a longer one has other years: those are cut."""
    g = wednesdays(31)
    (longer,) = [r for r in one_step(g) if r.family == "later"]
    assert longer.garden.season.days == 38
    ahead = living.Ahead(20, 3, "flat")
    mine, theirs = (living.years_of(of, ahead, 8, "promise") for of in (g, longer.garden))
    part = cut(theirs, day(0), mine.days)
    assert (part.first, part.days) == (mine.first, mine.days)
    assert np.array_equal(part.tmin, theirs.tmin[:, : mine.days])
    later = cut(theirs, day(3), 5)
    assert np.array_equal(later.et0, theirs.et0[:, 3:8])
    assert np.array_equal(later.daylength, theirs.daylength[3:8])
    with pytest.raises(ValueError, match="before the first day"):
        cut(theirs, date(2027, 4, 4), 5)


@pytest.mark.parametrize("real", [0, 1, 7, 40])
def test_pairs_of_made_years_count_once(real: int) -> None:
    """Made years that come in pairs of opposite sign tell as much as one each; past years are all
    their own. SciPy's t-test of the pairs' means is the reference; of one kind only."""
    rng = np.random.default_rng(5)
    before, after = rng.normal(500, 90, 40), rng.normal(540, 90, 40)
    found = paired(before, after, real, among=6)
    more = after - before
    assert found.mean == pytest.approx(more.mean())
    assert found.spread == pytest.approx(more.std(ddof=1))
    if real in (0, 40):
        seen = more if real else more.reshape(-1, 2).mean(axis=1)
        test = stats.ttest_1samp(seen, 0, alternative="greater")
        outside = test.confidence_interval(1 - 0.05 / 6)
        assert found.sure == pytest.approx(outside.low)
    # Twice the same years, told as pairs, are no more than they are once.
    twice = paired(np.repeat(before, 2), np.repeat(after, 2), 0)
    assert twice.sure == pytest.approx(paired(before, after, 40).sure)


def test_one_year_alone_tells_nothing() -> None:
    one_year = paired(np.array([1.0]), np.array([2.0]), 1)
    assert (one_year.mean, one_year.sure) == (1, -np.inf)
