"""A list of choices fills every variable of its model, whatever the stage and the layout."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from solver_case import example, gardens, rows_of, tiny
from verify_case import LETTUCE

from scheduler.garden.model import Garden
from scheduler.model import objective
from scheduler.model.build import Built, build_model
from scheduler.model.hints import complete
from scheduler.model.linear import rows
from scheduler.schedule.check import broken
from scheduler.schedule.problem import Choice, Committed, Problem, by_tier, pooled
from scheduler.search.by_hand import ByHand
from scheduler.search.layouts import access_matters


def with_stages(problem: Problem, access: bool) -> Built:
    """A model with the variables of all three stages."""
    built = build_model(problem, access)
    built.model.maximize(
        built.produce.value()
        - built.produce.unevenness(built.model)
        - objective.effort(built.model, built.v)
    )
    return built


def full_and_feasible(problem: Problem, access: bool, choices: list[Choice]) -> list[int]:
    built = with_stages(problem, access)
    values = complete(built, choices)
    assert len(values) == len(built.model.proto.variables)
    r = rows(built.model)
    x = np.array(values)
    got = r.matrix @ x
    broken = np.flatnonzero((got < r.low - 1e-6) | (got > r.high + 1e-6))
    assert r.holds(x), f"rows {broken[:5]}, limits {np.flatnonzero((x < r.least) | (x > r.most))}"
    # Nothing less would do: each choice, fill and cell is needed.
    assert values[built.v.take[choices[0].decision].index] >= 1
    return values


@pytest.mark.slow
@pytest.mark.parametrize("name", ["balcony", "courtyard"])
@pytest.mark.parametrize("forward", [False, True])
def test_by_hand_in_the_examples(name: str, forward: bool) -> None:
    _, cand, problem = example(name)
    choices = ByHand(problem, forward).run()
    assert len(choices) > 3
    # The model of a whole season is large: what is not chosen can be left out.
    small, mine = only(problem, choices)
    full_and_feasible(small, access_matters(cand), mine)


def only(problem: Problem, choices: list[Choice]) -> tuple[Problem, list[Choice]]:
    keep = np.union1d([c.decision for c in choices], np.arange(0, len(problem), 97))
    at = {int(old): new for new, old in enumerate(keep)}
    return problem.restricted(keep), [Choice(at[c.decision], c.clear) for c in choices]


@fixed(25)
@given(gardens())
def test_by_hand_in_random_gardens(g: Garden) -> None:
    cand = rows_of(g)
    problem = by_tier(cand)
    for forward in (False, True):
        choices = ByHand(problem, forward).run()
        if choices:
            full_and_feasible(problem, True, choices)
            if not access_matters(cand):
                last = problem.column("last")
                same = [Choice(c.decision, int(last[c.decision])) for c in choices]
                full_and_feasible(problem, False, same)


def test_pooled_tiers() -> None:
    """Three alike tiers, two of them filled on day 10, one again on day 31: one, then two empty."""
    g = tiny(60, 3, cells=8)
    problem = pooled(rows_of(g))
    start, last = problem.column("transplant"), problem.column("last")
    early = int(np.flatnonzero((start == 10) & (last == 30))[0])
    late = int(np.flatnonzero((start == 31) & (last == 51))[0])
    choices = [Choice(early, 30), Choice(early, 30), Choice(late, 51)]
    built = with_stages(problem, False)
    values = complete(built, choices)
    assert rows(built.model).holds(np.array(values))
    empty = [values[x.index] for x in built.v.empty[0]]
    assert (empty[9], empty[10], empty[30], empty[31], empty[52]) == (3, 1, 1, 2, 3)
    assert values[built.v.take[early].index] == 2
    used = [values[x.index] for _, x in built.v.used]
    # Sown on 0 (fit on day 10) and on 21 (the latest day for 31), 10, 30, 31, 51.
    assert np.flatnonzero(used).tolist() == [0, 10, 21, 30, 31, 51]


def test_a_schedule_that_breaks_a_rule_does_not_hold() -> None:
    """The check itself can fail: a cell too few, a tier taken twice, any value off by one."""
    g = tiny(40, 2, cells=7)
    problem = by_tier(rows_of(g))
    start, last = problem.column("transplant"), problem.column("last")
    both = np.flatnonzero((start == 10) & (last == 30) & (problem.column("grams") == 400))
    one, other = (int(both[problem.place_of[both] == p][0]) for p in (0, 1))
    built = with_stages(problem, True)
    good = np.array(complete(built, [Choice(one, 30)]))
    assert rows(built.model).holds(good)
    assert not rows(built.model).holds(
        np.array(complete(built, [Choice(one, 30), Choice(other, 30)]))
    )
    twice = complete(built, [Choice(one, 30), Choice(one, 30)])
    assert not rows(built.model).holds(np.array(twice))
    for var in (
        built.v.empty[0][5],
        built.v.held["nursery cells"][3],
        next(iter(built.produce.flow.values())),
    ):
        bad = good.copy()
        bad[var.index] += 1
        assert not rows(built.model).holds(bad)


def committed_case(optional: bool, started: bool, opens: int) -> tuple[Problem, list[int]]:
    """Tier 1 of two holds a batch planned before; `started`: it stands since day 10, today is 15.

    Returns the problem and the decisions of the committed group.
    """
    g = tiny(70, 2, lift_kg=9.05)
    cand = rows_of(g)
    table = cand.table
    mine = table.index[(table["transplant"] == 10) & (table["last"].isin([30, 31]))]
    today = 15 if started else 0
    problem = by_tier(
        cand, [Committed("A", 1, tuple(mine.tolist()))], free_from=today, closed={("A", 2): opens}
    )
    if optional:
        problem = replace(problem, optional=frozenset({0}))
    return problem, list(problem.committed[0])


@pytest.mark.parametrize("started", [False, True])
@pytest.mark.parametrize("opens", [0, 24])
def test_committed_batches_and_tiers_that_open_later(started: bool, opens: int) -> None:
    problem, group = committed_case(False, started, opens)
    choices = ByHand(problem).run()
    assert sum(c.decision in group for c in choices) == 1
    assert len(choices) > 1
    begun = problem.column("transplant")
    lower = [c for c in choices if problem.places[problem.place_of[c.decision]].number == 2]
    assert min(begun[c.decision] for c in lower) >= opens
    values = full_and_feasible(problem, True, choices)
    built = with_stages(problem, True)
    heavy = [values[x.index] for x in built.v.heavy[0]]
    # 14 - 0.4 k + 0.4 s(k/20) <= 9.05 from k = 13 (0.4 s(0.65) = 0.209): light on day 23.
    first = 0 if started else 11
    today = 15 if started else 0
    assert np.flatnonzero(heavy)[:1].tolist() == [first]
    assert heavy[23 - today - 1 : 23 - today + 1] == [1, 0]


def test_without_its_committed_batch_a_schedule_does_not_hold() -> None:
    for optional in (False, True):
        problem, _ = committed_case(optional, False, 0)
        built = with_stages(problem, True)
        assert rows(built.model).holds(np.array(complete(built, []))) == optional


def test_stock_from_before_is_eaten_first() -> None:
    """250 g of lettuce picked before, good for weeks 0 and 1: 100 g wished a week."""
    g = tiny(14)
    g = replace(g, demands=(replace(g.demands[0], grams_per_week=100.0),))
    problem = replace(
        by_tier(rows_of(replace(g, crops={"lettuce": LETTUCE}))), stock=((0, 0, 1, 250),)
    )
    built = with_stages(problem, True)
    values = complete(built, [])
    assert rows(built.model).holds(np.array(values))
    served = {key: values[x.index] for key, x in built.produce.served.items()}
    assert served == {(0, 0): 100, (0, 1): 100}


def crowded_case() -> tuple[Problem, list[Choice], dict[int, Choice]]:
    """Three lots of seedlings in hand take 12 cells of 7; two of them leave on day 10, one on 13.

    Today is day 5. Returns the problem, their choices, and for tier 4 one choice by sowing day.
    """
    g = tiny(70, 4, cells=40)
    cand = rows_of(g)
    cand = replace(cand, garden=replace(g, nursery=replace(g.nursery, cells=7)))
    table = cand.table
    in_hand = table.index[
        (table["sow"] == 0) & (table["last"] == table["transplant"] + 20) & (table["grams"] == 400)
    ]
    start = table["transplant"]
    early = int(in_hand[start[in_hand] == 10][0])
    late = int(table.index[(table["sow"] <= 3) & (start == 13)][0])
    lots = [Committed("A", k, (r,)) for k, r in ((1, early), (2, early), (3, late))]
    problem = by_tier(cand, lots, free_from=5)
    last, sow = problem.column("last"), problem.column("sow")
    choices = [Choice(one, int(last[one])) for (one,) in problem.committed]
    fresh: dict[int, Choice] = {}
    for i in np.flatnonzero(problem.place_of == 3):
        if sow[i] >= 5:
            fresh.setdefault(int(sow[i]), Choice(int(i), int(last[i])))
    return problem, choices, fresh


@pytest.mark.deep
def test_seedlings_that_take_more_cells_than_there_are() -> None:
    """Beside them nothing is sown until what stays has room: 4 + 4 cells on day 12 are too many."""
    problem, choices, fresh = crowded_case()
    built = with_stages(problem, True)
    values = full_and_feasible(problem, True, choices)
    others, full = (
        [values[pair[k].index] for pair in built.v.crowded["nursery cells"]] for k in (0, 1)
    )  # slots from day 5 on
    assert full[:6] == [1, 1, 1, 1, 1, 0]
    assert set(others) == {0}
    for day, choice in fresh.items():
        built = with_stages(problem, True)
        values = complete(built, [*choices, choice])
        assert rows(built.model).holds(np.array(values)) == (day >= 13), day
        assert (broken(problem, True, [*choices, choice]) == []) == (day >= 13), day
    assert {12, 13} <= set(fresh)
    built = with_stages(problem, True)
    values = complete(built, [*choices, fresh[13]])
    assert [values[pair[0].index] for pair in built.v.crowded["nursery cells"]][7:10] == [0, 4, 4]
