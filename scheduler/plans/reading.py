"""plan.json read: every value checked, every fault told at once."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from crops.names import is_plain
from scheduler.base.faults import BadInput, Fault
from scheduler.base.texts import shorten
from scheduler.plans.fields import drop_unknown
from scheduler.plans.model import OUTSIDE, SCHEMAS, Batch, Level, Pick, Plan

_FREE = ("by_hand", "versions")  # whatever their maker says
_DAYS = frozenset(
    f.name
    for kind in (Plan, Batch, Pick, Level)
    for f in fields(kind)
    if str(f.type).split(" ")[0] in ("date", "Day")
)
_MOST = 1e12  # no mass, volume, count or value of a season comes near it


def parse_plan(raw: bytes | str, file: str = "plan.json", brief: bool = False) -> Plan:
    """A plan from plan.json; ``file`` is named in faults.

    ``brief``: levels, which are most of a plan, are neither read nor checked.

    Raises
    ------
    BadInput
        No JSON, another schema, or every field that is missing or of the wrong kind.
    """
    body = any_json(raw.encode() if isinstance(raw, str) else raw, file)
    if not isinstance(body, dict):
        raise BadInput([Fault(file, 1, "", type(body).__name__, "an object with a schema")])
    if body.get("schema") not in SCHEMAS:
        expected = " or ".join(SCHEMAS)
        raise BadInput([Fault(file, None, "schema", shorten(body.get("schema")), expected)])
    unknown = drop_unknown(body)
    season = body.pop("season", None)
    body.pop("schema")
    if isinstance(season, dict):
        body.update({k: season[k] for k in ("start", "end") if k in season})
    batches = body.get("batches")
    name_inside(batches)
    if brief and isinstance(batches, list):
        body["batches"] = [{**b, "levels": []} if isinstance(b, dict) else b for b in batches]
    try:
        plan = _adapter().validate_json(json.dumps(body), strict=True)
    except ValidationError as error:
        faults = [_fault(file, e) for e in error.errors()]
        told = {f.path for f in faults}
        faults += [
            Fault(file, None, path, shorten(value), expected)
            for path, value, expected in _odd_data(body)
            if path not in told
        ]
        raise BadInput(faults) from None
    faults = [
        Fault(file, None, path, shorten(value), expected)
        for path, value, expected in odd_values(plan)
    ]
    if faults:
        raise BadInput(faults)
    return replace(plan, unknown=unknown) if unknown else plan


def name_inside(batches: Any) -> None:
    """Names that a field of plan.json has and none of ours can have."""
    for batch in batches if isinstance(batches, list) else ():
        picks = batch.get("picks") if isinstance(batch, dict) else None
        for pick in picks if isinstance(picks, list) else ():
            for ours, name in OUTSIDE.items():
                if isinstance(pick, dict) and name in pick:
                    pick[ours] = pick.pop(name)


def _path_outside(path: str) -> str:
    """A path as plan.json has it."""
    if path in ("start", "end"):
        return f"season.{path}"
    head, dot, name = path.rpartition(".")
    return head + dot + OUTSIDE.get(name, name)


@lru_cache(maxsize=1)
def _adapter() -> TypeAdapter[Plan]:
    return TypeAdapter(Plan)


def any_json(raw: bytes, file: str) -> Any:
    """JSON of any shape; raises `BadInput` with the line where it is none."""
    try:
        return json.loads(raw.decode("utf-8-sig"), parse_constant=_no_number)
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise BadInput([Fault(file, line, "", "bytes that are no UTF-8", "UTF-8 text")]) from None
    except json.JSONDecodeError as error:
        end = "the text ends" if error.pos >= len(error.doc.rstrip()) else error.msg
        raise BadInput([Fault(file, error.lineno, "", end, "a whole JSON file")]) from None
    except RecursionError:
        raise BadInput([Fault(file, None, "", "deep nesting", "the JSON of a plan")]) from None
    except ValueError as error:
        raise BadInput([Fault(file, None, "", str(error)[:60], "numbers in JSON")]) from None


def _no_number(name: str) -> float:
    raise ValueError(name)


def _fault(file: str, error: Any) -> Fault:
    path = ""
    for key in error["loc"]:
        path += f"[{key}]" if isinstance(key, int) else f".{key}" if path else str(key)
    path = _path_outside(path)
    message = error["msg"][:1].lower() + error["msg"][1:]
    if error["type"] in ("missing", "missing_argument"):
        return Fault(file, None, path, "missing", "this field")
    return Fault(file, None, path, shorten(error.get("input")), message)


def odd_values(plan: Plan) -> Iterator[tuple[str, Any, str]]:
    """(path, value, what was expected) of every value that no plan can hold."""
    for path, value in _leaves(plan):
        if expected := _out_of_range(path, value):
            yield _path_outside(path), value, expected


def _odd_data(body: dict[str, Any]) -> Iterator[tuple[str, Any, str]]:
    """`odd_values` of data that is no plan, as some of it has the wrong shape."""
    for path, value in _data_leaves({k: v for k, v in body.items() if k not in _FREE}):
        name = path.rpartition(".")[2]
        if name in _DAYS and isinstance(value, str):
            try:
                value = date.fromisoformat(value)
            except ValueError:
                continue  # no day at all is a fault of shape
        if expected := _out_of_range(path, value):
            yield _path_outside(path), value, expected


def _data_leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Numbers and texts of JSON with their paths."""
    if isinstance(value, dict):
        for name, member in value.items():
            yield from _data_leaves(member, f"{path}.{name}" if path else name)
    elif isinstance(value, list):
        for i, member in enumerate(value):
            yield from _data_leaves(member, f"{path}[{i}]")
    elif isinstance(value, int | float | str):
        yield path, value


def _leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Dates, numbers and texts with their paths; levels, which are most, only if one is odd."""
    if isinstance(value, Level) and not any(
        _out_of_range("", v) for v in vars(value).values() if v is not None
    ):
        return
    if isinstance(value, date | int | float | str):
        yield path, value
    elif is_dataclass(value):
        for f in fields(value):
            yield from _leaves(getattr(value, f.name), f"{path}.{f.name}" if path else f.name)
    elif isinstance(value, tuple):
        for i, member in enumerate(value):
            yield from _leaves(member, f"{path}[{i}]")


def _out_of_range(path: str, value: Any) -> str:
    """What was expected instead, or nothing."""
    if isinstance(value, date):
        return "" if 1900 <= value.year <= 2201 else "a date from 1900 to 2201"
    if isinstance(value, str):  # a calendar prints it
        return "" if is_plain(value) else "text without control or direction characters"
    least = -_MOST if path.endswith(("margin_days", "seed", "bound")) else 0
    return "" if least <= value <= _MOST else f"a number from {least:g} to {_MOST:g}"
