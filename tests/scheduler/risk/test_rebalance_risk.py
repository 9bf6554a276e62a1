"""A plan within a risk stays within it when it is rebalanced, unless the grower says otherwise."""

from __future__ import annotations

import json
import shutil
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from solver_case import EXAMPLES
from test_risk_command import replayed, run

from scheduler.log.model import HEADER, read_log_file
from scheduler.log.state import state_on
from scheduler.plans.folder import PAST_FILE, read_plan, read_plan_dir
from scheduler.plans.model import PLANNED, RiskTaken
from scheduler.replanning.take_stock import commitments_of
from scheduler.risk.limit import RiskLimit

COURTYARD = EXAMPLES / "courtyard" / "garden.yaml"
MOST = 0.02


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A courtyard planned within a risk of 2 %; the batch picked last among the first has failed."""
    from scheduler.cli import main

    folder = tmp_path_factory.mktemp("season") / "plan"
    with pytest.raises(SystemExit) as ended:
        main(
            [
                "plan",
                str(COURTYARD),
                "--out",
                str(folder),
                "--time-limit",
                "4",
                "--years",
                "0",
                "--workers",
                "1",
                "--seed",
                "3",
                "--risk",
                "2%",
                "--json",
            ]
        )
    assert not ended.value.code
    return folder


def failed(season: Path, tmp_path: Path) -> tuple[Path, Any, Path]:
    """A log in which a batch fails half way; the day; where to write."""
    batch = read_plan(season).batches[10]
    day = batch.transplant + (batch.picks[0].date - batch.transplant) / 2
    tmp_path.mkdir(exist_ok=True)
    log = tmp_path / "log.csv"
    log.write_text(f"{HEADER}\n{day},failed,{batch.column},{batch.tier},,,,leak\n")
    return log, day, tmp_path / "next"


def again(season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], *more: str) -> Path:
    log, day, target = failed(season, tmp_path)
    code, _, err = run(
        capsys,
        "rebalance",
        season,
        "--log",
        log,
        "--on",
        day,
        "--out",
        target,
        "--time-limit",
        "3",
        "--json",
        *more,
    )
    assert code == 0, err
    return target


def chances(folder: Path, capsys: pytest.CaptureFixture[str], *more: object) -> dict[str, float]:
    """Chance of each batch that is not planted yet, in the weather years of the plan."""
    plan = read_plan(folder)
    ahead = {b.id for b in plan.batches if b.state == PLANNED and b.transplant > plan.as_of}
    body = replayed(capsys, folder, "--seed", 3, *more)
    return {b["id"]: b["dry"] for b in body["batches"] if b["id"] in ahead}


@pytest.mark.deep
def test_it_is_kept(season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert read_plan(season).risk == RiskTaken(MOST, 3, 1000)
    target = again(season, tmp_path, capsys)
    assert read_plan(target).risk == RiskTaken(MOST, 3, 1000)
    told = json.loads((target / "changes.json").read_text())["risk"]
    assert told["most"] == MOST
    assert 0 < told["kept"] < told["possible"]
    found = chances(target, capsys)
    assert len(found) > 10
    assert max(found.values()) <= MOST


@pytest.mark.deep
def test_less_is_asked_for(
    season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was planned and exceeds the new limit is dropped, and the reason says so."""
    before = chances(again(season, tmp_path / "a", capsys), capsys)
    # Chances are told in thousandths: what is planned may run dry in one year of them, or in more.
    assert max(before.values()) >= 0.001
    target = again(season, tmp_path / "b", capsys, "--risk", "0.05%")
    assert max(chances(target, capsys).values()) <= 0.0005
    assert read_plan(target).risk == RiskTaken(0.0005, 3, 1000)
    assert "of weather years, at most 0.1%" in (target / "changes.txt").read_text()


@pytest.mark.deep
def test_no_limit_is_asked_for(
    season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = again(season, tmp_path, capsys, "--risk", "100%")
    assert read_plan(target).risk is None
    assert "risk" not in json.loads((target / "changes.json").read_text())


@pytest.mark.deep
def test_the_past_goes_with_the_folder(
    season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A plan whose weather years come from a table takes the table along, and asks for it."""
    folder = tmp_path / "plan"
    shutil.copytree(season, folder)
    text = (folder / "plan.json").read_text()
    (folder / "plan.json").write_text(text.replace('"past": false', '"past": true'))
    log, day, target = failed(season, tmp_path)
    order = ("rebalance", folder, "--log", log, "--on", day, "--out", target, "--time-limit", "2")
    code, _, err = run(capsys, *order)
    assert code == 2
    assert PAST_FILE in err
    start = read_plan(season).start.replace(year=2020)
    rows = [
        f"{start + timedelta(days=i)},{14 + i % 7},{24 + i % 9},{16 + i % 5}" for i in range(800)
    ]
    (folder / PAST_FILE).write_text("\n".join(["date,tmin,tmax,rs", *rows]) + "\n")
    code, _, err = run(capsys, *order)
    assert code == 0, err
    assert (target / PAST_FILE).read_bytes() == (folder / PAST_FILE).read_bytes()
    assert read_plan(target).risk == RiskTaken(MOST, 3, 1000, past=True)


@pytest.mark.deep
def test_nothing_new_is_offered_beyond_it(season: Path, tmp_path: Path) -> None:
    garden, plan = read_plan_dir(season)
    log, day, _ = failed(season, tmp_path)
    state = state_on(garden, plan, read_log_file(log, garden), day)
    limit = RiskLimit(garden, MOST, 3, None, season / "garden.yaml")
    free, within = (
        commitments_of(garden, plan, state),
        commitments_of(garden, plan, state, risk=limit),
    )
    assert 0 < within.free < free.free
    assert limit.chances(within.cand, range(within.free)).max() <= MOST
    assert limit.chances(free.cand, range(free.free)).max() > MOST
