"""A garden takes a kind of a crop: ``crops: {overrides: {pak_choi: {kind: dwarf}}}``."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from crops.catalogue import catalogue, with_overrides
from scheduler.cli import main
from scheduler.garden.file import load_garden

COURTYARD = Path(__file__).parents[3] / "examples" / "courtyard"
BEFORE = "spinach: {slow_to_bolt: true}"


@pytest.fixture
def garden(tmp_path: Path):
    """Write the example garden with other overrides; gives its path."""
    shutil.copytree(COURTYARD, tmp_path / "g")
    path = tmp_path / "g" / "garden.yaml"
    text = path.read_text("utf-8")
    assert text.count(BEFORE) == 1

    def write(overrides: str) -> Path:
        path.write_text(text.replace(BEFORE, overrides), "utf-8")
        return path

    return write


def test_a_kind_is_what_its_numbers_are(garden) -> None:
    before = load_garden(garden(BEFORE))
    slow = load_garden(garden("spinach: {kind: slow}"))
    assert slow.crops["spinach"].kind == "slow"
    assert slow.crops == before.crops


def test_what_was_learned_counts_for_more_than_a_book(garden) -> None:
    """`review` wrote 100 g of the pak choi that was grown; the kind's 82 g are a trial's."""
    path = garden("pak_choi: {kind: dwarf}\n  learned: learned.yaml")
    (path.parent / "learned.yaml").write_text("pak_choi: {fresh_mass: 100 g}\n")
    crop = load_garden(path).crops["pak_choi"]
    assert (crop.fresh_mass, crop.peak_demand) == (100, 120)
    # but a number of the grower's own for more than both
    path = garden("pak_choi: {kind: dwarf, fresh_mass: 90 g}\n  learned: learned.yaml")
    assert load_garden(path).crops["pak_choi"].fresh_mass == 90


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("spinach: {kind: slo}", "slow (did you mean that?)"),
        ("kale: {kind: baby}", "no kind: kale has none"),
        ("pak_choi: {kind: [dwarf]}", "a kind of pak_choi: slow, dwarf"),
    ],
)
def test_a_kind_that_is_not_there_is_told_with_its_line(garden, capsys, written, expected) -> None:
    path = garden(written)
    line = path.read_text("utf-8").splitlines().index(f"    {written}   # other kinds bolt here "
        "from April to the end of August") + 1  # fmt: skip
    with pytest.raises(SystemExit) as ended:
        main(["windows", str(path)])
    assert ended.value.code == 2
    told = " ".join(capsys.readouterr().err.split())
    assert expected in told
    assert f"garden.yaml:{line}" in told
    assert "kind" in told


def test_crops_tells_the_kinds(capsys) -> None:
    with pytest.raises(SystemExit):
        main(["crops", "pak_choi"])
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert "KIND dwarf" in out
    assert "{overrides: {pak_choi: {kind: dwarf}}}" in " ".join(out.split())
    with pytest.raises(SystemExit):
        main(["crops", "pak_choi", "--units", "us", "--json"])
    kinds = json.loads(capsys.readouterr().out)["kinds"]
    assert kinds["dwarf"]["fresh_mass"]["value"] == pytest.approx(82 / 28.3495, abs=1e-3)
    assert kinds["slow"]["slow_to_bolt"]["value"] is True
    assert with_overrides(catalogue()["pak_choi"], {"kind": "slow"}).slow_to_bolt
