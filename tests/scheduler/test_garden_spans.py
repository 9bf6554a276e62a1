"""Spans in which a tier is to be had: overlapping ones are one, so that every part agrees.

Random gardens found one with a span inside another: rules of thumb let a batch wait to the end of
the outer one, the model only to the end of the inner one.
"""

from __future__ import annotations

import pytest
from solver_case import span

from scheduler.garden import Tier


@pytest.mark.parametrize(
    ("given", "joined"),
    [
        ((span(0, 18), span(0, 9)), (span(0, 18),)),
        ((span(5, 9), span(0, 6)), (span(0, 9),)),
        ((span(0, 4), span(5, 9)), (span(0, 9),)),  # the next day: never taken away
        ((span(0, 4), span(6, 9)), (span(0, 4), span(6, 9))),
    ],
)
def test_overlapping_spans_are_one(given: tuple, joined: tuple) -> None:
    assert Tier(1, "box", 1.0, 2, given).available == joined
