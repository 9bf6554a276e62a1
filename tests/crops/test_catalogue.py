"""The catalogue as a whole: complete, sourced, quick, and the same after a round trip."""

from __future__ import annotations

import json
import re
import time
from dataclasses import fields
from importlib import resources

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from not_empty import some

from crops.catalogue import catalogue, crop_text, load_crop, with_overrides
from crops.crop import Crop
from crops.crop_keys import KEYS, SECTIONS
from crops.crop_schema import schema

DATA = resources.files("crops") / "data"
FILES = sorted(f.name for f in DATA.iterdir() if f.name.endswith(".yaml"))
WANTED = {
    "leaf_lettuce",
    "butterhead",
    "romaine",
    "pak_choi",
    "arugula",
    "mizuna",
    "basil",
    "coriander",
    "swiss_chard",
    "kale",
    "spinach",
    "parsley",
}


def test_the_twelve_wanted_crops_are_there():
    assert set(catalogue()) >= WANTED


def test_file_name_is_crop_name():
    assert {f.removesuffix(".yaml") for f in FILES} == set(catalogue())


def test_keys_are_the_fields_of_a_crop():
    assert set(KEYS) == {f.name for f in fields(Crop)} - {"parameters", "kinds", "kind"}


@pytest.mark.parametrize("name", sorted(catalogue()))
def test_every_number_has_a_source(name):
    crop = catalogue()[name]
    for key in KEYS.values():
        if key.kind == "text":
            continue
        if key.name not in crop.parameters:  # left out where it does not apply
            assert key.default == getattr(crop, key.name)
            assert crop.cuts == 1 or not key.name.startswith("cut")
            continue
        source = crop.parameters[key.name].source
        cited = re.search(
            r"\b(19|20)\d\d\b|\bCFR\b|\bUniversity\b|USDA|Agr 2203|year not seen", source
        )
        assert source.startswith(("common practice, no source", "from memory")) or cited, source


@pytest.mark.parametrize("name", sorted(catalogue()))
def test_numbers_with_units_are_written_with_units(name):
    for key, parameter in some(catalogue()[name].parameters.items(), 20):
        if KEYS[key].unit and parameter.text != "none":
            assert re.search(r"\d .*[a-zA-Z]", parameter.text), (key, parameter.text)


@pytest.mark.parametrize("file", FILES)
def test_schema_accepts_every_file_and_its_round_trip(file):
    text = (DATA / file).read_text("utf-8")
    validator = jsonschema.Draft202012Validator(schema())
    assert not list(validator.iter_errors(yaml.safe_load(text)))
    crop = load_crop(text)
    again = crop_text(crop)
    assert not list(validator.iter_errors(yaml.safe_load(again)))
    assert load_crop(again) == crop
    sources = {k: p.source for k, p in crop.parameters.items()}
    assert {k: p.source for k, p in load_crop(again).parameters.items()} == {
        k: sources.get(k, "set in a program") for k in KEYS if KEYS[k].kind != "text"
    }


def test_schema_file_is_the_one_made_from_the_keys():
    jsonschema.Draft202012Validator.check_schema(schema())
    assert json.loads((DATA / "crop.schema.json").read_text("utf-8")) == schema()


@pytest.mark.parametrize(
    ("section", "key", "value"),
    [
        ("water", "peak_demand", 150),  # no unit
        ("water", "peak_demand", "150"),
        ("nursery", "germination", 1.2),
        ("harvest", "cuts", 1.5),
        ("harvest", "cut_shares", []),
        ("bolting", "bolt_both", "did you mean"),
        ("nursery", "emergence", {"warm": "3 day"}),
        ("harvest", "fresh_mass", "none"),  # none only where it is allowed
    ],
)
def test_schema_refuses_what_the_reader_refuses(section, key, value):
    data = yaml.safe_load((DATA / "basil.yaml").read_text("utf-8"))
    data[section][key] = {"value": value, "source": "from memory"}
    assert list(jsonschema.Draft202012Validator(schema()).iter_errors(data))


def test_schema_refuses_unknown_and_missing_keys():
    validator = jsonschema.Draft202012Validator(schema())
    data = yaml.safe_load((DATA / "basil.yaml").read_text("utf-8"))
    data["water"]["thirst"] = data["water"].pop("peak_demand")
    messages = " ".join(e.message for e in validator.iter_errors(data))
    assert "thirst" in messages
    assert "peak_demand" in messages


@pytest.mark.clock
def test_loading_is_quick():
    """Whole catalogue under 0.25 s of processor time: it is read at every start."""
    catalogue.cache_clear()
    start = time.process_time()
    catalogue()
    assert time.process_time() - start < 0.25


def test_sections_and_fields_of_one_file_by_hand():
    """Numbers of one file read by eye, so that reader and file cannot be wrong together."""
    crop = load_crop((DATA / "basil.yaml").read_text("utf-8"))
    assert (crop.name, crop.group, crop.family) == ("basil", "herbs", "Lamiaceae")
    assert crop.germination == pytest.approx(0.70)
    assert crop.nursery_temperature == 23
    assert crop.cuts == len(crop.cut_shares) == 3
    assert sum(crop.cut_shares) == pytest.approx(1)
    assert crop.support_mass is None
    assert crop.bolt_both is False
    assert crop.emergence[0] == (15.0, 14.0)
    assert len(SECTIONS) == 9


@settings(max_examples=25, deadline=None)
@given(
    demand=st.floats(1, 5000),
    base=st.floats(-5, 10.9),
    share=st.floats(0.05, 1),
    hours=st.one_of(st.none(), st.floats(8, 24)),
)
def test_round_trip_of_any_number(demand, base, share, hours):
    """Whatever a grower sets, the written file gives the same crop back, to the last bit."""
    day = "none" if hours is None else f"{hours!r} hour"
    crop = with_overrides(
        catalogue()["spinach"],
        {
            "peak_demand": f"{demand!r} mL/day",
            "t_base": f"{base!r} degC",
            "germination": share,
            "bolt_daylength": day,
        },
    )
    assert crop.peak_demand == demand
    assert load_crop(crop_text(crop)) == crop
