"""The shape of garden.yaml: sections, keys, units and ranges.

One table for reading and for the JSON Schema that editors use. Quantities are converted here, once;
past this module every number is a plain float of the unit named in the field. Ranges are meant to
catch slips (a wrong unit, a lost digit): common practice, no source.
"""

from __future__ import annotations

import math
import re
from datetime import date
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from crops.units import UnitFault, quantity

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_NUMBER = r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d{1,3})?"
# Only plain unit names: the unit library would evaluate expressions such as 9**9**9.
_QUANTITY = re.compile(rf"({_NUMBER})\s*([A-Za-zµ°%][A-Za-zµ_ ]{{0,24}})")
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
    "litre": "20 L or 5 gal", "cm": "19 cm or 7.5 in", "kg": "1.5 kg or 3 lb",
    "g": "1.5 kg or 3 lb", "degree": "45.2 degree", "metre": "120 m or 400 ft",
    "degC": "20 degC or 68 degF", "day": "2 days",
}  # fmt: skip


def expected(text: str) -> PydanticCustomError:
    """The error a validator raises: what was expected, in the grower's words."""
    return PydanticCustomError("expected", "{text}", {"text": text})


def measure(text: object, unit: str) -> float | None:
    """A written quantity in ``unit``; None if it is none, or of another kind."""
    match = _QUANTITY.fullmatch(text.strip()) if isinstance(text, str) and len(text) < 60 else None
    if match is None:
        return None
    named = " ".join(match[2].split())
    named = _SPELLINGS.get(unit, {}).get(named, named)
    try:
        value = quantity(f"{match[1]} {named}", unit)
    except (UnitFault, OverflowError):
        return None
    # Twelve digits: "68 degF" is 20 degC, not 20.000000000000057.
    return float(f"{value:.12g}") if math.isfinite(value) else None


def _amount(unit: str, low: float, high: float) -> tuple[BeforeValidator, WithJsonSchema]:
    shown = {"litre": "L", "metre": "m", "degree": "degree"}.get(unit, unit)
    text = f"{low:g} to {high:g} {shown}, written with its unit, such as {_EXAMPLES[unit]}"

    def read(raw: Any) -> float:
        value = measure(raw, unit)
        if value is None or not low - 1e-9 <= value <= high + 1e-9:
            raise expected(text)
        return value

    pattern = rf"^\s*{_NUMBER}\s*[A-Za-zµ°%].*$"
    return BeforeValidator(read), WithJsonSchema(
        {"type": "string", "pattern": pattern, "description": text}
    )


def _pure(low: float, high: float, text: str, whole: bool = False, percent: bool = False) -> Any:
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


def _read_date(raw: Any) -> date:
    if isinstance(raw, str) and _DATE.fullmatch(raw):
        try:
            day = date.fromisoformat(raw)
        except ValueError:
            raise expected("a day that exists, as 2027-04-12") from None
        if 1900 <= day.year <= 2200:
            return day
    raise expected("a day written as 2027-04-12")


def _read_name(raw: Any) -> str:
    text = str(raw) if isinstance(raw, int) and not isinstance(raw, bool) else raw
    if not isinstance(text, str) or not _NAME.fullmatch(text) or text != text.strip():
        raise expected("a short name of letters, digits, spaces and . ' ( ) / -")
    return text


def _read_flag(raw: Any) -> bool:
    if not isinstance(raw, bool):
        raise expected("true or false")
    return raw


def _read_days(raw: Any) -> list[int]:
    if raw == "all":
        return list(range(7))
    text = f"a list of {', '.join(DAYS)}, or all"
    if not isinstance(raw, list) or not raw:
        raise expected(text)
    if not all(isinstance(d, str) and d[:3].lower() in DAYS for d in raw):
        raise expected(text)
    return sorted({DAYS.index(d[:3].lower()) for d in raw})


def _one_or_list(raw: Any) -> Any:
    """A single mapping stands for a list of one; nothing for an empty list."""
    return [raw] if isinstance(raw, dict) else [] if raw is None else raw


def _read_file(raw: Any) -> str:
    if not isinstance(raw, str) or not raw.strip() or len(raw) > 240 or not raw.isprintable():
        raise expected("the name of a file beside garden.yaml")
    return raw.strip()


def _read_depth_table(raw: Any) -> list[tuple[float, float]]:
    text = "two or more rising pairs of depth and volume, such as {0 cm: 0 L, 10 cm: 6.1 L}"
    if not isinstance(raw, dict) or not 2 <= len(raw) <= 500:
        raise expected(text)
    pairs = [(measure(d, "cm"), measure(v, "litre")) for d, v in raw.items()]
    out = [(d, v) for d, v in pairs if d is not None and v is not None]
    rising = all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(out))
    if len(out) < len(pairs) or not rising or out[0] != (0, 0) or out[-1][0] > 300:
        raise expected(text + ", beginning at 0")
    return out


