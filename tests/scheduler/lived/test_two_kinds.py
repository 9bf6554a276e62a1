"""Two kinds on the table: counted by hand, promised, lived once more by `verify`, told in words."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from lived_case import mean_years
from verify_case import day, garden, good_plan, with_stages

from scheduler.garden.model import Demand, Garden
from scheduler.lived.doubt import NONE
from scheduler.lived.grower import TO_THE_DAY
from scheduler.lived.promise import promised
from scheduler.lived.worth import two_kinds
from scheduler.outputs.two_kinds import data, lines
from scheduler.plans.model import Plan, Promise, TwoKinds, YearsTaken
from scheduler.verify.case import Case
from scheduler.verify.pantry import Pantry
from scheduler.verify.promise import check
from scheduler.years.purposes import years_for


@pytest.mark.parametrize("times", [1, 3])
def test_a_second_kind_counts_from_a_tenth_of_the_wish(times: int) -> None:
    """Of 100 g (300 g): 10 g (30 g) count, 9.9 g (29.7 g) do not, and nothing where none is wished,
    however much there is."""
    others = np.array([[[10.0, 9.9]], [[50.0, 50.0]]]) * times
    found = two_kinds(others, np.array([[100.0], [0.0]]) * times)
    assert found.tolist() == [[[True, False]], [[False, False]]]


@pytest.mark.parametrize(("grams", "weeks"), [(390, 0), (400, 1)])
def test_weeks_of_a_plan_by_hand(grams: int, weeks: int) -> None:
    """Of the first week `good_plan` brings 360 g of chard, which keep for that week alone and are
    eaten first, and 400 g of lettuce. So of a wish of 390 g 30 g are lettuce, of 400 g 40 g: a
    tenth."""
    g = garden(demands=(Demand("salad", ("lettuce", "chard"), float(grams), day(28), day(34)),))
    made = promised(g, good_plan().batches, mean_years(g), 1.0, 0, 0, TO_THE_DAY, NONE)
    assert made.two_kinds == (TwoKinds("salad", 1, (weeks,)),)


@pytest.mark.parametrize("kinds", [1, 3])
def test_what_is_eaten_up_is_eaten_up(kinds: int) -> None:
    """Of whole grams nothing is left over for rounding: a grower who lacks a billionth of a gram
    would pick for it."""
    rng = np.random.default_rng(1)
    for _ in range(200):
        pantry, total = Pantry(), 0
        for k in range(kinds):
            grams = int(rng.integers(1, 600))
            pantry.put("greens", 5, float(grams), f"kind {k}")
            total += grams
        some = int(rng.integers(1, total + 1))
        assert pantry.eat("greens", 4, float(some)) == some
        assert pantry.there("greens", 5) == total - some
        assert pantry.eat("greens", 5, 2000.0) == total - some
        assert pantry.there("greens", 5) == 0


def of_two_crops() -> Garden:
    return garden(demands=(Demand("salad", ("lettuce", "chard"), 300.0, day(28), day(59)),))


@lru_cache(maxsize=1)
def with_two_kinds() -> Plan:
    """A plan of heads and chard in 40 years, of which the first are lived again."""
    g = of_two_crops()
    made = replace(good_plan(), stages=(), unmet=())
    years = years_for(g, 40, 5, "promise")
    promise = promised(g, made.batches, years, 1.0, 5)
    made = replace(made, promise=promise, years=YearsTaken("made", 0, 40, 0, 5, 4))
    return with_stages(g, made)


def told_of(made: Plan) -> list[str]:
    case = Case(of_two_crops(), made)
    check(case)
    return [b.message for b in case.found if "two kinds" in b.message]


def test_verify_counts_the_weeks_again() -> None:
    made = with_two_kinds()
    assert made.promise is not None
    (told,) = made.promise.two_kinds
    assert told.weeks == 5
    assert len(set(told.by_year)) > 1, "years differ, or the test proves little"
    assert not told_of(made)
    for wrong in (
        replace(told, by_year=(told.by_year[0] + 1, *told.by_year[1:])),
        replace(told, by_year=(*told.by_year[:3], told.by_year[3] - 1, *told.by_year[4:])),
        replace(told, weeks=6),
        replace(told, by_year=told.by_year[:-1]),
    ):
        changed = replace(made, promise=replace(made.promise, two_kinds=(wrong,)))
        assert told_of(changed), wrong


def test_it_is_told_in_words_and_as_data() -> None:
    promise = Promise(0.5, 0.4, 0.3, 1.0, 0)
    assert lines(promise) == []
    three = TwoKinds("greens", 18, (12, 13, 15)), TwoKinds("herbs", 15, (2, 2, 3))
    promise = replace(promise, two_kinds=three)
    text = re.sub(r"\s+", " ", " ".join(lines(promise)))
    # (12 + 13 + 15) / 3 = 13.3 and (2 + 2 + 3) / 3 = 2.3.
    assert "greens in 13 of 18 weeks, herbs in 2 of 15 weeks" in text
    assert all(len(line) <= 79 for line in lines(promise))
    assert [d["with_two"] for d in data(promise)] == [13.33, 2.33]
