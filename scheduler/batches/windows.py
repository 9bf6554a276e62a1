"""Sowing windows: for every crop and kind of tier the sow dates that work, and why others do not.

The candidates know each *transplanting* day; growers think in *sow* dates. A sow date works if its
seedlings are fit on some transplanting day that works. All of them are told, more than the planner
uses: it takes the latest sow day for each transplanting day, so that cells stand free longest.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from crops import development
from crops.crop import Crop
from scheduler.batches.candidates import OK, Windows, build, nursery_sum
from scheduler.batches.courses import NEVER
from scheduler.batches.window_reasons import WORKS, Reasons, Why
from scheduler.garden.kinds import Kind
from scheduler.garden.model import Garden


@dataclass(frozen=True)
class SowDay:
    """One sow date for one crop in one kind of tier.

    Attributes
    ----------
    sow : the sow date, a work day.
    why : `WORKS`, or the reason against it with its figures.
    transplant : the first transplanting day that works; of a refused date the first on which its
        seedlings are fit, None if there is none.
    ready : when it would be ready, if that is known and it gets into the tier.
    """

    sow: date
    why: Why
    transplant: date | None
    ready: date | None

    @property
    def works(self) -> bool:
        return self.why.code == WORKS


@dataclass(frozen=True)
class SowWindows:
    """All sow dates of one crop in one kind of tier, and what stands against its other starts.

    Attributes
    ----------
    days : one entry a work day, in order.
    transplants : every work day as a transplanting day, with the reason.
    """

    crop: Crop
    kind: Kind
    days: tuple[SowDay, ...]
    transplants: tuple[tuple[date, Why], ...]


@dataclass(frozen=True)
class Run:
    """Sow dates in a row that have the same answer."""

    days: tuple[SowDay, ...]

    @property
    def code(self) -> str:
        return self.days[0].why.code

    @property
    def first(self) -> date:
        return self.days[0].sow

    @property
    def last(self) -> date:
        return self.days[-1].sow


def sow_windows(garden: Garden, crops: tuple[str, ...] = ()) -> tuple[SowWindows, ...]:
    """The windows of every crop (or of ``crops`` only) in every kind of tier, crops outermost.

    Raises
    ------
    KeyError
        A crop that the garden does not have.
    """
    if crops:
        garden = replace(garden, crops={n: garden.crops[n] for n in crops})
    candidates, found = build(garden, garden.season.index(garden.first))
    out = []
    seedlings: dict[str, _Seedlings] = {}
    for window in found:
        crop = garden.crops[window.crop]
        if window.crop not in seedlings:
            seedlings[window.crop] = _seedlings(garden, crop, window.starts)
        kind = candidates.kinds[window.kind]
        out.append(_one(garden, crop, kind, window, seedlings[window.crop]))
    return tuple(out)


def between(windows: SowWindows, first: date | None, last: date | None) -> SowWindows:
    """Only the sow and transplanting dates from ``first`` to ``last``, both included."""

    def inside(day: date) -> bool:
        return (first is None or day >= first) and (last is None or day <= last)

    return replace(
        windows,
        days=tuple(d for d in windows.days if inside(d.sow)),
        transplants=tuple(t for t in windows.transplants if inside(t[0])),
    )


def runs(windows: SowWindows) -> Iterator[Run]:
    """The sow dates in runs of one answer."""
    row: list[SowDay] = []
    for day in windows.days:
        if row and row[0].why.code != day.why.code:
            yield Run(tuple(row))
            row = []
        row.append(day)
    if row:
        yield Run(tuple(row))


@dataclass(frozen=True)
class _Seedlings:
    """What a sow day leads to [m].

    ``fit``: index of the day its seedlings are fit; the transplanting days it serves are
    ``starts[low:high]``.
    """

    fit: np.ndarray
    low: np.ndarray
    high: np.ndarray


def _seedlings(garden: Garden, crop: Crop, starts: np.ndarray) -> _Seedlings:
    fit = development.first_reach(nursery_sum(garden, crop), starts)
    fit = np.where(fit < len(garden.site.weather), fit, NEVER)
    low = np.searchsorted(starts, np.maximum(fit, starts + 1), side="left")
    high = np.searchsorted(starts, fit + int(crop.nursery_wait), side="right")
    return _Seedlings(fit, low, np.maximum(high, low))


def _one(
    garden: Garden, crop: Crop, kind: Kind, window: Windows, seedlings: _Seedlings
) -> SowWindows:
    season, starts = garden.season, window.starts
    reasons = Reasons(garden, crop, kind.tier, window)
    whys = [reasons.of(i) for i in range(len(starts))]
    good = np.flatnonzero(window.reason == OK)
    days = []
    for j, sow in enumerate(starts):
        low, high, fit = int(seedlings.low[j]), int(seedlings.high[j]), int(seedlings.fit[j])
        at = int(np.searchsorted(good, low))
        if at < len(good) and good[at] < high:
            i: int | None = int(good[at])
        else:
            i = low if low < high else None
        if i is None:
            why, transplant, ready = reasons.no_transplant(fit), None, None
        else:
            why, transplant = whys[i], season.date(starts[i])
            known = int(window.ready[i])
            ready = season.date(known) if known < NEVER else None
        days.append(SowDay(season.date(sow), why, transplant, ready))
    transplants = tuple((season.date(s), w) for s, w in zip(starts, whys, strict=True))
    return SowWindows(crop, kind, tuple(days), transplants)


def first_seedling(windows: SowWindows) -> date | None:
    """The first transplanting day that any sowing of the season serves."""
    days = (d.transplant for d in windows.days if d.transplant)
    return min(days, default=None)
