"""Who helps when, as garden.yaml tells it: read, kept, and every fault at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from standing_case import write

from scheduler.base.faults import BadInput
from scheduler.garden.file import load_garden
from scheduler.garden.model import Helper

HELPERS = """helpers:
  - {name: Ann, days: [mon, wed, fri], minutes: 45 min}
  - {name: Bo, days: [wed], minutes: 1.5 h}
"""


def test_a_day_has_the_minutes_of_those_who_are_there(tmp_path: Path) -> None:
    garden = load_garden(write(tmp_path, HELPERS))
    ann = Helper("Ann", frozenset({0, 2, 4}), 45.0)
    assert garden.helpers == (ann, Helper("Bo", frozenset({2}), 90.0))
    assert [garden.limits.minutes_on(k) for k in range(7)] == [45, 0, 135, 0, 45, 0, 0]
    assert any("nobody helps on tue, thu, sat, sun" in note for note in garden.notes)


def test_without_helpers_every_day_has_the_same(tmp_path: Path) -> None:
    free = load_garden(write(tmp_path, "helpers: []\n"))
    assert free.limits.minutes_on(3) is None
    assert not free.limits.timed
    timed = load_garden(write(tmp_path, "limits: {minutes_per_day: 60 min}\n"))
    assert timed.limits.minutes_on(3) == 60.0


def test_every_fault_at_once_with_its_line(tmp_path: Path) -> None:
    text = """helpers:
  - {name: Ann, minutes: 45 min}
  - {name: ann, days: [mon], minutes: 2 days}
  - {name: ANN, days: [someday], minutes: 10 min}
limits: {minutes_per_day: 60 min}
"""
    path = write(tmp_path, text)
    lines = path.read_text().splitlines()
    at = lines.index("helpers:") + 1
    with pytest.raises(BadInput) as caught:
        load_garden(path)
    told = {(f.line, f.path) for f in caught.value.faults}
    assert told == {
        (at + 2, "helpers[1].name"),
        (at + 2, "helpers[1].minutes"),
        (at + 3, "helpers[2].name"),
        (at + 3, "helpers[2].days"),
        (at + 4, "limits.minutes_per_day"),
    }
    twice = [f for f in caught.value.faults if f.path.endswith("name")]
    assert [f.value for f in twice] == ["ann", "ANN"]
    assert all(f"also on line {at + 1}" in f.expected for f in twice)
