"""A week's wish in heads, bunches, people and salads: what it weighs, and what is no wish."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from standing_case import write

from crops.catalogue import catalogue
from scheduler.base.faults import BadInput, Fault
from scheduler.commands.summary import outcome, summary
from scheduler.garden.file import load_garden
from scheduler.garden.model import Demand, Garden
from scheduler.plans.json_schemas import garden_schema
from scheduler.plans.model import Stage
from scheduler.usecases.planning_standing import bare_plan

MASS = {name: crop.fresh_mass for name, crop in catalogue().items()}


def garden(folder: Path, demand: str, crops: str) -> Garden:
    path = write(folder, "")
    text = path.read_text().replace("[{group: lettuce, per_week: 500 g}]", demand)
    path.write_text(text.replace("[leaf_lettuce, kale]", crops))
    return load_garden(path)


def wish(folder: Path, group: str, told: str, crops: str) -> Demand:
    return garden(folder, f"[{{group: {group}, per_week: {told}}}]", crops).demands[0]


@pytest.mark.parametrize(
    ("group", "told", "crops", "grams", "said"),
    [
        ("lettuce", "3 heads", "[leaf_lettuce]", 3 * MASS["leaf_lettuce"], "3 heads"),
        ("lettuce", "1 head", "[romaine]", MASS["romaine"], "1 head"),
        # Of two crops the mean; kale is cut again and has no heads.
        (
            "lettuce",
            "2 heads",
            "[leaf_lettuce, romaine]",
            MASS["leaf_lettuce"] + MASS["romaine"],
            "2 heads",
        ),
        ("greens", "1.5 heads", "[kale, pak_choi]", 1.5 * MASS["pak_choi"], "1.5 heads"),
        ("herbs", "2 bunches", "[basil]", 60, "2 bunches"),
        ("greens", "1 bunch", "[kale]", 150, "1 bunch"),
        ("lettuce", "2 people x 3 salads", "[romaine]", 600, "6 salads"),
        ("herbs", "2 people x 3 meals", "[basil]", 30, "6 salads"),
        ("lettuce", "1 Person × 1 salad", "[romaine]", 100, "1 salad"),
        ("lettuce", "500 g", "[romaine]", 500, ""),
        ("lettuce", "1 g", "[romaine]", 1, ""),
    ],
)
def test_what_a_wish_weighs(
    tmp_path: Path, group: str, told: str, crops: str, grams: float, said: str
) -> None:
    found = wish(tmp_path, group, told, crops)
    assert found.grams_per_week == pytest.approx(grams)
    assert found.said == said


def test_heads_weigh_what_the_garden_says_of_its_crop(tmp_path: Path) -> None:
    """An override changes a head's mass, and so the wish."""
    crops = "{which: [romaine], overrides: {romaine: {fresh_mass: 200 g}}}"
    assert wish(tmp_path, "lettuce", "3 heads", crops).grams_per_week == pytest.approx(600)


@pytest.mark.parametrize(
    "told",
    [
        *("3", "3 hens", "0 heads", "-1 heads", "0 people x 3 salads", "2 people x 0 salads"),
        *("0.5 g", "heads", "2 people", "1e9 heads", "9**9 heads", "3 heads or more"),
    ],
)
def test_no_wish(tmp_path: Path, told: str) -> None:
    with pytest.raises(BadInput) as caught:
        wish(tmp_path, "lettuce", f"'{told}'", "[romaine]")
    (fault,) = caught.value.faults
    assert isinstance(fault, Fault)
    assert fault.path == "demand[0].per_week"
    assert "3 heads" in fault.expected


def test_what_is_cut_again_has_no_heads(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no heads") as caught:
        wish(tmp_path, "greens", "3 heads", "[kale, swiss_chard]")
    assert [f.path for f in caught.value.faults] == ["demand[0].per_week"]


def test_it_is_told_back_and_the_schema_knows_it(tmp_path: Path) -> None:
    made = garden(tmp_path, "[{group: lettuce, per_week: 3 heads}]", "[romaine]")
    stage = Stage("produce", "proven", 0.0, 0.0, 0.0)
    plan = replace(bare_plan(made), stages=(stage,))
    told = "lettuce: 3 heads a week is taken as 510 g."
    assert told in summary(made, plan)
    assert outcome(made, plan, "x")["wishes"] == [
        {"group": "lettuce", "said": "3 heads", "grams_per_week": 510.0}
    ]
    schema = garden_schema()["$defs"]["DemandModel"]
    for told in ("3 heads", "2 people x 3 salads", "500 g", "2 bunches"):
        jsonschema.validate({"group": "x", "per_week": told}, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"group": "x", "per_week": "heads"}, schema)
