"""``dryline rebalance`` from folder to folder: files, exit codes, newer weather, faults."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from scheduler.base.faults import BadInput
from scheduler.commands.rebalance import command
from scheduler.garden.file import garden_sources, load_garden
from scheduler.log.model import HEADER
from scheduler.mix.fills import with_solution
from scheduler.plans.folder import read_plan, read_plan_dir, write_plan_dir
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify
from scheduler.words.words import dated

BALCONY = Path(__file__).parents[3] / "examples" / "balcony" / "garden.yaml"


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    """The folder of a plan for the balcony."""
    folder = tmp_path_factory.mktemp("season")
    garden = load_garden(BALCONY)
    quick = Settings(time_limit=4.0, workers=1, deterministic=1.0)
    plan = with_solution(garden, solve(garden, quick).plan)
    write_plan_dir(folder, plan, garden_sources(BALCONY))
    return folder


def standing(folder):
    """A batch of the plan and a day on which it has stood a while."""
    batch = max(read_plan(folder).batches, key=lambda b: b.grams)
    return batch, batch.transplant + (batch.picks[0].date - batch.transplant) / 2


def call(folder, on, out, *more, log=""):
    file = out.with_suffix(".csv")
    file.write_text(f"{HEADER}\n{log}\n" if log else f"{HEADER}\n")
    args = [
        str(folder),
        "--log",
        str(file),
        "--on",
        str(on),
        "--out",
        str(out),
        "--time-limit",
        "2",
        "--workers",
        "1",
        *more,
    ]
    return CliRunner().invoke(command, args, standalone_mode=False)


def test_a_failure_end_to_end(season, tmp_path):
    batch, day = standing(season)
    log = f"{day},failed,{batch.column},{batch.tier},,,,cracked"
    result = call(season, day, tmp_path / "new", log=log)
    assert result.return_value == 0, result.output
    garden, plan = read_plan_dir(tmp_path / "new")
    assert verify(garden, plan).ok
    assert plan.as_of == day
    assert f"failed: {batch.id}" in result.output
    assert all(len(line) <= 79 for line in result.output.splitlines() if "Written" not in line)
    names = {p.name for p in (tmp_path / "new").iterdir()}
    assert {
        "plan.json",
        "garden.yaml",
        "inputs",
        "log.csv",
        "changes.txt",
        "changes.json",
        "calendar.txt",
    } <= names
    assert "cracked" in (tmp_path / "new" / "log.csv").read_text()
    body = json.loads((tmp_path / "new" / "changes.json").read_text())
    assert body["counts"]["failed"] == 1
    # The new plan is of the program and the solvers that made it, both plans tell the same ones.
    assert {"dryline", "ortools", "highspy", "scipy"} <= set(plan.versions)
    assert plan.versions == read_plan(season).versions
    # Every sheet says which plan it is of.
    said = f"Plan {plan.number}, made {dated(plan.made)}"
    assert plan.number == 2
    assert (tmp_path / "new" / "changes.txt").read_text().splitlines()[0] == said
    assert said in (tmp_path / "new" / "calendar.txt").read_text().splitlines()


def test_an_empty_log_on_the_first_day_changes_nothing(season, tmp_path):
    plan = read_plan(season)
    result = call(season, plan.start, tmp_path / "new")
    assert "Everything can go on as planned." in result.output
    assert read_plan(tmp_path / "new").batches == plan.batches


@pytest.mark.slow
def test_the_folder_goes_on(season, tmp_path):
    batch, day = standing(season)
    log = f"{day},failed,{batch.column},{batch.tier},,,,cracked"
    call(season, day, tmp_path / "one", log=log)
    result = call(tmp_path / "one", day + timedelta(days=1), tmp_path / "two", log=log)
    assert result.return_value == 0, result.output
    assert "Everything can go on as planned." in result.output


@pytest.mark.slow
def test_json(season, tmp_path):
    batch, day = standing(season)
    result = call(
        season, day, tmp_path / "new", "--json", log=f"{day},failed,{batch.column},,,,,blown over"
    )
    body = json.loads(result.output)
    assert body["on"] == str(day)
    assert {"stages", "remarks", "urgent", "demand", "changes", "weeks", "counts"} <= set(body)


@pytest.mark.slow
def test_newer_weather_replaces_the_days_it_tells_of(season, tmp_path):
    _, day = standing(season)
    rows = [f"{day + timedelta(days=n)},24,37" for n in range(10)]
    heat = tmp_path / "heat.csv"
    heat.write_text("\n".join(["date,tmin,tmax", *rows]) + "\n")
    result = call(season, day, tmp_path / "new", "--climate", str(heat))
    assert result.return_value == 0, result.output
    old, _ = read_plan_dir(season)
    new, plan = read_plan_dir(tmp_path / "new")
    assert verify(new, plan).ok
    hot = new.site.weather["tmax"]
    assert (hot.loc[str(day) : str(day + timedelta(days=9))] == 37).all()
    before = str(day - timedelta(days=1))
    assert hot.loc[:before].tolist() == pytest.approx(old.site.weather["tmax"].loc[:before])


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("month,tmin,tmax\n" + "\n".join(f"{m},5,15" for m in range(1, 13)), "daily rows"),
        ("date,tmin,tmax\n2031-01-01,5,15\n", "days from"),
        ("date,tmin,tmax\n2027-04-31,5,15\n", "a day written"),
        ("", "a header"),
    ],
)
def test_bad_weather_is_named(season, tmp_path, text, expected):
    heat = tmp_path / "heat.csv"
    heat.write_text(text)
    result = call(season, read_plan(season).start, tmp_path / "new", "--climate", str(heat))
    assert isinstance(result.exception, BadInput)
    assert expected in result.exception.text()
    assert not (tmp_path / "new").exists()


def test_faults_of_the_log_are_told_and_nothing_is_written(season, tmp_path):
    start = read_plan(season).start
    late = start + timedelta(days=400)
    told = f"tomorrow,level,x,9,,,,\n{late},failed,balcony,1,,,,"
    result = call(season, start, tmp_path / "new", log=told)
    assert isinstance(result.exception, BadInput)
    assert [f.line for f in result.exception.faults][-1] == 3
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("on", ["yesterday", "2027-13-01"])
def test_a_bad_day(season, tmp_path, on):
    assert isinstance(call(season, on, tmp_path / "new").exception, BadInput)


def test_a_season_already_over(season, tmp_path):
    end = read_plan(season).end
    result = call(season, end + timedelta(days=1), tmp_path / "new")
    assert "over already" in str(result.exception)
    assert call(season, end, tmp_path / "last").return_value == 0


def test_no_log_at_all(season, tmp_path):
    args = [str(season), "--on", "2027-04-05", "--out", str(tmp_path / "new")]
    result = CliRunner().invoke(command, args, standalone_mode=False)
    assert "log.csv" in str(result.exception)


def test_another_folder_in_the_way_is_left_alone(season, tmp_path):
    other = tmp_path / "new"
    other.mkdir()
    (other / "letter.txt").write_text("dear")
    result = call(season, date(2027, 4, 5), other)
    assert isinstance(result.exception, BadInput)
    assert [p.name for p in other.iterdir()] == ["letter.txt"]
