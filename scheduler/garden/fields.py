"""One value of garden.yaml: how it is written, what it becomes, what is said when it is wrong.

Quantities are converted here, once; past this module every number is a plain float. Each kind of
value has a reader and the JSON Schema of what it reads.
"""

from __future__ import annotations

import math
import re
from datetime import date
from itertools import pairwise
from typing import Annotated, Any
from unicodedata import normalize

from pydantic import BaseModel, BeforeValidator, ConfigDict, WithJsonSchema
from pydantic_core import PydanticCustomError

from crops.names import plain
from crops.units import NUMBER, UnitFault, number, quantity


class Section(BaseModel):
    """A mapping of garden.yaml: known keys only, unchangeable once read."""

    model_config = ConfigDict(extra="forbid", frozen=True)


DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_DAY_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_NUMBER = r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d{1,3})?"  # of a share in per cent
# Only plain unit names: the unit library would evaluate expressions such as 9**9**9.
_UNIT = re.compile(r"\s*([A-Za-zµ°%][A-Za-zµ_ ]{0,24})")
_NAME = re.compile(r"\w[\w .'()/-]{0,38}")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")

# How people write units that the unit library knows under another name, by unit of the field.
_SPELLINGS = {
    "degC": {"C": "degC", "F": "degF"},
    "litre": {"fl oz": "fluid_ounce", "floz": "fluid_ounce", "US gal": "gallon"},
    "day": {"wk": "week", "wks": "week"},
}
# For the message, by unit of the field.
_EXAMPLES = {
    "litre": "20 L or 5 gal",
    "cm": "24 cm or 9 in",
    "kg": "1.5 kg or 3 lb",
    "g": "1.5 kg or 3 lb",
    "degree": "45.2 degree",
    "metre": "120 m or 400 ft",
    "degC": "20 degC or 68 degF",
    "day": "2 days",
    "min": "20 min or 1.5 h",
}


def expected(text: str) -> PydanticCustomError:
    """The error a validator raises: what was expected, in the grower's words."""
    return PydanticCustomError("expected", "{text}", {"text": text})


def measure(text: object, unit: str) -> float | None:
    """A written quantity in ``unit``; None if it is none, or of another kind."""
    parts = number(text.strip()) if isinstance(text, str) and len(text) < 60 else None
    match = _UNIT.fullmatch(parts[1]) if parts else None
    if parts is None or match is None:
        return None
    named = " ".join(match[1].split())
    named = _SPELLINGS.get(unit, {}).get(named, named)
    try:
        value = quantity(f"{parts[0]!r} {named}", unit)
    except (UnitFault, OverflowError):
        return None
    # Twelve digits: "68 degF" is 20 degC, not 20.000000000000057.
    return float(f"{value:.12g}") if math.isfinite(value) else None


def amount(unit: str, low: float, high: float) -> tuple[BeforeValidator, WithJsonSchema]:
    shown = {"litre": "L", "metre": "m", "degree": "degree"}.get(unit, unit)
    text = f"{low:g} to {high:g} {shown}, written with its unit, such as {_EXAMPLES[unit]}"

    def read(raw: Any) -> float:
        value = measure(raw, unit)
        if value is None or not low - 1e-9 <= value <= high + 1e-9:
            raise expected(text)
        return value

    pattern = rf"^\s*{NUMBER}\s*[A-Za-zµ°%].*$"
    return BeforeValidator(read), WithJsonSchema(
        {"type": "string", "pattern": pattern, "description": text}
    )


def pure(low: float, high: float, text: str, whole: bool = False, percent: bool = False) -> Any:
    def read(raw: Any) -> float | int:
        if percent and isinstance(raw, str) and re.fullmatch(rf"{_NUMBER}\s*%", raw.strip()):
            raw = float(raw.strip()[:-1]) / 100
        if isinstance(raw, bool) or not isinstance(raw, int | float) or not low <= raw <= high:
            raise expected(text)
        if whole and raw != int(raw):
            raise expected(text)
        return int(raw) if whole else float(raw)

    number: dict[str, Any] = {"type": "integer" if whole else "number"}
    number |= {"minimum": low, "maximum": high}
    if percent:
        number = {"anyOf": [number, {"type": "string", "pattern": rf"^\s*{_NUMBER}\s*%\s*$"}]}
    return BeforeValidator(read), WithJsonSchema({**number, "description": text})


