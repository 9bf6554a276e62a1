"""JSON Schemas of garden.yaml and plan.json, for editors and other programs.

``scheduler/data/*.schema.json`` are these, written out (``-m scheduler.plans.json_schemas``); a
test holds both together. They know shapes; units and what must fit together is judged by
`scheduler.garden.file` and `scheduler.verify`.
"""

from __future__ import annotations

import json
from inspect import cleandoc
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from scheduler.garden.schema import GardenModel
from scheduler.plans import model as plans
from scheduler.plans.model import SIMPLE_RULES

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_ONE_OR_LIST = ("away", "available", "rests")
_WEEK = r"^\d{4}-W\d{2}$"

# What a field of plan.json holds, where its name does not say it.
_MEANING = {
    "id": "name of the batch in this plan",
    "tier": "1 is the top",
    "plants": "plants or plugs",
    "seeds": "seeds sown",
    "cells": "nursery cells sown",
    "sow": "day of sowing",
    "transplant": "day of transplanting and filling",
    "clear": "day on which the tier is emptied and cleaned",
    "fill_litres": "solution filled at transplanting [L]",
    "dry_date": "first morning with less than may remain, were nothing more picked; with weather "
    "years it is dry before in one year of ten; null: not seen",
    "margin_days": "days from the last pick to the dry date",
    "litres": "solution on the morning of the day [L]",
    "depth_cm": "its depth [cm]",
    "low": "one year in ten has less [L]; null: of the mean year",
    "high": "one year in ten has more [L]",
    "grams": "fresh mass [g]",
    "bound": "null unless a solver proved one",
    "seconds": "wall time [s]",
    "week": "ISO 8601 week, such as 2027-W18",
    "early": "picked before it is ready, because the tier would run dry first",
    "young": "planned before it is ready, at the mass there is by then",
    "demand_factor": "correction of what the batch drinks, from measured levels",
    "rest_until": "after root disease: last day on which its family may not be planted here",
    "fill_ec": "strength of the fill [mS/cm]; null: no recipe",
    "harvest_ec": "strength expected on the day of the last pick [mS/cm]",
    "harvest_ec_spread": "half its 90 % interval [mS/cm]",
    "most": "share of weather years in which a batch may run dry before its last pick",
    "years": "weather years drawn",
    "kg": "masses of all vessels lifted [kg]",
    "vessels": "how often a vessel is lifted",
    "heaviest_kg": "the heaviest of them [kg]",
    "source": "what the weather years are made from",
    "planned": "weather years it was planned with; 0: the mean year of the climate table",
    "judged": "weather years that the promise was judged in, none of them planned with",
    "real": "of the years judged with, whole past years",
    "usual": "share of the wish that is met in half of the years or more",
    "one_in_five": "share below which one year in five stays",
    "worst_fifth": "mean share of the worst fifth of the years",
    "reachable": "share of the wish that lies in weeks which some batch could serve",
    "shares": "share of the wish met, year by year",
    "foreseen_years": "numbers of some of these years, 0 the first, for which a bound was reckoned",
    "foreseen": "share of the wish that each of them could bring at most to who knew its weather",
    "chosen_with": "weather years that it was chosen with; the spans of its picks are of them",
    "sample": "columns that were planned by living them, the others as one like it; null: not so",
    "columns": "columns that were lived, of a large garden; null: all of them",
    "look_from": "earliest day of this pick in the years it was chosen with",
    "from": "first day of the middle four fifths of those years; date is the usual day",
    "to": "last day of them",
    "share": "of those years with this pick",
    "transplant_until": "last day on which its seedlings can be transplanted",
    "chances": "shares of the years that it was chosen with; null: of the mean year, or over",
    "dry": "something is lost before the last pick as the tier runs dry",
    "bolted": "something is lost before the last pick as the crop bolts",
    "cold": "something is lost before the last pick as frost or chill kills it",
    "heat": "something is lost before the last pick as warm solution kills it",
    "unripe": "not ripe on the usual day of the first pick, or too small for a young one",
    "past": "drawn from the table of past weather beside the plan",
}


