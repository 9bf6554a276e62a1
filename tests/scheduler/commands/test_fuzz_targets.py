"""The targets of the fuzzer hold for the files it begins with, and for what it once found."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest
import rebalance_case

from scheduler.base.faults import BadInput
from scheduler.garden.file import load_garden
from scheduler.log.model import MOST_FAULTS

FUZZ = Path(__file__).parents[2] / "bench" / "fuzz"


def _load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("fuzz_targets", FUZZ / "targets.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


targets = _load()
FOUND = {
    "log": [
        # A fault that was not told, being one too many, was taken for none.
        "date,what\n" + "x,y\n" * (MOST_FAULTS + 1) + "x,sown\n",
        "date,what,column,tier,crop\n" + "x,y,,,\n" * MOST_FAULTS + "2027-05-05,picked,B,,\n",
        "date,what,column,tier,crop\n" + "x,y,,,\n" * MOST_FAULTS + "2027-04-09,sown,B,1,b\n",
        # A line was to be added behind a quote that does not end; one with a note of two lines.
        'date,what,column,tier,crop,amount,unit,note\n# ,"\n',
        "date,what,column,tier,amount\n\n@",
    ],
    # A line of nothing but a sign that is no letter was refused without a word.
    "typed": ["today note frost in the lane\n\x16"],
    "climate": ["date,tmin,tmax\n1500-06-01,5,15\n"],
}


@pytest.mark.parametrize("name", sorted(targets.TARGETS))
def test_the_files_it_begins_with(name: str, tmp_path: Path) -> None:
    files = targets.seeds(name)
    assert len(files) >= 2
    place = targets.lay_out(tmp_path / "files")
    for data in files:
        targets.TARGETS[name](data, place)
    if name == "garden":  # sound, so that a fuzzer gets past the first checks
        (place / "garden.yaml").write_bytes(files[0])
        assert load_garden(place / "garden.yaml").columns
    if name == "log":
        log = targets.read_log(files[0], "log.csv", rebalance_case.garden())
        assert log.entries
        assert not log.faults


@pytest.mark.parametrize(("name", "text"), [(n, t) for n, texts in FOUND.items() for t in texts])
def test_what_it_once_found(name: str, text: str, tmp_path: Path) -> None:
    place = targets.lay_out(tmp_path / "files")
    for end in ("", "\x00", "@"):  # of which some have a line added
        targets.TARGETS[name]((text + end).encode(), place)


def test_a_target_tells_what_is_wrong(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader that breaks its promise is a finding, and so is one that fails."""
    place = targets.lay_out(tmp_path / "files")
    sound = targets.seeds("garden")[0]

    def refuse(*_: object) -> None:
        raise BadInput([])

    monkeypatch.setattr(targets, "load_garden", refuse)
    with pytest.raises(targets.Broken, match="without a fault"):
        targets.garden(sound, place)

    def fail(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(targets, "load_garden", fail)
    with pytest.raises(ZeroDivisionError):
        targets.garden(sound, place)
