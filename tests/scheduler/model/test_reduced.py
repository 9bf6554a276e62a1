"""Thinned problems: the same optimum where only tiers are short, and a bound that is stronger."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from draws import fixed
from hypothesis import given
from solver_case import STEADY, Proofs, exact, example, gardens, provable, rows_of, sound, tiny

from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.log.model import Log
from scheduler.log.state import state_on
from scheduler.model.build import Built, build_model
from scheduler.model.highs import solve_mip
from scheduler.model.linear import relax
from scheduler.model.reduced import keeping_cuts, room_cuts, undominated
from scheduler.replanning.baseline import go_on_as_planned
from scheduler.replanning.bounds import access_bound, produce_bound
from scheduler.replanning.layout import Layout
from scheduler.replanning.take_stock import commitments_of
from scheduler.schedule.problem import Committed, Problem, by_tier, pooled
from scheduler.search.solve import solve
from scheduler.shortfall.solve_again import Task, linear_bound

BENCH = Path(__file__).parents[2] / "bench" / "gardens"
TIERS = ("one crop at a time",)
SOME = fixed(25)
PROBLEMS = gardens().map(lambda g: pooled(rows_of(g))).filter(lambda p: 0 < len(p) <= 800)


def built(problem: Problem, only: tuple[str, ...] | None = None) -> Built:
    made = build_model(problem, access=False, only=only)
    made.model.maximize(made.produce.value())
    return made


def cut(problem: Problem, only: tuple[str, ...] | None = None) -> Built:
    made = built(problem, only)
    keeping_cuts(made)
    if only is None:
        room_cuts(made)
    return made


def most(made: Built) -> int:
    found = solve_mip(made.model, True, 30.0)
    assert found.value is not None
    assert found.proven
    return found.value


@pytest.mark.slow
@SOME
@given(PROBLEMS)
def test_thinning_loses_nothing_where_only_tiers_are_short(problem: Problem) -> None:
    less = problem.restricted(undominated(problem))
    assert most(cut(less, TIERS)) == most(built(less, TIERS)) == most(built(problem, TIERS))


@pytest.mark.deep
def test_its_optimum_is_a_bound_of_the_garden() -> None:
    """With every limit, and stack access, there is never more; whole seasons by CP-SAT."""
    with Proofs() as proofs:

        @SOME
        @given(provable())
        def each(g: Garden) -> None:
            best = proofs.most(g)
            if best is not None:
                problem = pooled(rows_of(g))
                assert most(cut(problem.restricted(undominated(problem)), TIERS)) >= round(best)

        each()


@pytest.mark.slow
@SOME
@given(PROBLEMS)
def test_cuts_take_no_plan_away(problem: Problem) -> None:
    assert most(cut(problem)) == most(built(problem))


@pytest.mark.slow
def test_a_year_of_the_balcony_gets_smaller_and_its_bound_nearer() -> None:
    """Whole heads against small weekly wishes; the optimum, 4,284 g, is proven in the benchmark."""
    problem = pooled(rows_of(load_garden(BENCH / "balcony-52.yaml")))
    enough = undominated(problem)
    assert 0 < len(enough) < 0.5 * len(problem)
    less = problem.restricted(enough)
    bounds = []
    for made, cuts in (
        (built(problem), False),
        (built(less, TIERS), False),
        (built(less, TIERS), True),
    ):
        if cuts:
            assert keeping_cuts(made) > 0
        got = relax(made.model, True)
        assert got is not None
        bounds.append(got.bound)
    plain, thinned, strong = bounds
    assert 4284 <= strong < thinned - 50 <= plain


def test_cuts_know_what_was_picked_before() -> None:
    """Wishes of 90 g a week and nothing but 60 g from before: they feed the weeks they can."""
    g = tiny(45)
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=90.0),))
    problem = pooled(rows_of(g))
    last = len(problem.supply.weeks) - 1
    problem = replace(problem, stock=((0, last - 1, last, 60),))
    plain, strong = built(problem), built(problem)
    assert keeping_cuts(strong) > 0
    for b in (plain, strong):
        b.model.add(sum(b.v.take) == 0)
    assert most(strong) == most(plain) == 60


def test_a_part_of_a_batch_feeds_a_part_of_a_week() -> None:
    """Worked: one batch taken to a part x and a week that wishes for w of its g grams. The plain
    model feeds it g x; with cuts w x, and so less than the whole wish as long as x < 1.
    """
    g = tiny(45)
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=90.0),))
    problem = pooled(rows_of(g))
    supply = problem.supply
    k, (_, week, _) = next((k, c) for k, c in enumerate(supply.classes) if supply.wish[0, c[1]] > 0)
    wish, grams = int(supply.wish[0, week]), int(supply.grams[supply.week_class == k].max())
    assert grams > 4 * wish
    fed = []
    for cuts in (False, True):
        made = built(problem, TIERS)
        if cuts:
            assert keeping_cuts(made) > 0
        made.model.add(4 * sum(made.v.take) <= 1)  # a quarter, once whole numbers are dropped
        made.model.maximize(made.produce.flow[k, week])
        got = relax(made.model, True)
        assert got is not None
        fed.append(got.bound)
    assert fed == pytest.approx([wish, wish / 4], abs=0.01)


@pytest.mark.parametrize("times", [1, 3])
def test_a_part_of_a_batch_picked_twice_feeds_the_same_part_of_a_week(times: int) -> None:
    """Worked: a quarter of `times` batches, each picked on two days that feed one week, each pick
    of more than the wish w. Each pick alone could feed w/4 of it a batch, both w/2; together they
    are cut to w/4, as a whole batch feeds the week no more than once.
    """
    g = tiny(45)
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=90.0),))
    problem = pooled(rows_of(g))
    supply = problem.supply
    week_of: dict[tuple[int, int], list[int]] = {}
    for v, k in zip(supply.decision.tolist(), supply.week_class.tolist(), strict=True):
        for week in range(supply.classes[k][1], supply.classes[k][2] + 1):
            week_of.setdefault((v, week), []).append(k)
    twice = {
        key
        for key, ks in week_of.items()
        if len(ks) > 1
        and min(
            int(supply.grams[(supply.decision == key[0]) & (supply.week_class == k)][0]) for k in ks
        )
        > supply.wish[0, key[1]]
    }
    assert twice
    v, week = min(twice)
    wish = int(supply.wish[0, week])
    made = built(problem, TIERS)
    assert keeping_cuts(made) > 0
    for other, take in enumerate(made.v.take):
        made.model.add(take == 0) if other != v else made.model.add(4 * take <= times)
    fed = sum(flow for (_, w), flow in made.produce.flow.items() if w == week)
    made.model.maximize(fed)
    got = relax(made.model, True)
    assert got is not None
    assert got.bound == pytest.approx(times * wish / 4, abs=0.01)


@pytest.mark.parametrize("whole", [1, 3])
def test_a_small_nursery_holds_whole_batches(whole: int) -> None:
    """Worked: batches of c cells and a nursery one cell too small for another: ``whole`` at a time,
    where parts of batches fill all (whole + 1) c - 1 cells. One cell more, and one batch more.
    """
    cells = {int(c) for c in pooled(rows_of(tiny(45))).column("cells")}
    (c,) = cells
    told = {}
    for more in (c - 1, c):
        problem = pooled(rows_of(tiny(45, tiers=5, cells=whole * c + more)))
        (nursery,) = (r for r in problem.resources if r.held)
        day = int(nursery.first.min())
        there = [
            int(v)
            for v, a, b in zip(nursery.which, nursery.first, nursery.last, strict=True)
            if a <= day < b
        ]
        for cuts in (False, True):
            made = built(problem)
            if cuts:
                assert (room_cuts(made) > 0) == (more < c)
            made.model.maximize(sum(made.v.take[v] for v in there))
            got = relax(made.model, True)
            assert got is not None
            told[more, cuts] = got.bound
    assert told[c - 1, False] == pytest.approx((whole * c + c - 1) / c, abs=0.01)
    assert told[c - 1, True] == pytest.approx(whole, abs=0.01)
    assert told[c, False] == told[c, True] == pytest.approx(whole + 1, abs=0.01)


def test_search_shortfall_and_planning_again_tell_the_same_bound() -> None:
    """Worked: one tier, 52 days, 90 g wished a week. Of 400 g picked on days 34 and 37 the weeks of
    days 28, 35 and 42 get theirs: 270 g. A first batch picked on day 30 at the soonest lets a
    second be picked on day 51 at the soonest: two weeks and 39 g of the last one, less. Without
    cuts half a batch feeds whole weeks, and 309 g were told by all but the search.
    """
    g = tiny(52)
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=90.0),))
    season = solve(g, STEADY)
    assert (season.plan.stages[0].value, season.plan.stages[0].bound) == (270, 270)
    assert linear_bound(Task(g, g, (), STEADY)) == 270
    nothing = replace(season.plan, batches=())
    state = state_on(g, nothing, Log("log.csv", ()), g.season.start, False, 56)
    commitments = commitments_of(g, nothing, state)
    layout = Layout(commitments)
    assert produce_bound(layout) == 270
    assert access_bound(layout.by_tier(go_on_as_planned(commitments)), 60.0) == 270


def test_settled_batches_are_not_thinned() -> None:
    cand = rows_of(tiny(40))
    problem = by_tier(cand, [Committed("A", 1, (0,))])
    with pytest.raises(ValueError, match="settled"):
        undominated(problem)


def test_of_two_alike_one_stays_and_a_longer_stay_goes() -> None:
    """Every decision left out begins no later and ends no sooner than one that stays."""
    _, cand, _ = example("balcony")
    problem = pooled(cand)
    enough = set(undominated(problem).tolist())
    start, last = problem.column("transplant"), problem.column("last")
    gone = [i for i in range(len(problem)) if i not in enough]
    assert gone
    for i in gone:
        assert any(
            problem.place_of[k] == problem.place_of[i]
            and problem.slot(start[k : k + 1])[0] >= problem.slot(start[i : i + 1])[0]
            and last[k] <= last[i]
            for k in enough
        )


@pytest.mark.parametrize(("cells", "fills", "batches"), [(40, None, 2), (4, None, 1), (40, 1, 1)])
def test_where_a_limit_bites_the_whole_model_is_asked(
    cells: int, fills: int | None, batches: int
) -> None:
    """A season just long enough for one batch, two tiers: with cells for one, or one fill a day,
    what is enough for tiers alone is too much. The plan keeps the limit and is proven the best.
    """
    g = tiny(31, tiers=2, cells=cells, fills_per_day=fills)
    season = solve(g, replace(STEADY, deterministic=None, workers=2, time_limit=60.0))
    sound(g, season)
    assert len(season.plan.batches) == batches
    assert season.plan.stages[0].value == exact(g)[0]
    assert season.plan.stages[0].status == "proven"
