"""Crop files that cannot be used: every fault, with path, value, what was expected, and line."""

from __future__ import annotations

import copy
import re
from importlib import resources

import pytest
import yaml

from crops.catalogue import CropFaults, from_mapping, load_crop
from crops.crop_keys import KEYS, SECTIONS
from crops.marked_yaml import MAX_BYTES

DATA = resources.files("crops") / "data"
BASIL = (DATA / "basil.yaml").read_text("utf-8")
PLAIN = yaml.safe_load(BASIL)


def change(**values):
    """Basil as plain data with some values changed."""
    data = copy.deepcopy(PLAIN)
    for key, value in values.items():
        data[KEYS[key].section].setdefault(key, {"source": "from memory"})["value"] = value
    return data


def faults_of(data):
    with pytest.raises(CropFaults) as caught:
        from_mapping(data)
    return caught.value.faults


# Basil: t_base 11, t_opt 29, t_max 37, reference 24, nursery 23; dli 12/17; three cuts of 40/30/30.
RELATIONS = [
    # key at fault, values just refused, values just accepted
    (
        "t_base",
        {"t_base": "12 degC", "t_opt": "12 degC"},
        {"t_base": "12 degC", "t_opt": "12.1 degC"},
    ),
    ("t_opt", {"t_opt": "37 degC"}, {"t_opt": "36.9 degC"}),
    (
        "reference_temperature",
        {"reference_temperature": "11 degC"},
        {"reference_temperature": "11.1 degC"},
    ),
    (
        "reference_temperature",
        {"reference_temperature": "37 degC"},
        {"reference_temperature": "36.9 degC"},
    ),
    (
        "nursery_temperature",
        {"nursery_temperature": "11 degC"},
        {"nursery_temperature": "11.1 degC"},
    ),
    ("dli_min", {"dli_min": "17.1 mol/m^2/day"}, {"dli_min": "17 mol/m^2/day"}),
    (
        "stage_start",
        {"stage_start": 0.7, "stage_full": 0.7},
        {"stage_start": 0.69, "stage_full": 0.7},
    ),
    ("ec_low", {"ec_low": "1.7 mS/cm"}, {"ec_low": "1.6 mS/cm"}),
    ("ph_low", {"ph_low": 6.6}, {"ph_low": 6.5}),
    ("plants_per_hole", {"plants_per_hole": 5}, {"plants_per_hole": 4}),
    ("cut_shares", {"cut_shares": [0.5, 0.5]}, {"cut_shares": [0.5, 0.5], "cuts": 2}),
    (
        "cut_shares",
        {"cut_shares": ["40 %", "30 %", "29 %"]},
        {"cut_shares": ["40 %", "30 %", "30 %"]},
    ),
    ("cut_shares", {"cut_shares": [0, 0.5, 0.5]}, {"cut_shares": [0.01, 0.5, 0.49]}),
    ("cut_interval", {"cut_interval": "0.9 day"}, {"cut_interval": "1 day"}),
    ("bolt_both", {"bolt_both": True}, {"bolt_both": False}),
    (
        "bolt_both",
        {"bolt_both": True, "bolt_heat": "27 degC", "bolt_days": "7 day"},
        {"bolt_both": True, "bolt_heat": "27 degC", "bolt_daylength": "14 h", "bolt_days": "7 day"},
    ),
    (
        "bolt_days",
        {"bolt_heat": "27 degC", "bolt_days": "0.5 day"},
        {"bolt_heat": "27 degC", "bolt_days": "1 day"},
    ),
    ("bolt_days", {"bolt_daylength": "13 h"}, {"bolt_daylength": "13 h", "bolt_days": "9 day"}),
    (
        "emergence",
        {"emergence": {"20 degC": "5 day", "15 degC": "9 day"}},
        {"emergence": {"15 degC": "9 day", "20 degC": "5 day"}},
    ),
]


