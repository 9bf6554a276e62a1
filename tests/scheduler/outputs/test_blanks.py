"""What is to be measured and written down: EC and pH in mid-crop, blanks at clearing, act below."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime

import calendar_case
import pytest
import verify_case as case
from pypdf import PdfReader

from scheduler.outputs import html, ics, pdf, text, work
from scheduler.outputs.together import depth
from scheduler.outputs.work import METERS_DAYS, work_items
from scheduler.words.words import Units

METRIC = Units("metric")


@pytest.fixture(scope="module")
def yard():
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    return garden, plan, work_items(garden, plan)


def metered(last: int):
    """Days after its transplanting on which a crop picked ``last`` days after it is metered."""
    batch = case.batch("b1", "lettuce", "A1", 0, 10, [(10 + last, 4)], 11 + last)
    season = replace(case.garden().season, away=())
    items = work_items(case.garden(season=season), case.plan(batch))
    return [(w.date - batch.transplant).days for w in items if w.kind == work.LEVEL and w.meters]


def test_a_crop_that_stands_four_weeks_is_metered_once_at_its_middle():
    """Transplanted on a Thursday, read on Mondays: on days 11 and 18, of which 11 is nearer to 14;
    near its dry date, on day 27, on every day from day 22 on."""
    assert METERS_DAYS == 28
    assert metered(28) == [11]
    assert metered(27) == []


def test_text_and_page_ask_for_what_review_asks(yard):
    garden, plan, items = yard
    days = sorted({w.date for w in items})
    said = " ".join(
        " ".join(text.calendar(garden, plan, items, METRIC, day, day).split()) for day in days
    )
    clears = [w for w in items if w.kind == work.CLEAR]
    picks = [w for w in items if w.kind == work.PICK]
    meters = [w for w in items if w.meters]
    assert meters
    assert said.count("EC and pH too: ") == len({w.date for w in meters})
    for w in meters:
        assert f"{w.column} {w.tier} ____ ____" in said
    assert "first measure depth, EC and pH" in said
    assert "Weigh each pick." in said
    season = " ".join(text.calendar(garden, plan, items, METRIC).split())
    assert season.count("* ") == len(meters)  # each marked, and said what the mark means
    assert "*: measure EC and pH too." in season
    whole = html.page(garden, plan, items, METRIC)
    assert whole.count("depth ____ EC ____ pH ____") == len(clears)
    assert whole.count("weighed ____") == len(picks)


def test_the_sheet_of_a_day_has_the_blanks(yard):
    garden, plan, items = yard
    day = next(w.date for w in items if w.kind == work.CLEAR)
    raw = pdf.document(garden, plan, items, METRIC, "a4", day, day)
    (page,) = PdfReader(io.BytesIO(raw)).pages
    said = " ".join(page.extract_text().split())
    for w in items:
        if w.date == day and w.kind == work.CLEAR:
            for what in ("depth", "EC", "pH"):
                assert f"{w.column} {w.tier} {what}" in said


@pytest.mark.parametrize("act", [True, False])
def test_the_print_says_the_level_to_act_below(yard, act):
    garden, plan, items = yard
    levels = [w for w in items if w.kind == work.LEVEL][:6]
    some = {w.key: replace(w, act_cm=w.depth_cm - 1.7) for w in levels} if act else {}
    shown = [some.get(w.key, w) for w in items]
    raw = pdf.document(garden, plan, shown, METRIC)
    said = " ".join(" ".join(p.extract_text().split()) for p in PdfReader(io.BytesIO(raw)).pages)
    for w in levels:
        here, below = depth(w.depth_cm, METRIC), depth(w.depth_cm - 1.7, METRIC)
        assert (f"{w.column} {w.tier} {here}|{below}" in said) is act  # on the page of its week
        assert (f"{here} < {below}" in said) is act  # on its tag
    assert ("log it the same day" in said) is act
    assert "EC and pH too: " in said


@pytest.mark.parametrize("act", [True, False])
def test_the_pages_and_the_phones_calendar_say_what_to_do_below_it(yard, act):
    garden, plan, items = yard
    level = next(w for w in items if w.kind == work.LEVEL)
    shown = [replace(w, act_cm=9.0) if act and w is level else w for w in items]
    assert ("log it the same day" in html.page(garden, plan, shown, METRIC)) is act
    stamp = datetime(2027, 1, 4, tzinfo=UTC)
    feed = (
        ics.feed(garden, plan, shown, METRIC, stamp).decode().replace("\r\n ", "")
    )  # RFC 5545, 3.1
    assert ("log it the same day" in feed) is act
