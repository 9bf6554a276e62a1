"""A plan made again says where it does not keep what a wish asks of the mix of its crops."""

from __future__ import annotations

from dataclasses import replace

import pytest
import rebalance_case as rc
from verify_case import batch, heads

from scheduler.garden.model import Garden
from scheduler.replanning.mix_told import mix_told

# 400 g of lettuce and 360 g of chard, cut once: 52.6 % and 47.4 %.
TWO = (heads("a", "A1", 10), batch("c", "chard", "B1", 0, 12, [(32, 4)], 33))
DAMPED = rc.row(5, "failed", "", "", "lettuce", "damped off")


def mixed(**told: object) -> Garden:
    g = rc.garden()
    both = replace(g.demands[0], group="salad", crops=("lettuce", "chard"), **told)  # type: ignore[arg-type]
    return replace(g, demands=(both,))


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("lettuce", 0, 527), ""),
        (("lettuce", 0, 526), "salad: lettuce is 52.6 % of what is picked, at most 52.6 % are"),
        (("lettuce", 0, 300), "salad: lettuce is 52.6 % of what is picked, at most 30.0 % are"),
        (("chard", 473, 1000), ""),
        (("chard", 474, 1000), "salad: chard is 47.4 % of what is picked, at least 47.4 % are"),
        (("chard", 600, 1000), "salad: chard is 47.4 % of what is picked, at least 60.0 % are"),
    ],
)
def test_shares_that_are_not_kept_are_told(asked: tuple[str, int, int], said: str) -> None:
    told = mix_told(mixed(shares=(asked,)), TWO)
    assert [t[: len(said)] for t in told] == [said] * bool(said)


@pytest.mark.parametrize("weeks", [1, 3])
def test_weeks_of_one_kind_are_said_not_to_be_asked(weeks: int) -> None:
    (told,) = mix_told(mixed(same_kind_weeks=weeks), TWO)
    assert f"same kind {weeks} week" in told
    assert not mix_told(mixed(), TWO)
    assert not mix_told(mixed(same_kind_weeks=weeks), ())


@pytest.mark.parametrize("most", [1, 1000])
def test_a_rebalance_says_so(most: int) -> None:
    """Lettuce is more than a tenth of a percent of any plan; where all goes on nothing is said."""
    g = mixed(shares=(("lettuce", 0, most),))
    lost = rc.go(6, DAMPED, within=g)
    assert any("plan made again" in r for r in lost.remarks) == (most == 1)
    assert not any("plan made again" in r for r in rc.go(6, within=g).remarks)
