"""What is to do on one day, from the plan, what the log tells of it, and the table of forecasts.

The calendar has more (weights, recipes, cautions); this is what can be had without the model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from scheduler.garden.model import Garden
from scheduler.log import amounts
from scheduler.log.model import Log
from scheduler.log.state import growing_on, over_on
from scheduler.plans.model import PLANNED, SOWN, Batch, Plan
from scheduler.watch.emergence import Emergence, emergences
from scheduler.watch.forecast import Foretold
from scheduler.watch.judge import Watched
from scheduler.words.work_kinds import (
    CLEAR,
    HARDEN,
    LEVEL,
    MOVE,
    PICK,
    PROTECT,
    SHADE,
    SHELTER,
    SOW,
    SUPPORT,
    TRANSPLANT,
)

# In the order in which they are done; planting says what to fill.
_ORDER = (LEVEL, SHELTER, PROTECT, SHADE, SUPPORT, PICK, CLEAR, MOVE, TRANSPLANT, HARDEN, SOW)
_ENTRY = {
    LEVEL: amounts.LEVEL,
    PICK: amounts.PICKED,
    CLEAR: amounts.CLEARED,
    TRANSPLANT: amounts.TRANSPLANTED,
    SOW: amounts.SOWN,
}
TELLS = 0.05  # least chance that a reading changes what is said of a tier for it to be worth one
MOST_TOLD = 3  # tiers named beside those that are due


@dataclass(frozen=True)
class Due:
    """One item of work.

    ``number``, ``count``: which pick of how many; ``until``: sowing: day of transplanting; cover:
    its last day; ``crop``: move: the place; ``meters``: level: EC and pH too. ``done``: the log
    tells of it already.
    """

    kind: str
    column: str
    tier: int | None
    batch: str = ""
    crop: str = ""
    plants: int = 0
    grams: int = 0
    seeds: int = 0
    cells: int = 0
    litres: float = 0.0
    number: int = 1
    count: int = 1
    until: date | None = None
    meters: bool = False
    done: bool = False


@dataclass(frozen=True)
class Today:
    """A day of a season: work, tiers with what they foretell, and those to measure.

    ``next``: day of the next work, None: there is none. ``first``: tiers not due in which a reading
    tells most, the best first.
    ``seedlings``: batches of which too few came up.
    """

    on: date
    work: tuple[Due, ...]
    tiers: tuple[Watched, ...]
    first: tuple[Watched, ...]
    next: date | None
    seedlings: tuple[Emergence, ...] = ()


def day(
    garden: Garden, plan: Plan, log: Log, foretold: Foretold, tiers: Sequence[Watched], on: date
) -> Today:
    """One day of a plan; ``tiers`` are `judge.watched` of it."""
    over = over_on(garden, plan, log, on)
    growing = {f.batch.id: f.batch for f in growing_on(garden, plan, log, on)}
    items: list[Due] = []
    later: list[date] = []
    for planned in plan.batches:
        if planned.id in over:
            continue
        batch = growing.get(planned.id, planned)
        for when, item in _of_batch(planned, batch, foretold):
            if when == on:
                items.append(item)
            elif when > on:
                later.append(when)
    for o in foretold.other:
        if o.batch in over:
            continue
        if o.date == on:
            items.append(Due(o.kind, o.column, o.tier, o.batch, o.crop, o.plants, until=o.until))
        elif o.date > on:
            later.append(o.date)
    known = {(e.what, e.column, e.tier) for e in log.entries if e.date == on}
    sown = {e.crop for e in log.entries if e.date == on and e.what == amounts.SOWN}
    order = {c.name: i for i, c in enumerate(garden.columns)}
    work = [_marked(item, known, sown) for item in items]
    work.sort(key=lambda w: _in_order(w, order))
    due = {(w.column, w.tier) for w in work if w.kind == LEVEL}
    telling = [w for w in tiers if w.told >= TELLS and (w.column, w.tier) not in due]
    telling.sort(key=lambda w: -w.told)
    return Today(
        on,
        tuple(work),
        tuple(tiers),
        tuple(telling[:MOST_TOLD]),
        min(later, default=None),
        tuple(e for e in emergences(garden, plan, log, foretold, on) if not e.enough),
    )


def _of_batch(planned: Batch, batch: Batch, foretold: Foretold) -> list[tuple[date, Due]]:
    """All work of a batch by day, as it stands."""
    where = (batch.column, batch.tier, batch.id, batch.crop)
    out = []
    if planned.state == PLANNED:
        out.append(
            (
                batch.sow,
                Due(SOW, *where, seeds=batch.seeds, cells=batch.cells, until=batch.transplant),
            )
        )
    if planned.state in (PLANNED, SOWN):
        plant = Due(TRANSPLANT, *where, plants=batch.plants, litres=batch.fill_litres)
        out.append((batch.transplant, plant))
    last = max((p.date for p in batch.picks), default=batch.clear)
    for days in foretold.checks.get(batch.id, ()):
        when = batch.transplant + timedelta(days=days)
        if when <= last:
            meters = foretold.meters.get(batch.id) == days
            out.append((when, Due(LEVEL, *where, meters=meters)))
    for n, pick in enumerate(batch.picks, start=1):
        out.append(
            (
                pick.date,
                Due(
                    PICK,
                    *where,
                    plants=pick.plants,
                    grams=pick.grams,
                    number=n,
                    count=len(batch.picks),
                ),
            )
        )
    out.append((batch.clear, Due(CLEAR, *where)))
    return out


def _marked(item: Due, known: set[tuple[str, str, int | None]], sown: set[str]) -> Due:
    what = _ENTRY.get(item.kind, "")
    done = (what, item.column, item.tier) in known
    if item.kind == SOW:  # seedlings have no tier yet
        done = done or item.crop in sown
    return replace(item, done=done) if done else item


def _in_order(work: Due, columns: dict[str, int]) -> tuple[int, int, int]:
    tier = work.tier or 0
    place = columns.get(work.column, len(columns))
    return _ORDER.index(work.kind), place, -tier if work.kind == TRANSPLANT else tier
