"""Rules about one batch: each just kept and just broken; and one that is added holds everywhere.

`verify_case`: a lettuce planted on day 10 is ready on day 30, holds 5 days, is dry on day 37.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import verify_case as case
from solver_case import rows_of, tiny

from crops.solution.strength import MOST_LOST
from scheduler.batches import rules
from scheduler.batches.candidates import build
from scheduler.batches.courses import NEVER
from scheduler.batches.rules import BatchRule, Grown, Picks
from scheduler.batches.windows import sow_windows
from scheduler.log.state import Followed
from scheduler.plans import rules as names
from scheduler.plans.model import GROWING
from scheduler.replanning.outlook import outlook
from scheduler.replanning.ways_on import Variant, why_not
from scheduler.shortfall.window_words import why_text
from scheduler.words.words import Units


def grown(**changes: object) -> Grown:
    """A lettuce planted on day 10; the light is 10 a day, it needs 8."""
    light = np.arange(200) * 10.0
    days = (np.array([d]) for d in (10, 30, 37, 90))
    made = Grown(case.LETTUCE, 2, *days, light, np.array([0.0]))
    return replace(made, **changes)  # type: ignore[arg-type]


def one(*days: int) -> Picks:
    return Picks(np.array([days]))


@pytest.mark.parametrize(
    ("rule", "changes", "kept", "broken"),
    [
        (rules.RIPE, {}, (30,), (29,)),
        (rules.RIPE, {}, (35,), (36,)),
        (rules.RIPE, {}, (30, 35), (30, 36)),
        # Grown back 7 days after the cut before, and as good for 5 more.
        (rules.RIPE, {"crop": case.CHARD}, (32, 39), (32, 38)),
        (rules.RIPE, {"crop": case.CHARD}, (32, 44), (32, 45)),
        (rules.DRY, {}, (35,), (36,)),  # two days before day 37
        (rules.DRY, {"margin": 1}, (36,), (37,)),
        (rules.DRY, {"margin": 3}, (34,), (35,)),
        (rules.BOLTING, {"bolted": np.array([34])}, (33,), (34,)),  # not on the day it bolts
        (rules.SURVIVAL, {"killed": np.array([34])}, (33,), (34,)),  # nor when it is dead
    ],
)
def test_just_kept_and_just_broken(
    rule: BatchRule, changes: dict[str, object], kept: tuple[int, ...], broken: tuple[int, ...]
) -> None:
    assert rule.ok(grown(**changes), one(*kept))[0].tolist() == [True]
    assert rule.ok(grown(**changes), one(*broken))[0].tolist() == [False]
    assert rules.keeps(grown(**changes), one(*kept), but=_but(rule)).tolist() == [True]
    assert rules.keeps(grown(**changes), one(*broken)).tolist() == [False]


def _but(rule: BatchRule) -> tuple[BatchRule, ...]:
    """All others."""
    return tuple(r for r in rules.RULES if r is not rule)


def test_light_is_the_mean_of_all_days_up_to_the_last_pick() -> None:
    """20 days of 7.5 and one of 18 make 8.0, which is enough; with 17.9 it is not."""
    for last, enough in ((18.0, True), (17.9, False)):
        dli = np.concatenate([np.full(30, 7.5), [last], np.full(60, 0.0)])
        light = np.concatenate([[0.0], np.cumsum(dli)])
        ok, mean = rules.LIGHT.ok(grown(light=light), one(30))
        assert ok.tolist() == [enough]
        assert mean[0] == pytest.approx((20 * 7.5 + last) / 21)


def test_salt_may_cost_so_much_and_no_more() -> None:
    assert rules.SALT.ok(grown(lost=np.array([MOST_LOST])), one(30))[0].tolist() == [True]
    assert rules.SALT.ok(grown(lost=np.array([MOST_LOST + 1e-6])), one(30))[0].tolist() == [False]
    assert rules.SALT.ok(grown(lost=None), one(30))[0].tolist() == [True]


def test_what_is_moved_is_light_enough() -> None:
    for kg, kept in ((16.0, True), (16.001, False)):
        moved = grown(moved=np.array([kg]), most_kg=16.0)
        assert rules.MOVED.ok(moved, one(30))[0].tolist() == [kept]
        assert rules.keeps(moved, one(30)).tolist() == [kept]
    assert rules.MOVED.ok(grown(moved=None), one(30))[0].tolist() == [True]


def test_picks_made_and_early_ones_need_not_be_ripe() -> None:
    picks = Picks(np.array([[20, 32]]), np.array([[False, True]]))
    assert rules.RIPE.ok(grown(), picks)[0].tolist() == [True]
    assert rules.RIPE.ok(grown(), replace(picks, judged=None))[0].tolist() == [False]


def test_one_batch_and_many_ways_to_pick_it() -> None:
    """One batch against four days: ripe and two days before it is dry up to day 35."""
    days = Picks(np.array([[29], [30], [35], [36]]))
    assert rules.keeps(grown(), days).tolist() == [False, True, True, False]
    assert rules.keeps(grown(ready=np.array([NEVER])), days).tolist() == [False] * 4


def test_growing_batches_are_not_asked_for_what_cannot_be_helped() -> None:
    dark = grown(light=np.zeros(200), lost=np.array([0.5]))
    assert rules.keeps(dark, one(30), growing=True).tolist() == [True]
    assert rules.keeps(dark, one(30)).tolist() == [False]


def test_each_is_a_rule_of_the_one_list() -> None:
    assert {r.name for r in rules.RULES} <= {r.name for r in names.RULES}
    assert len({r.name for r in rules.RULES}) == len(rules.RULES) == 8


def odd(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """An invented rule: no last pick on an odd day."""
    return picks.last % 2 == 0, picks.last


@pytest.mark.parametrize("growing", [True, False])
def test_a_rule_that_is_added_holds_in_all_that_is_planned(
    monkeypatch: pytest.MonkeyPatch, growing: bool
) -> None:
    """In one place, here; the check of plans would be the second."""
    g = tiny(50)
    before = rows_of(g).table["last"].to_numpy()
    assert (before % 2 == 1).any()
    even = np.unique(before[before % 2 == 0])
    added = BatchRule("even days", odd, growing)
    monkeypatch.setattr(rules, "RULES", (*rules.RULES, added))
    # Candidates.
    assert np.unique(rows_of(g).table["last"].to_numpy()).tolist() == even.tolist()
    # What a re-plan goes on with.
    within = case.garden()
    for day, state in ((30, "planned"), (31, "planned"), (31, GROWING)):
        batch = replace(case.batch("b1", "lettuce", "A1", 0, 10, [(day, 4)], day), state=state)
        why = why_not(within, Variant(batch), case.day(0 if state == "planned" else 20))
        asked = growing or state == "planned"
        assert why == ("breaks a rule: even days" if day % 2 and asked else ""), (day, state)
    # What is foretold of a growing batch: good on days 30 to 35.
    standing = replace(case.heads("b1", "A1", 10), state=GROWING)
    look = outlook(within, Followed(standing, 0, ()), standing, case.day(20))
    good = range(30, 36)
    assert look.days == tuple(case.day(d) for d in good if not growing or d % 2 == 0)


def soon(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """Another: every batch is over before day 45."""
    return picks.last < 45, picks.last


@pytest.mark.parametrize(
    ("work", "refused"),
    [
        (range(7), range(25, 40)),  # ready on day 45 or later, 20 days after
        ((0, 3, 5), (24, 26, 28, 31, 33, 35, 38)),  # ready on day 44, a Wednesday: picked on 45
    ],
)
def test_a_rule_that_is_added_is_a_reason_of_sowing_windows(
    monkeypatch: pytest.MonkeyPatch, work: tuple[int, ...], refused: tuple[int, ...]
) -> None:
    g = tiny(60, work=work)
    monkeypatch.setattr(rules, "RULES", (*rules.RULES, BatchRule("all over by day 45", soon, True)))
    assert max(build(g)[0].table["last"]) < 45
    (window,) = sow_windows(g)
    said = {
        (day - g.season.start).days
        for day, why in window.transplants
        if why_text([why], Units(g.units)) == "breaks a rule: all over by day 45"
    }
    assert said == set(refused)
