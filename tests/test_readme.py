"""README's two commands are the ones that CI runs, and the commands it names exist."""

import os
import re
import subprocess
from pathlib import Path

import pytest

from scheduler import cli

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
CI = ROOT / ".ci" / "run"


def after(mark):
    """The first indented line behind the words ``mark``."""
    lines = README.splitlines()
    start = next(i for i, text in enumerate(lines) if text.startswith(mark))
    return next(text.strip() for text in lines[start:] if text.startswith("    "))


def test_ci_takes_its_commands_from_readme():
    # The same awk line as in CI, run on README: what it finds is what a reader copies.
    script = CI.read_text(encoding="utf-8")
    line = next(text for text in script.splitlines() if text.startswith("line()"))
    for mark in ("Plan the example garden", "Run the tests"):
        got = subprocess.run(
            ["bash", "-c", f"{line}\nline '^{mark}'"],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        assert got == after(mark)
        assert got.startswith("python3 -m venv .venv && ")
        assert f"$(line '^{mark}')" in script
    assert 'bash -euo pipefail -c "$plan"' in script
    assert 'bash -euo pipefail -c "$tests"' in script
    assert os.access(CI, os.X_OK)


def test_the_first_paragraph_states_the_job():
    first = README.split("\n\n")[1]
    for word in ("season", "columns", "which crop", "which tier", "dry", "nursery", "calendar"):
        assert word in first


def test_every_command_named_in_readme_exists():
    named = set(re.findall(r"`dryline ([a-z-]+)", README))
    assert named
    assert named <= set(cli.COMMANDS)


@pytest.mark.parametrize("name", sorted(cli.COMMANDS))
def test_every_command_answers_help(name, capsys):
    with pytest.raises(SystemExit) as ended:
        cli.main([name, "--help"])
    assert ended.value.code == 0
    shown = capsys.readouterr().out
    assert "Usage: dryline" in shown
    assert max(len(line) for line in shown.splitlines()) <= 80