_LATER = (
    "early",
    "young",
    "demand_factor",
    "rest_until",  # only a rebalance sets them
    "fill_ec",
    "harvest_ec",
    "harvest_ec_spread",
    "chosen_with",
    "columns",
    "cold",
    "heat",
    # With weather years alone.
    *(plans.OUTSIDE.get(n, n) for names in plans.WITH_YEARS.values() for n in names),
)


def garden_schema() -> dict[str, Any]:
    """JSON Schema of garden.yaml (read as YAML 1.2: dates are texts)."""
    body = GardenModel.model_json_schema(by_alias=True)
    parts = body["$defs"]
    for model in [body, *parts.values()]:
        for name, spec in model["properties"].items():
            spec.pop("title", None)
            if name in _ONE_OR_LIST:
                known = {k: spec.pop(k) for k in ("type", "items", "maxItems") if k in spec}
                spec["anyOf"] = [known, known["items"], {"type": "null"}]
            elif name == "never":  # a crop's name may stand for an entry
                one = {"anyOf": [{"type": "string"}, spec.pop("items")]}
                known = {"type": spec.pop("type"), "maxItems": spec.pop("maxItems"), "items": one}
                spec["anyOf"] = [known, *one["anyOf"], {"type": "null"}]
            elif name == "picked_on":
                known = {k: spec.pop(k) for k in ("type", "items", "maxItems")}
                spec["anyOf"] = [known, known["items"]]
        model.pop("title", None)
    crops = body["properties"]["crops"]
    crops["anyOf"] = [
        {"const": "all"},
        {"type": "array", "items": {"type": "string"}, "minItems": 1},
        {"$ref": crops.pop("$ref")},
    ]
    for column in ("name", "names", "count"):
        _drop_null(parts["ColumnModel"]["properties"][column])
    parts["ColumnModel"]["oneOf"] = [{"required": ["name"]}, {"required": ["names"]}]
    return {"$schema": DIALECT, "title": "a garden of dryline", **body}


def _drop_null(spec: dict[str, Any]) -> None:
    spec["anyOf"] = [part for part in spec["anyOf"] if part != {"type": "null"}]
    spec.pop("default", None)


KINDS: tuple[type, ...] = (
    plans.Pick,
    plans.Level,
    plans.Chances,
    plans.Batch,
    plans.Stage,
    plans.Shortfall,
    plans.RiskTaken,
    plans.Lifted,
    plans.YearsTaken,
    plans.Promise,
)


