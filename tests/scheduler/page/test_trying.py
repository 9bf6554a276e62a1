"""A batch changed by hand and checked; a column more or days off tried, the plan left alone."""

from __future__ import annotations

import re
import time
from datetime import timedelta
from html import unescape

import pytest

pytest.importorskip("flask")

import page_case
from page_case import HOME, Visitor

from scheduler.plans.folder import read_plan, read_plan_dir
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify

pytestmark = pytest.mark.slow  # each checks or plans a season


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    return page_case.planned(tmp_path_factory.mktemp("season") / "plan")


@pytest.fixture
def folder(season, tmp_path):
    return page_case.copy(season, tmp_path / "plan")


def outcome(visitor, seconds=60):
    """What the page says once the check or the search is done: status and words."""
    end = time.monotonic() + seconds
    while True:
        answer = visitor.client.get("/again", base_url=HOME)
        page = answer.get_data().decode()
        if 'http-equiv="refresh"' not in page:
            page = re.sub(r"<svg.*?</svg>", "", page, flags=re.S)
            return answer.status_code, " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())
        assert time.monotonic() < end
        time.sleep(0.1)


def ahead(folder):
    """The last batch of the plan, on a day on which it is still to be sown."""
    batch = max(read_plan(folder).batches, key=lambda b: b.sow)
    return batch, batch.sow - timedelta(days=1)


def test_a_batch_left_out_counts_once_accepted_and_not_before(folder):
    batch, day = ahead(folder)
    visitor = Visitor(folder, day)
    before = (folder / "plan.json").read_bytes()
    visitor.post("/change", batch=batch.id, drop="1")
    status, said = outcome(visitor)
    assert status == 200
    assert "Dropped 1" in said
    assert "changed by hand" in said
    assert (folder / "plan.json").read_bytes() == before
    visitor.post("/again/accept")
    new = read_plan(folder)
    assert batch.id not in {b.id for b in new.batches}
    assert verify(*read_plan_dir(folder)).ok
    (aside,) = (folder / "earlier").iterdir()
    assert (aside / "plan.json").read_bytes() == before


def test_a_batch_is_fixed_and_let_go_and_garden_yaml_goes_along(folder):
    batch, day = ahead(folder)
    visitor = Visitor(folder, day)
    before = (folder / "garden.yaml").read_bytes()
    visitor.post("/keep", batch=batch.id)
    status, said = outcome(visitor)
    assert status == 200
    assert (folder / "garden.yaml").read_bytes() == before  # nothing counts before it is accepted
    visitor.post("/again/accept")
    garden, plan = read_plan_dir(folder)
    (one,) = garden.fixed
    told = (batch.crop, batch.column, batch.tier, batch.transplant)
    assert (one.crop, one.column, one.tier, one.planted_on) == told
    assert told in {(b.crop, b.column, b.tier, b.transplant) for b in plan.batches}
    verdict = verify(garden, plan)
    assert verdict.ok
    # A change by hand that would move it is refused now, with the reason.
    visitor.post("/change", batch=batch.id, drop="1")
    status, said = outcome(visitor)
    assert status != 200
    assert "is fixed and not in the plan" in said
    visitor.post("/again/discard")
    visitor.post("/keep", batch=batch.id)
    assert outcome(visitor)[0] == 200
    visitor.post("/again/accept")
    assert (folder / "garden.yaml").read_bytes() == before
    assert read_plan_dir(folder)[0].fixed == ()


def test_a_tier_is_left_empty_up_to_a_day(folder):
    batch, day = ahead(folder)
    visitor = Visitor(folder, day)
    garden = read_plan_dir(folder)[0]
    at = [c.name for c in garden.columns].index(batch.column)
    until = batch.transplant + timedelta(days=1)
    visitor.post("/close", place=f"{at}-{batch.tier}", until=until.isoformat())
    assert outcome(visitor)[0] == 200
    visitor.post("/again/accept")
    garden, plan = read_plan_dir(folder)
    planted = [
        b.transplant for b in plan.batches if (b.column, b.tier) == (batch.column, batch.tier)
    ]
    assert not [on for on in planted if day <= on < until]
    assert verify(garden, plan).ok
    assert f"to: {batch.transplant}" in (folder / "garden.yaml").read_text()
    said = visitor.post("/close", status=409, place="9-9", until="soon").text
    assert "a tier of the garden" in said
    assert "a day as 2027-06-03" in said


