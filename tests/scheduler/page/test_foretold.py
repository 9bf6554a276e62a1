"""The page answers a level at once, in the words of ``dryline log``."""

from __future__ import annotations

import shutil
from datetime import timedelta
from html import unescape

import pytest

pytest.importorskip("flask")

from click.testing import CliRunner
from cut_off import lay
from page_case import Visitor
from season_case import season_files, standing

from scheduler.commands.log import command
from scheduler.plans.folder import read_plan_dir
from scheduler.watch.forecast import WATCH_FILE, read


@pytest.fixture
def folder(tmp_path):
    lay(tmp_path / "season", season_files())
    (tmp_path / "season" / "log.csv").unlink()
    return tmp_path / "season"


def levels(folder, thirst):
    """A batch and what its tier holds every fourth day [L] if it drinks so many times as expected."""
    batch, _ = standing(folder)
    found = [
        (v.date, max(batch.fill_litres - thirst * (batch.fill_litres - v.litres), 0.0))
        for v in batch.levels[5:-6:4]
    ]
    return batch, [(d, v) for d, v in found if v > 0.3 * batch.fill_litres]


def sent(visitor, batch, day, litres):
    visitor.clock.day = day
    place = f"0-{batch.tier}"  # the balcony has one column
    visitor.post(
        "/write", date=day, what="level", place=place, amount=f"{litres:.2f}", unit="L", back="day"
    )
    return unescape(visitor.get("/"))


@pytest.mark.parametrize(("thirst", "word"), [(1.9, "will be dry about"), (0.8, "has enough")])
def test_what_the_page_says_is_what_the_log_says(folder, tmp_path, thirst, word):
    other = tmp_path / "other"
    shutil.copytree(folder, other)
    batch, readings = levels(folder, thirst)
    visitor = Visitor(folder, readings[0][0])
    for day, litres in readings:
        page = sent(visitor, batch, day, litres)
        arguments = [
            str(other),
            "today",
            "level",
            batch.column,
            str(batch.tier),
            f"{litres:.2f}",
            "L",
        ]
        out = (
            CliRunner()
            .invoke(command, [*arguments, "--today", str(day)], standalone_mode=False)
            .output
        )
        said = " ".join(out.split("\n", 1)[1].split())
        assert said.startswith(f"{batch.column} {batch.tier} ")
        assert f"{said}</li>" in page
    assert word in said


def test_an_alarm_stands_above_a_day_without_work_and_calm_only_on_its_own_day(folder):
    batch, readings = levels(folder, 1.9)
    visitor = Visitor(folder, readings[0][0])
    for day, litres in readings:
        sent(visitor, batch, day, litres)
    day = readings[-1][0] + timedelta(days=1)
    visitor.clock.day = day
    assert 'class="alarm"' in visitor.get("/")
    assert 'class="alarm"' in visitor.get("/levels")
    assert 'class="alarm"' in visitor.get(f"/?day={day + timedelta(days=40)}")  # as of today


def test_a_calm_tier_is_told_of_on_the_day_of_its_reading_alone(folder):
    batch, readings = levels(folder, 0.8)
    visitor = Visitor(folder, readings[0][0])
    for day, litres in readings:
        page = sent(visitor, batch, day, litres)
    assert 'class="calm"' in page
    visitor.clock.day += timedelta(days=1)
    assert 'class="calm"' not in visitor.get("/")


def test_a_folder_without_forecasts_shows_its_days_as_before(folder):
    (folder / WATCH_FILE).unlink()
    batch, readings = levels(folder, 1.9)
    visitor = Visitor(folder, readings[0][0])
    for day, litres in readings:
        page = sent(visitor, batch, day, litres)
    assert "foretell" not in page


def test_a_failed_tier_asks_for_no_level_any_more(folder):
    """Nor, on the page of all tiers, does it offer a blank for one."""
    batch, readings = levels(folder, 0.9)
    day = readings[0][0]
    table = read(folder, read_plan_dir(folder)[1])
    later = min(d for d in table.checks[batch.id] if batch.transplant + timedelta(days=d) > day)
    later = batch.transplant + timedelta(days=later)
    place = f'value="0-{batch.tier}"'
    visitor = Visitor(folder, later)
    assert place in visitor.get("/")
    assert place in visitor.get("/levels")
    visitor.clock.day = day
    visitor.post(
        "/write", date=day, what="failed", place=f"0-{batch.tier}", note="leak", back="day"
    )
    visitor.clock.day = later
    page = visitor.get("/")
    level_form = page.partition("Check levels")[2].partition("</form>")[0]
    assert place not in level_form
    assert place not in visitor.get("/levels")


def test_what_else_can_be_told_by_the_page_is_answered_there(folder):
    batch, readings = levels(folder, 1.0)
    visitor = Visitor(folder, readings[0][0])
    day, litres = readings[0]
    sent(visitor, batch, day, litres)
    place = f"0-{batch.tier}"
    for what, amount, unit in (("topped", "0.5", "L"), ("ph", "6.0", ""), ("lost", "1 of 2", "")):
        visitor.post(
            "/write", date=day, what=what, place=place, amount=amount, unit=unit, back="day"
        )
    page = unescape(visitor.get("/log"))
    assert "topped up" in page
    assert "1 of 2" in page
    assert "it fits." in unescape(visitor.get("/"))
