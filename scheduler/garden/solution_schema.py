"""The section ``solution`` of garden.yaml: what the grower mixes with.

Fertilizers by guaranteed analysis or by formula, source water, acid, scale; read into a
`crops.solution.shelf.Shelf`.
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from crops.solution.acid import ACIDS, DEFAULT_ACID, PH_RANGE
from crops.solution.conductivity import CACO3
from crops.solution.recipe import Water
from crops.solution.salts import (
    MAIN,
    TARGETS,
    WAYS,
    Salt,
    SaltFault,
    from_analysis,
    from_formula,
)
from crops.solution.shelf import KITCHEN_SCALE, Shelf
from scheduler.garden.fields import Name, Section, amount, expected, pure

_NUMBER = r"\d+(?:\.\d*)?|\.\d+"
# mg/L of CaCO3 in one of each: milliequivalent, German and French degree of hardness.
_ALKALINITY = {"mg/L": 1.0, "ppm": 1.0, "meq/L": CACO3, "dKH": 17.85, "dH": 17.85, "fH": 10.0}
_ELEMENT = {"mg/L": 1.0, "ppm": 1.0}


def _strength(units: dict[str, float], most: float, example: str) -> Any:
    text = f"0 to {most:g} mg/L, written with its unit, such as {example}"
    known = {u.lower(): factor for u, factor in units.items()}
    form = re.compile(rf"({_NUMBER})\s*({'|'.join(known)})", re.IGNORECASE)

    def read(raw: Any) -> float:
        match = form.fullmatch(raw.strip()) if isinstance(raw, str) and len(raw) < 40 else None
        if match is None or float(match[1]) * known[match[2].lower()] > most:
            raise expected(text)
        return float(match[1]) * known[match[2].lower()]

    pattern = rf"^\s*({_NUMBER})\s*({'|'.join(units)})\s*$"
    schema = {"type": "string", "pattern": pattern, "description": text}
    return BeforeValidator(read), WithJsonSchema(schema)


Percent = Annotated[float, *pure(0, 1, "a share by mass, such as 19 %", percent=True)]
InWater = Annotated[float, *_strength(_ELEMENT, 5000, "40 mg/L")]


class FertilizerModel(Section):
    """One fertilizer, by guaranteed analysis or by formula."""

    name: Name = Field(description="what you call it")
    analysis: str | None = Field(None, description="N-P2O5-K2O in percent, such as 4-18-38")
    formula: str | None = Field(None, description="chemical formula, such as MgSO4.7H2O")
    parts: Annotated[float, *pure(0.001, 1000, "a number from 0.001 to 1000")] | None = Field(
        None, description="its share by mass in a fixed way of mixing"
    )
    ammonium: Percent | None = Field(None, description="ammonium nitrogen of the product")
    urea: Percent | None = Field(None, description="urea nitrogen of the product")
    Ca: Percent | None = Field(None, description="calcium")
    Mg: Percent | None = Field(None, description="magnesium")
    S: Percent | None = Field(None, description="sulfur")
    CaO: Percent | None = Field(None, description="calcium as oxide")
    MgO: Percent | None = Field(None, description="magnesium as oxide")
    SO3: Percent | None = Field(None, description="sulfur as oxide")
    Cl: Percent | None = Field(None, description="chloride")
    Na: Percent | None = Field(None, description="sodium")
    Fe: Percent | None = Field(None, description="iron")
    Mn: Percent | None = Field(None, description="manganese")
    Zn: Percent | None = Field(None, description="zinc")
    Cu: Percent | None = Field(None, description="copper")
    B: Percent | None = Field(None, description="boron")
    Mo: Percent | None = Field(None, description="molybdenum")

    @model_validator(mode="after")
    def _makes_a_salt(self) -> FertilizerModel:
        if (self.analysis is None) == (self.formula is None):
            raise expected("either an analysis or a formula")
        stated = [k for k in _LINES if getattr(self, k) is not None]
        if self.formula is not None and stated:
            raise expected(f"no line {stated[0]} beside a formula, which says it already")
        try:
            self.salt()
        except SaltFault as error:
            raise expected(f"a fertilizer that can be: {error}") from error
        return self

    def salt(self) -> Salt:
        """The fertilizer.

        Raises
        ------
        SaltFault
        """
        if self.formula is not None:
            return from_formula(self.name, self.formula, self.parts)
        percent = {k: 100 * v for k in _LINES if (v := getattr(self, k)) is not None}
        ammonium, urea = percent.pop("ammonium", 0.0), percent.pop("urea", 0.0)
        return from_analysis(self.name, self.analysis or "", percent, ammonium, urea, self.parts)


_LINES = (
    "ammonium",
    "urea",
    "Ca",
    "Mg",
    "S",
    "CaO",
    "MgO",
    "SO3",
    "Cl",
    "Na",
    "Fe",
    "Mn",
    "Zn",
    "Cu",
    "B",
    "Mo",
)


class WaterModel(Section):
    """Source water, as its analysis says."""

    alkalinity: Annotated[float, *_strength(_ALKALINITY, 1000, "120 mg/L (as CaCO3)")] = Field(
        0.0, description="as CaCO3, such as 120 mg/L, 2.4 meq/L or 6.7 dKH"
    )
    pH: Annotated[float, *pure(3, 11, "a pH from 3 to 11")] = Field(7.5, description="its pH")
    Ca: InWater = Field(0.0, description="calcium, such as 40 mg/L")
    Mg: InWater = Field(0.0, description="magnesium")
    K: InWater = Field(0.0, description="potassium")
    Na: InWater = Field(0.0, description="sodium")
    Cl: InWater = Field(0.0, description="chloride")
    S: InWater = Field(0.0, description="sulfur; a third of the sulfate")
    NO3_N: InWater = Field(0.0, description="nitrogen of the nitrate")
    P: InWater = Field(0.0, description="phosphorus")
    Fe: InWater = Field(0.0, description="iron")
    Mn: InWater = Field(0.0, description="manganese")
    Zn: InWater = Field(0.0, description="zinc")
    Cu: InWater = Field(0.0, description="copper")
    B: InWater = Field(0.0, description="boron")

    def water(self) -> Water:
        found = {"N_NO3": self.NO3_N}
        found |= {
            e: getattr(self, e)
            for e in ("P", "K", "Ca", "Mg", "S", "Na", "Cl", "Fe", "Mn", "Zn", "Cu", "B")
        }
        return Water({e: v for e, v in found.items() if v}, self.alkalinity, self.pH)


def _read_target(raw: Any) -> dict[str, float]:
    text = (
        f"one of {', '.join(TARGETS)}, or elements such as {{N: 150 mg/L, K: 190 mg/L}} "
        f"of {', '.join(MAIN)}"
    )
    if isinstance(raw, str) and raw in TARGETS:
        return dict(TARGETS[raw])
    if not isinstance(raw, dict) or not raw or not set(raw) <= set(MAIN):
        raise expected(text)
    out = {}
    for element, value in raw.items():
        match = re.fullmatch(rf"\s*({_NUMBER})\s*(mg/L|ppm)\s*", str(value)[:40], re.IGNORECASE)
        if match is None or float(match[1]) > 2000:
            raise expected(text)
        out[element] = float(match[1])
    if not any(out.values()):
        raise expected(text)
    return out


_MG_L = {"type": "string", "pattern": rf"^\s*({_NUMBER})\s*(mg/L|ppm)\s*$"}


class SolutionModel(Section):
    """What the grower mixes with."""

    way: Literal["three-salt", "two-part", "one-bag"] = Field(
        "three-salt", description="a common way of mixing, where no fertilizers are listed"
    )
    fertilizers: list[FertilizerModel] = Field(
        default_factory=list, max_length=30, description="what stands on your shelf"
    )
    target: Annotated[
        dict[str, float] | None,
        BeforeValidator(_read_target),
        WithJsonSchema(
            {
                "anyOf": [
                    {"enum": list(TARGETS)},
                    {
                        "type": "object",
                        "minProperties": 1,
                        "additionalProperties": False,
                        "properties": dict.fromkeys(MAIN, _MG_L),
                    },
                ]
            }
        ),
    ] = Field(None, description="elements to come near to, for fertilizers without parts")
    water: WaterModel | None = Field(None, description="source water; left out: as rain water")
    acid: Literal["none", *ACIDS] = Field(  # type: ignore[valid-type]
        DEFAULT_ACID, description="against the water's alkalinity"
    )
    pH: Annotated[float, *pure(*PH_RANGE, "a pH from 4 to 8")] | None = Field(
        None, description="to bring a fill to; left out: the middle of the crop's range"
    )
    scale: Annotated[float, *amount("g", 0.001, 100)] = Field(
        KITCHEN_SCALE, description="smallest step of your scale, such as 0.1 g"
    )

    @model_validator(mode="after")
    def _fits_together(self) -> SolutionModel:
        names = [f.name for f in self.fertilizers]
        twice = sorted({n for n in names if names.count(n) > 1})
        if twice:
            raise expected(f"a name for each fertilizer; {twice[0]} stands twice")
        parts = [f.parts is not None for f in self.fertilizers]
        if any(parts) and not all(parts):
            raise expected("parts for every fertilizer, or for none")
        if any(parts) and self.target is not None:
            raise expected("parts or a target, not both")
        return self

    def shelf(self) -> Shelf:
        """The same for the recipe."""
        way = WAYS[self.way]
        salts = tuple(f.salt() for f in self.fertilizers) or way.salts
        fixed = all(s.parts is not None for s in salts) and self.target is None
        return Shelf(
            salts=salts,
            way="" if self.fertilizers else way.name,
            target=None if fixed else (self.target or TARGETS["leafy"]),
            water=self.water.water() if self.water else Water(),
            known=self.water is not None,
            acid=ACIDS.get(self.acid),
            ph=self.pH,
            scale=self.scale,
        )