@pytest.mark.parametrize(("key", "refused", "accepted"), RELATIONS)
def test_relations_between_numbers(key, refused, accepted):
    found = faults_of(change(**refused))
    assert key in {f.path.split(".")[1] for f in found}
    assert all(f.path.startswith(KEYS[key].section) for f in found)
    from_mapping(change(**accepted))


BAD_VALUES = [
    ("peak_demand", "120"),  # no unit
    ("peak_demand", 120),
    ("peak_demand", "120 g"),  # of another kind
    ("peak_demand", "many mL/day"),
    ("peak_demand", "0 mL/day"),
    ("peak_demand", "nan mL/day"),
    ("peak_demand", "1e999 mL/day"),
    ("peak_demand", [1]),
    ("peak_demand", None),
    ("days_to_harvest", "-3 day"),
    ("germination", 1.01),
    ("germination", "101 %"),
    ("germination", True),
    ("germination", "most"),
    ("cuts", 2.5),
    ("cuts", 0),
    ("cuts", "two"),
    ("bolt_heat", "warm"),
    ("bolt_both", "yes"),
    ("storage_life", "none"),  # none only where a key may have it
    ("emergence", {}),
    ("emergence", "5 day"),
    ("emergence", {"20": "5 day"}),
    ("emergence", {"20 degC": "5 g"}),
    ("cut_shares", 0.4),
    ("cut_shares", ["a", "b", "c"]),
]


@pytest.mark.parametrize(("key", "value"), BAD_VALUES)
def test_value_that_cannot_be_used(key, value):
    found = faults_of(change(**{key: value}))
    assert found[0].path.startswith(f"{KEYS[key].section}.{key}.value")
    assert found[0].expected


def test_ranges_are_inclusive_at_both_ends():
    low = from_mapping(change(peak_demand="1 mL/day", germination=0.05))
    high = from_mapping(change(peak_demand="5000 mL/day", germination="100 %"))
    assert (low.peak_demand, high.peak_demand) == (1, 5000)
    assert (low.germination, high.germination) == (0.05, 1.0)


def test_other_units_are_converted():
    crop = from_mapping(change(fresh_mass="2 oz", storage_temperature="50 degF", hold="1 week"))
    assert crop.fresh_mass == pytest.approx(56.699)  # 1 oz avoirdupois = 28.3495 g
    assert crop.storage_temperature == pytest.approx(10)
    assert crop.hold == pytest.approx(7)


def test_all_faults_at_once_in_the_order_of_their_lines():
    text = (
        re.sub(r"(peak_demand:\s+value: \d+) mL/day", r"\1 mL", BASIL)
        .replace("value: 70 %", "value: 170 %")
        .replace("value: 12 mol/m^2/day", "value: 18 mol/m^2/day")
        .replace("family: Lamiaceae", "familly: Lamiaceae")
    )
    with pytest.raises(CropFaults) as caught:
        load_crop(text)
    found = caught.value.faults
    lines = text.split("\n")
    assert {f.path for f in found} == {
        "nursery.germination.value",
        "water.peak_demand.value",
        "light.dli_min",
        "identity.familly",
        "identity.family",
    }
    assert [f.line for f in found] == sorted(f.line for f in found)
    for fault in found:
        if fault.path != "identity.family":  # missing: its section's line is named
            assert fault.path.split(".")[-1] in lines[fault.line - 1]
    unknown = next(f for f in found if f.path == "identity.familly")
    assert "family" in unknown.expected  # the near key
    assert "170 %" in str(caught.value)


def test_every_source_is_required():
    data = copy.deepcopy(PLAIN)
    count = 0
    for section in SECTIONS[1:]:
        for entry in data[section].values():
            del entry["source"]
            count += 1
    found = faults_of(data)
    assert len(found) == count
    assert all(f.path.endswith(".source") for f in found)


@pytest.mark.parametrize("source", ["", "  ", "x", 4, None])
def test_empty_source_is_refused(source):
    data = change()
    data["water"]["peak_demand"]["source"] = source
    assert [f.path for f in faults_of(data)] == ["water.peak_demand.source"]


