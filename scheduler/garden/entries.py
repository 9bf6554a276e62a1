"""What a garden lists beside its columns: crops that stand, seedlings, wishes, events."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

Day = date  # inside a class with a field ``date`` that name is the field


@dataclass(frozen=True)
class StandingCrop:
    """A crop that stands in a tier on the morning of the first day to be planned.

    Attributes
    ----------
    sown_on, planted_on : told, or worked out from its size.
    plants : left in the tier; level : solution left [L], None: not measured.
    line : of garden.yaml.
    """

    crop: str
    column: str
    tier: int
    sown_on: Day
    planted_on: Day
    plants: int
    level: float | None = None
    line: int = 0


@dataclass(frozen=True)
class Seedlings:
    """Seedlings of one sowing in the nursery on that morning.

    Of bought ones ``sown_on`` is the day on which they would have been sown here.
    """

    crop: str
    sown_on: Day
    cells: int
    line: int = 0


@dataclass(frozen=True)
class Demand:
    """A weekly wish for one produce group.

    Attributes
    ----------
    group : its name.
    crops : names of the crops that count for it; a crop counts for one group only.
    grams_per_week : [g]; start, end : first and last day of the wish, both included.
    weight : worth of a gram against other groups' [-].
    said : the wish as it was told, such as 3 heads; empty where it was told in grams.
    shares : crop, its least and its most share of what is picked for the wish [1/1000].
    same_kind_weeks : weeks running in which one kind alone may be picked for it; None: any number.
    """

    group: str
    crops: tuple[str, ...]
    grams_per_week: float
    start: date
    end: date
    weight: float = 1.0
    said: str = ""
    shares: tuple[tuple[str, int, int], ...] = ()
    same_kind_weeks: int | None = None


@dataclass(frozen=True)
class Event:
    """So much of a group is wanted on a date, beside its weekly wish.

    ``group`` is that of a wish; ``grams`` [g]; ``said`` is the amount as it was told, empty where
    it was told in grams; ``name`` may be empty.
    """

    date: Day
    group: str
    grams: float
    said: str = ""
    name: str = ""
