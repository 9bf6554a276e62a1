"""What is settled on the page, written into garden.yaml: the rest of the text stays."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from standing_case import write

from scheduler.garden.file import load_garden
from scheduler.garden.model import Fixed, Span
from scheduler.garden.will_text import with_closed, with_fixed, without_fixed

ONE = Fixed("kale", "A", 1, date(2027, 7, 5))
TWO = Fixed("leaf_lettuce", "B2", 1, date(2027, 7, 12))


def again(path: Path, raw: bytes) -> tuple[Fixed, ...]:
    path.write_bytes(raw)
    return load_garden(path).fixed


def test_batches_are_fixed_one_by_one_and_let_go(tmp_path: Path) -> None:
    path = write(tmp_path, "# a remark at the end\n")
    before = path.read_bytes()
    (one,) = again(path, with_fixed(before, ONE))
    assert replace(one, line=0) == ONE
    both = again(path, with_fixed(path.read_bytes(), TWO))
    assert [replace(f, line=0) for f in both] == [ONE, TWO]
    assert path.read_text().startswith(before.decode())
    (left,) = again(path, without_fixed(path.read_bytes(), both[0]))
    assert replace(left, line=0) == TWO
    assert again(path, without_fixed(path.read_bytes(), left)) == ()
    assert path.read_bytes() == before


def test_a_list_that_is_written_otherwise_is_read_the_same(tmp_path: Path) -> None:
    told = "fixed: [{crop: kale, column: A, tier: 1, planted_on: 2027-07-05}]\n"
    path = write(tmp_path, told)
    both = again(path, with_fixed(path.read_bytes(), TWO))
    assert [replace(f, line=0) for f in both] == [ONE, TWO]


def test_days_without_anything_in_a_tier(tmp_path: Path) -> None:
    path = write(tmp_path, "never: kale\n")
    path.write_bytes(
        with_closed(path.read_bytes(), "B1", 1, Span(date(2027, 6, 7), date(2027, 6, 30)))
    )
    garden = load_garden(path)
    assert garden.tier("B1", 1).available[0].start == date(2027, 7, 1)
    assert garden.tier("B2", 1).available == ()
    assert [n.crops for n in garden.tier("B2", 1).never] == [("kale",)]
