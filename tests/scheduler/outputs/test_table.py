"""What events get and what is over, by hand and against the plan's own count of waste.

Day 0 is Monday 5 April 2027. A batch picked on day 30 (Wednesday 5 May) brings 400 g.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from solver_case import exact, tiny
from verify_case import day, heads
from verify_case import plan as plan_of

from scheduler.commands.summary import outcome, summary
from scheduler.garden.model import Event, Garden
from scheduler.outputs.table import event_text, events_met, over, over_text
from scheduler.outputs.text import calendar
from scheduler.outputs.work import work_items
from scheduler.plans.model import Plan, Shortfall
from scheduler.schedule.assemble import serve
from scheduler.words.units import Units


def wished(per_week: float, *events: Event, tiers: int = 1) -> Garden:
    g = tiny(42, tiers)
    return replace(
        g, demands=(replace(g.demands[0], grams_per_week=per_week, start=day(28)),), events=events
    )


def planned(g: Garden) -> Plan:
    """The plan of most produce, whose unmet wishes are its own count."""
    return exact(g)[1]


def picked_once(g: Garden) -> Plan:
    """All 400 g on day 30."""
    made = plan_of(heads("x", "A1", 10))
    table = serve(g, made.batches)
    short = {k: grams - table.served.get(k, 0) for k, grams in table.wish.items()}
    stages = planned(g).stages
    return replace(
        made,
        stages=stages,
        unmet=tuple(Shortfall(*k, grams) for k, grams in short.items() if grams),
    )


@pytest.mark.parametrize("tiers", [1, 3])
def test_what_no_wish_takes_is_over(tiers: int) -> None:
    """Two weeks of 50 g each from day 28: of 400 g a tier all but 100 g in all is over."""
    g = wished(50.0, tiers=tiers)
    plan = planned(g)
    grams = sum(b.grams for b in plan.batches)
    met = sum(serve(g, plan.batches).served.values())
    assert met == 100 < grams
    found = over(g, plan)
    assert sum(o.grams for o in found) == grams - met == serve(g, plan.batches).wasted
    days = {p.date for b in plan.batches for p in b.picks}
    assert {o.date for o in found} <= days


def test_nothing_is_over_where_all_is_wished() -> None:
    g = wished(70_000.0)
    assert over(g, planned(g)) == ()


def test_over_is_told_by_date() -> None:
    g = wished(85.0)
    (one,) = over(g, picked_once(g))
    assert (one.date, one.grams) == (day(30), 400 - 2 * 85)
    said = over_text((replace(one, date=day(47)),), Units("metric"))
    assert said == "over: lettuce 230 g on 22 May"
    assert over_text((), Units("metric")) == ""


def test_the_first_of_two_events_has_the_first_claim() -> None:
    lunch = Event(day(31), "lettuce", 300.0, "3 heads", "lunch")
    supper = Event(day(32), "lettuce", 300.0)
    g = wished(0.0, supper, lunch)
    plan = planned(g)
    one, two = events_met(g, plan)
    assert (one.event, one.grams) == (lunch, 300)
    assert (two.event, two.grams) == (supper, 100)
    units = Units("metric")
    assert event_text(one, units) == (
        "for lunch on Thursday 6 May lettuce 3 heads (300 g): all of it"
    )
    assert event_text(two, units) == "for Friday 7 May lettuce 300 g: 100 g of it"
    none = wished(0.0, Event(day(29), "lettuce", 300.0))
    assert event_text(events_met(none, planned(none))[0], units).endswith(": nothing of it")


def test_told_in_calendar_summary_and_json() -> None:
    g = wished(50.0, Event(day(31), "lettuce", 150.0, "", "lunch"))
    plan = picked_once(g)
    text = calendar(g, plan, work_items(g, plan), Units("metric"))
    week = text[text.index("WEEK 18") :].split("WEEK 19")[0]
    assert "For lunch on Thursday 6 May lettuce 150 g: all of it." in " ".join(week.split())
    assert "Over: lettuce 150 g." in " ".join(week.split())
    assert max(map(len, text.splitlines())) <= 80
    said = " ".join(summary(g, plan))
    assert "For lunch on Thursday 6 May lettuce 150 g: all of it." in said
    assert "Over the wish: 150 g in all, the most on 2027-05-05, 150 g of lettuce." in said
    told = outcome(g, plan, "x")
    assert told["events"][0]["there"] == 150
    assert told["over"] == [{"date": "2027-05-05", "group": "lettuce", "grams": 150}]
