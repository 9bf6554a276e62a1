"""Spans in which a tier is to be had: one inside another counts for nothing.

Random gardens found such a one: rules of thumb let a batch wait to the end of the outer span, the
model only to the end of the inner one.
"""

from __future__ import annotations

import pytest
from solver_case import span

from scheduler.garden.model import Tier


@pytest.mark.parametrize(
    ("given", "left"),
    [
        ((span(0, 18), span(0, 9)), (span(0, 18),)),
        ((span(3, 9), span(0, 18), span(0, 18)), (span(0, 18),)),
        ((span(5, 9), span(0, 6)), (span(5, 9), span(0, 6))),  # neither lies in the other
        ((span(0, 4), span(5, 9)), (span(0, 4), span(5, 9))),
    ],
)
def test_a_span_inside_another_is_left_out(given: tuple, left: tuple) -> None:
    assert Tier(1, "box", 1.0, 2, given).available == left
