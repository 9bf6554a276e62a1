"""The first screen: a day done as planned in one tap, with exceptions, and taken back; bands."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

pytest.importorskip("flask")

import page_case
from cut_off import lay
from page_case import Visitor
from season_case import season_files, standing

from scheduler.log.model import read_log_file
from scheduler.outputs.beside import as_sentence
from scheduler.outputs.table import over, over_of_week
from scheduler.plans.folder import LOG_FILE, read_plan, read_plan_dir
from scheduler.words.words import Units


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    return page_case.planned(tmp_path_factory.mktemp("season") / "plan")


@pytest.fixture
def folder(season, tmp_path):
    return page_case.copy(season, tmp_path / "plan")


def entries(folder):
    file = folder / LOG_FILE
    return read_log_file(file, read_plan_dir(folder)[0]).entries if file.exists() else ()


def busy_day(folder):
    """A day on which something is picked and cleared or planted as well."""
    plan = read_plan(folder)
    counts = {}
    for b in plan.batches:
        for day in {b.sow, b.transplant, b.clear, *(p.date for p in b.picks)}:
            counts[day] = counts.get(day, 0) + 1
    return max(counts, key=lambda day: (counts[day], day))


def planned_on(folder, day):
    """What the log should hold after a day done as planned, from the plan alone."""
    out = set()
    for b in read_plan(folder).batches:
        place = (b.column, b.tier)
        out |= {("sown", *place, b.cells)} if b.sow == day else set()
        out |= {("transplanted", *place, b.plants)} if b.transplant == day else set()
        out |= {("cleared", *place, None)} if b.clear == day else set()
        out |= {("picked", *place, p.plants) for p in b.picks if p.date == day}
    return out


def lines(page):
    return re.findall(r'name="line" value="(\d+)" checked', page)


def told(folder):
    return {(e.what, e.column, e.tier, e.amount) for e in entries(folder)}


def test_all_done_as_planned_is_one_tap_and_can_be_taken_back(folder):
    day = busy_day(folder)
    visitor = Visitor(folder, day)
    page = visitor.get("/")
    number = Visitor.found(r'name="plan" value="(\d+)"', page)
    form = {"date": day, "plan": number, "line": lines(page)}
    answer = visitor.post("/done", **form)
    assert told(folder) == planned_on(folder, day)
    after = visitor.get(answer.headers["Location"])
    assert lines(after) == []  # nothing is left to tick, nothing can be written twice
    undo = re.findall(
        r'name="line" value="(\d+)"><input type="hidden" name="seen" value="([^"]*)', after
    )
    assert len(undo) == len(planned_on(folder, day))
    seen = [s for _n, s in undo]
    visitor.post("/undo", line=[n for n, _s in undo], seen=seen)
    assert told(folder) == set()
    assert "# struck out: " in (folder / LOG_FILE).read_text()  # legible still


@pytest.mark.parametrize("left", [1, 3])
def test_what_is_not_ticked_is_not_written(folder, left):
    day = busy_day(folder)
    visitor = Visitor(folder, day)
    page = visitor.get("/")
    number = Visitor.found(r'name="plan" value="(\d+)"', page)
    ticked = lines(page)[left:]
    status = 303 if ticked else 422
    visitor.post("/done", status, date=day, plan=number, line=ticked)
    assert told(folder) < planned_on(folder, day)
    assert len(lines(visitor.get("/"))) == min(left, len(lines(page)))


def test_a_plan_that_has_changed_since_is_not_written_for(folder):
    day = busy_day(folder)
    visitor = Visitor(folder, day)
    answer = visitor.post("/done", 409, date=day, plan="99", line=["0"])
    assert "The plan has changed since" in answer.text
    assert entries(folder) == ()
    number = Visitor.found(r'name="plan" value="(\d+)"', visitor.get("/"))
    assert "a day as 2027-06-03" in visitor.post("/done", 409, date="x", plan=number).text


@pytest.mark.slow  # the plan of the balcony takes seconds
def test_the_first_screen_has_bands_and_the_season_today_alone(tmp_path):
    folder = tmp_path / "season"
    lay(folder, season_files())
    batch, _ = standing(folder)
    day = batch.transplant + timedelta(days=10)
    page = Visitor(folder, day).get("/")
    assert "The season at a glance" in page
    assert page.count('class="band"') >= 1
    assert 'class="now"' in page
    assert "act below" in page
    other = Visitor(folder, day).get(f"/?day={day + timedelta(days=1)}")
    assert "The season at a glance" not in other


def test_cautions_stand_in_full_on_a_page_of_their_own(folder):
    page = Visitor(folder, busy_day(folder)).get("/cautions")
    assert "Pour acid into water, never water into acid." in page
    assert page.count("<h2>") >= 8


def test_what_is_over_stands_with_the_work_of_its_day(folder):
    garden, plan = read_plan_dir(folder)
    found = over(garden, plan)
    assert found
    for one in found:
        page = Visitor(folder, one.date).get("/")
        assert as_sentence(over_of_week([one], Units(garden.units))) in page
    quiet = next(w for w in plan.batches if w.sow not in {o.date for o in found}).sow
    assert "Over: " not in Visitor(folder, quiet).get("/")
