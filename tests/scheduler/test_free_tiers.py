"""The first plan beside what stands: tiers as they fall free, a tier for seedlings, their cells."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from standing_case import standing, write

from scheduler.batches.candidates import build
from scheduler.garden.file import load_garden
from scheduler.replanning.take_stock import commitments_of
from scheduler.usecases import free_tiers
from scheduler.usecases.planning_standing import bare_plan, standing_state

TWO = """seedlings:
  - {crop: leaf_lettuce, sown_on: 2027-05-26, cells: 4}
  - {crop: leaf_lettuce, sown_on: 2027-05-27, cells: 4}
"""


def made(folder: Path, more: str, cells: int = 8):
    path = write(folder, more, until="2027-08-15")
    path.write_text(path.read_text().replace("cells: 4, temp", f"cells: {cells}, temp"))
    garden = load_garden(path)
    held = commitments_of(garden, bare_plan(garden), standing_state(garden))
    return garden, held, free_tiers.seedlings_placed(garden, held)


def test_each_sowing_has_a_tier_of_its_own(tmp_path: Path) -> None:
    """Three tiers take three plants; one of them is taken by kale until July."""
    more = standing("crop: kale, column: A, tier: 1, size: 60 %") + TWO
    garden, _, placed = made(tmp_path, more)
    assert sorted(placed) == ["x002", "x003"]
    places = {(b.column, b.tier) for b in placed.values()}
    assert places == {("B1", 1), ("B2", 1)}
    for batch in placed.values():
        assert garden.first <= batch.transplant < batch.picks[0].date <= batch.clear
        assert (batch.cells, batch.plants) == (4, 3)


def test_no_room_no_place(tmp_path: Path) -> None:
    """Three tiers are taken for longer than seedlings can wait; the fourth has one hole."""
    more = "standing:\n" + "".join(
        f"  - {{crop: kale, column: {c}, tier: 1, planted_on: 2027-06-04}}\n"
        for c in ("A", "B1", "B2")
    )
    (one,) = made(tmp_path, more + TWO)[2].values()
    assert (one.column, one.tier, one.plants) == ("A", 2, 1)
    more += "  - {crop: kale, column: A, tier: 2, planted_on: 2027-06-04}\n"
    assert made(tmp_path, more + TWO)[2] == {}


def test_their_tier_is_theirs_until_it_is_cleared(tmp_path: Path) -> None:
    garden, held, placed = made(tmp_path, TWO)
    free = free_tiers._as_they_fall_free(garden, held, placed)
    assert free.season.start == garden.first == free.site.weather.index[0].date()
    for batch in placed.values():
        (span,) = free.tier(batch.column, batch.tier).available
        assert span.start == batch.clear + timedelta(days=1)  # a day of turnaround
    other = {("A", 1), ("A", 2), ("B1", 1), ("B2", 1)} - {
        (b.column, b.tier) for b in placed.values()
    }
    assert all(free.tier(*place).available == () for place in other)


@pytest.mark.parametrize(("cells", "least"), [(8, None), (9, 1), (12, 4)])
def test_cells_beside_seedlings(tmp_path: Path, cells: int, least: int | None) -> None:
    """8 cells are held: of 8 none is left, of 9 one (a lettuce for one hole), of 12 four."""
    garden, held, placed = made(tmp_path, TWO, cells)
    free = free_tiers._as_they_fall_free(garden, held, placed)
    cand, _ = build(free)
    left = free_tiers._beside_seedlings(free, tuple(placed.values()), None, cand)
    leaves = min(free.season.index(b.transplant) for b in placed.values())
    early = left.table[(left.table["sow"] < leaves) & (left.table["transplant"] >= leaves)]
    assert (cand.table["sow"] < leaves).any()
    assert (early["cells"].max() if len(early) else None) == least
