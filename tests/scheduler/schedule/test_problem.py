"""Candidates laid out by tier or pooled; who supplies which weeks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from solver_case import rows_of, tiny
from verify_case import CHARD, LETTUCE, day

from scheduler.batches.courses import NEVER
from scheduler.garden.model import Demand, Garden
from scheduler.schedule.column_subset import ColumnSubset
from scheduler.schedule.problem import Committed, Problem, Used, by_tier, pooled


def two_groups(**wishes: float) -> Garden:
    """Lettuce and chard in two tiers over ten weeks."""
    g = tiny(70, 2)
    crops = {"lettuce": LETTUCE, "chard": CHARD}
    demands = tuple(Demand(name, (name,), grams, day(0), day(69)) for name, grams in wishes.items())
    return replace(g, crops=crops, demands=demands)


def test_by_tier_offers_each_candidate_in_each_tier_of_its_kind() -> None:
    cand = rows_of(tiny(60, 3, columns="AB"))
    p = by_tier(cand)
    assert [(q.column, q.number, q.count) for q in p.places] == [
        (c, n, 1) for c in "AB" for n in (1, 2, 3)
    ]
    pairs = set(zip(p.place_of.tolist(), p.row_of.tolist(), strict=True))
    assert len(pairs) == len(p) == 6 * len(cand)
    q = pooled(cand)
    assert [(x.count, x.column) for x in q.places] == [(6, "")]
    assert q.row_of.tolist() == list(range(len(cand)))


def test_crops_nobody_wishes_for_are_not_offered() -> None:
    for wishes, crops in (
        ({"lettuce": 100.0, "chard": 100.0}, {0, 1}),
        ({"lettuce": 100.0}, {0}),
        ({"lettuce": 100.0, "chard": 0.0}, {0}),
        ({}, set()),
    ):
        cand = rows_of(two_groups(**wishes))
        assert set(cand.table["crop"]) == {0, 1}
        for problem in (by_tier(cand), pooled(cand)):
            assert set(problem.column("crop")) == crops


def test_work_days_are_slots() -> None:
    p = by_tier(rows_of(tiny(60, work=(0, 2))))  # days 0, 2, 7, 9, ...
    assert p.days[:5].tolist() == [0, 2, 7, 9, 14]
    assert p.slot(np.array([-3, 0, 1, 2, 3, 7, 8])).tolist() == [0, 0, 1, 1, 2, 2, 3]
    assert p.slot(np.array([NEVER])) == len(p.days)
    later = replace(p, free_from=8)
    assert later.days[:2].tolist() == [9, 14]
    assert later.slot(np.array([2, 9])).tolist() == [0, 0]


def test_restricted_keeps_groups() -> None:
    cand = rows_of(tiny(60, 2))
    p = by_tier(cand, [Committed("A", 2, (3, 4)), Committed("A", 1, (9,))])
    a, b = p.committed
    assert [p.places[p.place_of[i]].number for i in (*a, *b)] == [2, 2, 1]
    assert p.row_of[[*a, *b]].tolist() == [3, 4, 9]
    # A committed row is offered in its own tier alone.
    assert (p.row_of == 3).sum() == 1
    small = p.restricted(np.array([0, 5, a[1], b[0]]))
    assert small.committed == ((2,), (3,))
    assert small.row_of.tolist() == [p.row_of[0], p.row_of[5], 4, 9]
    with pytest.raises(ValueError, match="left out"):
        p.restricted(np.array([0, 5, a[1]]))
    free = replace(p, optional=frozenset({1}))
    assert free.restricted(np.array([0, a[0]])).committed == ((1,), ())


def test_tiers_that_open_later() -> None:
    p = by_tier(rows_of(tiny(60, 2)), closed={("A", 2): 21})
    assert p.opens == (0, 21)


def picked(p: Problem, day_index: int, crop: int) -> tuple[int, int, int]:
    """The class of a pick of all heads on a day."""
    days = p.cand.pick_day[p.row_of]
    alone = (days[:, 0] == day_index) & (days[:, 1] == NEVER) & (p.column("crop") == crop)
    decision = int(np.flatnonzero(alone)[0])
    (at,) = np.flatnonzero(p.supply.decision == decision)
    return p.supply.classes[int(p.supply.week_class[at])]


def test_classes_of_picks() -> None:
    """Lettuce keeps 7 days, chard 5; the Wednesday of the week after next Monday counts.

    Picked on day 30, a Wednesday (week 4): Wednesday day 37 is 7 days on. Day 31: 6. Day 42, a
    Monday (week 6): Wednesday day 51 is 9 days on, out of reach.
    """
    p = by_tier(rows_of(two_groups(chard=100.0, lettuce=100.0)))
    assert p.supply.groups == ("chard", "lettuce")
    assert picked(p, 30, 0) == (1, 4, 5)
    assert picked(p, 42, 0) == (1, 6, 6)
    assert picked(p, 30, 1) == (0, 4, 4)
    assert picked(p, 32, 1) == (0, 4, 5)
    # Past the season's last week there is nothing to serve: day 66 is a Thursday of week 9.
    assert picked(p, 66, 0) == (1, 9, 9)


def test_stock_joins_its_class() -> None:
    """What is in store already counts as given; a class of its own where no pick is alike."""
    p = by_tier(rows_of(two_groups(lettuce=100.0)))
    plain = p.supply
    alike = plain.classes[0]
    s = replace(p, stock=((*alike, 70), (0, 0, 1, 30), (*alike, 5))).supply
    given = dict(zip(s.classes, s.given.tolist(), strict=True))
    assert given[alike] == 75
    assert given[0, 0, 1] == 30
    assert sum(given.values()) == 105
    assert len(s.classes) == len(plain.classes) + 1
    assert s.grams.sum() == plain.grams.sum()


def test_supply_without_candidates() -> None:
    p = by_tier(rows_of(tiny(20)))
    assert len(p) == 0
    assert p.supply.classes == ()
    assert p.supply.wish.shape == (1, 3)


@pytest.mark.parametrize("share", [0.0, 0.03, 0.5, 1.0])
def test_a_smaller_problem_gets_its_supply_from_the_larger(share: float) -> None:
    """The same as made anew from the candidates, with stock of a class that is left and of one
    that is not."""
    whole = replace(
        by_tier(rows_of(two_groups(lettuce=100.0, chard=50.0))),
        stock=((0, 2, 3, 70), (1, 0, 1, 30)),
    )
    chance = np.random.default_rng(7)
    small = whole.restricted(np.flatnonzero(chance.random(len(whole)) < share))
    more = ((1, 3, 4, 11), (0, 2, 3, 5))
    part = ColumnSubset(np.ones(len(whole.places), dtype=bool), [], _nothing(whole), more).of(small)
    for problem in (small, part):
        anew = replace(problem).supply  # a copy has nothing at hand
        assert problem.supply.classes == anew.classes
        for name in ("decision", "week_class", "grams", "given", "wish"):
            assert getattr(problem.supply, name).tolist() == getattr(anew, name).tolist(), name


def _nothing(problem: Problem) -> Used:
    none = np.zeros(len(problem.days), dtype=int)
    return Used({}, none.astype(bool), 0)
