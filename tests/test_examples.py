"""The notebook-like example runs from its first cell to its last, wherever it is started."""

from __future__ import annotations

import os
import runpy
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLE = Path(__file__).parents[1] / "examples" / "balcony" / "notebook.py"


@pytest.mark.slow
def test_every_cell_of_the_notebook_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    here = tmp_path / "balcony"
    shutil.copytree(EXAMPLE.parent, here)
    quick = here / EXAMPLE.name
    text = quick.read_text()
    assert text.count("SECONDS = 3 ") == 1
    quick.write_text(
        text.replace("SECONDS = 3 ", "SECONDS = 1 ")
    )  # each search; nothing is left out
    monkeypatch.chdir(tmp_path)
    made = runpy.run_path(str(quick))
    said = capsys.readouterr().out
    assert "A usual year brings" in said
    assert "cracked" in said or "failed" in said
    assert (tmp_path / "season" / "plan.json").is_file()
    assert {b.state for b in made["later"].plan.batches} > {"failed"}


@pytest.mark.deep
def test_run_as_a_script_it_begins_once(tmp_path: Path) -> None:
    """What holds a plan back is asked in processes of their own, which leave the script alone."""
    script = tmp_path / "mine.py"
    garden = EXAMPLE.parent / "garden.yaml"
    script.write_text(
        "print('[once]', flush=True)\n"
        "from scheduler import explain, plan\n"
        f"season = plan({str(garden)!r}, time_limit=1, years=3)\n"
        "print(explain(season, time_limit=2, workers=2))\n"
    )
    there = str(EXAMPLE.parents[2])
    done = subprocess.run(
        [sys.executable, str(script)],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": there},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("[once]") == 1
    assert "what holds the plan back" in done.stdout
