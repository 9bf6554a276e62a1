"""The built wheel carries all it needs: it plans the example from another folder."""

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def run(*command, **more):
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True, **more)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.mark.slow
def test_the_wheel_plans_from_another_folder(tmp_path):
    source = tmp_path / "source"
    shutil.copytree(
        ROOT, source, ignore=shutil.ignore_patterns(".*", "build", "*.egg-info", "season")
    )
    run(sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", tmp_path / "wheel", source)
    (wheel,) = (tmp_path / "wheel").glob("dryline-*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder, pattern in (
        ("crops", "py.typed"),
        ("scheduler", "py.typed"),
        ("scheduler", "*.md"),
        ("crops/data", "*.yaml"),
        ("crops/data", "*.json"),
        ("scheduler/data", "*"),
        ("scheduler/outputs/templates", "*"),
        ("scheduler/words/locale", "**/*.mo"),
        ("scheduler/page/templates", "*"),
    ):
        wanted = {str(p.relative_to(ROOT)) for p in (ROOT / folder).glob(pattern) if p.is_file()}
        assert wanted, folder
        assert wanted <= names
    assert not any(name.startswith("tests/") for name in names)

    # Neither a pip of its own nor byte code of ten thousand files that nobody imports.
    run(sys.executable, "-m", "venv", "--without-pip", tmp_path / "empty")
    python = tmp_path / "empty" / "bin" / "python"
    run(sys.executable, "-m", "pip", "--python", python, "install", "-q", "--no-compile", wheel)
    garden = tmp_path / "elsewhere"
    shutil.copytree(ROOT / "examples" / "courtyard", garden)
    command = tmp_path / "empty" / "bin" / "dryline"
    said = run(command, "plan", "garden.yaml", "--out", "season", "--time-limit", "2", cwd=garden)
    assert "of the wish" in said
    assert "Every rule holds." in run(command, "verify", "season", cwd=garden)
    assert "pak_choi" in run(command, "crops", cwd=garden)
    door = "from scheduler import load; s = load('season'); assert s.verify().ok; print(s)"
    assert "of the wish" in run(python, "-c", door, cwd=garden)
    assert (garden / "season" / "calendar.txt").stat().st_size > 1000
    run(command, "start", "mine", cwd=garden)
    run(
        python,
        "-m",
        "scheduler",
        "plan",
        "mine/garden.yaml",
        "--out",
        "mine/season",
        "--time-limit",
        "1",
        cwd=garden,
    )
