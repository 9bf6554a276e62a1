"""Worth and broken rules of a fixed schedule, against the model's own word."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from hypothesis import strategies as st
from solver_case import example, gardens, rows_of, tiny, value_of
from test_hints import committed_case, only, with_stages
from verify_case import LETTUCE

from scheduler.garden.model import Garden
from scheduler.model import objective
from scheduler.model.hints import complete
from scheduler.model.linear import rows
from scheduler.schedule.check import broken
from scheduler.schedule.column_subset import cut_out
from scheduler.schedule.problem import Choice, Problem, Used, by_tier, pooled
from scheduler.schedule.stages import CHANGES, EFFORT, EVENNESS, PRODUCE
from scheduler.schedule.value import worth
from scheduler.search.by_hand import ByHand
from scheduler.search.improve import Goal
from scheduler.search.layouts import access_matters

GOALS = (
    Goal(PRODUCE, lambda b: b.produce.value(), True),
    Goal(EVENNESS, lambda b: b.produce.unevenness(b.model), False),
    Goal(EFFORT, lambda b: objective.effort(b.model, b.v), False),
)


def agree(problem: Problem, access: bool, choices: list[Choice]) -> None:
    """Arithmetic and the solver say the same; so does the completed assignment."""
    assert broken(problem, access, choices) == []
    small, mine = only(problem, choices)
    built = with_stages(small, access)
    values = complete(built, mine)
    assert rows(built.model).holds(np.array(values))
    told = {}
    for goal in GOALS:
        told[goal.name] = worth(problem, goal.name, choices, access)
        assert told[goal.name] == value_of(small, access, goal, mine)
        assert told[goal.name] == worth(small, goal.name, mine, access)
    r = rows(built.model)  # objective: produce - evenness - effort, at its best for this schedule
    whole = float(r.cost @ np.array(values) + r.offset)
    assert whole == told["produce"] - told["evenness"] - told["effort"]


@pytest.mark.parametrize("name", ["balcony", pytest.param("courtyard", marks=pytest.mark.slow)])
def test_by_hand_in_the_examples(name: str) -> None:
    _, cand, problem = example(name)
    agree(problem, access_matters(cand), ByHand(problem).run())


@fixed(20)
@given(gardens())
def test_by_hand_in_random_gardens(g: Garden) -> None:
    cand = rows_of(g)
    problem = by_tier(cand)
    choices = ByHand(problem, True).run()
    if not choices:
        return
    agree(problem, True, choices)
    if not access_matters(cand):
        loose = pooled(cand)
        last, row = problem.column("last"), problem.row_of
        at = {int(r): i for i, r in enumerate(loose.row_of)}
        agree(
            loose, False, [Choice(at[int(row[c.decision])], int(last[c.decision])) for c in choices]
        )


@pytest.mark.slow
@fixed(120)
@given(gardens(), st.integers(0, 10_000), st.sampled_from(["alike", "loose", "part"]))
def test_a_rule_is_broken_where_the_model_says_so(g: Garden, seed: int, how: str) -> None:
    """Schedules by hand, spoiled: other decisions, other days; the model's rows are the judge."""
    cand = rows_of(g)
    problem = by_tier(cand)
    if not len(problem):
        return
    chance = random.Random(seed)
    access = how != "loose"
    last = problem.column("last")
    choices = ByHand(problem, chance.random() < 0.5).run() if access else []
    days = problem.days.tolist()
    for _ in range(chance.choice([0, 1, 1, 2, 3])):
        i = chance.randrange(len(problem))
        later = [d for d in days if last[i] <= d <= last[i] + 6]
        new = Choice(i, chance.choice(later) if access else int(last[i]))
        if choices and chance.random() < 0.6:
            choices[chance.randrange(len(choices))] = new
        else:
            choices.append(new)
    if how == "part":
        part = cut_out(problem, choices, frozenset([g.columns[0].name]))
        if broken(problem, access, part.outside):
            return  # only what keeps every rule is settled; of another no schedule could be made
        inside = np.flatnonzero(part.holds[problem.place_of])
        at = {int(old): new for new, old in enumerate(inside)}
        problem = part.of(problem.restricted(inside))
        choices = [Choice(at[c.decision], c.clear) for c in choices if c.decision in at]
    built = with_stages(problem, access)
    holds = rows(built.model).holds(np.array(complete(built, choices)))
    assert (broken(problem, access, choices) == []) == holds, broken(problem, access, choices)