def _read_crops(raw: Any) -> Any:
    return {"which": raw} if raw == "all" or isinstance(raw, list) else raw


def _read_which(raw: Any) -> list[str] | None:
    if raw == "all":
        return None
    if not isinstance(raw, list) or not raw or not all(isinstance(n, str) for n in raw):
        raise expected("all, or a list of crops; `dryline crops` names them")
    return raw


def _read_fill(raw: Any) -> tuple[str, float]:
    """("litre", volume) or ("cm", depth)."""
    for unit, high in (("litre", 2000), ("cm", 300)):
        value = measure(raw, unit)
        if value is not None and 0 < value <= high:
            return unit, value
    raise expected("a volume or a depth above 0, such as 18 L or 7.5 in")


Day = Annotated[
    date, BeforeValidator(_read_date),
    WithJsonSchema({"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}),
]  # fmt: skip
Name = Annotated[
    str, BeforeValidator(_read_name),
    WithJsonSchema({"anyOf": [{"type": "string", "maxLength": 40}, {"type": "integer"}]}),
]  # fmt: skip
Flag = Annotated[bool, BeforeValidator(_read_flag)]
File = Annotated[str, BeforeValidator(_read_file)]
Length = Annotated[float, *_amount("cm", 0.5, 300)]
Depth = Annotated[float, *_amount("cm", 0, 300)]
Mass = Annotated[float, *_amount("kg", 0, 500)]
Lift = Annotated[float, *_amount("kg", 0.1, 500)]
Days = Annotated[float, *_amount("day", 0, 90)]
Count = Annotated[int, *_pure(1, 10_000, "a whole number from 1 to 10000", whole=True)]


class Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class SpanModel(Section):
    """Days, both included."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    start: Day = Field(alias="from", description="first day")
    end: Day = Field(alias="to", description="last day")


Spans = Annotated[
    list[SpanModel], BeforeValidator(_one_or_list), Field(default_factory=list, max_length=500)
]


class SiteModel(Section):
    """Where the garden stands."""

    latitude: Annotated[float, *_amount("degree", -90, 90)] = Field(
        description="north positive, such as 45.2 degree"
    )
    elevation: Annotated[float, *_amount("metre", -450, 6000)] = Field(
        description="above the sea, such as 120 m"
    )
    climate: File = Field(description="CSV file with twelve months or daily rows")
    coastal: Flag = Field(False, description="true beside a large body of water")


class SeasonModel(Section):
    """First and last day, days with work, days away."""

    start: Day = Field(description="first day, such as 2027-04-12")
    end: Day = Field(description="last day, such as 2027-10-10")
    work_days: Annotated[
        list[int], BeforeValidator(_read_days),
        WithJsonSchema({"anyOf": [
            {"const": "all"},
            {"type": "array", "minItems": 1, "items": {"type": "string"}},
        ]}),
    ] = Field(
        list(range(7)), description="weekdays with work, such as [mon, wed, fri]"
    )  # fmt: skip
    away: Spans = Field(description="days without work, such as {from: 2027-08-06, to: 2027-08-15}")


class VesselModel(Section):
    """One kind of vessel."""

    shape: Literal["round", "straight", "rectangular", "table"] = Field(
        description="round (tapered), straight (round, same width), rectangular or table"
    )
    bottom: Length | None = Field(None, description="round: inside diameter at the bottom")
    top: Length | None = Field(None, description="round: inside diameter at the top")
    diameter: Length | None = Field(None, description="straight: inside diameter")
    length: Length | None = Field(None, description="rectangular: inside length")
    width: Length | None = Field(None, description="rectangular: inside width")
    height: Length | None = Field(None, description="inside height")
    table: Annotated[
        list[tuple[float, float]], BeforeValidator(_read_depth_table),
        WithJsonSchema({"type": "object", "additionalProperties": {"type": "string"}}),
    ] | None = Field(None, description="table: volume at each depth, as measured")  # fmt: skip
    fill: Annotated[
        tuple[str, float], BeforeValidator(_read_fill), WithJsonSchema({"type": "string"})
    ] = Field(description="volume or depth at filling, such as 18 L or 7.5 in")
    keep: Depth = Field(0.0, description="depth that must remain at harvest, such as 2 cm")
    mass: Mass = Field(description="empty mass with lid, pots and medium, such as 1.4 kg")


class RestModel(Section):
    """After root disease a family waits."""

    family: str = Field(description="botanical family, such as Brassicaceae")
    until: Day = Field(description="last day of the rest")


class TierModel(Section):
    """One tier."""

    vessel: Name = Field(description="name of a vessel of the section vessels")
    light: Annotated[
        float, *_pure(0, 1, "a share of the open sky's light, 0 to 1 or 0 % to 100 %", percent=True)
    ] = Field(description="share of the open sky's light")
    plants: Annotated[int, *_pure(1, 200, "a whole number from 1 to 200", whole=True)] = Field(
        description="holes, one plant or plug each"
    )
    available: Spans = Field(description="days on which it may hold a crop; left out: always")
    rests: Annotated[list[RestModel], BeforeValidator(_one_or_list)] = Field(
        default_factory=list, max_length=100, description="families that wait after disease"
    )


class ColumnModel(Section):
    """A column, or several alike."""

    name: Name | None = Field(None, description="name of the column")
    names: list[Name] | None = Field(
        None, min_length=1, description="names of several columns alike, in place of name"
    )
    count: Count | None = Field(
        None, description="how many alike: name A and count 3 give A1, A2, A3"
    )
    tiers: list[TierModel] = Field(
        min_length=1, max_length=50, description="tiers from top to bottom"
    )


class NurseryModel(Section):
    """Where seedlings are raised."""

    cells: Annotated[
        int, *_pure(0, 1_000_000, "a whole number, 0 or more", whole=True)
    ] = Field(description="cells, one seedling or plug each")  # fmt: skip
    temperature: Annotated[float, *_amount("degC", 0, 45)] | None = Field(
        None, description="if it stands indoors, such as 20 degC; left out: outdoors"
    )


class DemandModel(Section):
    """A weekly wish for one produce group."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    group: Name = Field(description="produce group, such as lettuce")
    per_week: Annotated[float, *_amount("g", 1, 1e8)] = Field(
        description="mass a week, such as 2 kg"
    )
    start: Day | None = Field(None, alias="from", description="first day; left out: the season's")
    end: Day | None = Field(None, alias="to", description="last day; left out: the season's")
    weight: Annotated[
        float, *_pure(0.001, 1000, "a number from 0.001 to 1000")
    ] = Field(1.0, description="worth of a gram against other groups'")  # fmt: skip
    crops: list[str] | None = Field(
        None, min_length=1, description="crops that count for it; left out: those of the group"
    )


class LimitsModel(Section):
    """What the grower can do."""

    lift: Lift | None = Field(None, description="heaviest single vessel lifted, such as 16 kg")
    fills_per_day: Count | None = Field(None, description="vessels filled on one day")
    picks_per_day: Count | None = Field(None, description="tiers picked from on one day")
    dry_margin: Days = Field(2.0, description="days between last pick and dry date, as 2 days")
    turnaround: Days = Field(1.0, description="days from clearing to filling again, as 1 day")


class CropsModel(Section):
    """Which crops, changes to their numbers, and crops of the grower's own."""

    which: Annotated[
        list[str] | None, BeforeValidator(_read_which),
        WithJsonSchema({"anyOf": [
            {"const": "all"}, {"type": "array", "items": {"type": "string"}},
        ]}),
    ] = Field(None, description="all, or a list of crops of the catalogue")  # fmt: skip
    overrides: dict[str, dict[str, Any]] = Field(
        default_factory=dict, description="crop: {key: value with unit}"
    )
    files: list[File] = Field(
        default_factory=list, max_length=100, description="crop files beside garden.yaml"
    )


class GardenModel(Section):
    """garden.yaml: everything a plan depends on."""

    name: Name = Field("garden", description="the garden's name")
    invented: Flag = Field(False, description="true where place and numbers are made up")
    units: Literal["metric", "us"] = Field("metric", description="units of what is printed")
    site: SiteModel = Field(description="where the garden stands")
    season: SeasonModel = Field(description="first and last day, work days, days away")
    vessels: dict[Name, VesselModel] = Field(min_length=1, description="kinds of vessel by name")
    columns: list[ColumnModel] = Field(min_length=1, description="columns of tiers")
    nursery: NurseryModel = Field(description="cells and temperature")
    demand: list[DemandModel] = Field(min_length=1, description="weekly wishes by produce group")
    limits: LimitsModel = Field(
        default_factory=lambda: LimitsModel.model_validate({}), description="what can be done"
    )
    crops: Annotated[CropsModel, BeforeValidator(_read_crops)] = Field(
        default_factory=lambda: CropsModel.model_validate({}),
        description="which crops, with changes; left out: the whole catalogue",
    )
