"""A command that takes its time says so on a terminal, and leaves nothing of it behind."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner
from solver_case import EXAMPLES

from scheduler.cli import cli
from scheduler.commands import waiting
from scheduler.log.model import HEADER

SLOW = """
import time
from scheduler.commands import waiting
waiting.PATIENCE = 0.2
with waiting.waiting("checking every rule"):
    time.sleep({seconds})
print("done")
"""


def on_a_terminal(seconds: float) -> tuple[str, str]:
    """(what the terminal got on the error output, the output) of a block that takes so long."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    ran = subprocess.run(
        [sys.executable, "-c", SLOW.format(seconds=seconds)],
        stderr=theirs,
        stdout=subprocess.PIPE,
        text=True,
        timeout=60,
        check=True,
        cwd=Path(__file__).parents[3],
    )
    os.close(theirs)
    os.set_blocking(ours, False)
    try:
        said = os.read(ours, 100_000).decode()
    except (BlockingIOError, OSError):
        said = ""
    os.close(ours)
    return said, ran.stdout


def test_a_long_wait_is_told_and_wiped() -> None:
    said, out = on_a_terminal(0.8)
    assert "checking every rule: " in said
    assert said.endswith("\r\x1b[K")
    assert out == "done\n"


def test_a_short_one_is_not() -> None:
    assert on_a_terminal(0.0) == ("", "done\n")


def test_where_nobody_looks_nothing_is_written(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(waiting, "PATIENCE", 0.0)
    with waiting.waiting("checking"):
        pass
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize("name", ["windows", "shopping", "review"])
def test_the_slow_part_of_a_command_is_waited_for(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The block around the work was entered: what is said in it, the tests above tell."""
    said: list[str] = []

    @contextmanager
    def noted(what: str) -> Iterator[None]:
        said.append(what)
        yield

    monkeypatch.setattr(f"scheduler.commands.{name}.waiting", noted)
    garden = EXAMPLES / "balcony" / "garden.yaml"
    (tmp_path / "log.csv").write_text(f"{HEADER}\n")
    files = {"windows": [garden], "shopping": [tmp_path / "plan"]}
    args = files.get(name, [tmp_path / "log.csv", "--garden", garden, "--dry-run"])
    if name == "shopping":
        pytest.importorskip("flask")
        from page_case import planned

        planned(tmp_path / "plan")
    ran = CliRunner().invoke(cli, [name, *map(str, args)])
    assert ran.exit_code == 0, ran.output
    assert len(said) == 1
