"""What can be planted in a column that is moved, and what grows in its places."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from solver_case import rows_of, tiny
from verify_case import day

from crops.growth import FULL, RELATIVE, TURN
from crops.place import KINDS, OPEN, Lamp
from scheduler.batches.candidates import KILLED, OK, build
from scheduler.garden.model import Garden, Stay
from scheduler.lived.growing import minutes_by_day
from scheduler.plans.rules import MOVED
from scheduler.schedule.problem import by_tier
from scheduler.verify.case import minutes_there


def starts(garden: Garden) -> set[int]:
    return set(rows_of(garden).table["transplant"].tolist())


def moved(lift: float, *days: int) -> Garden:
    """One tier in the open, called by another name from each of some days on."""
    made = tiny(60, lift_kg=lift)
    edges = [*days, 200]
    stays = tuple(
        Stay(day(a), day(b - 1), replace(OPEN, name=f"yard {k}"))
        for k, (a, b) in enumerate(pairwise(edges))
    )
    tiers = tuple(replace(t, stays=stays) for t in made.columns[0].tiers)
    return replace(made, columns=(replace(made.columns[0], tiers=tiers),))


def kg(after: int) -> float:
    """Days after planting: 2 kg, 12 L less 0.4 a day, four heads of 100 g when ripe on day 20."""
    share = math.log1p(math.exp(RELATIVE * (after / 20 - TURN))) / FULL
    return 2 + 12 - 0.4 * after + 0.4 * share


@pytest.mark.parametrize("moves", [(25,), (25, 33, 41)], ids=["one move", "three"])
def test_only_what_is_light_enough_on_the_day_of_each_move(moves: tuple[int, ...]) -> None:
    """10.8 kg may be lifted: 8 days after planting there are 10.87 kg, after 9 days less."""
    assert kg(8) > 10.8 > kg(9)
    all_ = starts(moved(99.0, *moves))
    light = {
        s
        for s in range(10, 40)
        # On the day of planting it is empty; from day 20 on only water is left that can be lifted.
        if not any(0 < m - s < 9 for m in moves)
    }
    assert starts(moved(10.8, *moves)) == light & all_ < all_


@pytest.mark.parametrize("after", [1, 3])
def test_to_a_hair(after: int) -> None:
    """Planted on day 10 and moved 1 or 3 days later, at exactly its mass and a gram less."""
    for less, there in ((-1e-6, True), (0.001, False)):
        assert (10 in starts(moved(kg(after) - less, 10 + after))) is there


def test_the_reason_is_told() -> None:
    _cand, windows = build(moved(10.8, 25))
    by_start = dict(zip(windows[0].starts.tolist(), windows[0].reason.tolist(), strict=True))
    assert by_start[24] == MOVED.name
    assert by_start[25] == OK


@pytest.mark.parametrize("moves", [(25,), (25, 33, 41)], ids=["one move", "three"])
def test_the_minutes_of_a_move_are_gone_for_all_else(moves: tuple[int, ...]) -> None:
    """Of 40 minutes 3 go to the one vessel carried; lived, searched and verified alike."""
    made = moved(99.0, *moves)
    garden = replace(made, limits=replace(made.limits, minutes_per_day=40.0))
    [seconds] = [r for r in by_tier(build(garden)[0]).resources if r.name == "seconds of work"]
    problem = by_tier(build(garden)[0])
    slots = seconds.limits(len(problem.days)).tolist()
    lived = minutes_by_day(garden)
    for slot, at in zip(slots, problem.days, strict=True):
        left = 37.0 if at in moves else 40.0
        assert slot == 60 * left
        assert lived[at] == pytest.approx(left, abs=1e-5)
        assert minutes_there(garden, day(int(at))) == left


def indoors(garden: Garden, watts: float) -> Garden:
    """The same, in a hall of 20 degC under a lamp, 14 h a day on half a square metre."""
    lamp = Lamp(watts, 2.5, 14.0, 0.5)
    hall = replace(KINDS["indoors"], name="hall", temperature=20.0, lamp=lamp)
    stays = (Stay(day(0), day(400), hall),)
    tiers = tuple(replace(t, stays=stays) for t in garden.columns[0].tiers)
    return replace(garden, columns=(replace(garden.columns[0], tiers=tiers),))


def cold(garden: Garden) -> Garden:
    """Ten degrees of frost and no light to speak of, day and night."""
    weather = garden.site.weather.assign(tmin=-12.0, tmax=-10.0, tmean=-11.0, dli=1.0)
    return replace(garden, site=replace(garden.site, weather=weather))


def test_a_winter_indoors_is_a_season_like_any_other() -> None:
    """The lettuce wants 20 mol: 100 W give 100 x 2.5 x 0.8 / 0.5 = 400 micromol, 20.16 mol; it is
    then ripe 20 days after planting, as in the open in summer. In the open frost kills it."""
    winter = replace(cold(tiny(60)), nursery=replace(tiny(60).nursery, temperature=20.0))
    assert len(rows_of(winter)) == 0
    lit = rows_of(indoors(winter, 100.0)).table
    assert (lit["first"] - lit["transplant"]).min() == 20
    # Half the light: ripe later or never, but not killed.
    _cand, windows = build(indoors(winter, 25.0))
    assert KILLED not in set(windows[0].reason.tolist())


def test_a_course_over_a_move_follows_the_weather_of_each_place() -> None:
    """In the hall up to day 19, then in frost: what is planted by day 0 is picked in time or dead."""
    winter = replace(cold(tiny(60)), nursery=replace(tiny(60).nursery, temperature=20.0))
    made = indoors(winter, 100.0)
    for last, there in ((29, True), (28, False)):
        stays = (replace(made.columns[0].tiers[0].stays[0], end=day(last)),)
        tiers = tuple(replace(t, stays=stays) for t in made.columns[0].tiers)
        g = replace(made, columns=(replace(made.columns[0], tiers=tiers),))
        # Planted on day 10 it is ripe on the morning of day 30: it must be inside on day 29.
        assert (10 in starts(g)) is there
