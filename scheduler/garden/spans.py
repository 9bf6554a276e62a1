"""Spans of days of a tier: what it may hold when, what waits or is fixed, where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from crops.place import Place


@dataclass(frozen=True)
class Span:
    """Days from ``start`` to ``end``, both included."""

    start: date
    end: date

    def __contains__(self, day: date) -> bool:
        return self.start <= day <= self.end


@dataclass(frozen=True)
class Rest:
    """After root disease: ``family`` may not stand in the tier up to and including ``until``."""

    family: str
    until: date


@dataclass(frozen=True)
class Never:
    """Crops that may not stand in the tier on days from ``start`` to ``end``, both included.

    A batch stands there from its transplanting to its last pick.
    """

    crops: tuple[str, ...]
    start: date
    end: date


@dataclass(frozen=True)
class Fixed:
    """A batch that every plan holds: crop, tier, day of planting.

    ``picked_on``: all its days of picking; empty: the plan chooses. ``line``: of garden.yaml.
    """

    crop: str
    column: str
    tier: int
    planted_on: date
    picked_on: tuple[date, ...] = ()
    line: int = 0


@dataclass(frozen=True)
class Choice:
    """Columns alike that may stand in one of several places: the plan says in which.

    ``entry`` : of the columns in garden.yaml, from 0; ``columns`` : their names; ``places`` : in
    the grower's order. Before there is a plan they stand in the first.
    """

    entry: int
    columns: tuple[str, ...]
    places: tuple[Place, ...]


@dataclass(frozen=True)
class Stay:
    """Days from ``start`` to ``end``, both included, in a place."""

    start: date
    end: date
    place: Place
