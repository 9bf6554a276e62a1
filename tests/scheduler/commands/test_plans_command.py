"""`dryline plans`: what lies below a folder, and two plans side by side."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from standing_case import write

from scheduler.cli import main
from scheduler.garden.file import garden_sources, load_garden
from scheduler.plans.folder import write_plan_dir
from scheduler.plans.model import Batch, Pick, Plan, Stage
from scheduler.usecases.planning_standing import bare_plan


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as end:
        main([str(a) for a in ("plans", *arguments)])
    said = capsys.readouterr()
    return int(end.value.code or 0), said.out, said.err


def lay(folder: Path, number: int, later: int = 0, until: str = "2027-09-26") -> Plan:
    """A plan of one batch, ``later`` days later than 7 June, in a folder of its own."""
    folder.mkdir(parents=True)
    work = folder.parent / f"of-{folder.name}"
    work.mkdir()
    path = write(work, "", until=until)
    garden = load_garden(path)
    sow = date(2027, 6, 7) + timedelta(days=later)
    day = [sow + timedelta(days=n) for n in (0, 14, 44)]
    batch = Batch(
        "b001", "leaf_lettuce", "A", 1, 3, 8, 4, day[0], day[1], (Pick(day[2], 3, 345),), day[2],
        15.0, None, None,
    )  # fmt: skip
    stage = Stage("produce", "best_found", 345.0, None, 0.0)
    made = replace(
        bare_plan(garden),
        batches=(batch,),
        stages=(stage,),
        number=number,
        made=date(2027, 6, number),
    )
    write_plan_dir(folder, made, garden_sources(path))
    return made


def test_plans_are_listed_as_they_were_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lay(tmp_path / "season-2", 2)
    lay(tmp_path / "season" / "before-1", 1)
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "plan.json").write_text("{")
    (tmp_path / ".hidden" / "x").mkdir(parents=True)
    code, out, err = run(capsys, tmp_path)
    assert code == 0
    rows = [line.split() for line in out.splitlines()[1:]]
    assert [row[:3] for row in rows] == [
        ["season/before-1", "1", "2027-06-01"],
        ["season-2", "2", "2027-06-02"],
    ]
    assert "broken" in err
    assert all(len(line) < 80 for line in out.splitlines())
    code, out, _ = run(capsys, tmp_path, "--json")
    body = json.loads(out)
    assert [p["number"] for p in body["plans"]] == [1, 2]
    assert body["plans"][0]["expected_weighted_grams"] == 345
    assert len(body["unreadable"]) == 1


def test_nothing_there_and_no_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, tmp_path)
    assert (code, out.startswith("no plan in")) == (0, True)
    assert run(capsys, tmp_path / "none")[0] == 2
    assert run(capsys, tmp_path, tmp_path, tmp_path)[0] == 2


def test_two_plans_side_by_side(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lay(tmp_path / "one", 1)
    lay(tmp_path / "two", 2, later=2)
    code, out, _ = run(capsys, tmp_path / "one", tmp_path / "two")
    assert code == 0
    assert "sow 2027-06-07 -> 2027-06-09" in " ".join(out.split())
    code, out, _ = run(capsys, tmp_path / "one", tmp_path / "one", "--json")
    assert json.loads(out)["counts"] == {"moved": 0, "dropped": 0, "new": 0, "failed": 0, "kept": 1}


def test_other_seasons_are_not_compared(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lay(tmp_path / "one", 1)
    lay(tmp_path / "two", 2, until="2027-09-25")
    code, _, err = run(capsys, tmp_path / "one", tmp_path / "two")
    assert code == 2
    assert "nothing to compare" in err
