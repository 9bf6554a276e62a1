"""``dryline calendar`` on a plan's folder: every format, days, units, and bad input."""

import io
import json
import os
import subprocess
import sys
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import calendar_case
import pandas as pd
import pytest
import vobject
from pypdf import PdfReader
from rich.cells import cell_len

from scheduler.cli import main
from scheduler.garden.file import load_garden
from scheduler.outputs.work import KINDS
from scheduler.plans.model import Plan, Stage

ROOT = Path(__file__).parents[3]
DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The balcony's garden with two batches, as a plan's folder."""
    made = tmp_path_factory.mktemp("plan")
    for file in (ROOT / "examples" / "balcony").iterdir():
        (made / file.name).write_bytes(file.read_bytes())
    garden = load_garden(made / "garden.yaml")
    start = calendar_case.work_day(garden.season, garden.season.start + 21 * DAY)
    later = calendar_case.work_day(garden.season, start + 2 * DAY)
    batches = (
        calendar_case.batch(garden, "b001", "leaf_lettuce", "balcony", 1, start),
        calendar_case.batch(garden, "b002", "pak_choi", "balcony", 2, later),
    )
    plan = Plan(
        "best_found",
        (Stage("produce", "best_found", 1.0, None, 0.1),),
        garden.season.start,
        garden.season.end,
        batches,
        (),
    )
    (made / "plan.json").write_text(plan.to_json())
    return made


@pytest.fixture
def run(capsys):
    def call(*args):
        with pytest.raises(SystemExit) as end:
            main(["calendar", *map(str, args)])
        out = capsys.readouterr()
        return end.value.code, out.out, out.err

    return call


@pytest.mark.parametrize("form", ["text", "csv", "html", "ics"])
def test_days_far_outside_the_season(folder, run, tmp_path, form):
    """Weeks are not counted to the end of the calendar, which ended in an overflow."""

    def made(*days):
        code, _, err = run(folder, *days, "--format", form, "--out", tmp_path / "x")
        assert (code, err) == (0, "")
        return (tmp_path / "x").read_bytes()

    assert made("--from", "0001-01-01", "--to", "9999-12-31") == made()
    for days in (("--from", "9999-01-01"), ("--to", "0001-12-31")):
        code, _, err = run(folder, *days, "--format", form)
        assert (code, "no day of the season lies there" in err) == (2, True)


def test_text_to_the_terminal(folder, run):
    code, out, err = run(folder)
    assert (code, err) == (0, "")
    assert "balcony (an invented garden)" in out
    assert "balcony 1" in out
    assert "its depth to expect [in]" in out  # the garden's own units
    assert "balcony 1: " in out
    assert max(cell_len(line) for line in out.split("\n")) <= 80


def test_csv_to_the_terminal_has_no_mark_before_its_first_letter(folder, run):
    code, out, _ = run(folder, "--format", "csv", "--units", "metric")
    assert code == 0
    assert out.startswith("date,")
    assert "solution [L]" in out
    assert {"sow", "fill", "pick"} <= set(pd.read_csv(io.StringIO(out))["work"])


def test_files_lie_beside_the_plan_or_where_asked(folder, run, tmp_path):
    assert run(folder, "--format", "ics", "--alarm", "7")[0] == 0
    events = vobject.readOne((folder / "calendar.ics").read_text()).vevent_list
    assert all(hasattr(e, "valarm") for e in events)
    assert run(folder, "--format", "html", "--out", tmp_path / "p.html")[0] == 0
    assert "<title>balcony: calendar" in (tmp_path / "p.html").read_text()
    # A garden in US units prints on US Letter unless asked otherwise.
    for paper, wide in ((None, 612), ("a4", 595)):
        run(folder, "--format", "pdf", *(["--paper", paper] if paper else []))
        page = PdfReader(folder / "calendar.pdf").pages[-1]
        assert int(page.mediabox.width) == wide
    assert run(folder, "--format", "csv", "--out", tmp_path / "w.csv")[0] == 0
    assert (tmp_path / "w.csv").read_bytes().startswith(b"\xef\xbb\xbf")


def test_json_of_some_days(folder, run):
    code, out, _ = run(folder, "--json")
    work = json.loads(out)["work"]
    assert code == 0
    assert {w["kind"] for w in work} <= set(KINDS)
    first = work[0]["date"]
    some = json.loads(run(folder, "--json", "--from", first, "--to", first)[1])["work"]
    assert some == [w for w in work if w["date"] == first]


def test_one_kind_only(folder, run, tmp_path):
    run(folder, "--format", "ics", "--kind", "sow", "--out", tmp_path / "s.ics")
    events = vobject.readOne((tmp_path / "s.ics").read_text()).vevent_list
    assert [e.summary.value for e in events] == ["Sow leaf lettuce", "Sow pak choi"]
    run(folder, "--format", "ics", "--kind", "each", "--out", tmp_path / "all.ics")
    names = {p.name for p in tmp_path.glob("all-*.ics")}
    assert {"all-sow.ics", "all-fill.ics", "all-level.ics"} <= names
    assert (tmp_path / "all-sow.ics").read_bytes() == (tmp_path / "s.ics").read_bytes()


def test_a_replan_cancels_what_it_dropped(folder, run, tmp_path):
    after = tmp_path / "after"
    after.mkdir()
    for name in ("garden.yaml", "climate.csv", "plan.json"):
        (after / name).write_bytes((folder / name).read_bytes())
    from scheduler.plans.folder import read_plan_dir

    _, plan = read_plan_dir(folder)
    (after / "plan.json").write_text(replace(plan, batches=plan.batches[:1]).to_json())
    os.utime(after / "plan.json", (2_000_000_000, 2_000_000_000))
    assert run(after, "--format", "ics", "--before", folder)[0] == 0
    events = vobject.readOne((after / "calendar.ics").read_text()).vevent_list
    gone = {e.summary.value for e in events if e.status.value == "CANCELLED"}
    assert "Sow pak choi" in gone
    assert "Sow leaf lettuce" not in gone


@pytest.mark.parametrize(
    "args",
    [
        ("--from", "2027-02-30"),
        ("--to", "tomorrow"),
        ("--format", "png"),
        ("--units", "stone"),
        ("--from", "2027-06-01", "--to", "2027-05-01"),
        ("--format", "ics", "--kind", "dig"),
        ("--alarm", "24", "--format", "ics"),
        ("--paper", "a5", "--format", "pdf"),
        ("--paper", "a4"),
        ("--kind", "sow"),
        ("--alarm", "7", "--format", "pdf"),
    ],
)
def test_bad_options_say_what_was_expected(folder, run, args):
    code, _, err = run(folder, *args)
    assert code == 2
    assert "Traceback" not in err
    assert err


def test_a_folder_without_a_plan(run, tmp_path):
    code, _, err = run(tmp_path)
    assert code == 2
    assert "plan.json" in err
    assert run(tmp_path / "none")[0] == 2


def test_a_plan_of_another_garden_names_every_batch_that_does_not_fit(folder, run, tmp_path):
    for name in ("garden.yaml", "climate.csv", "plan.json"):
        text = (folder / name).read_text()
        if name == "plan.json":
            text = text.replace('"column": "balcony"', '"column": "shed"')
            text = text.replace('"crop": "pak_choi"', '"crop": "celery"')
        (tmp_path / name).write_text(text)
    code, _, err = run(tmp_path)
    assert code == 2
    assert "batches[0]" in err
    assert "batches[1].crop" in err
    assert err.count("expected") == 3


def test_a_place_that_cannot_be_written(folder, run):
    code, _, err = run(folder, "--format", "html", "--out", "/nowhere/at/all.html")
    assert code == 2
    assert "Traceback" not in err


@pytest.mark.slow
def test_a_pipe_that_closes_early_is_no_fault(folder):
    made = subprocess.run(
        f"{sys.executable} -m scheduler calendar {folder} | head -1",
        shell=True,
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    assert made.stderr == ""


@pytest.mark.parametrize("form", ["text", "csv", "ics", "html", "pdf"])
def test_a_plan_without_a_batch_prints(folder, run, tmp_path, form):
    for name in ("garden.yaml", "climate.csv"):
        (tmp_path / name).write_bytes((folder / name).read_bytes())
    start, end = date(2027, 3, 29), date(2027, 6, 27)
    (tmp_path / "plan.json").write_text(Plan("proven", (), start, end, (), ()).to_json())
    code, _, err = run(tmp_path, "--format", form, "--out", tmp_path / "made")
    assert (code, err) == (0, "")
    assert (tmp_path / "made").stat().st_size > 50
