"""All outputs together: size and speed on the courtyard, odd seasons, lost batches."""

import time
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import calendar_case
import pytest

from scheduler.garden.file import load_garden
from scheduler.garden.model import Season
from scheduler.outputs import calendar_files, csv, html, ics, pdf, text
from scheduler.outputs.frames import levels_to_frame, produce_to_frame, work_to_frame
from scheduler.outputs.work import work_items
from scheduler.plans.model import CLEARED, FAILED
from scheduler.words.words import Units

COURTYARD = Path(__file__).parents[3] / "examples" / "courtyard" / "garden.yaml"
METRIC = Units("metric")


def everything(garden, plan, units=METRIC):
    """Each output once, by name."""
    items = work_items(garden, plan)
    return {
        "text": text.calendar(garden, plan, items, units),
        "csv": csv.work_csv(garden, items, units),
        "ics": ics.feed(garden, plan, items, units, datetime(2027, 1, 1, tzinfo=UTC)),
        "html": html.page(garden, plan, items, units),
        "a4": pdf.document(garden, plan, items, units, "a4"),
        "letter": pdf.document(garden, plan, items, units, "letter"),
        "work": work_to_frame(garden, plan, items),
        "levels": levels_to_frame(plan),
        "produce": produce_to_frame(garden, plan),
    }


@pytest.mark.slow
def test_the_page_of_the_courtyard_in_half_a_megabyte():
    garden = load_garden(COURTYARD)
    plan = calendar_case.full_plan(garden)
    assert len(plan.batches) > 60
    page = html.page(garden, plan, work_items(garden, plan), METRIC)
    assert len(page.encode()) < 500_000


@pytest.mark.clock
def test_the_courtyard_in_three_seconds():
    garden = load_garden(COURTYARD)
    plan = calendar_case.full_plan(garden)
    began = time.process_time()  # the processor's time, whatever else runs on this machine
    everything(garden, plan)
    calendar_files(garden, plan)
    assert time.process_time() - began < 3.0


@pytest.mark.parametrize("units", [METRIC, Units("us")])
def test_a_season_across_new_year_and_a_leap_day(units):
    garden = calendar_case.garden(date(2027, 10, 4), date(2028, 4, 30))
    garden = replace(garden, season=Season(garden.season.start, garden.season.end))
    warm = garden.site.weather.assign(tmin=9.0, tmax=16.0, dli=25.0, et0=3.0)
    garden = replace(garden, site=replace(garden.site, weather=warm))
    start = date(2027, 12, 20)
    plan = replace(
        calendar_case.plan(),
        start=garden.season.start,
        end=garden.season.end,
        batches=tuple(
            calendar_case.batch(garden, f"b{n}", crop, "A", n, start)
            for n, crop in enumerate(("leaf_lettuce", "pak_choi", "swiss_chard"), 1)
        ),
        unmet=(),
    )
    assert any(b.transplant < date(2028, 1, 1) < b.clear for b in plan.batches)
    assert any(b.clear > date(2028, 2, 29) for b in plan.batches)
    made = everything(garden, plan, units)
    assert "WEEK 52" in made["text"]
    assert "27 December 2027 to 2 January 2028" in made["text"]
    assert (made["levels"]["date"] == "2028-02-29").any()
    assert made["work"]["date"].is_monotonic_increasing


def test_a_garden_without_wishes_and_a_plan_with_lost_batches_print():
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    lost = replace(plan.batches[0], state=FAILED, picks=(), dry_date=None, margin_days=None)
    done = replace(plan.batches[1], state=CLEARED)
    bare = replace(plan.batches[2], levels=(), dry_date=None, margin_days=None)
    plan = replace(plan, batches=(lost, done, bare, *plan.batches[3:]), unmet=())
    made = everything(replace(garden, demands=()), plan)
    assert "no wish" in made["text"]
    assert "no wish" in made["html"]


def test_every_output_says_the_same_masses():
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    made = everything(garden, plan)
    picked = sum(b.grams for b in plan.batches)
    assert made["work"]["mass_g"].sum() == picked
    assert made["produce"]["picked_g"].sum() == picked
    # A pick stands by itself on the page, with those of the day in text and event.
    picks = [(p.date, b.crop) for b in plan.batches for p in b.picks]
    sent = made["ics"].decode().replace("\r\n ", "")
    assert sent.count("SUMMARY:Pick") == len({day for day, _crop in picks})
    assert made["text"].count("[ ] PICK") == len({day for day, _crop in picks})
    assert made["html"].count('data-k="pick"') == len(picks)
