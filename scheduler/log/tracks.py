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


@dataclass
class Track:
    """One batch and what the log tells of it.

    ``picks`` are by day (plants or None, grams or None); ``lost`` is the reason why seedlings are
    no more; ``extra``: the plan does not know it.
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
