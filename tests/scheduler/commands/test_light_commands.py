"""What every few days is typed in the shed must not wait for the solvers to be loaded."""

from __future__ import annotations

import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from cut_off import lay
from season_case import season_files, standing

from scheduler.plans.brief import TABLE_FILE
from scheduler.plans.folder import read_plan_dir

SOLVERS = {"ortools", "scipy", "pandas", "highspy", "matplotlib", "pint"}
HEAVY = SOLVERS | {"numpy", "pydantic", "yaml"}
# Run as a process of its own: in this one everything is loaded already.
_RUN = """
import sys
from scheduler.cli import main
try:
    main(sys.argv[1:])
except SystemExit as end:
    print("\\nended", end.code, "with", *sorted({n.partition(".")[0] for n in sys.modules}))
"""


def loaded(*arguments: str) -> set[str]:
    """Top names of all that a command loads; it must have gone well."""
    call = [sys.executable, "-c", _RUN, *arguments]
    done = subprocess.run(
        call, capture_output=True, text=True, check=True, cwd=Path(__file__).parents[3]
    )
    last = done.stdout.splitlines()[-1].split()
    assert last[:3] == ["ended", "0", "with"], done.stdout + done.stderr
    return set(last[3:])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("season")
    lay(place, season_files())
    (place / "log.csv").unlink()
    read_plan_dir(place, brief=True)  # leaves the table that `write_plan_dir` leaves otherwise
    return place


def test_help_loads_no_solver() -> None:
    assert not loaded("--help") & HEAVY


def line(folder: Path, what: str) -> list[str]:
    """A call that logs one event of a batch of the plan."""
    batch, growing = standing(folder)
    day = {
        "sown": batch.sow,
        "emerged": batch.sow + timedelta(days=5),
        "picked": batch.picks[0].date,
        "cleared": batch.clear,
    }.get(what, batch.transplant if what == "transplanted" else growing)
    place = ["--crop", batch.crop] if what == "sown" else [batch.column, str(batch.tier)]
    amount = {
        "level": ["6", "cm"],
        "picked": ["40", "oz"],
        "ph": ["6.1"],
        "topped": ["1", "L"],
        "emerged": ["1 of 2"],
    }.get(what, [])
    today = str(batch.clear + timedelta(days=1))
    return ["log", str(folder), str(day), what, *place, *amount, "--today", today]


def test_a_level_is_answered_without_anything_heavy(folder: Path) -> None:
    batch, growing = standing(folder)
    call = [sys.executable, "-c", _RUN, *line(folder, "level")[:-1], str(growing)]
    done = subprocess.run(call, capture_output=True, text=True, check=True)
    (folder / "log.csv").unlink()
    said = done.stdout.splitlines()
    assert said[1].startswith(f"{batch.column} {batch.tier} ")  # under the line that was written
    assert said[-1].startswith("ended 0 with")
    assert not set(said[-1].split()) & HEAVY


def test_the_day_is_told_without_anything_heavy(folder: Path) -> None:
    batch, growing = standing(folder)
    for day in (batch.sow, batch.transplant, growing, batch.picks[0].date):
        assert not loaded("today", str(folder), "--today", str(day)) & HEAVY


@pytest.mark.parametrize(
    "what",
    ["sown", "transplanted", "level", "picked", "cleared", "failed", "ph", "topped", "emerged"],
)
def test_a_line_of_the_log_loads_nothing_heavy(folder: Path, what: str) -> None:
    found = loaded(*line(folder, what))
    assert not found & HEAVY
    (folder / "log.csv").unlink()


def test_a_first_line_makes_the_table_again_and_still_loads_no_solver(folder: Path) -> None:
    """As in a plan of an earlier version, or in a copy, whose files are of another time."""
    (folder / TABLE_FILE).unlink()
    assert not loaded(*line(folder, "level")) & SOLVERS
    (folder / "log.csv").unlink()
    assert (folder / TABLE_FILE).exists()
    assert not loaded(*line(folder, "level")) & HEAVY
    (folder / "log.csv").unlink()
