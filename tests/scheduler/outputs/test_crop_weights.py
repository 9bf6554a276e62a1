"""`dryline crops NAME` tells what a number weighs on the plan of the example garden."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from crops.catalogue import catalogue, crop_text
from crops.crop_keys import KEYS
from scheduler.cli import main
from scheduler.outputs import crop_weights
from scheduler.outputs.crop_sheet import sheet

TABLE = """\
# garden courtyard commit abc1234 date 2027-01-02 bound 70.8 written by tests/bench/weights.py
crop,key,value,change,down,up
kale,days_to_harvest,{days:g},20%,2.7,-8.1
kale,t_opt,{opt:g},1 degC,,0.0
"""


@pytest.fixture
def table(tmp_path: Path, monkeypatch):
    """Write another table of weights, of kale's numbers as they are."""
    kale = catalogue()["kale"]

    def write(days: float = kale.days_to_harvest) -> None:
        path = tmp_path / "crop_weights.csv"
        path.write_text(TABLE.format(days=days, opt=kale.t_opt))
        monkeypatch.setattr(crop_weights, "FILE", path)
        crop_weights.weights.cache_clear()

    yield write
    crop_weights.weights.cache_clear()


def run(capsys, *arguments: str) -> str:
    with pytest.raises(SystemExit) as ended:
        main(["crops", *arguments])
    assert not ended.value.code
    return capsys.readouterr().out


def test_points_stand_below_the_number(table, capsys):
    table()
    lines = run(capsys, "kale").splitlines()
    assert max(map(len, lines)) <= 80
    at = next(i for i, line in enumerate(lines) if line.startswith("  days_to_harvest"))
    assert lines[at + 1].strip() == (
        "20 % less moves the courtyard by +2.7 points, 20 % more by -8.1 points"
    )
    assert "      1 °C more moves the courtyard by 0 points" in lines  # a side that cannot be
    how = " ".join(" ".join(lines).split())
    assert "the courtyard, an invented garden" in how
    assert "Measured 2027-01-02, program abc1234" in how
    assert "1.8 °F more" in run(capsys, "kale", "--units", "us")


def test_json_has_them(table, capsys):
    table()
    numbers = json.loads(run(capsys, "kale", "--json"))["numbers"]
    assert numbers["days_to_harvest"]["weight"] == {
        "change": "20%", "down": 2.7, "up": -8.1,
        "garden": "courtyard", "commit": "abc1234", "date": "2027-01-02",
    }  # fmt: skip
    assert numbers["hold"]["weight"] is None


def test_a_number_that_has_changed_has_none(table):
    table(days=catalogue()["kale"].days_to_harvest + 1)
    text = sheet(catalogue()["kale"])
    assert "20 % less" not in text
    assert "1 °C more" in text


def test_a_crop_without_any_says_nothing_of_points(table, capsys, tmp_path):
    table()
    own = tmp_path / "own.yaml"
    own.write_text(crop_text(catalogue()["kale"]).replace("name: kale", "name: own_kale", 1))
    for name in ("dill", str(own)):
        assert "oints" not in run(capsys, name)


def test_the_table_kept_is_of_crops_and_keys_that_exist():
    crop_weights.weights.cache_clear()
    found = crop_weights.weights()
    assert found.garden == "courtyard"
    assert len(found.of) >= 40
    for (crop, key), weight in found.of.items():
        assert crop in catalogue()
        assert key in KEYS
        sides = [p for p in (weight.down, weight.up) if p is not None]
        assert sides
        assert all(-100 <= p <= 100 for p in sides)
    # it is kept up: most numbers are what they were when it was measured
    same = [
        crop_weights.of(crop, key, getattr(catalogue()[crop], key)) is not None
        for crop, key in found.of
    ]
    assert sum(same) >= 0.5 * len(same)
