"""What every few days is typed in the shed must not wait for the solvers to be loaded."""

from __future__ import annotations

import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from cut_off import lay
from season_case import season_files, standing

from scheduler.plans.folder import PLAN_FILE, read_plan_dir
from scheduler.plans.reading import parse_plan

HEAVY = {"ortools", "scipy", "pandas", "highspy", "matplotlib", "pint"}
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
    return place


def test_help_loads_no_solver() -> None:
    assert not loaded("--help") & (HEAVY | {"numpy", "pydantic"})


@pytest.mark.parametrize("what", ["sown", "transplanted", "level", "picked", "cleared", "ph"])
def test_a_line_of_the_log_loads_no_solver(folder: Path, what: str) -> None:
    batch, growing = standing(folder)
    day = {"sown": batch.sow, "picked": batch.picks[0].date, "cleared": batch.clear}.get(
        what, batch.transplant if what == "transplanted" else growing
    )
    place = ["--crop", batch.crop] if what == "sown" else [batch.column, str(batch.tier)]
    amount = {"level": ["6", "cm"], "picked": ["40", "oz"], "ph": ["6.1"]}.get(what, [])
    today = str(batch.clear + timedelta(days=1))
    found = loaded("log", str(folder), str(day), what, *place, *amount, "--today", today)
    assert not found & HEAVY


def test_a_folder_read_in_brief_is_the_same_but_for_levels_and_weather(folder: Path) -> None:
    garden, plan = read_plan_dir(folder)
    short, brief = read_plan_dir(folder, brief=True)
    assert "weather" not in vars(short.site)
    assert short.site.weather.equals(garden.site.weather)
    assert short.crops == garden.crops
    assert (short.columns, short.vessels, short.notes) == (
        garden.columns,
        garden.vessels,
        garden.notes,
    )
    assert all(b.levels and not a.levels for a, b in zip(brief.batches, plan.batches, strict=True))
    raw = (folder / PLAN_FILE).read_bytes()
    assert brief == parse_plan(raw, brief=True) != parse_plan(raw) == plan
