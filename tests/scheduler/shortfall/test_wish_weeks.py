"""In which weeks a wish is worth having: weeks met by half or more, in at most three runs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from standing_case import write

from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.plans.model import Batch, Pick, Plan
from scheduler.shortfall.answer import MustGive
from scheduler.shortfall.data import data
from scheduler.shortfall.text import lines
from scheduler.shortfall.wish_weeks import wish_weeks
from scheduler.usecases.planning_standing import bare_plan

MONDAY = date(2027, 6, 7)  # the season's first day; 16 weeks to 26 September


@pytest.fixture
def garden(tmp_path: Path) -> Garden:
    """300 g of lettuce a week; what is picked on a Wednesday keeps for a day, so for its week."""
    path = write(tmp_path, "")
    text = path.read_text().replace("500 g", "300 g")
    crops = "{which: [leaf_lettuce], overrides: {leaf_lettuce: {storage_life: 1 day}}}"
    path.write_text(text.replace("[leaf_lettuce, kale]", crops))
    return load_garden(path)


def plan(garden: Garden, grams: dict[int, int]) -> Plan:
    """A pick of so many grams on the Wednesday of each week, counted from 0."""
    batches = tuple(
        Batch(
            f"b{week:03d}", "leaf_lettuce", "A", 1, 3, 8, 4, MONDAY, MONDAY,
            (Pick(MONDAY + timedelta(days=7 * week + 2), 3, n),), MONDAY, 15.0, None, None,
        )
        for week, n in grams.items()
    )  # fmt: skip
    return replace(bare_plan(garden), batches=batches)


def week(first: int, last: int) -> tuple[date, date]:
    return MONDAY + timedelta(days=7 * first), MONDAY + timedelta(days=7 * last + 6)


def test_half_a_wish_is_kept_and_a_gram_less_is_not(garden: Garden) -> None:
    """Of 16 weeks three: 300 + 300 + 150 of 900 g inside, of 4800 g in all."""
    (one,) = wish_weeks(garden, plan(garden, {5: 300, 6: 300, 7: 150}))
    assert one.spans == (week(5, 7),)
    assert one.met == pytest.approx(750 / 900)
    assert one.before == pytest.approx(750 / 4800)
    (one,) = wish_weeks(garden, plan(garden, {5: 300, 6: 300, 7: 149}))
    assert one.spans == (week(5, 6),)
    assert one.met == 1


@pytest.mark.parametrize(("runs", "kept"), [((0, 4, 9), (0, 4, 9)), ((0, 4, 9, 12), (4, 9, 12))])
def test_three_runs_are_told_and_of_four_the_longest(
    garden: Garden, runs: tuple[int, ...], kept: tuple[int, ...]
) -> None:
    """Each run is two weeks long but the first, of one."""
    grams = {first + k: 300 for first in runs for k in range(1 if first == 0 else 2)}
    (one,) = wish_weeks(garden, plan(garden, grams))
    assert one.spans == tuple(week(k, k if k == 0 else k + 1) for k in kept)


def test_nothing_is_said_where_all_or_none_is_met(garden: Garden) -> None:
    assert wish_weeks(garden, plan(garden, dict.fromkeys(range(16), 300))) == []
    assert wish_weeks(garden, plan(garden, {})) == []
    assert wish_weeks(garden, plan(garden, {3: 149})) == []


def test_it_is_told_in_the_answer(garden: Garden) -> None:
    made = plan(garden, {5: 300, 6: 300, 7: 150})
    answer = MustGive(garden, made, 750.0, 4800.0, 750.0, None, ())
    told = " ".join(" ".join(lines(answer)).split())
    assert "lettuce 12 Jul to 1 Aug only: 83.3 % of that wish is met, instead of 15.6 %" in told
    assert all(len(line) < 80 for line in lines(answer))
    (one,) = data(answer)["wish_weeks"]
    assert one["spans"] == [["2027-07-12", "2027-08-01"]]
