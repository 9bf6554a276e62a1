"""From the plain data of a crop file, or of a grower's overrides, to numbers with their sources."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from crops.crop import Parameter
from crops.crop_keys import EMERGENCE_TEMPERATURE, KEYS, SECTIONS, SPELLINGS, Key
from crops.marked_yaml import CropFault, join
from crops.names import is_plain, plain, shorten
from crops.units import UnitFault, quantity

NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
PRINTED = "letters, digits and signs, no control or direction characters"
_NONE = ("none", "never")


class Refused(Exception):
    """One value that cannot be used: what stands there and what was expected."""

    def __init__(self, value: object, expected: str, inside: str = "") -> None:
        super().__init__(expected)
        self.value, self.expected, self.inside = shorten(value), expected, inside


def entries(data: Mapping[str, Any], faults: list[CropFault]) -> dict[str, tuple[str, Any]]:
    """Key to (path, raw value) for every known key, inside its section or at the top.

    Unknown keys and keys given twice are added to ``faults``.
    """
    found: dict[str, tuple[str, Any]] = {}

    def take(key: str, path: str, raw: Any) -> None:
        if key in found:
            faults.append(CropFault(path, "given twice", f"{key} once, also at {found[key][0]}"))
        found[key] = (path, raw)

    for key, raw in data.items():
        if key in SECTIONS:
            if not isinstance(raw, Mapping):
                faults.append(CropFault(str(key), shorten(raw), f"keys of the section {key}"))
                continue
            for inner, value in raw.items():
                path = join(str(key), inner)
                if inner in KEYS and KEYS[inner].section == key:
                    take(inner, path, value)
                elif inner in KEYS:
                    where = f"{inner} in the section {KEYS[inner].section}"
                    faults.append(CropFault(path, "in the wrong section", where))
                else:
                    faults.append(_unknown(path, inner))
        elif key in KEYS:
            take(key, str(key), raw)
        else:
            faults.append(_unknown(str(key), key))
    return found


def _unknown(path: str, key: object) -> CropFault:
    near = get_close_matches(str(key), [*KEYS, *SECTIONS], 1, 0.6)
    known = f"{near[0]} (did you mean that?)" if near else "a key of a crop file"
    return CropFault(path, "unknown key", known)


def parse(
    found: Mapping[str, tuple[str, Any]], default_source: str | None, faults: list[CropFault]
) -> tuple[dict[str, Any], dict[str, Parameter]]:
    """Numbers (and texts) by field, and the same as written.

    Parameters
    ----------
    found : result of `entries`.
    default_source : source of a value written without one; None: a source is required.
    faults : every value that cannot be used is added.
    """
    values: dict[str, Any] = {}
    written: dict[str, Parameter] = {}
    for name, (path, raw) in found.items():
        key = KEYS[name]
        if key.kind == "text":
            try:
                values[name] = _text(key, raw)
            except Refused as error:
                faults.append(CropFault(path, error.value, error.expected))
            continue
        value, source, place = _split(path, raw, default_source, faults)
        if place is None:
            continue
        try:
            values[name] = _KINDS[key.kind](key, value)
        except Refused as error:
            faults.append(CropFault(place + error.inside, error.value, error.expected))
            continue
        written[name] = Parameter(as_written(value), source)
    return values, written


def _split(
    path: str, raw: Any, default_source: str | None, faults: list[CropFault]
) -> tuple[Any, str, str | None]:
    """Value, source and the value's path (None when there is no value to judge)."""
    if not isinstance(raw, Mapping) or "value" not in raw:
        bare = not isinstance(raw, Mapping) or not raw.keys() & {"source"}
        if default_source is not None and bare:
            return raw, default_source, path
        faults.append(CropFault(path, shorten(raw), "value and source"))
        return None, "", None
    for extra in raw.keys() - {"value", "source"}:
        faults.append(CropFault(join(path, extra), "unknown key", "only value and source"))
    source = raw.get("source", default_source)
    if not isinstance(source, str) or len(source.strip()) < 4:
        expected = "a citation, 'common practice, no source' or 'from memory'"
        shown = "no source" if source is None else shorten(source)
        faults.append(CropFault(join(path, "source"), shown, expected))
        source = ""
    elif not is_plain(source):
        faults.append(CropFault(join(path, "source"), shorten(source), PRINTED))
        source = ""
    return raw["value"], " ".join(source.split()), join(path, "value")


