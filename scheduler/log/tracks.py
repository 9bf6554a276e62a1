"""One batch and what the log tells of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from scheduler.plans.model import CLEARED, FAILED, GROWING, SOWN, Batch, Plan

Place = tuple[str, int]


@dataclass(frozen=True)
class Reading:
    """A measured level: day, litres left [L], line of the log."""

    date: date
    litres: float
    line: int


@dataclass(frozen=True)
class Water:
    """Water that came into a tier, topped up or rained in: mean and standard deviation [L]."""

    date: date
    litres: float
    spread: float
    line: int


@dataclass(frozen=True)
class Change:
    """A tier was moved, covered, shaded or uncovered (``what`` as in `log.amounts`)."""

    date: date
    what: str
    line: int


@dataclass(frozen=True)
class Sight:
    """How a crop looked: ripe, or so wide [cm]."""

    date: date
    width_cm: float | None
    line: int


@dataclass(frozen=True)
class Fewer:
    """Plants lost or thinned out of a tier; ``settled``: the plan knows of it already."""

    date: date
    plants: int
    settled: bool


@dataclass
class Track:
    """One batch and what the log tells of it.

    ``picks`` are by day (plants or None, grams or None); ``lost`` is the reason why seedlings are
    no more; ``extra``: the plan does not know it; ``emerged``: cells that came up, None: not told.
    """

    batch: Batch
    place: Place
    sown: date | None = None
    moved: date | None = None
    plants: int = 0
    cells: int = 0
    picks: dict[date, tuple[int | None, int | None]] = field(default_factory=dict)
    cleared: date | None = None
    failed: date | None = None
    note: str = ""
    readings: list[Reading] = field(default_factory=list)
    lost: str = ""
    extra: bool = False
    water: list[Water] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    sights: list[Sight] = field(default_factory=list)
    fewer: list[Fewer] = field(default_factory=list)
    emerged: int | None = None

    @property
    def total(self) -> int:
        """Plants of the batch, picked ones among them, those lost not."""
        return (self.plants or self.batch.plants) - sum(
            f.plants for f in self.fewer if not f.settled
        )

    def readings_by_date(self) -> tuple[Reading, ...]:
        return tuple(sorted(self.readings, key=lambda r: r.date))


def known_track(batch: Batch, plan: Plan) -> Track:
    """What an earlier rebalance already knows of a batch."""
    t = Track(batch, (batch.column, batch.tier))
    if batch.state in (SOWN, GROWING, CLEARED, FAILED):
        t.sown = batch.sow
    if batch.state in (GROWING, CLEARED, FAILED):
        t.moved, t.plants = batch.transplant, batch.plants
    if batch.state == CLEARED:
        t.cleared = batch.clear
    if batch.state == FAILED:
        t.failed = min(batch.clear, plan.as_of or batch.clear)
        if plan.as_of is not None and batch.clear < plan.as_of:
            t.cleared = batch.clear
    return t


def place_name(place: Place) -> str:
    return f"{place[0]} {place[1]}"


def called(t: Track) -> str:
    """A batch with crop and place."""
    return f"{t.batch.id} ({t.batch.crop}) in {place_name(t.place)}"
