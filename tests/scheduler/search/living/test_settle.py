"""Which schedules keep the shared rules: the same as the arithmetic of plans says."""

from __future__ import annotations

import numpy as np
import pytest
from draws import fixed
from hypothesis import assume, given
from living_case import Lot, lots

from scheduler.schedule.check import broken
from scheduler.schedule.problem import Choice, by_tier
from scheduler.search.by_hand import ByHand
from scheduler.search.layouts import access_matters
from scheduler.search.living.settle import settled


def rules_broken(one: Lot, clear: np.ndarray) -> list[str]:
    problem = by_tier(one.cand)
    at = {(p.column, p.number): i for i, p in enumerate(problem.places)}
    choices = [
        Choice(problem.decision_of[at[s.column, s.tier], s.row], int(day))
        for s, day in zip(one.stands, clear, strict=True)
    ]
    return broken(problem, access_matters(one.cand), choices)


@fixed(120)
@given(lots(4))
def test_what_settles_keeps_every_shared_rule(one: Lot) -> None:
    clear = settled(one.options, one.depth, one.world.open, one.rows, one.tiers)
    wished = set(by_tier(one.cand).row_of.tolist())
    assume(wished.issuperset(one.rows.tolist()))  # others are no decisions of a plan
    if len(clear):
        assert rules_broken(one, clear) == []
    else:  # cleared on the days of the last picks, as soon as can be, it breaks one too
        assert rules_broken(one, one.options.rows["last"][one.rows])


@pytest.mark.slow
@fixed(100)
@given(lots(1))
def test_what_a_rule_of_thumb_makes_settles(one: Lot) -> None:
    problem = by_tier(one.cand)
    hand = ByHand(problem, forward=True)
    hand.run()
    places = [(c.name, t.number) for c in one.garden.columns for t in c.tiers]
    rows = np.array([s.row for s in hand.stands], dtype=np.int64)
    tiers = np.array([places.index((s.column, s.tier)) for s in hand.stands], dtype=np.int64)
    clear = settled(one.options, one.depth, one.world.open, rows, tiers)
    assert len(clear) == len(rows)
    assert (clear <= np.array([s.clear for s in hand.stands], dtype=int)).all()
