"""A week's wish as people say it, and what it weighs: heads, bunches, people and their salads."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from crops.crop import Crop
from crops.units import NUMBER
from scheduler.garden.fields import expected, measure

MASS, HEADS, BUNCHES, SALADS = "g", "head", "bunch", "salad"
Told = tuple[str, float]  # what is counted, and how many a week
LEAST, MOST = 1.0, 1e8  # [g] a week
# What is counted by hand [g]; common practice, no source. Herbs season a salad.
BUNCH, BUNCH_OF_HERBS = 150.0, 30.0
SALAD, SALAD_OF_HERBS = 100.0, 5.0
HERBS = "herbs"

_TEXT = "3 heads, 2 bunches, 2 people x 3 salads, or a mass with its unit, such as 1.5 kg or 3 lb"
_COUNT = re.compile(r"(\d{1,6}(?:\.\d{1,3})?)\s*(head|heads|bunch|bunches)", re.ASCII)
_PEOPLE = re.compile(
    r"(\d{1,6})\s*(?:people|person|persons)\s*[x×*]\s*(\d{1,3})\s*(?:salads?|meals?)", re.ASCII
)


def read_per_week(raw: Any) -> Told:
    """(what is counted, how many a week)."""
    if isinstance(raw, str) and len(raw) < 60:
        said = " ".join(raw.lower().split())
        counted, people = _COUNT.fullmatch(said), _PEOPLE.fullmatch(said)
        if counted and float(counted[1]) > 0:
            return HEADS if counted[2].startswith("head") else BUNCHES, float(counted[1])
        if people and int(people[1]) * int(people[2]) > 0:
            return SALADS, float(int(people[1]) * int(people[2]))
        grams = measure(raw, "g")
        if grams is not None and LEAST - 1e-9 <= grams <= MOST + 1e-9:
            return MASS, grams
    raise expected(_TEXT)


_PATTERN = rf"^\s*{NUMBER}\s*[A-Za-zµ°%].*$"  # heads, bunches and people are words after a number
PerWeek = Annotated[
    Told,
    BeforeValidator(read_per_week),
    WithJsonSchema({"type": "string", "pattern": _PATTERN, "description": _TEXT}),
]


def heads_of(crops: Sequence[Crop]) -> list[Crop]:
    """Those of which a head is picked; what is cut again has none."""
    return [c for c in crops if c.cuts == 1]


def one_of(told: Told, group: str, crops: Sequence[Crop]) -> float:
    """What one head, bunch or salad of a wish weighs [g]; 1 of a wish in grams.

    A head weighs what the wish's crops weigh as the catalogue or the garden has them, the mean
    where they are several.

    Raises
    ------
    ValueError
        Heads are wished, and no crop of the wish has any.
    """
    what, _ = told
    if what == MASS:
        return 1.0
    if what == BUNCHES:
        return BUNCH_OF_HERBS if group == HERBS else BUNCH
    if what == SALADS:
        return SALAD_OF_HERBS if group == HERBS else SALAD
    heads = heads_of(crops)
    if not heads:
        raise ValueError("no crop of the wish has heads")
    return sum(c.fresh_mass for c in heads) / len(heads)


def said(told: Told) -> str:
    """The wish in words; empty where it was told in grams."""
    what, count = told
    if what == MASS:
        return ""
    many = {HEADS: "heads", BUNCHES: "bunches", SALADS: "salads"}[what]
    return f"{count:g} {what if count == 1 else many}"
