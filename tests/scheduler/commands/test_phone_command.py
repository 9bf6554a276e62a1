"""``dryline phone``: the file it writes, and what phones handed on put into the log."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from cut_off import lay
from season_case import season_files

from scheduler.base.faults import BadInput
from scheduler.commands.phone import command
from scheduler.log.model import read_log_file
from scheduler.plans.folder import read_plan_dir

pytestmark = pytest.mark.slow  # the plan of the balcony takes seconds


@pytest.fixture
def season(tmp_path):
    place = tmp_path / "season"
    lay(place, season_files())
    (place / "log.csv").unlink(missing_ok=True)
    return place


def call(*args):
    return CliRunner().invoke(command, [str(a) for a in args], standalone_mode=False)


def test_a_file_is_written_beside_the_plan_or_where_asked(season, tmp_path):
    result = call(season)
    assert result.return_value == 0
    assert result.output == f"wrote {season / 'phone.html'}\n"
    whole = (season / "phone.html").read_text(encoding="utf-8")
    assert "http://" not in whole.replace("http://www.w3.org", "")
    assert "https://" not in whole  # nothing is fetched
    result = call(season, "--out", tmp_path / "x.html", "--language", "de", "--json")
    assert json.loads(result.output)["bytes"] == (tmp_path / "x.html").stat().st_size
    assert '<html lang="de">' in (tmp_path / "x.html").read_text(encoding="utf-8")


def test_two_phones_are_taken_in_and_nothing_twice(season, tmp_path):
    _garden, plan = read_plan_dir(season, brief=True)
    b = plan.batches[0]
    last = plan.end.isoformat()
    place = f"{b.column} {b.tier}"
    one, two = tmp_path / "one.txt", tmp_path / "two.txt"
    one.write_text(f"{b.transplant} transplanted {place} {b.plants} plants\n")
    two.write_text(
        f"{b.transplant} transplanted {place} {b.plants} plants\n{b.transplant} note --note 'dry, windy'\n"
    )
    result = call(season, "--take", one, "--take", two, "--today", last, "--json")
    assert result.return_value == 0, result.output
    assert json.loads(result.output)["written"] == 2
    assert json.loads(result.output)["there_already"] == 1
    assert len(read_log_file(season / "log.csv").entries) == 2
    again = call(season, "--take", two, "--today", last)
    assert "0 written, 2 there already" in again.output


def test_what_cannot_be_is_named_and_keeps_nothing_else_out(season, tmp_path):
    _garden, plan = read_plan_dir(season, brief=True)
    b = plan.batches[0]
    text = tmp_path / "phone.txt"
    text.write_text(f"{b.transplant} level {b.column} 99 5 in\n{b.transplant} note --note fine\n")
    result = call(season, "--take", text, "--today", plan.end)
    assert result.return_value == 2
    assert "1 written, 0 there already" in result.output
    assert f"{text}:1" in result.output + result.stderr
    assert [e.note for e in read_log_file(season / "log.csv").entries] == ["fine"]


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--today", "yesterday"), "yesterday"),
        (("--take", "nowhere.txt"), "nowhere.txt"),
    ],
)
def test_bad_input_is_named(season, args, said):
    result = call(season, *args)
    assert isinstance(result.exception, BadInput)
    assert said in result.exception.text()
