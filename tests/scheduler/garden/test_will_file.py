"""What may never stand somewhere and what is fixed, as garden.yaml tells it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from standing_case import write

from scheduler.base.faults import BadInput
from scheduler.garden.file import load_garden
from scheduler.garden.kinds import tier_kinds
from scheduler.garden.model import Fixed, Never, Span

TIER = "      - {vessel: tub, light: 80 %, plants: 1}\n"
AFTER = date(2028, 1, 24)  # 120 days after the season's end on 26 September


def with_tier(folder: Path, told: str, more: str = "") -> Path:
    path = write(folder, more)
    text = path.read_text()
    assert text.count(TIER) == 1
    path.write_text(text.replace(TIER, TIER.replace("plants: 1", f"plants: 1, {told}")))
    return path


def test_a_crop_by_its_name_may_never_stand_in_a_tier(tmp_path: Path) -> None:
    garden = load_garden(with_tier(tmp_path, "never: kale"))
    whole = Never(("kale",), date(2027, 6, 7), AFTER)
    assert garden.tier("A", 2).never == (whole,)
    assert garden.tier("A", 1).never == ()
    assert garden.tier("A", 2).available == ()


def test_days_without_crops_are_taken_from_those_of_the_tier(tmp_path: Path) -> None:
    garden = load_garden(with_tier(tmp_path, "never: {from: 2027-07-01, to: 2027-07-10}"))
    before = Span(date(2027, 6, 7), date(2027, 6, 30))
    assert garden.tier("A", 2).available == (before, Span(date(2027, 7, 11), AFTER))
    told = "available: {from: 2027-06-20, to: 2027-08-01}, never: [{to: 2027-07-10}, kale]"
    garden = load_garden(with_tier(tmp_path, told))
    assert garden.tier("A", 2).available == (Span(date(2027, 7, 11), date(2027, 8, 1)),)
    assert [n.crops for n in garden.tier("A", 2).never] == [("kale",)]


def test_what_the_garden_and_a_column_say_counts_in_each_of_their_tiers(tmp_path: Path) -> None:
    path = write(tmp_path, "never:\n  - {crops: [kale], to: 2027-07-01}\n")
    text = path.read_text().replace("  - name: B\n", "  - name: B\n    never: [leaf_lettuce]\n")
    path.write_text(text)
    garden = load_garden(path)
    kale = Never(("kale",), date(2027, 6, 7), date(2027, 7, 1))
    lettuce = Never(("leaf_lettuce",), date(2027, 6, 7), AFTER)
    assert garden.tier("A", 1).never == garden.tier("A", 2).never == (kale,)
    assert garden.tier("B1", 1).never == garden.tier("B2", 1).never == (kale, lettuce)
    assert [len(k.places) for k in tier_kinds(garden)] == [1, 1, 2]


def test_the_gardens_own_list_may_name_a_column_and_its_tier(tmp_path: Path) -> None:
    told = "never:\n  - {crops: [kale], column: b1, tier: 1}\n  - {column: A, to: 2027-06-30}\n"
    garden = load_garden(write(tmp_path, told))
    assert [n.crops for n in garden.tier("B1", 1).never] == [("kale",)]
    assert garden.tier("B2", 1).never == ()
    assert garden.tier("A", 1).available == garden.tier("A", 2).available
    assert garden.tier("A", 2).available[0].start == date(2027, 7, 1)
    bad = "never:\n  - {crops: [kale], column: C}\n  - {crops: [kale], tier: 1}\n"
    with pytest.raises(BadInput) as caught:
        load_garden(write(tmp_path, bad + "  - {crops: [kale], column: A, tier: 3}\n"))
    told_of = [f.path for f in caught.value.faults]
    assert told_of == ["never[0].column", "never[1].tier", "never[2].tier"]
    with pytest.raises(BadInput) as caught:
        load_garden(with_tier(tmp_path, "never: {crops: [kale], column: A}"))
    assert [f.path for f in caught.value.faults] == ["columns[0].tiers[1].never[0].column"]


def test_a_fixed_batch_is_read_and_its_tier_a_kind_of_its_own(tmp_path: Path) -> None:
    told = "fixed:\n  - {crop: kale, column: b1, tier: 1, planted_on: 2027-07-05}\n"
    garden = load_garden(write(tmp_path, told))
    line = (tmp_path / "garden.yaml").read_text().splitlines().index("fixed:") + 2
    assert garden.fixed == (Fixed("kale", "B1", 1, date(2027, 7, 5), (), line),)
    assert [k.places for k in tier_kinds(garden)] == [
        (("A", 1), ("B2", 1)),
        (("A", 2),),
        (("B1", 1),),
    ]


def test_every_fault_at_once_with_its_line(tmp_path: Path) -> None:
    told = """never:
  - {crops: [kail]}
  - {from: 2027-08-01, to: 2027-07-31}
  - {to: 2027-06-06}
  - {crops: [kale], from: 2027-09-27}
  - {}
