"""Tasks side by side: every answer with its number, an end when asked, a lost process borne."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from typing import Any

import pytest

from scheduler.shortfall.lanes import Lanes


def double(x: int, stop: Any) -> int:
    return 2 * x


@pytest.mark.slow
@pytest.mark.parametrize("count", [1, 2])
def test_lanes(count: int) -> None:
    with Lanes(count) as lanes:
        assert sorted(lanes.run(double, [1, 2, 3], lambda: True)) == [(0, 2), (1, 4), (2, 6)]
        assert list(lanes.run(double, [], lambda: True)) == []
        assert list(lanes.run(double, [1], lambda: False)) == []
    stop = threading.Event()
    with Lanes(count, stop) as lanes:
        answers: Iterator[tuple[int, int]] = lanes.run(double, list(range(50)), lambda: True)
        next(answers)
        stop.set()
        assert len(list(answers)) <= count


def dying(x: int, stop: Any) -> int:
    os._exit(1)


def test_a_lost_process_leaves_its_task_untried() -> None:
    with Lanes(2) as lanes:
        assert list(lanes.run(dying, [1, 2, 3], lambda: True)) == []
        assert list(lanes.run(double, [1], lambda: True)) == []  # nothing more runs in these lanes
