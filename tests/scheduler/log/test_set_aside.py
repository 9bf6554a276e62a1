"""A plan over one that has a log: refused, or the old one moved aside whole; plans are numbered."""

from __future__ import annotations

import json
import shutil
from datetime import date, timedelta
from pathlib import Path

import pytest
from cut_off import lay, tree
from season_case import BALCONY, season_files, standing

from scheduler.cli import main
from scheduler.log.model import HEADER
from scheduler.log.set_aside import next_number
from scheduler.plans.folder import read_plan, read_plan_dir
from scheduler.plans.reading import parse_plan
from scheduler.verify import verify

QUICK = ("--time-limit", "0.3", "--workers", "1")


def dryline(*words: object) -> int:
    with pytest.raises(SystemExit) as ended:
        main([str(w) for w in words])
    return int(ended.value.code or 0)


@pytest.fixture
def season(tmp_path: Path) -> Path:
    return lay(tmp_path / "season", season_files())


def planned(folder: Path, *options: object) -> int:
    return dryline("plan", BALCONY, "--out", folder, *QUICK, "--years", 0, *options)


@pytest.mark.slow
def test_a_log_that_tells_of_anything_stands_against_it(
    season: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = tree(season)
    assert planned(season) == 2
    told = capsys.readouterr().err
    assert "log.csv" in told
    assert "--replace" in told
    assert "before-1" in told
    assert tree(season) == before
    # Nothing is told by a header, blank lines and remarks: nothing is lost with the plan then.
    for empty in (f"{HEADER}\n", f"{HEADER}\r\n\r\n,,,,,,,\n# to be filled in\n", ""):
        (season / "log.csv").write_text(empty)
        assert planned(season) == 0
        assert (season / "log.csv").read_bytes() == empty.encode()
    assert not (season / "before-1").exists()


@pytest.mark.slow
def test_replaced_three_times_nothing_is_deleted(
    season: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """All files of each plan, what was made later too, lie together and open as a plan."""
    for number in (1, 2, 3):
        (season / f"picture-{number}.svg").write_text("made from it")
        with (season / "log.csv").open("a") as log:
            log.write(f"# season {number}\n2027-05-01,note,,,,,,{number}\n")
        before = {n: d for n, d in tree(season).items() if not n.startswith(("before-", "."))}
        capsys.readouterr()
        assert planned(season, "--replace", "--json") == 0
        body = json.loads(capsys.readouterr().out)
        aside = season / f"before-{number}"
        assert body["before"] == str(aside)
        assert {n: d for n, d in tree(aside).items() if n[0] != "."} == before
        assert verify(*read_plan_dir(aside)).ok
        assert (season / "log.csv").read_text() == f"{HEADER}\n"
        assert not (season / f"picture-{number}.svg").exists()
    assert len([p for p in season.iterdir() if p.name.startswith("before-")]) == 3


def test_replace_without_a_plan_is_a_plan(tmp_path: Path) -> None:
    assert planned(tmp_path / "new", "--replace") == 0
    assert not list((tmp_path / "new").glob("before-*"))


def test_many_gardens_replace_no_log_either(season: Path, tmp_path: Path) -> None:
    gardens = tmp_path / "gardens" / "a"
    shutil.copytree(BALCONY.parent, gardens)
    shutil.copytree(season, gardens / "plan")
    before = tree(gardens / "plan")
    assert dryline("plan-many", tmp_path / "gardens", "--jobs", 1, "--work", 0.01) == 1
    assert tree(gardens / "plan") == before


@pytest.mark.slow
def test_plans_are_numbered_and_dated(season: Path, tmp_path: Path) -> None:
    """1 in a new folder, one more over another plan, one more when planned again. The plan of
    `season_files` has no number, as those of earlier versions: it counts as the first."""
    today = date.today()
    assert planned(tmp_path / "new") == 0
    first = read_plan(tmp_path / "new")
    assert (first.number, first.made) == (1, today)
    assert planned(tmp_path / "new") == 0
    assert read_plan(tmp_path / "new").number == 2
    old = read_plan(season)
    assert (old.number, old.made, next_number(season)) == (0, None, 2)
    _, day = standing(season)
    out = tmp_path / "next"
    assert dryline("rebalance", season, "--on", day, "--out", out, *QUICK) == 0
    again = read_plan(out)
    assert again.number == 2
    assert today <= (again.made or today) <= today + timedelta(days=1)
    body = (out / "plan.json").read_text()
    assert parse_plan(body) == again
    raw = json.loads(body)
    for name in ("number", "made", "lifted"):
        del raw[name]
    earlier = parse_plan(json.dumps(raw))
    assert (earlier.number, earlier.made, earlier.lifted) == (0, None, None)
