"""Places in garden.yaml: where columns can stand, lamps, and which column stands where when."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Field, WithJsonSchema

from crops.units import NUMBER
from scheduler.garden.fields import Day, Flag, Name, Section, amount, expected, pure

Share = Annotated[float, *pure(0, 1, "a share, 0 to 1 or 0 % to 100 %", percent=True)]


def _quantity(text: str, units: dict[str, float], low: float, high: float) -> Any:
    """A number with one of ``units``, each with its factor; ``text`` says what was expected."""
    known = "|".join(map(re.escape, units))
    form = re.compile(rf"({NUMBER})\s*({known})")

    def read(raw: Any) -> float:
        match = form.fullmatch(raw.strip()) if isinstance(raw, str) and len(raw) < 40 else None
        value = None if match is None else float(match[1]) * units[match[match.lastindex or 2]]
        if value is None or not low - 1e-9 <= value <= high + 1e-9:
            raise expected(text)
        return round(value, 12)

    pattern = rf"^\s*{NUMBER}\s*({known})\s*$"
    schema = {"type": "string", "pattern": pattern, "description": text}
    return BeforeValidator(read), WithJsonSchema(schema)


_WARMER = _quantity(
    "0 to 15 degC warmer, such as 2 degC or 4 degF",
    {"degC": 1.0, "degF": 5 / 9, "C": 1.0, "F": 5 / 9, "K": 1.0},
    0,
    15,
)
Warmer = Annotated[float, *_WARMER]


class LampModel(Section):
    """A lamp."""

    power: Annotated[float, *_quantity("0.5 to 5000 W", {"W": 1.0, "kW": 1000.0}, 0.5, 5000)] = (
        Field(description="what it draws, such as 60 W")
    )
    efficacy: Annotated[
        float,
        *_quantity(
            "0.3 to 5 umol/J, as its data sheet says",
            {"umol/J": 1.0, "µmol/J": 1.0, "μmol/J": 1.0, "micromol/J": 1.0},
            0.3,
            5,
        ),
    ] = Field(description="photons for its energy, such as 2.6 umol/J")
    hours: Annotated[float, *_quantity("0 to 24 h a day", {"h": 1.0}, 0, 24)] = Field(
        description="hours of light a day, such as 14 h"
    )
    area: Annotated[
        float,
        *_quantity(
            "0.01 to 100 m2",
            {"m2": 1.0, "m²": 1.0, "ft2": 0.09290304, "ft²": 0.09290304},
            0.01,
            100,
        ),
    ] = Field(description="on which its light falls, such as 0.25 m2")
    price: Annotated[float, *pure(0, 1000, "money a kWh, 0 or more")] = Field(
        0.0, description="of a kWh, in your money"
    )


class PlaceModel(Section):
    """One place."""

    kind: Literal["open", "eaves", "shade", "fleece", "frame", "indoors"] = Field(
        description="open, eaves, shade (cloth), fleece, frame (cold frame) or indoors"
    )
    light: Share | None = Field(None, description="share of the open sky's light that reaches it")
    night: Warmer | None = Field(None, description="how much warmer nights are, such as 2 degC")
    day: Warmer | None = Field(None, description="how much warmer days are, up to 25 degC")
    evaporation: Annotated[float, *pure(0, 2, "a share, 0 to 2 or 0 % to 200 %", percent=True)] | (
        None
    ) = Field(None, description="share of the open air's evaporation")
    rain: Flag | None = Field(None, description="whether rain falls into it")
    temperature: Annotated[float, *amount("degC", 0, 45)] | None = Field(
        None, description="indoors: of the air, such as 19 degC"
    )
    humidity: Share | None = Field(None, description="indoors: of the air, such as 50 %")
    lamp: LampModel | None = Field(None, description="over the column")


class StayModel(Section):
    """A place for a span of days."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    place: Name = Field(alias="in", description="a place of the section places, or open")
    start: Day | None = Field(None, alias="from", description="first day; left out: the season's")
    end: Day | None = Field(None, alias="to", description="last day; left out: the season's")


def _read_stays(raw: Any) -> Any:
    """A name stands for a stay of the whole season, a mapping for a list of one."""
    if isinstance(raw, str | int) and not isinstance(raw, bool):
        return [{"in": raw}]
    return [raw] if isinstance(raw, dict) else [] if raw is None else raw


_STAY = StayModel.model_json_schema()
Stays = Annotated[
    list[StayModel],
    BeforeValidator(_read_stays),
    Field(default_factory=list, max_length=100),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "maxLength": 40},
                _STAY,
                {"type": "array", "items": _STAY},
            ]
        }
    ),
]
