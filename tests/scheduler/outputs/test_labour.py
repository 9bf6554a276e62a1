"""Minutes of work as they are told: each kind by hand, one vessel or three lifted."""

from __future__ import annotations

import pytest
import verify_case as case

from scheduler.outputs import labour
from scheduler.outputs.work import CLEAR, FILL, PICK, SOW


# The defaults: half a minute a cell, 12 a fill, 1 a plant, 10 a clearing, 1 a vessel lifted.
@pytest.mark.parametrize(("tier", "lifted"), [(1, 0), (2, 1), (3, 2)])
def test_each_kind_of_work_takes_its_minutes(tier: int, lifted: int) -> None:
    g = case.garden()
    made = case.plan(case.heads("x", f"A{tier}", 10))
    days = labour.by_day(g, labour.work_items(g, made))
    at = {kind: sum(d[kind] for d in days.values()) for kind in (SOW, FILL, PICK, CLEAR)}
    assert at == {SOW: 2.0, FILL: 12.0 + lifted, PICK: 4.0, CLEAR: 10.0 + lifted}
    assert labour.season(g, made) == {
        case.day(0): 2.0,
        case.day(10): 12.0 + lifted,
        case.day(30): 4.0,
        case.day(31): 10.0 + lifted,
    }
