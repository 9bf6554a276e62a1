"""Events and what is over stand where a day's or a week's list stands, in every output.

Day 0 is Monday 5 April 2027. A batch picked on day 30 (Wednesday 5 May) brings 400 g; a weekly wish
of 50 g from week 17 and an event of 150 g on Thursday leave 150 g over, as `test_table` reckons.
"""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from test_table import picked_once, wished
from verify_case import day

from scheduler.garden.model import Event
from scheduler.log.model import HEADER, read_log
from scheduler.outputs import html, ics, pdf, phone
from scheduler.outputs.beside import of_days, of_weeks
from scheduler.outputs.work import work_items
from scheduler.watch.forecast import NOTHING
from scheduler.words.words import Units

METRIC = Units("metric")
LUNCH = "For lunch on Thursday 6 May lettuce 150 g: all of it."
OVER = "Over: lettuce 150 g."
G = wished(50.0, Event(day(31), "lettuce", 150.0, "", "lunch"))


@pytest.fixture(scope="module")
def season():
    return G, picked_once(G), work_items(G, picked_once(G))


def test_told_on_the_day_of_the_pick_and_on_the_date(season) -> None:
    garden, plan, _items = season
    assert of_days(garden, plan, METRIC) == {day(30): [LUNCH, OVER], day(31): [LUNCH]}
    assert of_weeks(garden, plan, METRIC) == {
        "2027-W18": [LUNCH[0].lower() + LUNCH[1:-1], "over: lettuce 150 g on 5 May"]
    }


@pytest.mark.parametrize("keeps", [1, 3])
def test_a_pick_counts_for_an_event_as_long_as_it_keeps(keeps: int) -> None:
    """Friday 7 May and Saturday 8 May are two and three days after the pick."""
    for after in (keeps, keeps + 1):
        g = wished(0.0, Event(day(30 + after), "lettuce", 150.0))
        crop = next(iter(g.crops))
        g = replace(g, crops={crop: replace(g.crops[crop], storage_life=float(keeps))})
        told = of_days(g, picked_once(g), METRIC)
        got = "all of it" if after <= keeps else "nothing of it"
        assert [t for t in told[day(30 + after)] if t.endswith(f": {got}.")]
        assert any(t.startswith("For ") for t in told.get(day(30), ())) is (after <= keeps)


def test_a_pick_after_its_date_serves_no_event() -> None:
    g = wished(0.0, Event(day(29), "lettuce", 300.0))
    told = of_days(g, picked_once(g), METRIC)
    assert told[day(29)] == ["For Tuesday 4 May lettuce 300 g: nothing of it."]
    assert told[day(30)] == ["Over: lettuce 400 g."]


def test_in_the_feed(season) -> None:
    icalendar = pytest.importorskip("icalendar")
    garden, plan, items = season
    stamp = datetime(2027, 1, 1, tzinfo=UTC)
    for kinds, told in ((ics.work.KINDS, True), (["sow"], False)):
        raw = ics.feed(garden, plan, items, METRIC, stamp, kinds=kinds)
        said = {
            e.decoded("dtstart"): str(e["description"])
            for e in icalendar.Calendar.from_ical(raw).walk("VEVENT")
        }
        assert (LUNCH in said.get(day(30), "")) is (OVER in said.get(day(30), "")) is told
        assert not any(LUNCH in text for on, text in said.items() if on < day(30))


def test_on_the_page_and_in_print(season) -> None:
    pypdf = pytest.importorskip("pypdf")
    garden, plan, items = season
    page = html.page(garden, plan, items, METRIC)
    assert page.count(LUNCH) == 3  # above the week, on the day of the pick, on its date
    assert page.count(OVER) == 2

    def text(*days) -> str:
        raw = pdf.document(garden, plan, items, METRIC, "a4", *days)
        pages = pypdf.PdfReader(io.BytesIO(raw)).pages
        return " ".join(" ".join(p.extract_text().split()) for p in pages)

    sheet = text(day(30), day(30))
    assert LUNCH in sheet
    assert OVER in sheet
    assert "nothing" not in text(day(20), day(20))
    week = "On the table: lettuce 200 g; for lunch on Thursday 6 May lettuce 150 g: all of it"
    assert f"{week}; over: lettuce 150 g" in text()


def test_on_the_phone() -> None:
    """On Saturday 8 May nothing is to be done."""
    garden = wished(50.0, Event(day(33), "lettuce", 150.0, "", "lunch"))
    plan, said = picked_once(garden), "For lunch on Saturday 8 May lettuce 150 g: all of it."
    items = work_items(garden, plan)
    log = read_log(f"{HEADER}\n".encode(), "log.csv")
    made = phone.as_data(garden, plan, items, METRIC, NOTHING, log, plan.start)["days"]
    assert made[phone._day(day(30))]["beside"][:2] == [said, OVER]
    assert made[phone._day(day(33))] == {"lines": [], "levels": [], "beside": [said]}