@pytest.mark.parametrize("name", ["balcony", "courtyard"])
def test_a_part_is_worth_what_the_whole_is(name: str) -> None:
    g, _, problem = example(name)
    choices = ByHand(problem).run()
    columns = frozenset(c.name for c in g.columns[: max(1, len(g.columns) // 2)])
    part = cut_out(problem, choices, columns)
    inside = np.flatnonzero(part.holds[problem.place_of])
    at = {int(old): new for new, old in enumerate(inside)}
    mine = [Choice(at[c.decision], c.clear) for c in choices if c.decision in at]
    assert mine
    small = part.of(problem.restricted(inside))
    assert broken(small, True, mine) == []
    for goal in GOALS:
        assert worth(small, goal.name, mine) == worth(problem, goal.name, choices)


def test_another_stage_has_no_worth() -> None:
    with pytest.raises(ValueError, match="changes"):
        worth(by_tier(rows_of(tiny(31))), CHANGES, [])


def test_the_most_even_way_counts() -> None:
    """250 g good for weeks 0 and 1, 200 g wished in each: 200 and 50 by date, but 125 and 125 is as
    good and leaves no week below half. Nothing is picked in vain."""
    g = tiny(14)
    g = replace(
        g, demands=(replace(g.demands[0], grams_per_week=200.0),), crops={"lettuce": LETTUCE}
    )
    problem = replace(by_tier(rows_of(g)), stock=((0, 0, 1, 250),))
    assert worth(problem, PRODUCE, []) == 250
    assert worth(problem, EVENNESS, []) == 0
    built = with_stages(problem, True)
    values = complete(built, [])
    assert rows(built.model).holds(np.array(values))
    assert [values[short.index] for short, _, _ in built.produce.shorts] == [0, 0]
    # 90 g for two halves of 100 g: 110 g short of them however they are shared out.
    problem = replace(problem, stock=((0, 0, 1, 90),))
    assert worth(problem, EVENNESS, []) == 110
    # Good for week 0 alone: 50 g in vain, and all 100 g of week 1's half short.
    problem = replace(problem, stock=((0, 0, 0, 250),))
    assert worth(problem, EVENNESS, []) == 150


@pytest.mark.parametrize("started", [False, True])
def test_batches_that_are_settled(started: bool) -> None:
    problem, group = committed_case(False, started, 24)
    choices = ByHand(problem).run()
    agree(problem, True, choices)
    without = [c for c in choices if c.decision not in group]
    assert "is taken 0 times" in broken(problem, True, without)[0]
    assert broken(replace(problem, optional=frozenset({0})), True, without) == []
    twice = [*choices, next(c for c in choices if c.decision in group)]
    assert "is taken 2 times" in broken(problem, True, twice)[0]


def test_each_rule_is_told_in_words() -> None:
    """Two tiers, both filled on day 10 and picked on day 30 from 4 cells of 7 each."""
    g = tiny(40, 2, cells=7, fills_per_day=1, picks_per_day=1, lift_kg=9.0)
    problem = by_tier(rows_of(g))
    start, last = problem.column("transplant"), problem.column("last")
    both = np.flatnonzero((start == 10) & (last == 30) & (problem.column("grams") == 400))
    one, other = (int(both[problem.place_of[both] == p][0]) for p in (0, 1))
    assert broken(problem, True, [Choice(one, 30)]) == []
    told = broken(problem, True, [Choice(one, 30), Choice(other, 30)])
    # Ten days of seedlings: five told, the rest counted.
    assert {t.split(" on ")[0] for t in told} == {
        "8 nursery cells",
        "and 5 more of that kind",
        "2 fills",
        "2 picks",
    }
    assert sum("nursery" in t for t in told) == 5
    assert "A 1 holds 2 batches" in broken(problem, True, [Choice(one, 30), Choice(one, 31)])[0]
    assert "cleared on day 29" in broken(problem, True, [Choice(one, 29)])[0]
    # 14 - 0.4 k + 0.4 s(k/20) > 9 kg up to k = 12: the lower one on day 15 is under 14 - 2 kg.
    later = int(np.flatnonzero((start == 15) & (problem.place_of == 1))[0])
    told = broken(problem, True, [Choice(one, 30), Choice(later, int(last[later]))])
    assert any("A 2 is filled or cleared" in t for t in told)


def lettuce(problem: Problem, place: int, start: int, clear: int | None = None) -> Choice:
    """All heads on the first day they are ready, 20 days after ``start``."""
    column = problem.column
    i = int(
        np.flatnonzero(
            (problem.place_of == place)
            & (column("transplant") == start)
            & (column("last") == start + 20)
            & (column("grams") == 400)
        )[0]
    )
    return Choice(i, start + 20 if clear is None else clear)


def test_the_next_fill_waits_for_the_turnaround() -> None:
    problem = by_tier(rows_of(tiny(70, turnaround_days=3)))
    first = lettuce(problem, 0, 10)
    assert broken(problem, True, [first, lettuce(problem, 0, 33)]) == []
    assert "holds 2 batches" in broken(problem, True, [first, lettuce(problem, 0, 32)])[0]
    late = Choice(first.decision, 31)
    assert "holds 2 batches" in broken(problem, True, [late, lettuce(problem, 0, 33)])[0]


def test_a_tier_that_opens_later() -> None:
    problem = replace(by_tier(rows_of(tiny(70))), opens=(24,))
    assert broken(problem, True, [lettuce(problem, 0, 24)]) == []
    assert "there is room for 0" in broken(problem, True, [lettuce(problem, 0, 23)])[0]


def test_what_is_used_elsewhere_counts() -> None:
    """7 cells, one fill, one pick a day; elsewhere 3 cells are taken, and day 12 is full."""
    problem = by_tier(rows_of(tiny(70, cells=7, fills_per_day=1, picks_per_day=1)))
    slots = len(problem.days)
    full, none = np.zeros(slots, dtype=int), np.zeros(slots, dtype=int)
    full[12] = 1
    for cells, fills, picks, told in (
        (3, none, none, []),
        (4, none, none, ["8 nursery cells"]),
        (0, full, none, []),
        (0, np.roll(full, -2), none, ["2 fills"]),
        (0, none, np.roll(full, 18), ["2 picks"]),
    ):
        taken = np.full(slots, cells)
        part = replace(
            problem,
            used=Used(
                {"nursery cells": taken, "fills": fills, "picks": picks},
                np.zeros(slots, dtype=bool),
                0,
            ),
        )
        found = broken(part, True, [lettuce(part, 0, 10)])
        kinds = {t.split(" on")[0] for t in found if "more" not in t}
        assert sorted(kinds) == told, found


def test_stack_access_looks_at_all_that_stands_above() -> None:
    """12 L in a vessel of 2 kg: 14 kg when filled; picked on day 20 of a batch it holds 4 L."""
    problem = by_tier(rows_of(tiny(90, 3, cells=40, lift_kg=5.0)))
    top, last = lettuce(problem, 0, 10, 35), lettuce(problem, 2, 40)
    assert broken(problem, True, [top, last]) == []
    # Between the two nothing stands; still the top one is in the way of the lowest.
    assert "A 3" in broken(problem, True, [top, lettuce(problem, 2, 25)])[0]
    # Picked on day 30 and not yet cleared it weighs 6 kg.
    assert "A 3" in broken(problem, True, [top, lettuce(problem, 2, 33)])[0]
    assert broken(problem, True, [top, lettuce(problem, 2, 35)]) == []
    # 2 kg of vessel are too many by themselves: nothing below the top can be reached.
    never = by_tier(rows_of(tiny(90, 3, cells=40, lift_kg=1.9)))
    assert broken(never, True, [lettuce(never, 0, 10)]) == []
    assert "A 2" in broken(never, True, [lettuce(never, 1, 10)])[0]
    assert "A 3" in broken(never, True, [lettuce(never, 2, 10)])[0]
    assert broken(never, False, [lettuce(never, 2, 10)]) == []


def test_what_spoils_first_goes_first() -> None:
    """100 g that keep and 100 g that do not, for two weeks of 100 g: both weeks are met."""
    g = tiny(14)
    g = replace(
        g, demands=(replace(g.demands[0], grams_per_week=100.0),), crops={"lettuce": LETTUCE}
    )
    for stock in (((0, 0, 1, 100), (0, 0, 0, 100)), ((0, 0, 0, 100), (0, 0, 1, 100))):
        problem = replace(by_tier(rows_of(g)), stock=stock)
        assert worth(problem, PRODUCE, []) == 200
