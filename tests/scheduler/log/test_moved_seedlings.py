"""A log names the tier that seedlings were sown for; a plan made since may plant them elsewhere."""

from __future__ import annotations

from dataclasses import replace

import pytest
import rebalance_case as rc
import verify_case as case

from scheduler.log.state import State, state_on
from scheduler.plans.model import SOWN, Batch


def sown(name: str, place: str) -> Batch:
    """Lettuce sown on day 14."""
    return replace(case.batch(name, "lettuce", place, 14, 24, [(44, 4)], 54), state=SOWN)


def told(*lines: str, plan: tuple[Batch, ...]) -> State:
    made = replace(case.plan(*plan), as_of=case.day(16))
    return state_on(rc.garden(), made, rc.log(*lines), case.day(18), complete=True)


def line(place: str) -> str:
    return rc.row(14, "sown", place, "4 cells", "lettuce")


def names(state: State) -> list[str]:
    return sorted(f.batch.id for f in state.batches)


@pytest.mark.parametrize("count", [1, 3])
def test_what_was_moved_to_other_tiers_is_not_sown_twice(count: int) -> None:
    """Sown for tiers of A, planted in others: by tier the
    lines fit nothing, by crop and day each stands for one batch."""
    before, now = ("A1", "A2", "A3")[:count], ("B1", "B2", "A4")[:count]
    plan = tuple(sown(f"b{k}", place) for k, place in enumerate(now))
    assert names(told(*(line(p) for p in before), plan=plan)) == sorted(b.id for b in plan)


def test_seedlings_that_no_plan_has_are_there_all_the_same() -> None:
    """Two lots sown, one moved, one left out of the plan: its seedlings still stand in cells."""
    state = told(line("A1"), line("A2"), plan=(sown("b0", "B1"),))
    assert names(state) == ["b0", "x001"]


def test_a_line_that_names_its_tier_keeps_its_batch() -> None:
    """The first line may not take the batch that the second one names."""
    state = told(line("A1"), line("B1"), plan=(sown("b0", "B1"), sown("b1", "B2")))
    assert names(state) == ["b0", "b1"]


def test_what_is_sown_after_the_plan_was_made_is_new() -> None:
    state = state_on(
        rc.garden(),
        replace(case.plan(sown("b0", "B1")), as_of=case.day(12)),
        rc.log(line("A1")),
        case.day(18),
        complete=True,
    )
    assert names(state) == ["b0", "x001"]
