"""So much on a date: who serves it by hand, planned and lived just in time and just too late.

Day 0 of `verify_case` is a Monday. A head sown on it is ripe on day 30, a Wednesday, holds, and
keeps for its storage life.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from lived_case import mean_years
from solver_case import exact, tiny
from standing_case import write
from verify_case import day, heads

from scheduler.base.faults import BadInput
from scheduler.base.weeks import week_of
from scheduler.garden.file import load_garden
from scheduler.garden.model import Event, Garden
from scheduler.garden.weekly import weeks_served, wish
from scheduler.lived.live import live
from scheduler.verify import verify


def wanted(g: Garden, *events: tuple[int, float], per_week: float = 0.0) -> Garden:
    """The garden with a weekly wish [g], and so many grams on some days."""
    demands = tuple(replace(d, grams_per_week=per_week) for d in g.demands)
    return replace(
        g, demands=demands, events=tuple(Event(day(k), "lettuce", grams) for k, grams in events)
    )


def test_what_serves_the_week_of_an_event() -> None:
    """Day 32 is the Friday of the week of day 28, a Monday; picked on 25, a Friday, with 7 days of
    storage it is good on both, with 6 on neither the Friday nor any later Wednesday."""
    event = ((week_of(day(32)), day(32), day(32)),)
    this, after = week_of(day(28)), week_of(day(35))
    assert weeks_served(day(25), 7.0, event) == [week_of(day(25)), this]
    assert weeks_served(day(25), 6.0, event) == [week_of(day(25))]
    assert weeks_served(day(25), 6.0) == [week_of(day(25)), this]
    assert weeks_served(day(32), 7.0, event) == [this, after]  # on the day itself
    assert weeks_served(day(33), 7.0, event) == [after]  # a day late
    assert weeks_served(day(33), 3.0, event) == []
    assert weeks_served(day(28), 3.0, event) == []  # does not keep until then
    assert weeks_served(day(28), 4.0, event) == [this]
    two = ((this, day(29), day(32)),)  # two in a week: by the first, good until the last
    assert weeks_served(day(30), 9.0, two) == [after]
    assert weeks_served(day(29), 3.0, two) == [this]
    assert weeks_served(day(29), 2.0, two) == []


def test_it_comes_on_top_of_the_wish_of_its_week() -> None:
    g = wanted(tiny(42), (30, 400.0), (31, 100.0), per_week=70.0)
    wishes = wish(g)
    assert wishes["lettuce", week_of(day(30))] == 570
    assert wishes["lettuce", week_of(day(20))] == 70


@pytest.mark.parametrize("tiers", [1, 3])
def test_planned_for_a_date_just_in_time_and_not_a_day_sooner(tiers: int) -> None:
    for on, met in ((30, 400 * tiers), (29, 0)):
        g = wanted(tiny(56, tiers), (on, 400.0 * tiers))
        value, plan = exact(g)
        assert value == met
        assert verify(g, plan).ok
        assert bool(plan.unmet) is (met == 0)
        if met:
            life = timedelta(days=g.crops["lettuce"].storage_life)
            picks = [p for b in plan.batches for p in b.picks]
            good = [p.grams for p in picks if day(on) - life <= p.date <= day(on)]
            assert sum(good) == met


def test_without_an_event_the_same_wish_may_be_met_late_in_the_week() -> None:
    """The week of day 29 is served by a pick on day 30; its Tuesday is not."""
    g = replace(tiny(56), demands=(replace(tiny(56).demands[0], grams_per_week=400.0),))
    only = replace(g.demands[0], start=day(28), end=day(34))
    assert exact(replace(g, demands=(only,)))[0] == 400
    assert exact(wanted(g, (29, 400.0)))[0] == 0


def test_lived_in_time_and_too_late() -> None:
    """The head is ripe on day 30 and picked then: eaten at an event on that day, not a day before.

    What comes too late for the event is kept for the week after."""
    for on, met in ((30, 400.0), (29, 0.0)):
        g = wanted(tiny(56), (on, 400.0))
        lived = live(g, [heads("x", "A1", 10)], mean_years(g))
        assert lived.pick_day[0, 0, 0] == 30
        assert lived.met.sum() == met
    g = wanted(tiny(56), (29, 400.0), per_week=100.0)
    lived = live(g, [heads("x", "A1", 10)], mean_years(g))
    served = lived.met[0, :, 0]
    assert served[4] == 0  # the week of the event, from day 28 on: eaten on day 29
    assert served[5] == 100


EVENTS = """events:
  - {date: 2027-07-16, group: lettuce, amount: 6 heads, name: summer lunch}
  - {date: 2027-07-16, group: lettuce, amount: 0.5 kg}
  - {date: 2027-08-20, group: Lettuce, amount: 4 people x 2 salads}
"""


def test_read_from_the_file(tmp_path: Path) -> None:
    garden = load_garden(write(tmp_path, EVENTS))
    lunch, more, salads = garden.events
    head = garden.crops["leaf_lettuce"].fresh_mass
    assert (lunch.grams, lunch.said, lunch.name) == (6 * head, "6 heads", "summer lunch")
    assert (more.grams, more.said, more.name) == (500.0, "", "")
    assert (salads.group, salads.grams, salads.said) == ("lettuce", 800.0, "8 salads")
    assert wish(garden)["lettuce", "2027-W28"] == 500 + 500 + 6 * head


def test_every_fault_at_once(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        """events:
  - {date: 2028-07-16, group: lettuce, amount: 6 heads}
  - {date: 2027-07-16, group: roses, amount: a few}
  - {group: lettuce, amount: 1 kg, at: noon}
""",
    )
    at = path.read_text().splitlines().index("events:") + 1
    with pytest.raises(BadInput) as caught:
        load_garden(path)
    assert {(f.line, f.path) for f in caught.value.faults} == {
        (at + 1, "events[0].date"),
        (at + 2, "events[1].group"),
        (at + 2, "events[1].amount"),
        (at + 3, "events[2].date"),
        (at + 3, "events[2].at"),
    }