def test_bare_value_is_refused_in_a_file():
    data = change()
    data["water"]["peak_demand"] = "61 mL/day"
    assert faults_of(data)[0].expected == "value and source"


@pytest.mark.parametrize("key", [k for k, v in KEYS.items() if v.default is None])
def test_each_missing_key_is_named(key):
    data = change()
    del data[KEYS[key].section][key]
    assert [(f.path, f.value) for f in faults_of(data)] == [
        (f"{KEYS[key].section}.{key}", "missing")
    ]


def test_keys_in_the_wrong_place():
    data = change()
    data["light"]["peak_demand"] = data["water"]["peak_demand"]
    data["water"]["thirst"] = 3
    data["soil"] = {}
    found = {f.path: f for f in faults_of(data)}
    assert "water" in found["light.peak_demand"].expected
    assert found["water.thirst"].value == found["soil"].value == "unknown key"
    data = change()
    data["peak_demand"] = data["water"]["peak_demand"]
    assert faults_of(data)[0].value == "given twice"


@pytest.mark.parametrize("name", ["Basil", "my basil", "", "9", "a" * 41, 7, None])
def test_names_are_keys(name):
    data = change()
    data["identity"]["name"] = name
    assert faults_of(data)[0].path == "identity.name"


# What is fed, and what the first fault must speak of.
JUNK = {
    "empty": ("", "the sections"),
    "a number": ("42", "the sections"),
    "a list": ("[1, 2]", "the sections"),
    "tabs": ("identity:\n\tname: basil\n", "not with tabs"),
    "not closed": ("identity: {name: basil\n", "YAML"),
    "two documents": ("a: 1\n---\nb: 2\n", "another document"),
    "doubled key": (BASIL + "water: {}\n", "given twice"),
    "alias": ("identity: &a {name: x}\nnursery: *a\n", "an alias"),
    "anchors bomb": ("a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\n", "an alias"),
    "an anchor in itself": ("a: &a {b: *a}\n", "an alias"),
    "a tag": ("identity: !!python/object:os.system x\n", "keys of the section identity"),
    "a list as key": ("? [1]\n: 2\n", "a plain key"),
    "nested deep": ("[" * 100_000, "nesting"),
    "nested within bounds of the reader": ("[" * 30 + "]" * 30, "deep nesting"),
    "a zero byte": ("a: \x00", "YAML"),
    "a lone surrogate": ("a: \ud800", "UTF-8"),
    "large": ("# " + "x" * MAX_BYTES, "at most 1 MB"),
    "numbers that are none": ("a: 0x\nb: 2027-99-99\nc: 1:99\n", "a key of a crop file"),
}


@pytest.mark.parametrize(("text", "speaks_of"), JUNK.values(), ids=JUNK.keys())
def test_junk_gives_faults_and_nothing_else(text, speaks_of):
    with pytest.raises(CropFaults) as caught:
        load_crop(text)
    assert caught.value.faults
    assert all(f.expected for f in caught.value.faults)
    assert any(speaks_of in f.value + f.expected for f in caught.value.faults)


def test_files(tmp_path):
    good = tmp_path / "own.yaml"
    good.write_text(BASIL.replace("name: basil", "name: own_basil"), "utf-8")
    assert load_crop(good).name == "own_basil"
    bad = tmp_path / "bad.yaml"
    bad.write_bytes(b"identity:\n  name: \xff\xfe\n")
    with pytest.raises(CropFaults) as caught:
        load_crop(bad)
    assert caught.value.file == "bad.yaml"
    assert caught.value.faults[0].line == 2
    assert "bad.yaml:2" in str(caught.value)
    with pytest.raises(OSError, match="missing"):
        load_crop(tmp_path / "missing.yaml")


def test_byte_order_mark_is_taken(tmp_path):
    file = tmp_path / "bom.yaml"
    file.write_bytes(b"\xef\xbb\xbf" + BASIL.encode())
    assert load_crop(file).name == "basil"