def test_the_page_in_german_gives_german_reasons(folder):
    """They are found in another thread, which must speak as the page does."""
    batch, day = ahead(folder)
    visitor = Visitor(folder, day, language="de")
    visitor.post("/change", batch=batch.id, drop="1")
    status, said = outcome(visitor)
    assert status == 200
    assert "von Hand geändert" in said
    assert "changed by hand" not in said


def test_a_pick_a_work_day_later_is_kept_and_on_no_work_day_is_not(folder):
    """Just feasible: the next work day with all else as it is. Just not: the day after a work day,
    where that is none."""
    garden, plan = read_plan_dir(folder)
    batch, day = ahead(folder)
    first = batch.picks[0].date
    free = next(
        d
        for n in range(1, 7)
        if not garden.season.is_work_day(d := first + timedelta(days=n)) and d <= plan.end
    )
    visitor = Visitor(folder, day)
    before = (folder / "plan.json").read_bytes()
    visitor.post("/change", batch=batch.id, first_pick=free)
    status, said = outcome(visitor)
    assert status == 409
    assert "which is no work day of the season" in said
    assert (folder / "plan.json").read_bytes() == before
    visitor.post("/again/discard")
    visitor.post("/change", batch=batch.id, first_pick=first)
    status, said = outcome(visitor)
    assert (status, "Everything" in said) == (200, False)
    assert f"{len(plan.batches)} batches stay as they were." in said


def test_what_stands_cannot_be_planted_elsewhere(folder):
    batch = min(read_plan(folder).batches, key=lambda b: b.transplant)
    visitor = Visitor(folder, batch.transplant + timedelta(days=5))
    page = visitor.get(f"/change?batch={batch.id}")
    assert "only its picks can be moved" in page
    assert 'name="transplant"' not in page
    visitor.post("/change", batch=batch.id, transplant=batch.transplant + timedelta(days=7))
    status, said = outcome(visitor)
    assert status == 409
    assert "it stands in its tier already" in said


def test_a_tier_that_is_taken_is_told_with_the_batch_that_stands_there(folder):
    garden, plan = read_plan_dir(folder)
    batch, day = ahead(folder)
    other = next(
        b
        for b in plan.batches
        if (b.column, b.tier) != (batch.column, batch.tier)
        and b.transplant <= batch.transplant <= b.clear
    )
    number = [c.name for c in garden.columns].index(other.column)
    visitor = Visitor(folder, day)
    visitor.post("/change", batch=batch.id, place=f"{number}-{other.tier}")
    status, said = outcome(visitor)
    assert status == 409
    assert other.id in said


def test_every_fault_of_a_form_at_once(folder):
    batch, day = ahead(folder)
    visitor = Visitor(folder, day)
    said = visitor.post("/change", 409, batch=batch.id, transplant="x", place="99-1").text
    assert "a day as 2027-06-03" in said
    assert "a tier of the garden" in said
    said = visitor.post("/try", 409, columns="4", **{"from": "x"}).text
    assert "a number from 0 to 3" in said
    assert "a day as 2027-06-03" in said
    assert "a column more, or days off" in visitor.post("/try", 409, columns="0").text


@pytest.mark.parametrize("columns", [1, 3])
def test_more_columns_are_tried_beside_the_plan_and_cannot_be_accepted(folder, columns):
    before = (folder / "plan.json").read_bytes(), (folder / "garden.yaml").read_bytes()
    plan = read_plan(folder)
    settings = Settings(time_limit=40.0, workers=1, deterministic=0.5)
    visitor = Visitor(folder, plan.start, settings=settings)
    visitor.post("/try", columns=str(columns))
    status, said = outcome(visitor)
    assert status == 200
    word = "1 more column" if columns == 1 else "3 more columns"
    assert f"Only tried: {word}." in said
    assert "New" in said  # something grows in the new column
    assert re.search(r"\+[1-3] [1-9]", said)
    visitor.post("/again/accept", 409)
    assert ((folder / "plan.json").read_bytes(), (folder / "garden.yaml").read_bytes()) == before


def test_two_days_off_hold_no_work(folder):
    plan = read_plan(folder)
    busy = max(b.picks[0].date for b in plan.batches)
    visitor = Visitor(folder, busy - timedelta(days=20))
    visitor.post("/try", **{"from": busy, "to": busy + timedelta(days=1)})
    status, said = outcome(visitor)
    assert status == 200
    assert "Only tried: off " in said
    search = visitor.app.extensions["desk"].search
    made = search.outcome.done.plan
    off = {busy, busy + timedelta(days=1)}
    assert not off & {p.date for b in made.batches for p in b.picks}
    assert not off & {b.transplant for b in made.batches}