def plan_schema() -> dict[str, Any]:
    """JSON Schema of plan.json, from the dataclasses of `scheduler.plans.model`."""
    parts: dict[str, Any] = {}
    for kind in KINDS:
        made = TypeAdapter(kind).json_schema(mode="serialization", ref_template="#/$defs/{model}")
        parts.update(made.pop("$defs", {}))
        parts[kind.__name__] = made
    for kind in KINDS:  # not every pydantic takes the text of a dataclass
        made = parts[kind.__name__]
        made.pop("description", None)
        parts[kind.__name__] = {"description": cleandoc(kind.__doc__ or ""), **made}
    for part in parts.values():
        part["properties"] = {plans.OUTSIDE.get(n, n): v for n, v in part["properties"].items()}
        part["additionalProperties"] = False
        part["required"] = [n for n in part["properties"] if n not in _LATER]
        part.pop("title", None)
        for name, spec in part["properties"].items():
            spec.pop("title", None)
            spec.pop("default", None)
            if name in _MEANING:
                spec["description"] = _MEANING[name]
    batch = parts["Batch"]["properties"]
    batch["state"]["enum"] = [
        plans.PLANNED,
        plans.SOWN,
        plans.GROWING,
        plans.CLEARED,
        plans.FAILED,
    ]
    for name, least in (("plants", 1), ("cells", 0), ("seeds", 0), ("tier", 1)):
        batch[name]["minimum"] = least
    batch["fill_litres"]["exclusiveMinimum"] = 0
    for part, name in (("Pick", "grams"), ("Pick", "plants"), ("Level", "litres")):
        parts[part]["properties"][name]["minimum"] = 0
    parts["Shortfall"]["properties"]["week"]["pattern"] = _WEEK
    day = {"type": "string", "format": "date"}
    texts = {"type": "object", "additionalProperties": {"type": "string"}}
    properties = {
        "schema": {"enum": list(plans.SCHEMAS)},
        "garden": {"type": "string", "description": "the garden's name"},
        "status": {"enum": [plans.PROVEN, plans.WITHIN_GAP, plans.BEST_FOUND]},
        "season": {
            "type": "object",
            "properties": {"start": day, "end": day},
            "required": ["start", "end"],
            "additionalProperties": False,
        },
        "stages": _list("Stage", "stages of the objective, each locked before the next"),
        "batches": _list("Batch", "crops in tiers, from sowing to clearing"),
        "unmet": _list("Shortfall", "wish not met"),
        "by_hand": {
            "type": "object",
            "properties": {
                "rule": {"enum": list(SIMPLE_RULES)},
                "produce": {"type": "number", "description": "weighted wish met [g]"},
                "share": {"type": "number", "description": "of all wishes, by their weights"},
                "usual": {"type": "number", "description": "share in a usual year, lived alike"},
            },
            "additionalProperties": False,
            "description": "what the better of two rules of thumb reaches",
        },
        "gap": {
            "anyOf": [{"type": "number", "minimum": 0, "maximum": 1}, {"type": "null"}],
            "description": "share of the produce within which stage 1 may be called within_gap",
        },
        "versions": {**texts, "description": "versions of dryline, its solvers and its arrays"},
        "seed": {"type": "integer"},
        "as_of": {
            "anyOf": [day, {"type": "null"}],
            "description": "what lies before this day has happened; null: a plan from the start",
        },
        "risk": {
            "anyOf": [{"$ref": "#/$defs/RiskTaken"}, {"type": "null"}],
            "description": "the risk within which it was made; null: with the weather as expected",
        },
        "number": {
            "type": "integer",
            "minimum": 0,
            "description": "counts the plans of a garden from 1 on; 0: not known",
        },
        "made": {
            "anyOf": [day, {"type": "null"}],
            "description": "day on which it was made",
        },
        "lifted": {
            "anyOf": [{"$ref": "#/$defs/Lifted"}, {"type": "null"}],
            "description": "what filling and clearing tiers lifts, as far as it is to come",
        },
        "years": {
            "anyOf": [{"$ref": "#/$defs/YearsTaken"}, {"type": "null"}],
            "description": "the weather years that it was planned and judged with",
        },
        "promise": {
            "anyOf": [{"$ref": "#/$defs/Promise"}, {"type": "null"}],
            "description": "shares of the wish that come to the table, in years apart",
        },
    }
    later = (
        *("by_hand", "garden", "gap", "as_of", "risk", "number", "made"),
        *("lifted", "years", "promise"),
    )
    return {
        "$schema": DIALECT,
        "title": "a plan of dryline",
        "description": "A season. Dates are ISO 8601, masses grams, volumes litres.",
        "type": "object",
        "properties": properties,
        "required": [k for k in properties if k not in later],
        "additionalProperties": False,
        "$defs": parts,
    }


def _list(part: str, text: str) -> dict[str, Any]:
    return {"type": "array", "items": {"$ref": f"#/$defs/{part}"}, "description": text}


FILES = {"garden.schema.json": garden_schema, "plan.schema.json": plan_schema}


def text_of(name: str) -> str:
    """The text of a schema file in ``scheduler/data``."""
    return json.dumps(FILES[name](), indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    for name in FILES:
        (Path(__file__).parents[1] / "data" / name).write_text(text_of(name), encoding="utf-8")


if __name__ == "__main__":
    main()
