"""`dryline start` on a terminal: it asks, asks again what cannot be read, writes, plans."""

from __future__ import annotations

import json
import os
import pty
import re
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

from scheduler.cli import main
from scheduler.garden.file import load_garden

ASKS = re.compile(r"\[[^\[\]]*\]: $")
ROOT = Path(__file__).parents[3]


def talk(folder: Path, answers: list[str], *more: str) -> tuple[int, str, int]:
    """Type an answer at each prompt, then returns; exit code, what was seen, prompts."""
    main_end, other = pty.openpty()
    env = {**os.environ, "TERM": "dumb", "COLUMNS": "80", "PYTHONPATH": str(ROOT)}
    run = subprocess.Popen(
        [sys.executable, "-m", "scheduler", "start", str(folder), *more],
        stdin=other,
        stdout=other,
        stderr=other,
        env=env,
        close_fds=True,
    )
    os.close(other)
    seen, mark, prompts, left = "", 0, 0, list(answers)
    end = time.monotonic() + 120
    while time.monotonic() < end:
        if select.select([main_end], [], [], 0.2)[0]:
            try:
                data = os.read(main_end, 65536).decode(errors="replace")
            except OSError:
                break
            if not data:
                break
            seen += data
        if ASKS.search(seen[mark:]):
            mark, prompts = len(seen), prompts + 1
            os.write(main_end, ((left.pop(0) if left else "") + "\n").encode())
    code = run.wait(timeout=60)
    os.close(main_end)
    return code, seen.replace("\r", ""), prompts


@pytest.mark.slow
def test_returns_alone_give_a_garden(tmp_path: Path) -> None:
    code, seen, prompts = talk(tmp_path / "g", [], "--no-plan")
    assert code == 0, seen
    assert prompts <= 14
    garden = load_garden(tmp_path / "g" / "garden.yaml")
    assert "INVENTED WEATHER" in seen
    assert garden.invented
    assert all(len(line) < 80 for line in seen.splitlines() if str(tmp_path) not in line)


@pytest.mark.slow
def test_a_wrong_answer_is_asked_again_and_none_ends_the_run(tmp_path: Path) -> None:
    wrong = ["imperial", "us", "the moon", "45 N", "no.epw", "cold", "3", "1 x 2 x 2", "9", "1"]
    wrong += ["roof", "wall", "A 9 kale 40 %", "none", "soon", "", "never", "all", "August", "none"]
    wrong += ["3 hens", "3 heads", "meat", "lettuce"]
    code, seen, prompts = talk(tmp_path / "g", wrong, "--no-plan")
    assert code == 0, seen
    assert prompts == 24  # twelve questions, each asked twice
    assert seen.count("expected ") == 12
    garden = load_garden(tmp_path / "g" / "garden.yaml")
    assert garden.units == "us"
    assert [len(c.tiers) for c in garden.columns] == [2]


@pytest.mark.slow
def test_in_mid_season_with_plants_in_place(tmp_path: Path) -> None:
    """A balcony in US units; the plan says what becomes of both, its sheets what is invented."""
    answers = ["40 N, 5280 ft", "", "1 x 3 x 3", "1", "balcony"]
    answers += ["A 1 lettuce 2027-05-28 level 5 in; A 2 pak choi 40 %"]
    more = ("--units", "us", "--today", "2027-06-20", "--time-limit", "3", "--workers", "1")
    code, seen, prompts = talk(tmp_path / "g", answers, *more)
    assert code == 0, seen
    assert prompts == 11
    assert "What stands today:" in seen
    assert "usual year brings" in seen
    sheet = (tmp_path / "g" / "season" / "calendar.txt").read_text()
    assert "(invented weather)" in sheet.splitlines()[0]


def run(*arguments: object) -> int:
    with pytest.raises(SystemExit) as end:
        main([str(a) for a in arguments])
    return int(end.value.code or 0)


def test_every_answer_is_an_option(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = ["--place", "52 N", "--climate", "cold", "--stack", "1 x 2 x 3", "--vessel", "2"]
    told += ["--stand", "wall", "--grows", "A 2 kale 40 %", "--season", "2027-06-20 to 2027-10-01"]
    told += ["--work-days", "mon, thu", "--away", "2027-07-10 to 2027-08-20", "--wish", "4 heads"]
    told += ["--groups", "lettuce", "--units", "metric", "--today", "2027-06-20"]
    assert run("start", tmp_path, *told, "--no-plan", "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert body["asked"]["questions"] == 0
    garden = load_garden(tmp_path / "garden.yaml")
    assert garden.standing[0].crop == "kale"
    assert garden.season.work_days == {0, 3}
    # Nothing is written over.
    assert run("start", tmp_path, *told, "--no-plan") == 2


@pytest.mark.parametrize(("tiers", "told"), [(4, False), (5, True)])
def test_a_tall_stack_is_told_to_be_tied(
    tmp_path: Path, tiers: int, told: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    """Pails 32 cm deep on a foot of 30 cm: four stand 1.58 m tall, five 1.90 m; told above 1.6."""
    stack = ("--stack", f"1 x {tiers} x 3", "--units", "metric")
    assert run("start", tmp_path / "g", *stack, "--no-plan", "--json") == 0
    remarks = json.loads(capsys.readouterr().out)["remarks"]
    assert any("tie it" in r for r in remarks) == told


def test_all_wrong_options_are_told_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "g"
    assert run("start", folder, "--place", "x y", "--stack", "3", "--today", "2027-06-20") == 2
    told = capsys.readouterr().err
    assert "--place: x y" in told
    assert "--stack: 3" in told
    assert not folder.exists()
    assert run("start", folder, "--place", "45 N", "--today", "soon") == 2
    assert "--today: soon" in capsys.readouterr().err


def test_a_station_file_is_taken_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Days of more than a year: monthly means, and past.csv; nothing is invented then."""
    days, rows = tmp_path / "days.csv", ["date,tmin,tmax"]
    for year in (2024, 2025):
        for month in range(1, 13):
            rows += [f"{year}-{month:02}-{d:02},{month},{month + 10}" for d in range(1, 29)]
            last = {1: 31, 3: 31, 5: 31, 7: 31, 8: 31, 10: 31, 12: 31, 2: 28 + (year == 2024)}
            top = last.get(month, 30)
            rows += [f"{year}-{month:02}-{d:02},{month},{month + 10}" for d in range(29, top + 1)]
    days.write_text("\n".join(rows) + "\n")
    folder = tmp_path / "g"
    assert run("start", folder, "--climate", days, "--no-plan", "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert not body["invented_weather"]
    garden = load_garden(folder / "garden.yaml")
    assert not garden.invented
    assert "invented" not in garden.name
    assert garden.site.past is not None


def test_in_german(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The words of `start` are the reader's; what is typed stays as it is."""
    told = ("--language", "de", "--units", "metric", "--climate", "warm", "--no-plan")
    assert run("start", tmp_path / "hof", *told) == 0
    said = capsys.readouterr().out
    assert "geschrieben:" in said
    assert "ERFUNDENES WETTER (heiße Sommer, kein Frost)" in said
    assert "INVENTED" not in said
    assert run("start", tmp_path / "hof2", "--language", "de", "--place", "99 N", "--no-plan") == 2
    assert "eine Breite von 66 S bis 66 N" in capsys.readouterr().err
