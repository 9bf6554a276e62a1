"""No fault of a garden waits until another one is mended, and none is told twice."""

from __future__ import annotations

import shutil
from itertools import permutations
from pathlib import Path

import pytest

from scheduler.base.faults import BadInput, Fault
from scheduler.garden.file import load_garden
from tests.scheduler.malformed.cases import CASES

HERE = Path(__file__).parents[1] / "malformed"
BASE = (HERE / "base.yaml").read_text()

# One of each phase of reading: shape, name, range, crops, what must fit together, other files.
TOGETHER = [
    "unknown key",
    "negative light",
    "column with two blanks",
    "numbered column that differs by a capital",
    "override with a wrong unit",
    "unknown crop",
    "title with an escape",
    "group twice",
    "wish for an unknown crop",
    "unknown family",
    "climate file missing",
    "half a day",
    "crop in two wishes",
    "nearly a weekday",
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("climate.csv", "tatsoi.yaml"):
        shutil.copy(HERE / name, tmp_path)
    return tmp_path


def faults(folder: Path, text: str) -> tuple[Fault, ...]:
    (folder / "garden.yaml").write_text(text)
    with pytest.raises(BadInput) as caught:
        load_garden(folder / "garden.yaml")
    return caught.value.faults


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (a, b)
        for a, b in permutations(TOGETHER, 2)
        if BASE.replace(*CASES[b][:2]).count(CASES[a][0]) == 1
    ],
)
def test_a_fault_is_told_beside_any_other(folder: Path, one: str, other: str) -> None:
    text = BASE.replace(*CASES[other][:2]).replace(*CASES[one][:2])
    assert CASES[one][2] in [f.path for f in faults(folder, text)]


@pytest.mark.parametrize(
    "name",
    ["unprintable name", "formula as a name", "column with two blanks", "column with an escape"],
)
def test_a_faulty_name_is_told_once(folder: Path, name: str) -> None:
    """It was told once more as a column that has neither name nor names."""
    text = BASE.replace(*CASES[name][:2])
    (fault,) = faults(folder, text)
    assert fault.path == CASES[name][2]


def test_faults_of_the_climate_table_beside_those_of_the_site(folder: Path) -> None:
    table = (folder / "climate.csv").read_text()
    (folder / "climate.csv").write_text(table.replace("7,16.0", "7,36.0"))
    text = BASE.replace("latitude: 44.1 degree", "latitude: far north")
    assert {(Path(f.file).name, f.path) for f in faults(folder, text)} == {
        ("garden.yaml", "site.latitude"),
        ("climate.csv", "tmin"),
    }


def test_a_mention_of_a_faulty_crop_is_no_fault(folder: Path) -> None:
    """Neither of one with a faulty override, nor of one whose file cannot be read."""
    for name in ("override with a wrong unit", "crop file missing"):
        text = BASE.replace(*CASES[name][:2])
        assert [f.path for f in faults(folder, text)] == [CASES[name][2]]
