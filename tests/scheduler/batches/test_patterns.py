"""When a batch could be picked. Day 0 is a Monday, so weeks begin on days 0, 7, 14, ..."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from solver_case import span, tiny
from verify_case import CHARD, LETTUCE, day

from scheduler.batches import patterns
from scheduler.batches.courses import NEVER
from scheduler.garden.model import Season
from scheduler.garden.weekly import weeks_served

ALL = Season(day(0), day(27))
SOME = Season(day(0), day(27), frozenset({0, 2, 5}), (span(14, 18),))  # 0 2 5 7 9 12 19 21 23 26


def test_next_pick_day() -> None:
    table = patterns.next_pick_day(SOME)
    assert table[[0, 1, 3, 10, 13, 14, 20, 26]].tolist() == [0, 2, 5, 12, 19, 19, 21, 26]
    assert table[27] == table[28] == NEVER
    assert len(table) == 29


@pytest.mark.parametrize("days", [-1, 29, NEVER, NEVER + 40])
def test_past_the_table_is_never(days: int) -> None:
    table = patterns.next_pick_day(SOME)
    assert patterns.at_or_after(table, np.array([days])).tolist() == [NEVER]


@pytest.mark.parametrize("life", [0.0, 1.9, 2.0, 5.0, 9.0, 30.0])
def test_days_of_a_class_serve_the_same_weeks(life: float) -> None:
    classes = patterns.service_class(ALL, life)
    by_class: dict[int, set[tuple[str, ...]]] = {}
    for i, k in enumerate(classes.tolist()):
        by_class.setdefault(k, set()).add(tuple(weeks_served(ALL.date(i), life)))
    assert all(len(weeks) == 1 for weeks in by_class.values())
    assert len({next(iter(w)) for w in by_class.values()}) == len(by_class)


def always(days: np.ndarray) -> np.ndarray:
    return np.ones(days.shape, dtype=bool)


def singles(found: list[patterns.Pattern]) -> list[list[int]]:
    """Days on which each start may be picked bare, in order."""
    days = [p.days[:, 0] for p in found if p.days.shape[1] == 1]
    return [sorted(d for d in row if d < NEVER) for row in np.array(days).T.tolist()]


def pairs(found: list[patterns.Pattern], start: int = 0) -> set[tuple[int, int]]:
    return {
        (int(a), int(b))
        for a, b in (p.days[start] for p in found if p.days.shape[1] == 2)
        if b < NEVER
    }


def test_hold_days_are_all_work_days_of_the_hold() -> None:
    days = patterns.hold_days(SOME, np.array([1, 5, 27, 8]), np.array([9, 5, 40, 6]))
    assert days.tolist() == [[2, 5, 7, 9], [5] + [NEVER] * 3, [NEVER] * 4, [NEVER] * 4]


KEEPS_FIVE = replace(LETTUCE, storage_life=5.0)


def test_days_that_are_enough_are_the_first_of_their_class() -> None:
    """Keeping 5 days: the next Wednesday (day 9) is within reach from day 4 on."""
    first, last = np.array([1, 4, 5, 6, 20]), np.array([12, 6, 12, 30, 2])
    found = patterns.head_patterns(ALL, KEEPS_FIVE, 2, first, last, always)
    assert singles(found) == [[1, 4, 7, 11], [4], [5, 7, 11], [6, 7, 11, 14, 18, 21, 25], []]
    # Work on some days only: day 4 becomes 5; 11 becomes 12; 14 to 18 are away.
    found = patterns.head_patterns(SOME, KEEPS_FIVE, 2, np.array([1]), np.array([27]), always)
    assert singles(found) == [[2, 5, 7, 12, 19, 21, 26]]
    assert (2, 5) in pairs(found)


def test_every_day_is_offered_where_picks_are_short() -> None:
    """Days 4 to 6 and 7 to 9 are a class each: on two days is for different weeks alone."""
    ends = np.array([4]), np.array([8])
    found = patterns.head_patterns(ALL, KEEPS_FIVE, 2, *ends, always, every_day=True)
    assert singles(found) == [[4, 5, 6, 7, 8]]
    assert pairs(found) == {(a, b) for a in (4, 5, 6) for b in (7, 8)}


def test_the_first_day_with_enough_light_stands_for_its_class() -> None:
    """Enough from day 5 on: the last pick waits for it, a first one need not."""

    def lit(days: np.ndarray) -> np.ndarray:
        return days >= 5

    ends = np.array([4]), np.array([8])
    found = patterns.head_patterns(ALL, KEEPS_FIVE, 2, *ends, lit)
    assert singles(found) == [[5, 7]]
    assert pairs(found) == {(4, 7)}


def test_under_a_lift_limit_a_later_first_pick_is_asked_for_where_the_vessel_is_heavy() -> None:
    found = patterns.head_patterns(
        ALL, KEEPS_FIVE, 3, np.array([4]), np.array([8]), always, lift=True
    )
    late = {(tuple(p.days[0].tolist()), p.heavier) for p in found if p.heavier is not None}
    # 1 of 3 and 2 of 3 on day 4 are patterns 2 and 3, behind day 4 alone and day 7 alone.
    assert late == {((d, 7), n) for d in (5, 6) for n in (2, 3)}
    assert [found[n].plants[0].tolist() for n in (2, 3)] == [[1, 2], [2, 1]]


@pytest.mark.parametrize("most", [1, 3])
def test_picks_can_bind_with_more_tiers_than_picks_a_day(most: int) -> None:
    """A tier is picked once a day at most, so that as many picks as tiers are never short."""
    assert not patterns.picks_can_bind(tiny(20, tiers=most, picks_per_day=most))
    assert patterns.picks_can_bind(tiny(20, tiers=most + 1, picks_per_day=most))
    assert patterns.picks_can_bind(tiny(20, columns="ABCD", picks_per_day=most))
    assert not patterns.picks_can_bind(tiny(20, tiers=9))


def test_heads_on_one_day_or_on_two_in_every_split() -> None:
    splits = {4: [(1, 3), (2, 2), (3, 1)], 3: [(1, 2), (2, 1)], 2: [(1, 1)], 1: []}
    for plants, parts in splits.items():
        got = set()
        for p in patterns.head_patterns(
            ALL, KEEPS_FIVE, plants, np.array([4]), np.array([8]), always
        ):
            assert (p.plants.sum(axis=1) == plants).all()
            if (p.days < NEVER).all():
                got.add((tuple(p.days[0].tolist()), tuple(p.plants[0].tolist())))
        want = {((4,), (plants,)), ((7,), (plants,))}
        want |= {((4, 7), h) for h in parts}
        assert got == want


def test_a_row_without_the_pattern_is_never_on_every_day() -> None:
    found = patterns.head_patterns(ALL, LETTUCE, 4, np.array([4, 4]), np.array([12, 4]), always)
    never = 0
    for p in found:
        bad = (p.days >= NEVER).any(axis=1)
        never += bad.sum()
        assert (p.days[bad] == NEVER).all()
    assert never > 0


def test_cuts_follow_as_soon_as_grown_back() -> None:
    """Chard: 7 days between cuts, hold 5. First ready on day 1; away from day 14 to 18."""
    crop = replace(CHARD, cuts=3, cut_shares=(0.4, 0.3, 0.3))
    one, two, three = patterns.cut_patterns(SOME, crop, 4, np.array([1, 9, 24]), 5)
    assert one.days.tolist() == [[2], [9], [26]]
    # Grown back on day 9; on day 16, away, so day 19; on day 33, past the season.
    assert two.days.tolist() == [[2, 9], [9, 19], [NEVER, NEVER]]
    assert three.days.tolist() == [[2, 9, 19], [9, 19, 26], [NEVER] * 3]
    assert [p.plants.tolist()[0] for p in (one, two, three)] == [[4], [4, 4], [4, 4, 4]]


def test_a_cut_past_its_hold_is_none() -> None:
    """Grown back on day 16, next work day 19: three days on."""
    for hold, second in ((3, [9, 19]), (2, [NEVER, NEVER])):
        _, two = patterns.cut_patterns(SOME, CHARD, 4, np.array([9]), hold)
        assert two.days[0].tolist() == second
    one, _ = patterns.cut_patterns(SOME, CHARD, 4, np.array([14]), 4)
    assert one.days.tolist() == [[NEVER]]
    one, _ = patterns.cut_patterns(SOME, CHARD, 4, np.array([14]), 5)
    assert one.days.tolist() == [[19]]
