"""Columns whose place the plan chooses: read from garden.yaml, settled, and written down there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import replace
from typing import Any

import yaml

from crops.place import OPEN
from crops.place import Place as Stead
from scheduler.base.faults import BadInput
from scheduler.base.yaml_lines import read_document
from scheduler.garden.checks import column_names
from scheduler.garden.model import Choice, Garden, Stay
from scheduler.garden.place_schema import StayModel
from scheduler.garden.schema import ColumnModel

KEY = "may_stand"
Way = tuple[tuple[Stay, ...], ...]  # for each choice where its columns stand, the open air told


def first_stays(model: ColumnModel) -> list[StayModel]:
    """Where the columns of an entry stand as long as no plan has chosen."""
    if not model.may_stand:
        return model.place
    return [StayModel.model_validate({"in": model.may_stand[0]})]


def choices_of(
    columns: Mapping[int, ColumnModel], places: Mapping[str, Stead]
) -> tuple[Choice, ...]:
    """The choices of a file without faults."""
    return tuple(
        Choice(i, tuple(column_names(model)), tuple(places[name] for name in model.may_stand))
        for i, model in columns.items()
        if model.may_stand
    )


def settled(garden: Garden, way: Way) -> Garden:
    """The garden with its columns where ``way`` has them, and nothing left to choose."""
    where = {
        name: tuple(s for s in stays if s.place != OPEN)
        for choice, stays in zip(garden.may_stand, way, strict=True)
        for name in choice.columns
    }
    columns = tuple(
        replace(c, tiers=tuple(replace(t, stays=where[c.name]) for t in c.tiers))
        if c.name in where
        else c
        for c in garden.columns
    )
    return replace(garden, columns=columns, may_stand=())


def written(raw: bytes, choices: Sequence[Choice], way: Way) -> bytes:
    """garden.yaml [bytes] with what was chosen in place of the choices; all else stays as it is.

    Where entries share a list of places by an anchor all is written out, without remarks.
    """
    doc = read_document(raw, "")
    wanted: Any = deepcopy(doc.data)
    spots = []
    text = doc.text
    for choice, stays in zip(choices, way, strict=True):
        told = _told(stays)
        entry = wanted["columns"][choice.entry]
        names = entry.pop(KEY)
        entry["place"] = _read(told)
        first, last = (doc.nodes["columns", choice.entry, KEY, n] for n in (0, len(names) - 1))
        begin = max(text.rfind(KEY, 0, first.start_mark.index), 0)
        begin -= text[begin - 1] in "'\""  # a key may be quoted
        end = last.end_mark.index
        if "[" in text[begin : first.start_mark.index]:
            end = text.find("]", end) + 1
        spots.append((begin, end, f"place: {told}"))
    for begin, end, told in sorted(spots, reverse=True):
        text = text[:begin] + told + text[end:]
    try:
        same = read_document(text.encode(), "").data == wanted
    except BadInput:
        same = False
    return (text if same else yaml.safe_dump(wanted, sort_keys=False)).encode()


def _read(told: str) -> Any:
    """What a place reads as, written on one line."""
    data: Any = read_document(f"place: {told}".encode(), "").data
    return data["place"]


def _told(stays: tuple[Stay, ...]) -> str:
    """Stays as YAML on one line; the first begins and the last ends with the season."""
    names = ["'" + s.place.name.replace("'", "''") + "'" for s in stays]
    if len(stays) == 1:
        return names[0]
    last = len(stays) - 1
    parts = []
    for n, (name, stay) in enumerate(zip(names, stays, strict=True)):
        days = [f"from: {stay.start}"] if n else []
        days += [f"to: {stay.end}"] if n < last else []
        parts.append("{in: " + ", ".join([name, *days]) + "}")
    return "[" + ", ".join(parts) + "]"
