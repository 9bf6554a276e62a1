"""A command that takes its time says so on a terminal, and leaves nothing of it behind."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from scheduler.commands import waiting

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
