"""JSON Schema (2020-12) of a crop file, made from the table of keys.

``crops/data/crop.schema.json`` is this, written out for editors; a test holds the two together.
The schema knows shapes, not units or relations between numbers: `crops.catalogue` judges those.
"""

from __future__ import annotations

from typing import Any

from crops.crop_keys import KEYS, SECTIONS, Key

_WRITTEN = r"^\s*[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?\s*[A-Za-z°µμ].*$"
_PERCENT = r"^\s*\d+(\.\d+)?\s*%$"
_SOURCE = {
    "type": "string",
    "minLength": 4,
    "description": "a citation, 'common practice, no source' or 'from memory'",
}


def schema() -> dict[str, Any]:
    """The schema as plain data."""
    sections = {section: _section(section) for section in SECTIONS}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "a crop of dryline",
        "description": "One crop: every number with its unit and its source.",
        "type": "object",
        "additionalProperties": False,
        "required": list(SECTIONS),
        "properties": {**sections, "kinds": _kinds()},
        "$defs": {"source": _SOURCE},
    }


def _section(section: str) -> dict[str, Any]:
    keys = [key for key in KEYS.values() if key.section == section]
    return {
        "type": "object",
        "additionalProperties": False,
        "required": [key.name for key in keys if key.default is None],
        "properties": {key.name: _entry(key) for key in keys},
    }


def _kinds() -> dict[str, Any]:
    numbers = {key.name: _entry(key) for key in KEYS.values() if key.kind != "text"}
    return {
        "type": "object",
        "description": "kinds of the crop: the few numbers in which each differs from it",
        "minProperties": 1,
        "additionalProperties": False,
        "patternProperties": {
            "^[a-z][a-z0-9_]{0,39}$": {
                "type": "object",
                "minProperties": 1,
                "additionalProperties": False,
                "properties": numbers,
            }
        },
    }


def _entry(key: Key) -> dict[str, Any]:
    if key.kind == "text":
        out: dict[str, Any] = {"type": "string", "minLength": 1, "maxLength": 60}
        if key.name == "name":
            out["pattern"] = "^[a-z][a-z0-9_]{0,39}$"
        return {**out, "description": key.meaning}
    return {
        "type": "object",
        "description": _meaning(key),
        "additionalProperties": False,
        "required": ["value", "source"],
        "properties": {"value": _value(key), "source": {"$ref": "#/$defs/source"}},
    }


def _meaning(key: Key) -> str:
    unit = f" [{key.unit}]" if key.unit else ""
    never = ", or none" if key.optional else ""
    if key.kind in ("flag", "emergence"):
        return key.meaning
    return f"{key.meaning}; {key.low:g} to {key.high:g}{unit}{never}"


def _value(key: Key) -> dict[str, Any]:
    match key.kind:
        case "flag":
            return {"type": "boolean"}
        case "count":
            return {"type": "integer", "minimum": int(key.low), "maximum": int(key.high)}
        case "emergence":
            days = {"type": "string", "pattern": _WRITTEN}
            return {
                "type": "object",
                "minProperties": 1,
                "additionalProperties": False,
                "patternProperties": {_WRITTEN: days},
            }
        case "shares":
            return {"type": "array", "minItems": 1, "items": _plain(key)}
    number = {"type": "string", "pattern": _WRITTEN} if key.unit else _plain(key)
    return {"anyOf": [number, {"enum": ["none", "never", None]}]} if key.optional else number


def _plain(key: Key) -> dict[str, Any]:
    """A number without unit, or a percentage where the number is a share."""
    number = {"type": "number", "minimum": key.low, "maximum": key.high}
    if key.high <= 1:
        return {"anyOf": [number, {"type": "string", "pattern": _PERCENT}]}
    return number