fixed:
  - {crop: kail, column: A, tier: 1, planted_on: 2027-07-05}
  - {crop: kale, column: C, tier: 1, planted_on: 2027-07-05}
  - {crop: kale, column: A, tier: 3, planted_on: 2027-06-06}
  - {crop: kale, column: B1, tier: 1, planted_on: 2027-07-05, picked_on: [2027-07-05, 2027-09-27]}
  - {crop: kale, column: B2, tier: 1, planted_on: 2027-07-05, picked_on: 2027-08-05}
  - {crop: kale, column: B2, tier: 1, planted_on: 2027-08-05}
"""
    path = write(tmp_path, told)
    at = path.read_text().splitlines().index("never:") + 1
    with pytest.raises(BadInput) as caught:
        load_garden(path)
    faults = {(f.line, f.path): f for f in caught.value.faults}
    assert set(faults) == {
        (at + 1, "never[0].crops[0]"),
        (at + 2, "never[1].to"),
        (at + 3, "never[2].to"),
        (at + 4, "never[3].from"),
        (at + 5, "never[4]"),
        (at + 7, "fixed[0].crop"),
        (at + 8, "fixed[1].column"),
        (at + 9, "fixed[2].tier"),
        (at + 9, "fixed[2].planted_on"),
        (at + 10, "fixed[3].picked_on[0]"),
        (at + 10, "fixed[3].picked_on[1]"),
        (at + 12, "fixed[5].planted_on"),
    }
    assert "kale (did you mean that?)" in faults[at + 1, "never[0].crops[0]"].expected
    assert f"also on line {at + 11}" in faults[at + 12, "fixed[5].planted_on"].expected


def test_a_tier_keeps_a_day_on_which_something_may_stand(tmp_path: Path) -> None:
    load_garden(with_tier(tmp_path, "never: {from: 2027-06-08}"))
    with pytest.raises(BadInput) as caught:
        load_garden(with_tier(tmp_path, "never: {from: 2027-06-07}"))
    (fault,) = caught.value.faults
    assert fault.path == "columns[0].tiers[1]"
    assert fault.expected == "a day of the season on which something may stand there"


def mixing(folder: Path, told: str) -> Path:
    path = write(folder, "")
    wish = "demand: [{group: lettuce, per_week: 500 g}]"
    assert wish in path.read_text()
    text = path.read_text().replace(wish, f"demand: [{{group: food, per_week: 500 g, {told}}}]")
    path.write_text(text)
    return path


def test_how_the_crops_of_a_wish_are_mixed(tmp_path: Path) -> None:
    told = "crops: [kale, leaf_lettuce], shares: {kale: {least: 20 %, most: 0.55}}"
    (wish,) = load_garden(mixing(tmp_path, f"{told}, same_kind_weeks: 2")).demands
    assert wish.shares == (("kale", 200, 550),)
    assert wish.same_kind_weeks == 2


@pytest.mark.parametrize(
    ("told", "where"),
    [
        ("crops: [kale], shares: {leaf_lettuce: {most: 50 %}}", ["shares.leaf_lettuce"]),
        (
            "crops: [kale, leaf_lettuce], shares: {kale: {least: 60 %, most: 50 %}}",
            ["shares.kale.most"],
        ),
        (
            "crops: [kale, leaf_lettuce], shares: {kale: {least: 60 %}, leaf_lettuce: {least: 41 %}}",
            ["shares"],
        ),
        (
            "crops: [kale, leaf_lettuce], shares: {kale: {most: 60 %}, leaf_lettuce: {most: 39 %}}",
            ["shares"],
        ),
        ("crops: [kale], same_kind_weeks: 2", ["same_kind_weeks"]),
        ("crops: [kale, leaf_lettuce], same_kind_weeks: 0", ["same_kind_weeks"]),
        ("crops: [kale, leaf_lettuce], shares: {kale: {most: 101 %}}", ["shares.kale.most"]),
    ],
)
def test_what_cannot_be_of_a_mix_is_a_fault(tmp_path: Path, told: str, where: list[str]) -> None:
    with pytest.raises(BadInput) as caught:
        load_garden(mixing(tmp_path, told))
    assert [f.path for f in caught.value.faults] == [f"demand[0].{path}" for path in where]
    assert {f.line for f in caught.value.faults} == {16}


def test_the_turnaround_lies_between_two_fixed_batches(tmp_path: Path) -> None:
    told = """fixed:
  - {crop: kale, column: B2, tier: 1, planted_on: 2027-07-05, picked_on: 2027-08-05}
  - {crop: kale, column: B2, tier: 1, planted_on: 2027-08-06}
"""
    assert len(load_garden(write(tmp_path, told)).fixed) == 2
    with pytest.raises(BadInput):
        load_garden(write(tmp_path, told + "limits: {turnaround: 2 days}\n"))
