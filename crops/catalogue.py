"""The catalogue: one YAML file a crop in ``crops/data``, every number with its source beside it.

A crop file has the sections of `crops.crop_keys.SECTIONS`; each number is written
``key: {value: "150 mL/day", source: "..."}``, with its unit. Growers change single numbers with
`with_overrides`, or bring a whole file for `load_crop`. All faults come at once, as `CropFaults`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import yaml

from crops import crop_kinds
from crops.crop import Crop, Parameter
from crops.crop_checks import relations
from crops.crop_keys import KEYS, SECTIONS
from crops.crop_reader import entries, parse
from crops.marked_yaml import CropFault, CropFaults, decode, read

__all__ = [
    "CropFault",
    "CropFaults",
    "catalogue",
    "crop_text",
    "from_mapping",
    "load_crop",
    "with_overrides",
]

GROWER = "the grower"


@lru_cache(maxsize=1)
def catalogue() -> dict[str, Crop]:
    """Every crop that ships with the program, by name; read once. Do not change the dict."""
    folder = resources.files("crops") / "data"
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".yaml")), key=lambda f: f.name)
    crops = (_load(f.read_bytes(), f.name) for f in files)
    return {crop.name: crop for crop in crops}


def load_crop(source: str | Path) -> Crop:
    """Read one crop.

    Parameters
    ----------
    source : the YAML text itself, or a `Path` to a file.

    Raises
    ------
    CropFaults
        Every fault, each with path, value, what was expected, and line.
    OSError
        The file cannot be read.
    """
    if isinstance(source, Path):
        return _load(source.read_bytes(), source.name)
    return _load(source.encode("utf-8", "surrogatepass"), "")


def from_mapping(data: Mapping[str, Any]) -> Crop:
    """A crop from data that is already read, in the shape of a crop file (lines unknown).

    Raises
    ------
    CropFaults
    """
    return _build(data, {}, "")


def with_overrides(crop: Crop, overrides: Mapping[str, Any], source: str = GROWER) -> Crop:
    """A copy of a crop with some of its numbers changed.

    Parameters
    ----------
    overrides : key to value, or to ``{value, source}``; a section of the file with such keys in it
        is taken too. Values are written with units, as in a crop file. ``kind`` takes a kind of
        the crop first.
    source : stands beside every value that comes without one.

    Raises
    ------
    CropFaults
        Every fault; paths are those of ``overrides``, lines unknown.
    """
    if not isinstance(overrides, Mapping):
        raise CropFaults([CropFault("", str(overrides)[:40], "keys of a crop with their values")])
    faults: list[CropFault] = []
    if crop_kinds.CHOOSE in overrides:
        crop = crop_kinds.take(crop, overrides[crop_kinds.CHOOSE], faults)
    numbers = {str(k): v for k, v in overrides.items() if k != crop_kinds.CHOOSE}
    found = entries(numbers, faults)
    if "name" in found:
        path = found.pop("name")[0]
        faults.append(CropFault(path, "another name", "a crop file of its own for a new crop"))
    values, written = parse(found, source, faults)
    whole = {k: getattr(crop, k) for k in KEYS if k not in found} | values
    for key, value, expected in relations(whole):
        faults.append(CropFault(found[key][0] if key in found else key, value, expected))
    if faults:
        raise CropFaults(faults)
    return replace(crop, **values, parameters={**crop.parameters, **written})


def _load(raw: bytes, file: str) -> Crop:
    try:
        data, lines = read(decode(raw))
        return _build(data, lines, file)
    except CropFaults as error:
        raise CropFaults(list(error.faults), file) from None


def _build(data: Any, lines: Mapping[str, int], file: str) -> Crop:
    if not isinstance(data, Mapping):
        raise CropFaults([CropFault("", str(data)[:40], f"the sections {', '.join(SECTIONS)}", 1)])
    faults: list[CropFault] = []
    found = entries({k: v for k, v in data.items() if k != "kinds"}, faults)
    values, written = parse(found, None, faults)
    for section in (s for s in SECTIONS if s not in data):
        names = ", ".join(k.name for k in KEYS.values() if k.section == section)
        faults.append(CropFault(section, "missing", f"a section with {names}"))
    for key in (k for k in KEYS.values() if k.name not in found):
        if key.default is not None:
            values[key.name] = bool(key.default) if key.kind == "flag" else key.default
        elif key.section in data:
            path = f"{key.section}.{key.name}"
            faults.append(CropFault(path, "missing", f"{key.name}: {key.meaning}"))
    for name, value, expected in relations(values):
        path = found[name][0] if name in found else f"{KEYS[name].section}.{name}"
        faults.append(CropFault(path, value, expected))
    kinds = crop_kinds.read(data["kinds"], values, faults) if "kinds" in data else {}
    if faults:
        raise CropFaults(sorted((_at(f, lines) for f in faults), key=lambda f: f.line or 0), file)
    return Crop(**values, parameters=written, kinds=kinds)


def _at(fault: CropFault, lines: Mapping[str, int]) -> CropFault:
    """The fault with the line of its path, or of the nearest part of it that is in the file."""
    path = fault.path
    while path and path not in lines:
        cut = max(path.rfind("."), path.rfind("["))
        path = path[:cut] if cut > 0 else ""
    return fault._replace(line=lines.get(path, fault.line))


def crop_text(crop: Crop) -> str:
    """A crop as the text of a crop file; `load_crop` of it gives the same crop back.

    A number without a written form (a crop made in Python) gets its value in the key's unit and the
    source 'set in a program'.
    """
    out: dict[str, dict[str, Any]] = {section: {} for section in SECTIONS}
    for key in KEYS.values():
        value = getattr(crop, key.name)
        if key.kind == "text":
            out[key.section][key.name] = value
            continue
        known = crop.parameters.get(key.name, Parameter("", "set in a program"))
        out[key.section][key.name] = {
            "value": _plain(key.kind, key.unit, value),
            "source": known.source,
        }
    for name, kind in crop.kinds.items():
        out.setdefault("kinds", {})[name] = {
            key: {
                "value": _plain(KEYS[key].kind, KEYS[key].unit, value),
                "source": kind.written[key].source,
            }
            for key, value in kind.values.items()
        }
    return yaml.safe_dump(out, sort_keys=False, allow_unicode=True, width=98)


def _plain(kind: str, unit: str, value: Any) -> Any:
    if value is None:
        return "none"
    if kind == "emergence":
        return {f"{_digits(t)} degC": f"{_digits(d)} day" for t, d in value}
    if kind == "shares":
        return list(value)
    if kind == "quantity" and unit:
        return f"{_digits(value)} {unit}"
    return value


def _digits(number: float) -> str:
    """The shortest text that reads back as the same number."""
    short = f"{number:g}"
    return short if float(short) == number else repr(float(number))