def read_date(raw: Any) -> date:
    if isinstance(raw, str) and _DATE.fullmatch(raw):
        try:
            day = date.fromisoformat(raw)
        except ValueError:
            raise expected("a day of the calendar, such as 2027-04-12") from None
        if 1900 <= day.year <= 2200:
            return day
    raise expected("a day written as 2027-04-12")


def read_name(raw: Any) -> str:
    """A name, with letters composed (Unicode form NFC): those that look alike are alike."""
    text = str(raw) if isinstance(raw, int) and not isinstance(raw, bool) else raw
    text = normalize("NFC", text) if isinstance(text, str) and len(text) < 100 else ""
    if not _NAME.fullmatch(text) or text != plain(text):
        raise expected("a short name of letters, digits, single spaces and . ' ( ) / -")
    return text


def read_flag(raw: Any) -> bool:
    if not isinstance(raw, bool):
        raise expected("true or false")
    return raw


def read_days(raw: Any) -> list[int]:
    if raw == "all":
        return list(range(7))
    text = f"a list of {', '.join(DAYS)}, or all"

    def day(name: str) -> int | None:
        name = name.lower()
        fits = (i for i, d in enumerate(_DAY_NAMES) if len(name) >= 3 and d.startswith(name))
        return next(fits, None)

    if not isinstance(raw, list) or not raw:
        raise expected(text)
    days = [day(d) if isinstance(d, str) else None for d in raw]
    if None in days:
        raise expected(text)
    return sorted({d for d in days if d is not None})


def one_or_list(raw: Any) -> Any:
    """A single mapping stands for a list of one; nothing for an empty list."""
    return [raw] if isinstance(raw, dict) else [] if raw is None else raw


def read_file(raw: Any) -> str:
    if not isinstance(raw, str) or not raw.strip() or len(raw) > 240 or not raw.isprintable():
        raise expected("the name of a file beside garden.yaml")
    return raw.strip()


def read_depth_table(raw: Any) -> list[tuple[float, float]]:
    text = "two or more rising pairs of depth and volume, such as {0 cm: 0 L, 10 cm: 6.1 L}"
    if not isinstance(raw, dict) or not 2 <= len(raw) <= 500:
        raise expected(text)
    pairs = [(measure(d, "cm"), measure(v, "litre")) for d, v in raw.items()]
    out = [(d, v) for d, v in pairs if d is not None and v is not None]
    rising = all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(out))
    if len(out) < len(pairs) or not rising or out[0] != (0, 0) or out[-1][0] > 300:
        raise expected(text + ", beginning at 0")
    return out


def crops_in_short(raw: Any) -> Any:
    return {"which": raw} if raw == "all" or isinstance(raw, list) else raw


def read_which(raw: Any) -> list[str] | None:
    if raw == "all":
        return None
    if not isinstance(raw, list) or not raw or not all(isinstance(n, str) for n in raw):
        raise expected("all, or a list of crops; `dryline crops` names them")
    return raw


def read_fill(raw: Any) -> tuple[str, float]:
    """("litre", volume) or ("cm", depth)."""
    for unit, high in (("litre", 2000), ("cm", 300)):
        value = measure(raw, unit)
        if value is not None and 0 < value <= high:
            return unit, value
    raise expected("a volume or a depth above 0, such as 18 L or 9 in")


Day = Annotated[
    date,
    BeforeValidator(read_date),
    WithJsonSchema({"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}),
]
Name = Annotated[
    str,
    BeforeValidator(read_name),
    WithJsonSchema({"anyOf": [{"type": "string", "maxLength": 40}, {"type": "integer"}]}),
]
Flag = Annotated[bool, BeforeValidator(read_flag)]
File = Annotated[str, BeforeValidator(read_file)]
Length = Annotated[float, *amount("cm", 0.5, 300)]
Depth = Annotated[float, *amount("cm", 0, 300)]
Mass = Annotated[float, *amount("kg", 0, 500)]
Lift = Annotated[float, *amount("kg", 0.1, 500)]
Days = Annotated[float, *amount("day", 0, 90)]
Minutes = Annotated[float, *amount("min", 0, 1440)]
Count = Annotated[int, *pure(1, 10_000, "a whole number from 1 to 10000", whole=True)]
