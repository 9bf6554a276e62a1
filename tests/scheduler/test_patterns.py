"""When a batch could be picked. Day 0 is a Monday, so weeks begin on days 0, 7, 14, ..."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from solver_case import span
from verify_case import CHARD, LETTUCE, day

from scheduler import patterns
from scheduler.courses import NEVER
from scheduler.garden import Season, weeks_served

ALL = Season(day(0), day(27))
SOME = Season(day(0), day(27), frozenset({0, 2, 5}), (span(14, 18),))  # 0 2 5 7 9 12 19 21 23 26


def test_next_work_day() -> None:
    table = patterns.next_work_day(SOME)
    assert table[[0, 1, 3, 10, 13, 14, 20, 26]].tolist() == [0, 2, 5, 12, 19, 19, 21, 26]
    assert table[27] == table[28] == NEVER
    assert len(table) == 29


@pytest.mark.parametrize("days", [-1, 29, NEVER, NEVER + 40])
def test_past_the_table_is_never(days: int) -> None:
    table = patterns.next_work_day(SOME)
    assert patterns.at_or_after(table, np.array([days])).tolist() == [NEVER]


@pytest.mark.parametrize("life", [0.0, 1.9, 2.0, 5.0, 9.0, 30.0])
def test_days_of_a_class_serve_the_same_weeks(life: float) -> None:
    classes = patterns.service_class(ALL, life)
    by_class: dict[int, set[tuple[str, ...]]] = {}
    for i, k in enumerate(classes.tolist()):
        by_class.setdefault(k, set()).add(tuple(weeks_served(ALL.date(i), life)))
    assert all(len(weeks) == 1 for weeks in by_class.values())
    assert len({next(iter(w)) for w in by_class.values()}) == len(by_class)


def test_offered_days_are_the_first_of_their_class() -> None:
    """Keeping 5 days: the next Wednesday (day 9) is within reach from day 4 on."""
    days = patterns.offered_days(ALL, 5.0, np.array([1, 4, 5, 6, 20]), np.array([12, 6, 12, 30, 2]))
    rows = [[d for d in row if d < NEVER] for row in days.tolist()]
    assert rows == [[1, 4, 7, 11], [4], [5, 7, 11], [6, 7, 11, 14, 18, 21], []]
    # Work on some days only: day 4 becomes 5; 11 becomes 12; 14 to 18 are away.
    days = patterns.offered_days(SOME, 5.0, np.array([1]), np.array([27]))
    assert [d for d in days[0].tolist() if d < NEVER] == [2, 5, 7, 12, 19, 21]


def test_heads_on_one_day_or_on_two_in_every_split() -> None:
    crop = replace(LETTUCE, storage_life=5.0)
    splits = {4: [(1, 3), (2, 2), (3, 1)], 3: [(1, 2), (2, 1)], 2: [(1, 1)], 1: []}
    for plants, parts in splits.items():
        got = set()
        for days, counts in patterns.head_patterns(ALL, crop, plants, np.array([4]),
                                                   np.array([8])):  # fmt: skip
            assert (counts.sum(axis=1) == plants).all()
            if (days < NEVER).all():
                got.add((tuple(days[0].tolist()), tuple(counts[0].tolist())))
        want = {((4,), (plants,)), ((7,), (plants,))}
        want |= {((4, 7), h) for h in parts}
        assert got == want


def test_a_row_without_the_pattern_is_never_on_every_day() -> None:
    found = patterns.head_patterns(ALL, LETTUCE, 4, np.array([4, 4]), np.array([12, 4]))
    for days, _ in found:
        bad = (days >= NEVER).any(axis=1)
        assert (days[bad] == NEVER).all()


def test_cuts_follow_as_soon_as_grown_back() -> None:
    """Chard: 7 days between cuts, hold 5. First ready on day 1; away from day 14 to 18."""
    crop = replace(CHARD, cuts=3, cut_shares=(0.4, 0.3, 0.3))
    one, two, three = patterns.cut_patterns(SOME, crop, 4, np.array([1, 9, 24]), 5)
    assert one[0].tolist() == [[2], [9], [26]]
    # Grown back on day 9; on day 16, away, so day 19; on day 33, past the season.
    assert two[0].tolist() == [[2, 9], [9, 19], [NEVER, NEVER]]
    assert three[0].tolist() == [[2, 9, 19], [9, 19, 26], [NEVER] * 3]
    assert [p[1].tolist()[0] for p in (one, two, three)] == [[4], [4, 4], [4, 4, 4]]


def test_a_cut_past_its_hold_is_none() -> None:
    """Grown back on day 16, next work day 19: three days on."""
    for hold, second in ((3, [9, 19]), (2, [NEVER, NEVER])):
        _, two = patterns.cut_patterns(SOME, CHARD, 4, np.array([9]), hold)
        assert two[0][0].tolist() == second
    one, _ = patterns.cut_patterns(SOME, CHARD, 4, np.array([14]), 4)
    assert one[0].tolist() == [[NEVER]]
    one, _ = patterns.cut_patterns(SOME, CHARD, 4, np.array([14]), 5)
    assert one[0].tolist() == [[19]]
