"""Kinds of a crop: the few numbers in which groups of cultivars differ, each with its source."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
import yaml

from crops.catalogue import (
    CropFaults,
    catalogue,
    crop_text,
    from_mapping,
    load_crop,
    with_overrides,
)

PAK = catalogue()["pak_choi"]
KALE = catalogue()["kale"]


def with_kinds(kinds: Any) -> dict[str, Any]:
    """Kale as data of a crop file, with these kinds."""
    return {**yaml.safe_load(crop_text(KALE)), "kinds": kinds}


SMALL = {"small": {"fresh_mass": {"value": "60 g", "source": "a trial, 2020"}}}


def test_a_kind_differs_in_its_numbers_alone():
    dwarf = with_overrides(PAK, {"kind": "dwarf"})
    # Gobilik et al., abstract: 82.1 g a plant of curly dwarf pak choi
    assert (dwarf.fresh_mass, dwarf.kind) == (82, "dwarf")
    assert "Gobilik" in dwarf.parameters["fresh_mass"].source
    assert replace(dwarf, fresh_mass=PAK.fresh_mass, peak_demand=PAK.peak_demand) == PAK
    # it drinks as much for each gram as the crop does
    assert dwarf.peak_demand / 82 == pytest.approx(PAK.peak_demand / PAK.fresh_mass, rel=0.01)
    assert catalogue()["pak_choi"].kind == ""


@pytest.mark.parametrize("name", ["pak_choi", "spinach"])
def test_the_slow_kind_is_the_slow_to_bolt_of_before(name):
    crop = catalogue()[name]
    slow = with_overrides(crop, {"kind": "slow"})
    assert slow == with_overrides(crop, {"slow_to_bolt": True})
    assert slow.bolts_after == crop.bolt_days_slow > crop.bolts_after


@pytest.mark.parametrize("name", ["leaf_lettuce", "butterhead", "romaine"])
def test_heat_tolerant_lettuce_stands_longer_in_heat(name):
    """Delaware trial: 5 June to 17 July without bolting; see `rows_crops`."""
    crop = catalogue()[name]
    tolerant = with_overrides(crop, {"kind": "heat_tolerant"})
    assert tolerant.bolts_after == 35 > crop.bolts_after
    assert replace(tolerant, bolt_days=crop.bolt_days) == crop
    # what `windows` tells of where it bolts: the slowest kind there is
    assert crop.bolts_latest == tolerant.bolts_latest == 35
    assert KALE.bolts_latest == KALE.bolts_after


def test_own_numbers_come_before_those_of_a_kind():
    crop = with_overrides(PAK, {"kind": "dwarf", "fresh_mass": "90 g"})
    assert (crop.fresh_mass, crop.peak_demand) == (90, 120)
    assert crop.parameters["fresh_mass"].source == "the grower"


def test_a_kind_taken_twice_is_the_same():
    once = with_overrides(PAK, {"kind": "dwarf"})
    again = load_crop(crop_text(once))
    assert again == once
    assert with_overrides(again, {"kind": "dwarf"}) == once


def test_kinds_stay_in_the_text_of_a_crop():
    again = load_crop(crop_text(PAK))
    assert again.kinds.keys() == {"slow", "dwarf"}
    assert again.kinds["dwarf"].values == PAK.kinds["dwarf"].values
    assert (
        again.kinds["dwarf"].written["fresh_mass"].source
        == PAK.kinds["dwarf"].written["fresh_mass"].source
    )


@pytest.mark.parametrize(
    ("crop", "asked", "expected"),
    [
        (PAK, "dwarff", "dwarf (did you mean that?)"),
        (PAK, "tall", "a kind of pak_choi: slow, dwarf"),
        (PAK, 3, "a kind of pak_choi"),
        (PAK, ["dwarf"], "a kind of pak_choi"),
        (KALE, "dwarf", "no kind: kale has none"),
    ],
)
def test_a_kind_that_is_not_there(crop, asked, expected):
    with pytest.raises(CropFaults) as caught:
        with_overrides(crop, {"kind": asked, "fresh_mass": "90 s"})
    assert {f.path for f in caught.value.faults} == {"kind", "fresh_mass"}  # all at once
    assert expected in next(f.expected for f in caught.value.faults if f.path == "kind")


def test_a_crop_file_may_hold_kinds():
    crop = from_mapping(with_kinds(SMALL))
    assert with_overrides(crop, {"kind": "small"}).fresh_mass == 60


@pytest.mark.parametrize(
    ("kinds", "paths"),
    [
        (None, {"kinds"}),
        ([], {"kinds"}),
        ({"Small": {}}, {"kinds.Small"}),
        ({"small": None}, {"kinds.small"}),
        ({"small": {}}, {"kinds.small"}),
        ({"small": {"fresh_mas": {"value": "60 g", "source": "2020"}}}, {"kinds.small.fresh_mas"}),
        ({"small": {"fresh_mass": "60 g"}}, {"kinds.small.fresh_mass"}),  # no source
        ({"small": {"title": "small kale"}}, {"kinds.small.title"}),
        ({"small": {"harvest": {"hold": "3 day"}}}, {"kinds.small.harvest"}),
        (
            {
                "small": {"fresh_mass": {"value": "60", "source": "a trial, 2020"}},
                "baby": {"dli_min": {"value": "20 mol/m^2/day", "source": "a trial, 2020"}},
            },
            {"kinds.small.fresh_mass.value", "kinds.baby.dli_min"},
        ),
    ],
)
def test_faults_of_kinds_are_told_with_their_paths(kinds, paths):
    with pytest.raises(CropFaults) as caught:
        from_mapping(with_kinds(kinds))
    assert {f.path for f in caught.value.faults} >= paths
    assert all(f.path.startswith("kinds") for f in caught.value.faults)


def test_a_faulty_kind_is_told_with_its_line():
    text = crop_text(KALE) + "kinds:\n  small:\n    fresh_mass: {value: 60, source: a trial 2020}\n"
    with pytest.raises(CropFaults) as caught:
        load_crop(text)
    assert caught.value.faults[0].line == text.count("\n")