def as_written(value: Any) -> str:
    """A raw value as the text that `Parameter` keeps."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return ", ".join(f"{k}: {as_written(v)}" for k, v in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(as_written(v) for v in value)
    return str(value)


def _range(key: Key, low: float, high: float, unit: str) -> str:
    shown = f" {unit}" if unit else ""
    example = ", with its unit" if unit else ""
    never = ", or none" if key.optional else ""
    return f"{low:g} to {high:g}{shown}{example}{never}"


def _number(key: Key, raw: Any, unit: str, low: float, high: float) -> float:
    """One number in ``unit`` within its range."""
    expected = _range(key, low, high, unit)
    if not isinstance(raw, int | float | str):
        raise Refused(raw, expected)
    text = str(raw).strip()
    head, _, tail = text.partition(" ")
    try:
        if not unit and text.endswith("%"):
            number = float(text[:-1]) / 100
        elif not unit:
            number = float(text)
        elif tail.strip() in SPELLINGS[unit]:
            number = float(head)  # written in the key's own unit: nothing to convert
        else:
            number = quantity(text, unit)
    except (UnitFault, ValueError, OverflowError):
        raise Refused(raw, expected) from None
    if not math.isfinite(number) or not low - 1e-9 <= number <= high + 1e-9:
        raise Refused(raw, expected)
    return number


def _quantity(key: Key, raw: Any) -> float | None:
    if key.optional and (raw is None or (isinstance(raw, str) and raw.strip() in _NONE)):
        return None
    return _number(key, raw, key.unit, key.low, key.high)


def _count(key: Key, raw: Any) -> int:
    expected = f"a whole number from {key.low:g} to {key.high:g}"
    try:
        number = _number(key, raw, "", key.low, key.high)
    except Refused:
        raise Refused(raw, expected) from None
    if number != int(number):
        raise Refused(raw, expected)
    return int(number)


def _flag(key: Key, raw: Any) -> bool:
    if not isinstance(raw, bool):
        raise Refused(raw, "true or false")
    return raw


def _text(key: Key, raw: Any) -> str:
    if not isinstance(raw, str) or not raw.strip() or len(raw) > 60:
        raise Refused(raw, "a short text")
    if not is_plain(raw):
        raise Refused(raw, PRINTED)
    if key.name == "name" and not NAME.fullmatch(raw):
        raise Refused(raw, "small letters, digits and _, such as pak_choi")
    return plain(raw)


def _emergence(key: Key, raw: Any) -> tuple[tuple[float, float], ...]:
    if not isinstance(raw, Mapping) or not raw:
        raise Refused(raw, "temperatures with days, such as {10 degC: 7 day, 20 degC: 3 day}")
    low, high = EMERGENCE_TEMPERATURE
    out = []
    for temperature, days in raw.items():
        try:
            out.append(
                (
                    _number(key, temperature, "degC", low, high),
                    _number(key, days, "day", key.low, key.high),
                )
            )
        except Refused as error:
            raise Refused(error.value, error.expected, f".{temperature}") from None
    return tuple(out)


def _shares(key: Key, raw: Any) -> tuple[float, ...]:
    if not isinstance(raw, list | tuple) or not raw:
        raise Refused(raw, "a list of shares, such as [60 %, 40 %]")
    out = []
    for i, share in enumerate(raw):
        try:
            out.append(_number(key, share, "", key.low, key.high))
        except Refused as error:
            raise Refused(error.value, error.expected, f"[{i}]") from None
    return tuple(out)


_KINDS = {
    "quantity": _quantity,
    "count": _count,
    "flag": _flag,
    "emergence": _emergence,
    "shares": _shares,
}
