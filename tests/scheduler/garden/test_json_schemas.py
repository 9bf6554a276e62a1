"""The shipped JSON Schemas: up to date, valid, accepting what the program reads and writes."""

import json
from dataclasses import replace
from datetime import date
from importlib import resources
from pathlib import Path

import jsonschema
import pytest

from scheduler.base.yaml_lines import read_document
from scheduler.plans.json_schemas import FILES, text_of
from scheduler.plans.model import Batch, Level, Pick, Plan, Shortfall, Stage

EXAMPLES = Path(__file__).parents[3] / "examples"


def shipped(name):
    text = (resources.files("scheduler") / "data" / name).read_text("utf-8")
    return jsonschema.Draft202012Validator(
        json.loads(text), format_checker=jsonschema.FormatChecker()
    )


@pytest.mark.parametrize("name", list(FILES))
def test_the_shipped_file_is_up_to_date(name):
    """If red: `python -m scheduler.plans.json_schemas`."""
    assert (resources.files("scheduler") / "data" / name).read_text("utf-8") == text_of(name)
    jsonschema.Draft202012Validator.check_schema(json.loads(text_of(name)))


@pytest.mark.parametrize("garden", ["courtyard", "balcony"])
def test_examples_fit_the_schema(garden):
    data = read_document((EXAMPLES / garden / "garden.yaml").read_bytes(), garden).data
    assert [e.message for e in shipped("garden.schema.json").iter_errors(data)] == []
    assert shipped("garden.schema.json").is_valid({**data, "crops": "all"})


@pytest.mark.parametrize(
    "change",
    [
        {"colour": "green"},
        {"season": {"start": "12 April", "end": "2027-10-10"}},
        {"columns": []},
        {"columns": [{"tiers": [{"vessel": "pail", "light": 1, "plants": 3}]}]},  # no name
        {"columns": [{"name": "A", "tiers": [{"vessel": "pail", "light": 1.2, "plants": 3}]}]},
        {"nursery": {"cells": "48"}},
        {"units": "imperial"},
        {"crops": "none"},
    ],
)
def test_the_garden_schema_refuses(change):
    data = read_document((EXAMPLES / "balcony" / "garden.yaml").read_bytes(), "").data
    assert not shipped("garden.schema.json").is_valid({**data, **change})


def a_plan():
    day = date(2027, 5, 3)
    batch = Batch(
        "b1",
        "pak_choi",
        "A",
        1,
        4,
        8,
        5,
        day,
        day,
        (Pick(day, 4, 464),),
        day,
        18.0,
        None,
        None,
        levels=(Level(day, 18.0, 30.1),),
    )
    dry = replace(batch, id="b2", dry_date=day, margin_days=3, state="growing", picks=(), levels=())
    stages = (Stage("produce", "proven", 464.0, 464.0, 0.1), Stage("effort", "", 3.0, None, 0.1))
    return Plan(
        "proven",
        stages,
        day,
        day,
        (batch, dry),
        (Shortfall("greens", "2027-W18", 5),),
        versions={"dryline": "0"},
        by_hand={"produce": 1.0},
        garden="g",
    )


def test_a_plan_fits_the_schema():
    body = json.loads(a_plan().to_json())
    assert [e.message for e in shipped("plan.schema.json").iter_errors(body)] == []


@pytest.mark.parametrize(
    "spoil",
    [
        lambda b: b.update(schema="dryline-plan-0"),
        lambda b: b.update(status="optimal"),
        lambda b: b["batches"][0].pop("dry_date"),
        lambda b: b["batches"][0].update(sow="soon"),
        lambda b: b["batches"][0].update(state="dead"),
        lambda b: b["batches"][0].update(extra=1),
        lambda b: b["batches"][0]["picks"][0].update(grams=-1),
        lambda b: b["unmet"][0].update(week="2027-18"),
        lambda b: b.pop("seed"),
    ],
)
def test_the_plan_schema_refuses(spoil):
    body = json.loads(a_plan().to_json())
    spoil(body)
    assert not shipped("plan.schema.json").is_valid(body)
