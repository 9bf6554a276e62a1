"""What the calendar and the summary tell of places: moves, covers where rain falls, lamps."""

from __future__ import annotations

from dataclasses import replace

import pytest
from verify_case import day, garden, heads, plan

from crops.place import KINDS, Lamp, Place
from crops.vessel import Vessel
from scheduler.garden.model import Garden, Stay
from scheduler.outputs import labour
from scheduler.outputs.covers import Cover, covers
from scheduler.outputs.energy import lamps
from scheduler.outputs.sentences import sentence
from scheduler.outputs.text import calendar
from scheduler.outputs.together import day_lines
from scheduler.outputs.work import MOVE, SHELTER, work_items
from scheduler.words.units import METRIC
from scheduler.words.words import Units

HALL = replace(KINDS["indoors"], name="hall", lamp=Lamp(60.0, 2.5, 14.0, 0.5, 0.30))
WALL = replace(KINDS["eaves"], name="wall")


def standing(*stays: tuple[int, int, Place], **changes: object) -> Garden:
    """Column A in places from day to day, both included."""
    made = garden(**changes)
    told = tuple(Stay(day(a), day(b), place) for a, b, place in stays)
    tiers = tuple(replace(t, stays=told) for t in made.columns[0].tiers)
    return replace(made, columns=(replace(made.columns[0], tiers=tiers), *made.columns[1:]))


# Transplanted on day 10 into 12 L, 30 cm deep, of which four plants drink 0.4 L, 1 cm, a day: the
# level is more than 2 cm down on the morning of day 13. Picked on day 30, cleared on day 31.
A = heads("x", "A1", 10)


def told(g: Garden) -> list[Cover]:
    return list(covers(g, plan(A)))


def test_rain_is_kept_out_from_the_day_of_the_air_gap() -> None:
    """A straight box takes 20 mm to rise by 2 cm; a forecast of half of that asks for a cover."""
    assert told(garden()) == [Cover("A", day(13), day(31), (1,), pytest.approx(1.0))]


def test_a_vessel_wider_at_its_mouth_takes_less_rain() -> None:
    """20 cm wide at 40 cm, 10 at the bottom; the level falls to 12.5 cm of a table's 0 to 40.

    Of a table the opening is the area of its last piece: 10 L in 10 cm, 1000 cm2. Below 30 cm the
    table holds 0.2 L a cm: 2 cm are 0.4 L, 4 mm of rain on the opening; half of it is 2 mm.
    """
    jar = Vessel(
        "box", "table", (0.0, 30.0, 40.0), 40.0, 6.0, mass_kg=2.0, table_l=(0.0, 6.0, 16.0)
    )
    [cover] = told(garden(vessels={"box": jar}))
    assert cover.rain_cm == pytest.approx(0.2)


def test_no_cover_where_no_rain_falls() -> None:
    lidded = replace(garden().vessels["box"], rain=False)
    assert told(garden(vessels={"box": lidded})) == []
    assert told(standing((0, 200, WALL))) == []
    assert told(standing((0, 200, HALL))) == []
    # Under the eaves up to day 19 and from day 25: only what lies between.
    between = told(standing((0, 19, WALL), (25, 200, WALL)))
    assert [(c.first, c.last) for c in between] == [(day(20), day(24))]
    # In the open again on the day of clearing alone.
    assert [(c.first, c.last) for c in told(standing((0, 30, WALL)))] == [(day(31), day(31))]


def test_the_calendar_names_the_tiers_to_cover() -> None:
    both = plan(A, heads("y", "A2", 10, crop="lettuce"))
    g = garden()
    items = [w for w in work_items(g, both) if w.kind == SHELTER]
    [line] = day_lines(g, items, Units(METRIC))
    assert line.text.replace("\xa0", " ") == (
        "A 1, A 2 until 6 May: when over 10 mm of rain is forecast"
    )


def test_a_move_is_work_with_its_minutes_and_its_heaviest_vessel() -> None:
    """Three vessels at 3 minutes. On day 20 A 1 holds 8 L in a box of 2 kg, and half-grown heads."""
    g = standing((0, 19, HALL))
    items = work_items(g, plan(A))
    [move] = [w for w in items if w.kind == MOVE]
    assert (move.date, move.column, move.tier, move.place) == (day(20), "A", None, "open")
    assert labour.minutes(g, move) == 9
    assert 10.0 < move.lift_kg < 10.4
    assert sentence(g, move, Units(METRIC)) == "to the open: 3 vessels, up to 10.1 kg"
    [line] = [x for x in day_lines(g, [move], Units(METRIC)) if x.kind == MOVE]
    assert line.text == "A to the open, 3 vessels, up to 10.1 kg"
    assert not [w for w in work_items(garden(), plan(A)) if w.kind == MOVE]


def test_lamps_burn_while_something_stands_below_them() -> None:
    """Days 10 to 19 of the stand are in the hall: 10 days of 14 h, 0.84 kWh and 25.2 cents each."""
    g = standing((0, 19, HALL))
    [one] = lamps(g, plan(A))
    assert (one.where, one.place, one.days, one.hours) == ("A", "hall", 10, 140)
    assert one.kwh == pytest.approx(8.4)
    assert one.money == pytest.approx(2.52)
    # The nursery's, over seedlings from day 0 to 10; two batches below one lamp count once.
    nursery = replace(g.nursery, lamp=Lamp(10.0, 2.0, 16.0, 0.1))
    both = plan(A, heads("y", "A2", 12))
    column, seedlings = lamps(replace(g, nursery=nursery), both)
    assert column.days == 10
    assert (seedlings.where, seedlings.days, seedlings.kwh) == ("nursery", 12, pytest.approx(1.92))
    assert lamps(garden(), plan(A)) == ()
    assert one.dli == pytest.approx(12.096)


def test_lamps_stand_at_the_head_of_a_whole_calendar() -> None:
    """The 8.4 kWh of above; a calendar of some days has none, a garden without lamps neither."""
    g, made = standing((0, 19, HALL)), plan(A)
    items, units = work_items(g, made), Units(METRIC)
    said = "Lamp of A in hall: 140 hours on 10 days, 8.4 kWh, 2.52 in your money."
    assert said in " ".join(calendar(g, made, items, units).split())
    assert "Lamp" not in calendar(g, made, items, units, day(10), day(12))
    assert "Lamp" not in calendar(garden(), made, work_items(garden(), made), units)
