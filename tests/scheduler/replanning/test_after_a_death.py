"""In the week of a death the old plan, without what died, is one of the ways to go on.

The plan is `rebalance_case.plan`: on day 26 lettuce stands in B1 since day 10, in A2 since day 20
and in B2 since day 24, chard in A1 since day 14; b005, lettuce, follows in B1 on day 34.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import pytest
import rebalance_case as rc
import verify_case as case

from scheduler.lived.worth import FLAT, Taste
from scheduler.log.state import DISEASE_OUT_DAYS, State, state_on
from scheduler.plans.model import FAILED, Batch
from scheduler.replanning.commitments import Commitments
from scheduler.replanning.diff import NEW, diff
from scheduler.replanning.rebalance import Rebalanced
from scheduler.replanning.slip import slipping
from scheduler.replanning.staying import staying
from scheduler.replanning.take_stock import commitments_of
from scheduler.replanning.text import report_lines
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases.promising import YearsOf
from scheduler.verify import verify
from scheduler.years.weather_years import WeatherYears

ON = 26
DEAD = {1: ("B2",), 3: ("B2", "A2", "A1")}
IN_TIER = {"B1": "b001", "A1": "b002", "A2": "b003", "B2": "b004"}
BY_WORK = Settings(time_limit=60.0, gap=0.0, seed=1, workers=1, deterministic=0.02)
HURRIED = Settings(time_limit=0.1, gap=0.0, seed=1, workers=1)  # whatever it finds will do


def told(*dead: str, note: str = "frost", day: int = ON - 1) -> list[str]:
    """All went as planned up to the day, but for what died."""
    return [
        *rc.full_log(rc.plan(), case.day(ON)),
        *(rc.row(day, "failed", place, "", "", note) for place in dead),
    ]


def at_hand(*lines: str) -> tuple[State, Commitments]:
    state = state_on(rc.garden(), rc.plan(), rc.log(*lines), case.day(ON), True)
    return state, commitments_of(rc.garden(), rc.plan(), state)


@cache
def years() -> YearsOf:
    return YearsOf(rc.garden(), 4, 0, case.day(ON))


@dataclass
class Judged:
    """Years ahead of which it is told what they are worth."""

    grams: Callable[[Sequence[Batch]], float]
    planning: WeatherYears
    seed: int = 0
    taste: Taste = FLAT


def again(count: int, price: float, ahead: Judged | YearsOf, settings: Settings) -> Rebalanced:
    lines = told(*DEAD[count])
    done = rc.go(ON, *lines, settings=settings, change_grams=price, complete=True, ahead=ahead)
    assert verify(rc.garden(), done.plan).ok
    return done


@pytest.mark.parametrize("count", [1, 3])
def test_what_died_holds_its_tier_until_it_can_be_cleared(count: int) -> None:
    slips = slipping(*at_hand(*told(*DEAD[count])))
    assert slips is not None
    dead = {f"{b.column}{b.tier}": b for b in slips if b.state == FAILED}
    assert {place: b.id for place, b in dead.items()} == {p: IN_TIER[p] for p in DEAD[count]}
    assert {b.clear for b in dead.values()} == {case.day(ON)}
    assert len(slips) == len(rc.plan().batches)


def test_after_root_disease_its_tier_stands_empty_for_a_week() -> None:
    slips = slipping(*at_hand(*told("B2", note="pythium")))
    assert slips is not None
    (dead,) = (b for b in slips if b.state == FAILED)
    assert dead.clear == case.day(ON - 1 + DISEASE_OUT_DAYS)


@pytest.mark.parametrize(("note", "goes_on"), [("frost", True), ("pythium", False)])
def test_the_old_plan_cannot_go_on_with_a_family_where_it_rests(note: str, goes_on: bool) -> None:
    # b005 is of the same family as what died before it in B1, which rests for eight weeks.
    assert (slipping(*at_hand(*told("B1", note=note))) is not None) is goes_on


def test_seedlings_that_died_are_not_among_what_goes_on() -> None:
    lines = [*told(), rc.row(25, "failed", "", "", "lettuce", "damped off")]
    slips = slipping(*at_hand(*lines))  # b005 was sown on day 24
    assert slips is not None
    assert [b.id for b in slips] == ["b001", "b002", "b003", "b004"]


@pytest.mark.parametrize("cleared", [False, True])
def test_what_died_unpicked_is_over_once_its_tier_is_cleared(cleared: bool) -> None:
    lines = [*told("B2", day=24), *[rc.row(25, "cleared", "B2", "", "lettuce")] * cleared]
    slips = slipping(*at_hand(*lines))
    assert slips is not None
    (dead,) = (b for b in slips if b.id == "b004")
    assert (dead.state, dead.picks) == (FAILED, ())
    assert dead.clear == case.day(25 if cleared else ON)


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(
    ("more", "stays"), [pytest.param(-1.0, False, marks=pytest.mark.slow), (0.0, True)]
)
def test_a_new_plan_is_taken_only_if_it_brings_more_than_the_old_without_the_dead(
    count: int, more: float, stays: bool
) -> None:
    """Whatever is found is worth 1,000 g, at no price for changes; the old plan so much more."""
    slips = slipping(*at_hand(*told(*DEAD[count])))
    judged = Judged(lambda made: 1000.0 + more * (tuple(made) == slips), years().planning)
    assert again(count, 0.0, judged, HURRIED).stay is stays


@pytest.mark.slow
@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(("price", "stays"), [(25.0, False), (2000.0, True)])
def test_lived_in_years_what_pays_for_its_changes_is_taken(
    count: int, price: float, stays: bool
) -> None:
    """Lettuce planted anew brings more than one change at 25 g, less than one at 2,000 g."""
    done = again(count, price, years(), BY_WORK)
    slips = slipping(done.state, done.commitments)
    assert slips is not None
    assert done.stay is stays
    more = years().grams(done.plan.batches) - years().grams(slips)
    assert (more > 25.0) is not stays
    assert stays or more < 2000.0


def said(*lines: str) -> str:
    """What is told where the old plan may stay."""
    state, commitments = at_hand(*told(), *lines)
    new = replace(rc.plan(), batches=tuple(f.batch for f in state.batches))
    done = Rebalanced(
        new, state, diff(rc.garden(), rc.plan(), new), commitments, (), True, stay=True
    )
    return " ".join(" ".join(staying(done)).split())


def failed(place: str, note: str = "frost") -> str:
    return rc.row(ON - 1, "failed", place, "", "", note)


def test_it_is_told_without_what_the_old_plan_goes_on_and_what_comes_next() -> None:
    text = said(failed("B1"))
    assert "the plan you have, without b001 (lettuce) and with late work" in text
    assert "Nothing is lost" not in text
    # Cleared on the day itself, a tier can be filled a day later (`verify_case`: turnaround 1).
    empty = "Empty and clean B 1, and log it as cleared: it can be filled again from"
    assert f"{empty} {case.day(27)} on." in text
    assert f"The next one for B 1 is b005 (lettuce), to be transplanted on {case.day(34)}." in text


def test_it_is_told_of_three_and_of_seedlings() -> None:
    seedlings = rc.row(ON - 1, "failed", "", "", "lettuce", "damped off")
    text = said(*(failed(place) for place in DEAD[3]), seedlings)
    lost = "b002 (chard), b003 (lettuce), b004 (lettuce), b005 (lettuce)"
    assert f"Pass over what the calendar still asks for {lost}." in text
    for place in ("A 1", "A 2", "B 2"):
        assert f"Empty and clean {place}, and log it as cleared" in text
        assert f"Nothing more is planned for {place}." in text


def test_a_tier_that_is_cleared_is_not_to_be_cleared_again() -> None:
    text = said(failed("B1"), failed("B2"), rc.row(ON - 1, "cleared", "B1"))
    assert "Empty and clean B 2" in text
    assert "Empty and clean B 1" not in text
    assert "The next one for B 1 is b005" in text


def test_after_root_disease_a_tier_is_filled_a_week_later() -> None:
    # Emptied, it stands dry for seven days from day 25 on, and is filled a day later.
    assert f"it can be filled again from {case.day(ON - 1 + 7 + 1)} on." in said(
        failed("B2", "pythium")
    )


@pytest.mark.parametrize("count", [1, pytest.param(3, marks=pytest.mark.slow)])
def test_a_tier_whose_dead_are_cleared_is_planted_anew(count: int) -> None:
    """All else can go on as planned, and yet there is something to find."""
    lines = [*told(*DEAD[count]), *(rc.row(ON - 1, "cleared", place) for place in DEAD[count])]
    done = rc.go(ON, *lines, settings=BY_WORK, complete=True)
    assert done.searched
    assert "Everything can go on as planned." not in report_lines(done, "metric")
    assert done.diff.of(NEW)
    assert verify(rc.garden(), done.plan).ok
    # The new plan knows of the dead: nothing is searched for once more.
    again = rc.go(ON, *lines, of=done.plan, settings=BY_WORK, complete=True)
    assert not again.searched
    assert "Everything can go on as planned." in report_lines(again, "metric")
