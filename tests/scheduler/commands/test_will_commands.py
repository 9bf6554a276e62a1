"""What is fixed or never wanted, as the commands tell it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from standing_case import write

from scheduler.cli import main


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str]:
    with pytest.raises(SystemExit) as ended:
        main([str(w) for w in words])
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out or err


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ("crop: kale, column: A, tier: 1, planted_on: 2027-06-08", "sow before the season starts"),
        ("crop: kale, column: A, tier: 1, planted_on: 2027-09-20", "not ready before"),
        (
            "crop: leaf_lettuce, column: A, tier: 1, planted_on: 2027-07-05, picked_on: 2027-07-06",
            "picked on 6 Jul it breaks a rule; it can be picked on",
        ),
    ],
)
def test_a_fixed_batch_that_no_rule_allows_is_a_fault_with_its_reason(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], told: str, why: str
) -> None:
    path = write(tmp_path, f"fixed:\n  - {{{told}}}\n")
    line = path.read_text().splitlines().index("fixed:") + 2
    code, said = run(capsys, "plan", path, "--years", 0, "--out", tmp_path / "out")
    assert code == 2
    assert f"garden.yaml:{line}: fixed[0]:" in said
    assert why in said
    assert not (tmp_path / "out").exists()


def test_windows_say_what_the_garden_never_wants(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = "never: [{crops: [kale], column: A, tier: 2, to: 2027-07-31}]\n"
    path = write(tmp_path, told)
    code, said = run(capsys, "windows", path)
    assert code == 0
    assert "the garden says never here 7 Jun to 31 Jul" in said


@pytest.mark.slow
def test_shortfall_tries_each_of_them_given_up(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = """never: [{crops: [kale], to: 2027-08-31}]
fixed:
  - {crop: leaf_lettuce, column: B1, tier: 1, planted_on: 2027-07-05}
"""
    path = write(tmp_path, told, until="2027-08-29")
    code, _ = run(capsys, "plan", path, "--years", 0, "--time-limit", 3, "--out", tmp_path / "out")
    assert code == 0
    code, said = run(capsys, "shortfall", tmp_path / "out", "--time-limit", 6, "--json")
    assert code == 0
    text = json.dumps(json.loads(said))
    assert "in B1 1, planted 5 Jul, not fixed" in text
    assert "every crop allowed where the garden says never" in text
