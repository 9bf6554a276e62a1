"""Picks on some work days only: just in time, just too late, in plan, life and file.

Day 0 of `verify_case` is a Monday, and a batch sown on it is ripe on day 30, a Wednesday.
"""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from lived_case import mean_years
from solver_case import exact, tiny
from standing_case import write
from verify_case import CHARD, day, heads

from scheduler.base.faults import BadInput
from scheduler.batches import candidates
from scheduler.cli import main
from scheduler.garden.file import load_garden
from scheduler.garden.model import Demand, Garden
from scheduler.lived.live import live
from scheduler.plans.folder import read_plan_dir
from scheduler.shortfall.relaxations import one_step, without_rule
from scheduler.verify import verify

TUE_FRI = frozenset({1, 4})
WEDNESDAY, THURSDAY = frozenset({2}), frozenset({3})


def picked_on(g: Garden, weekdays: frozenset[int]) -> Garden:
    return replace(g, season=replace(g.season, pick_days=weekdays))


@pytest.mark.parametrize("tiers", [1, 3])
def test_the_season_is_just_long_enough_for_a_day_to_pick(tiers: int) -> None:
    """Of 31 days the last is Wednesday 30; Thursday 31 needs one more."""
    for days, weekdays, each in ((31, WEDNESDAY, 400), (31, THURSDAY, 0), (32, THURSDAY, 400)):
        g = picked_on(tiny(days, tiers), weekdays)
        value, plan = exact(g)
        assert value == each * tiers
        assert verify(g, plan).ok
        assert {p.date for b in plan.batches for p in b.picks} <= {day(30), day(31)}
        assert all(p.date.weekday() in weekdays for b in plan.batches for p in b.picks)


def test_all_else_is_done_on_other_days() -> None:
    """Sown on Monday, planted on Thursday 10: on neither is picked."""
    g = picked_on(tiny(32, 1), WEDNESDAY)
    _, plan = exact(g)
    (batch,) = plan.batches
    assert {batch.sow.weekday(), batch.transplant.weekday()}.isdisjoint(WEDNESDAY)


def test_cut_again_on_the_first_day_for_picking_on_which_it_has_grown_back() -> None:
    wish = Demand("greens", ("chard",), 70_000.0, day(0), day(83))
    free = replace(tiny(84), crops={"chard": CHARD}, demands=(wish,))
    apart = picked_on(free, TUE_FRI)
    chard = apart.crops["chard"]
    cand, _ = candidates.build(apart)
    every, _ = candidates.build(free)
    assert 0 < len(cand) <= len(every)
    for row in cand.pick_day.tolist():
        cuts = [d for d in row if d < 10_000]
        assert all(day(d).weekday() in TUE_FRI for d in cuts)
        for before, after in pairwise(cuts):
            waited = range(before + round(chard.cut_interval), after)
            assert not any(day(d).weekday() in TUE_FRI for d in waited)


def test_a_season_is_lived_with_picks_on_those_days_alone() -> None:
    """Due on Wednesday 30; picked on Friday 32, the next day for it."""
    g = tiny(60)
    for weekdays, on in ((WEDNESDAY, 30), (frozenset({4}), 32)):
        apart = picked_on(g, weekdays)
        lived = live(apart, [heads("x", "A1", 10)], mean_years(apart))
        assert lived.pick_day[0, 0, 0] == on


def test_what_one_more_day_for_picking_would_bring_is_tried() -> None:
    g = picked_on(tiny(31), TUE_FRI)
    more = [r for r in one_step(g) if r.family == "pick days"]
    assert len(more) == 5
    assert all(len(r.garden.season.pick_days) == 3 for r in more)
    (free,) = (r for r in without_rule(g) if r.family == "pick days")
    assert exact(g)[0] == 0 < exact(free.garden)[0]
    assert not any(r.family == "pick days" for r in [*one_step(tiny(31)), *without_rule(tiny(31))])


SEASON = "season: {start: 2027-06-07, end: 2027-09-26"


def with_days(folder: Path, days: str) -> Path:
    path = write(folder, "")
    path.write_text(path.read_text().replace(SEASON, f"{SEASON}, {days}"))
    return path


def test_a_plan_made_by_the_command_picks_on_tuesdays_and_fridays(tmp_path: Path) -> None:
    path = with_days(tmp_path, "work_days: [mon, tue, fri], pick_days: [tue, fri]")
    out = tmp_path / "season"
    args = ["plan", str(path), "--out", str(out), "--time-limit", "0.5", "--years", "0"]
    with pytest.raises(SystemExit) as end:
        main(args)
    assert not end.value.code
    batches = json.loads((out / "plan.json").read_text())["batches"]
    picks = [p["date"] for b in batches for p in b["picks"]]
    garden, plan = read_plan_dir(out)
    assert garden.season.pick_days == TUE_FRI
    assert picks
    assert {p.date.weekday() for b in plan.batches for p in b.picks} <= TUE_FRI


@pytest.mark.parametrize(
    ("days", "value", "expected"),
    [
        ("work_days: [mon, fri], pick_days: [tue, wed, fri]", "tue, wed", "work days too"),
        ("pick_days: [someday]", "a list of 1", "a list of"),
        ("pick_days: []", "a list of 0", "a list of"),
        ("pick_days: [sun], away: {from: 2027-06-08, to: 2027-09-26}", "no pick day", "a day for"),
    ],
)
def test_days_that_cannot_be_are_told(tmp_path: Path, days: str, value: str, expected: str) -> None:
    with pytest.raises(BadInput) as caught:
        load_garden(with_days(tmp_path, days))
    (fault,) = caught.value.faults
    assert (fault.path, str(fault.value)) == ("season.pick_days", value)
    assert expected in fault.expected
    assert fault.line == 4
