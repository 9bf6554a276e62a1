"""From the content of garden.yaml to checked sections: shapes, units and ranges, every fault.

Each section, column, vessel and wish is judged on its own, so that one fault does not hide
others, and what is sound can still be checked against the rest.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from typing import Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError, create_model

from crops.names import same_name
from crops.place import OPEN
from scheduler.base.faults import Fault
from scheduler.base.yaml_lines import Document, Place, shorten
from scheduler.garden.fields import Name, Section
from scheduler.garden.near import near_key
from scheduler.garden.near import near_names as near_names
from scheduler.garden.place_schema import PlaceModel
from scheduler.garden.schema import (
    ColumnModel,
    CropsModel,
    DemandModel,
    EventModel,
    GardenModel,
    HelperModel,
    LimitsModel,
    NurseryModel,
    RestModel,
    SeasonModel,
    SiteModel,
    SpanModel,
    TierModel,
    VesselModel,
)
from scheduler.garden.solution_schema import SolutionModel
from scheduler.garden.standing_schema import SeedlingsModel, StandingModel
from scheduler.garden.will_schema import FixedModel, NeverModel, never_in_short

MOST_ITEMS = 5000
M = TypeVar("M", bound=BaseModel)

# What pydantic's own errors mean to the grower.
_EXPECTED = {
    "dict_type": "a mapping of keys and values",
    "model_type": "a mapping of keys and values",
    "model_attributes_type": "a mapping of keys and values",
    "list_type": "a list",
    "string_type": "a text",
    "none_required": "nothing",
}
# What stands for a key that must be there and cannot be read, so that the rest can be judged: no
# garden is made of it, as its fault is told.
_STAND_INS: dict[type[BaseModel], dict[str, Any]] = {
    SeasonModel: {"start": "2000-01-01", "end": "2000-01-01"},
    VesselModel: {"shape": "round", "fill": "1 L", "mass": "1 kg"},
    DemandModel: {"per_week": "1 g"},
    StandingModel: {"crop": "", "column": "0", "tier": 1},
    SeedlingsModel: {"crop": "", "cells": 1},
    EventModel: {"date": "2000-01-01", "group": "0", "amount": "1 g"},
    HelperModel: {"name": "0", "minutes": "1 min"},
}


@dataclass(frozen=True)
class TierPart:
    """What can be judged of a tier, others of its keys being faulty; lists by their position."""

    vessel: str | None
    available: dict[int, SpanModel]
    rests: dict[int, RestModel]
    plants: int | None = None

    @classmethod
    def of(cls, tier: TierModel) -> TierPart:
        available, rests = dict(enumerate(tier.available)), dict(enumerate(tier.rests))
        return cls(tier.vessel, available, rests, tier.plants)


@dataclass
class Sections:
    """The sound parts of a garden file; what was faulty is None or left out.

    Columns and wishes keep their position in the file. ``parts`` holds by its place each vessel,
    wish and season that can be judged at all, ``unread`` the keys of it that cannot.
    """

    doc: Document
    faults: list[Fault]
    name: str = "garden"
    units: str = "metric"
    invented: bool = False
    site: SiteModel | None = None
    season: SeasonModel | None = None
    nursery: NurseryModel | None = None
    limits: LimitsModel | None = None
    crops: CropsModel | None = None
    solution: SolutionModel | None = None
    vessels: dict[str, VesselModel] = field(default_factory=dict)
    vessel_names: set[str] = field(default_factory=set)  # the faulty ones too
    vessel_places: dict[Place, str] = field(default_factory=dict)  # as written, and its name
    place_spots: dict[Place, str] = field(default_factory=dict)  # places as written, their names
    columns: dict[int, ColumnModel] = field(default_factory=dict)
    demands: dict[int, DemandModel] = field(default_factory=dict)
    standing: dict[int, StandingModel] = field(default_factory=dict)
    seedlings: dict[int, SeedlingsModel] = field(default_factory=dict)
    helpers: dict[int, HelperModel] = field(default_factory=dict)
    events: dict[int, EventModel] = field(default_factory=dict)
    fixed: dict[int, FixedModel] = field(default_factory=dict)
    never: dict[int, NeverModel] = field(default_factory=dict)
    parts: dict[Place, BaseModel] = field(default_factory=dict)
    unread: dict[Place, frozenset[str]] = field(default_factory=dict)
    away: dict[int, SpanModel] = field(default_factory=dict)
    tiers: dict[tuple[int, int], TierPart] = field(default_factory=dict)  # of faulty columns

    @property
    def season_days(self) -> tuple[date | None, date | None]:
        """First and last day of the season; None for one that cannot be read."""
        season = self.parts.get(("season",))
        if not isinstance(season, SeasonModel):
            return None, None
        unread = self.unread.get(("season",), frozenset())
        return (
            None if "start" in unread else season.start,
            None if "end" in unread else season.end,
        )

    @property
    def wishes(self) -> dict[int, DemandModel]:
        """The wishes by position, with those of which a part cannot be read."""
        found = {place[-1]: part for place, part in self.parts.items() if place[:1] == ("demand",)}
        return {i: w for i, w in found.items() if isinstance(w, DemandModel) and isinstance(i, int)}

    def listed(self) -> list[tuple[str, type[Any], dict[int, Any]]]:
        """Lists that may be left out: key, what is listed, the sound ones so far."""
        return [
            ("standing", StandingModel, self.standing),
            ("events", EventModel, self.events),
            ("helpers", HelperModel, self.helpers),
            ("seedlings", SeedlingsModel, self.seedlings),
            ("fixed", FixedModel, self.fixed),
            ("never", NeverModel, self.never),
        ]

    def fault(self, place: Place, value: object, expected: str) -> None:
        self.faults.append(self.doc.fault(place, value, expected))


def read_sections(doc: Document) -> Sections:
    """Every section of a garden file that has the right shape; the faults of the others."""
    out = Sections(doc, list(doc.faults))
    data = doc.data
    fields = GardenModel.model_fields
    if not isinstance(data, dict):
        value = "an empty file" if data is None else data
        out.fault((), value, f"the sections {', '.join(fields)}")
        return out
    for key in data:
        if key not in fields:
            out.fault((key,), "unknown key", near_key(key, list(fields)))
    for key, info in fields.items():
        if key not in data and info.is_required():
            out.fault((), "", f"a section {key}: {info.description}")
    for key in ("name", "units", "invented"):
        if key in data:
            value = _checked(out, _scalar_model(key), {key: data[key]}, ())
            if value is not None:
                setattr(out, key, getattr(value, key))
    if data.get("crops") == "all" or isinstance(data.get("crops"), list):
        data = {**data, "crops": {"which": data["crops"]}}
    singles: dict[str, type[Section]] = {
        "site": SiteModel,
        "season": SeasonModel,
        "nursery": NurseryModel,
        "limits": LimitsModel,
        "crops": CropsModel,
        "solution": SolutionModel,
    }
    for key, model in singles.items():
        raw = data.get(key, {} if not fields[key].is_required() else None)
        if key in data or raw is not None:
            setattr(out, key, _checked(out, model, raw, (key,)))
    _away(out, data)
    _vessels(out, data)
    _places(out, data)
    _items(out, data, "columns", ColumnModel, out.columns)
    _tiers_of_faulty_columns(out, data)
    _items(out, data, "demand", DemandModel, out.demands)
    if "never" in data:
        data = {**data, "never": never_in_short(data["never"])}
    for key, listed, found in out.listed():
        if data.get(key) not in (None, []):  # an empty list is as if left out
            _items(out, data, key, listed, found)
    return out


def _away(out: Sections, data: dict[str, Any]) -> None:
    """Each absence on its own, so that a faulty one hides no other."""
    season = data.get("season")
    out.away.update(_sound(SpanModel, season.get("away") if isinstance(season, dict) else None))


def _sound(model: type[M], raw: Any) -> dict[int, M]:
    """The sound ones of a list, or of one item, by their position."""
    found = {}
    for i, item in enumerate(raw if isinstance(raw, list) else [raw]):
        if isinstance(item, dict):
            with suppress(ValidationError):
                found[i] = model.model_validate(item)
    return found


def _scalar_model(key: str) -> type[BaseModel]:
    """A model of one value at the top of the file."""
    info = GardenModel.model_fields[key]
    fields: dict[str, Any] = {key: (info.rebuild_annotation(), ...)}
    return create_model(f"Only{key}", **fields)


def _vessels(out: Sections, data: dict[str, Any]) -> None:
    if "vessels" not in data:
        return
    raw = data["vessels"]
    if not isinstance(raw, dict) or not raw:
        out.fault(("vessels",), raw, "names of vessels, each with shape, sizes, fill and mass")
        return
    same: dict[str, str] = {}
    for written, value in raw.items():
        place = ("vessels", written)
        name = written
        try:
            name = TypeAdapter(Name).validate_python(written)
        except ValidationError as error:
            out.fault(place, written, error.errors()[0]["msg"])
        out.vessel_names.add(name)
        out.vessel_places[place] = name
        first = same.setdefault(same_name(name), written)
        if first != written:
            line = out.doc.line(("vessels", first))
            out.fault(
                place,
                written,
                f"each vessel's name once; {shorten(first)} on line {line} is the same",
            )
        model = _checked(out, VesselModel, value, place)
        if model is not None:
            out.vessels[name] = model


def _places(out: Sections, data: dict[str, Any]) -> None:
    raw = data.get("places")
    if raw is None:
        return
    if not isinstance(raw, dict):
        out.fault(("places",), raw, "names of places, each with its kind")
        return
    seen = {OPEN.name: ""}
    for written, value in raw.items():
        spot, name = ("places", written), written
        try:
            name = TypeAdapter(Name).validate_python(written)
        except ValidationError as error:
            out.fault(spot, written, error.errors()[0]["msg"])
        known = same_name(str(name))
        if known in seen:
            out.fault(spot, written, "each place's name once, and none of them open")
        seen[known] = written
        out.place_spots[spot] = str(name)
        _checked(out, PlaceModel, value, spot)


def _tiers_of_faulty_columns(out: Sections, data: dict[str, Any]) -> None:
    """What can be judged of the tiers of columns that are not sound."""
    columns = data.get("columns")
    for i, column in enumerate(columns if isinstance(columns, list) else []):
        tiers = column.get("tiers") if isinstance(column, dict) and i not in out.columns else None
        for k, tier in enumerate(tiers if isinstance(tiers, list) else []):
            if isinstance(tier, dict):
                name = tier.get("vessel")
                out.tiers[i, k] = TierPart(
                    name if isinstance(name, str) else None,
                    _sound(SpanModel, tier.get("available")),
                    _sound(RestModel, tier.get("rests")),
                    plants if type(plants := tier.get("plants")) is int else None,
                )


def _items(
    out: Sections, data: dict[str, Any], key: str, model: type[M], found: dict[int, M]
) -> None:
    if key not in data:
        return
    raw = data[key]
    if not isinstance(raw, list) or not raw or len(raw) > MOST_ITEMS:
        out.fault((key,), raw, f"a list of {GardenModel.model_fields[key].description}")
        return
    for i, value in enumerate(raw):
        checked = _checked(out, model, value, (key, i))
        if checked is not None:
            found[i] = checked


def _checked(out: Sections, model: type[M], raw: Any, place: Place) -> M | None:
    if not isinstance(raw, dict):
        keys = ", ".join(_keys(model))
        out.fault(place, raw, f"a mapping with the keys {keys}")
        return None
    try:
        found = out.parts[place] = model.model_validate(raw)
        return found
    except ValidationError as error:
        for one in error.errors(include_url=False):
            _report(out, model, one, place)
        faulty = {str(one["loc"][0]) for one in error.errors(include_url=False) if one["loc"]}
    # Without its faulty keys, if those may be left out, the rest can still be checked.
    rest = {k: v for k, v in raw.items() if k not in faulty}
    out.unread[place] = frozenset(faulty)
    try:
        found = out.parts[place] = model.model_validate(rest)
        return found
    except ValidationError:
        stand_ins = {k: v for k, v in _STAND_INS.get(model, {}).items() if k in faulty}
        with suppress(ValidationError):
            out.parts[place] = model.model_validate({**rest, **stand_ins})
        return None


def _keys(model: type[BaseModel]) -> list[str]:
    return [info.alias or name for name, info in model.model_fields.items()]


def _report(out: Sections, model: type[BaseModel], error: Any, place: Place) -> None:
    where: Place = (*place, *error["loc"])
    kind, value = error["type"], error["input"]
    if kind == "missing":
        key = str(where[-1])
        out.fault(where, "missing", f"{key}: {_meaning(model, error['loc'])}")
    elif kind == "extra_forbidden":
        out.fault(where, "unknown key", near_key(str(where[-1]), _keys_at(model, error["loc"])))
    elif kind == "literal_error":
        out.fault(where, value, error["ctx"]["expected"].replace("'", ""))
    elif kind in ("too_short", "too_long"):
        least = "min_length" if kind == "too_short" else "max_length"
        word = "at least" if kind == "too_short" else "at most"
        out.fault(where, value, f"a list of {word} {error['ctx'][least]}")
    else:
        out.fault(where, value, _EXPECTED.get(kind, error["msg"]))


def _model_at(model: type[BaseModel], loc: tuple[str | int, ...]) -> type[BaseModel]:
    """The model that the last part of ``loc`` is a key of."""
    for part in loc[:-1]:
        for name, info in model.model_fields.items():
            if part == (info.alias or name):
                inner = _inner_model(info.annotation)
                model = inner or model
    return model


def _inner_model(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in getattr(annotation, "__args__", ()):
        found = _inner_model(part)
        if found is not None:
            return found
    return None


def _keys_at(model: type[BaseModel], loc: tuple[str | int, ...]) -> list[str]:
    return _keys(_model_at(model, loc))


def _meaning(model: type[BaseModel], loc: tuple[str | int, ...]) -> str:
    for name, info in _model_at(model, loc).model_fields.items():
        if loc[-1] == (info.alias or name):
            return info.description or name
    return "a value"
