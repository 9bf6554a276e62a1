"""The garden: one validated, immutable instance that everything after it reads.

Plain numbers of declared units; built from garden.yaml by `scheduler.garden.file`, or by hand in
tests. Edits make copies (`dataclasses.replace`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any

from crops.crop import Crop
from crops.vessel import Vessel
from scheduler.base.weeks import week_of
from scheduler.garden.entries import Demand as Demand
from scheduler.garden.entries import Event as Event
from scheduler.garden.entries import Seedlings as Seedlings
from scheduler.garden.entries import StandingCrop as StandingCrop
from scheduler.garden.limits import Helper as Helper
from scheduler.garden.limits import Labour as Labour
from scheduler.garden.limits import Limits as Limits
from scheduler.garden.spans import Choice as Choice
from scheduler.garden.spans import Fixed as Fixed
from scheduler.garden.spans import Never as Never
from scheduler.garden.spans import Rest as Rest
from scheduler.garden.spans import Span as Span
from scheduler.garden.spans import Stay as Stay

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd

    from crops.place import Lamp
    from crops.solution.shelf import Shelf

INPUTS = "inputs"  # folder beside a copied garden.yaml for the files that it names
ONE_DAY = timedelta(days=1)
EventWeeks = tuple[tuple[str, date, date], ...]  # ISO week, first and last date in it
Day = date  # inside `Season` the name ``date`` is a method


@dataclass(frozen=True)
class Tier:
    """One tier of a column.

    Attributes
    ----------
    number : 1 is the top.
    vessel : name of its vessel.
    light : share of the open sky's light [0..1].
    plants : holes, one plant or plug each.
    available : spans in which it may hold a batch (from transplanting to clearing); empty: always.
        A batch lies in one of them, not in their union; one inside another counts for nothing.
    rests : families that must wait.
    stays : where it stands, in order; in the open air on all other days.
    never : crops that the grower will not have there.
    """

    number: int
    vessel: str
    light: float
    plants: int
    available: tuple[Span, ...] = ()
    rests: tuple[Rest, ...] = ()
    stays: tuple[Stay, ...] = ()
    never: tuple[Never, ...] = ()

    def __post_init__(self) -> None:
        whole = tuple(
            span
            for i, span in enumerate(self.available)
            if not any(
                other.start <= span.start and span.end <= other.end and (other != span or j < i)
                for j, other in enumerate(self.available)
                if j != i
            )
        )
        object.__setattr__(self, "available", whole)


@dataclass(frozen=True)
class Column:
    """A stack of tiers, listed from top to bottom, numbered 1, 2, ..."""

    name: str
    tiers: tuple[Tier, ...]


@dataclass(frozen=True)
class Site:
    """Where the garden stands, and its weather (daily frame of `crops.climate.weather`).

    The weather covers the whole season and, where the table allows, 120 days after it. ``past``:
    the same of past years, every day of at least one year; None where no file of them is named.
    ``coastal``: beside a large body of water.
    """

    latitude: float
    elevation: float
    weather: pd.DataFrame
    past: pd.DataFrame | None = None
    coastal: bool = False


class LateSite(Site):
    """A site whose weather is worked out when it is first asked for: a log seldom asks.

    ``read`` gives the weather, ``read_past`` that of past years; what they raise is raised where
    it is asked for.
    """

    _read: Callable[[], pd.DataFrame] | None = None
    _read_past: Callable[[], pd.DataFrame | None] | None = None

    @classmethod
    def of(
        cls,
        latitude: float,
        elevation: float,
        read: Callable[[], pd.DataFrame],
        read_past: Callable[[], pd.DataFrame | None] | None = None,
        coastal: bool = False,
    ) -> LateSite:
        """A site that knows no weather yet."""
        site = object.__new__(cls)
        for name, value in (
            ("latitude", latitude),
            ("elevation", elevation),
            ("_read", read),
            ("_read_past", read_past),
            ("coastal", coastal),
        ):
            object.__setattr__(site, name, value)
        return site

    def __reduce__(self) -> tuple[type[Site], tuple[Any, ...]]:
        """To another process goes what was read: what reads it stays here."""
        return Site, (self.latitude, self.elevation, self.weather, self.past, self.coastal)

    @cached_property
    def past(self) -> pd.DataFrame | None:
        return None if self._read_past is None else self._read_past()

    def __getattr__(self, name: str) -> pd.DataFrame:
        if name != "weather" or self._read is None:
            raise AttributeError(name)
        days = self._read()
        object.__setattr__(self, "weather", days)
        return days


@dataclass(frozen=True)
class Season:
    """First and last day (both included), the weekdays with work (Monday 0), days away.

    ``pick_days``: weekdays on which is picked; of these only work days count.
    """

    start: Day
    end: Day
    work_days: frozenset[int] = frozenset(range(7))
    away: tuple[Span, ...] = ()
    pick_days: frozenset[int] = frozenset(range(7))

    @property
    def days(self) -> int:
        return (self.end - self.start).days + 1

    def is_work_day(self, day: Day) -> bool:
        """Whether sowing, transplanting, picking and clearing may be done on ``day``."""
        return (
            self.start <= day <= self.end
            and day.weekday() in self.work_days
            and not any(day in span for span in self.away)
        )

    def is_pick_day(self, day: Day) -> bool:
        """Whether picks may be planned on ``day``: a work day that is meant for it."""
        return day.weekday() in self.pick_days and self.is_work_day(day)

    @cached_property
    def pick_mask(self) -> np.ndarray:
        """bool [days]: pick days by day index."""
        import numpy as np

        return np.array([self.is_pick_day(self.date(i)) for i in range(self.days)])

    @property
    def picks_apart(self) -> bool:
        """Whether there are work days on which nothing is picked."""
        return not self.work_days <= self.pick_days

    @cached_property
    def work_mask(self) -> np.ndarray:
        """bool [days]: work days by day index."""
        import numpy as np  # a line of the log does not wait for it

        return np.array([self.is_work_day(self.date(i)) for i in range(self.days)])

    def date(self, index: int) -> Day:
        return self.start + timedelta(days=int(index))

    def index(self, day: Day) -> int:
        return (day - self.start).days


@dataclass(frozen=True)
class Nursery:
    """Where seedlings are raised.

    ``temperature`` : if it stands indoors [degC]; None: outdoor temperatures. ``light`` : share of
    the open sky's that reaches it [0..1]; None: not told, and judged where there is a lamp alone.
    """

    cells: int
    temperature: float | None = None
    lamp: Lamp | None = None
    light: float | None = None


@dataclass(frozen=True, repr=False)
class Garden:
    """Everything a plan depends on.

    ``standing`` and ``seedlings`` are there on the morning of ``today``; the season then reaches
    back to the day on which the first of them was sown, and what lies before ``today`` has
    happened. None: nothing stands, the season begins with empty tiers. ``may_stand``: columns whose
    place the plan is to choose; ``rooms``: names of the places indoors that are listed. ``fixed``:
    batches that every plan holds.
    """

    name: str
    site: Site
    season: Season
    vessels: Mapping[str, Vessel]
    columns: tuple[Column, ...]
    nursery: Nursery
    demands: tuple[Demand, ...]
    limits: Limits
    crops: Mapping[str, Crop]
    units: str = "metric"
    invented: bool = False
    solution: Shelf = field(default_factory=lambda: _bare_shelf())
    notes: tuple[str, ...] = field(default_factory=tuple)
    standing: tuple[StandingCrop, ...] = field(default_factory=tuple)
    seedlings: tuple[Seedlings, ...] = field(default_factory=tuple)
    events: tuple[Event, ...] = field(default_factory=tuple)
    today: date | None = None
    may_stand: tuple[Choice, ...] = field(default_factory=tuple)
    rooms: tuple[str, ...] = field(default_factory=tuple)
    fixed: tuple[Fixed, ...] = field(default_factory=tuple)

    @property
    def first(self) -> date:
        """First day that is still to be planned."""
        return self.season.start if self.today is None else self.today

    @property
    def helpers(self) -> tuple[Helper, ...]:
        """Who helps, on which weekdays and how long."""
        return self.limits.helpers

    def __repr__(self) -> str:
        """One line: its weather alone would be hundreds."""
        tiers, crops = sum(len(c.tiers) for c in self.columns), len(self.crops)
        return (
            f"<Garden {self.name}: {_count(tiers, 'tier')} in "
            f"{_count(len(self.columns), 'column')}, {_count(crops, 'crop')}, "
            f"{self.season.start} to {self.season.end}>"
        )

    def tier(self, column: str, number: int) -> Tier:
        """The tier, or KeyError."""
        tiers = self._tiers.get(column, ())
        if not 1 <= number <= len(tiers):
            raise KeyError(f"no tier {number} in column {column}")
        return tiers[number - 1]

    @cached_property
    def _tiers(self) -> dict[str, tuple[Tier, ...]]:
        return {c.name: c.tiers for c in self.columns}

    def event_weeks(self, crop: str) -> EventWeeks:
        """Weeks with events that a crop counts for, each with its first and last date."""
        demand = self.demand_of(crop) if self.events else None
        return () if demand is None else self.event_weeks_of(demand.group)

    def event_weeks_of(self, group: str) -> EventWeeks:
        """Weeks in which there are events of a group."""
        days: dict[str, list[Day]] = {}
        for event in self.events:
            if event.group == group:
                days.setdefault(week_of(event.date), []).append(event.date)
        return tuple((week, min(on), max(on)) for week, on in sorted(days.items()))

    def demand_of(self, crop: str) -> Demand | None:
        """The wish a crop counts for."""
        return next((d for d in self.demands if crop in d.crops), None)


def _bare_shelf() -> Shelf:
    from crops.solution.shelf import Shelf  # with salts and solvers, for which no log waits

    return Shelf()


def _count(number: int, name: str) -> str:
    return f"{number} {name}{'' if number == 1 else 's'}"
