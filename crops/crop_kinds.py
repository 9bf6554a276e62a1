"""Kinds of a crop: groups of cultivars that differ from it in a few numbers, each with its source.

A crop file may hold ``kinds: {dwarf: {fresh_mass: {value: 82 g, source: "..."}}}``; a grower takes
one with ``kind: dwarf`` in the overrides of a garden.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches
from typing import Any

from crops.crop import Crop, Kind
from crops.crop_checks import relations
from crops.crop_keys import KEYS, SECTIONS
from crops.crop_reader import NAME, entries, parse
from crops.marked_yaml import CropFault, join
from crops.names import shorten

CHOOSE = "kind"  # key of the overrides that takes one
_NUMBERS = "numbers of a crop file in which it differs, each with value and source"


def read(raw: Any, values: Mapping[str, Any], faults: list[CropFault]) -> dict[str, Kind]:
    """The kinds of a crop file.

    Parameters
    ----------
    raw : what stands under ``kinds``.
    values : numbers of the crop itself, which hold where a kind says nothing.
    faults : every value that cannot be used is added.
    """
    if not isinstance(raw, Mapping) or not raw:
        faults.append(CropFault("kinds", shorten(raw), "names of kinds with the numbers of each"))
        return {}
    out: dict[str, Kind] = {}
    for name, numbers in raw.items():
        path = join("kinds", name)
        if not NAME.fullmatch(str(name)):
            faults.append(CropFault(path, shorten(name), "small letters, digits and _, as dwarf"))
        elif not isinstance(numbers, Mapping) or not numbers:
            faults.append(CropFault(path, shorten(numbers), _NUMBERS))
        else:
            out[str(name)] = _one(path, numbers, values, faults)
    return out


def _one(
    path: str, numbers: Mapping[str, Any], values: Mapping[str, Any], faults: list[CropFault]
) -> Kind:
    mine: list[CropFault] = []
    found = entries({k: v for k, v in numbers.items() if k not in SECTIONS}, mine)
    for key in numbers:
        if key in SECTIONS or (key in KEYS and KEYS[key].kind == "text"):
            mine.append(CropFault(str(key), shorten(numbers[key]), "a number, without its section"))
            found.pop(key, None)
    changed, written = parse(found, None, mine)
    for key, value, expected in relations({**values, **changed}):
        if key in changed or not mine:  # what is wrong with the crop itself is told there
            mine.append(CropFault(key, value, expected))
    faults += [fault._replace(path=join(path, fault.path)) for fault in mine]
    return Kind(changed, written)


def take(crop: Crop, asked: Any, faults: list[CropFault]) -> Crop:
    """The crop as the kind that is asked for; as it is where there is no such kind."""
    if isinstance(asked, str) and asked in crop.kinds:
        kind = crop.kinds[asked]
        return replace(
            crop, **kind.values, kind=asked, parameters={**crop.parameters, **kind.written}
        )
    known = ", ".join(crop.kinds)
    near = get_close_matches(asked, crop.kinds, 1, 0.6) if isinstance(asked, str) else []
    expected = f"a kind of {crop.name}: {known}" if known else f"no kind: {crop.name} has none"
    if near:
        expected = f"{near[0]} (did you mean that?)"
    faults.append(CropFault(CHOOSE, shorten(asked), expected))
    return crop
