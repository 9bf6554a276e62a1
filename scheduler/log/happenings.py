"""What happens to a tier beside its work, taken in from the log: water, shade, fewer plants, pests.

Each function takes in one entry, as those of `log.events` do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from math import sqrt
from typing import TYPE_CHECKING

from scheduler.log.amounts import (
    COVERED,
    EMERGED,
    LITRES,
    LOST,
    MOVED,
    PEST,
    RAIN,
    RIPE,
    SHADED,
    THINNED,
    TOPPED,
    UNCOVERED,
    WIDTH,
)
from scheduler.log.model import Entry
from scheduler.log.tracks import Change, Fewer, Place, Sight, Track, Water, called

if TYPE_CHECKING:
    from scheduler.log.events import Follower

# Of the rain that falls on an open vessel's mouth anything between nothing and all gets in past lid
# and leaves, each share as likely: half on average. Own judgement.
GETS_IN, GETS_IN_SPREAD = 0.5, 1 / sqrt(12)
CM2_MM = 1e-4  # litres that a millimetre is on a square centimetre


def rain_in(mouth_cm2: float, mm: float) -> tuple[float, float]:
    """What rain brings into an open vessel [L, L: mean, standard deviation]."""
    falls = mouth_cm2 * mm * CM2_MM
    return GETS_IN * falls, GETS_IN_SPREAD * falls


def _places(f: Follower, e: Entry) -> Iterator[Place]:
    """The tiers that an entry is about: one, a column's, or all."""
    for column in f.garden.columns:
        if e.column in ("", column.name):
            for tier in column.tiers:
                if e.tier in (None, tier.number):
                    yield column.name, tier.number


def _rain(f: Follower, e: Entry) -> None:
    assert e.amount is not None
    for place in _places(f, e):
        # The vessels above keep rain off: of a stack only the topmost is open to it, unless the
        # grower names another.
        if e.tier is None and (place[1] != 1 or place in f.covered):
            continue
        t = f.in_tier(place, e.date)
        if t is None or t.failed is not None:
            continue
        if e.unit == LITRES:
            came, spread = e.amount, 0.0
        else:
            vessel = f.garden.vessels[f.garden.tier(*place).vessel]
            came, spread = rain_in(vessel.mouth_cm2, e.amount)
        t.water.append(Water(e.date, came, spread, e.line))


def _topped(f: Follower, e: Entry) -> None:
    t = f._standing(e)
    if t is None or e.amount is None or t.failed is not None:
        return
    most = f.garden.vessels[f.garden.tier(*t.place).vessel].capacity_l
    if e.amount > most:
        f._fault(e, "amount", f"{e.amount:g} L", f"at most {most:.1f} L, which the vessel holds")
        return
    t.water.append(Water(e.date, e.amount, 0.0, e.line))


def _changed(f: Follower, e: Entry) -> None:
    for place in _places(f, e):
        if e.what == COVERED:
            f.covered.add(place)
        elif e.what == UNCOVERED:
            f.covered.discard(place)
        t = f.in_tier(place, e.date)
        if t is not None and t.failed is None:
            t.changes.append(Change(e.date, e.what, e.line))


def _seen(f: Follower, e: Entry) -> None:
    t = f._standing(e)
    if t is not None:
        t.sights.append(Sight(e.date, e.amount if e.what == WIDTH else None, e.line))


def _fewer(f: Follower, e: Entry) -> None:
    if not e.column:
        if e.what == LOST:
            _seedlings_lost(f, e)
        elif not _nursery(f, e):
            f._fault(e, "crop", e.crop, _SEEDLINGS)
        return
    t = f._standing(e)
    if t is None or e.amount is None:
        return
    n, cuts = int(e.amount), f.garden.crops[t.batch.crop].cuts
    picked = sum(p or 0 for p, _ in t.picks.values()) if cuts == 1 else 0
    stand = t.total - picked
    if settled(f, e, stand):
        t.fewer.append(Fewer(e.date, n, True))
        return
    if n >= stand or e.of > stand:
        which = f"fewer than the {stand} plants of {called(t)}; failed, where none is left"
        f._fault(e, "amount", f"{n} of {e.of}" if e.of else str(n), which)
        return
    t.fewer.append(Fewer(e.date, n, False))


def settled(f: Follower, e: Entry, stand: int) -> bool:
    """Whether a re-plan has already counted the plants that an entry tells of as lost."""
    on = f.plan.as_of
    if on is None or e.date > on:
        return False
    return e.date < on or (e.of > 0 and e.of - int(e.amount or 0) == stand)


_SEEDLINGS = "seedlings of it in the nursery on that day"


def _nursery(f: Follower, e: Entry) -> list[Track]:
    """Batches in the nursery that an entry may be about, the earliest sown first."""
    here = [
        t
        for t in f.tracks
        if not t.lost
        and e.crop in ("", t.batch.crop)
        and (not e.column or t.place == (e.column, e.tier))
        and (f.sown_on(t) or date.max) <= e.date
        and (f.moved_on(t) or date.max) > e.date
    ]
    return sorted(here, key=lambda t: (f.sown_on(t) or date.max, t.batch.id))


def _emerged(f: Follower, e: Entry) -> None:
    here = _nursery(f, e)
    if not here:
        f._fault(e, "crop", e.crop or f"{e.column} {e.tier}", _SEEDLINGS)
        return
    fresh = [t for t in here if t.emerged is None]
    (fresh or here)[0].emerged = int(e.amount or 0)


def _seedlings_lost(f: Follower, e: Entry) -> None:
    here = _nursery(f, e)
    if not here:
        f._fault(e, "crop", e.crop, _SEEDLINGS)
        return
    t = here[0]
    before = (t.cells or t.batch.cells) if t.emerged is None else t.emerged
    t.emerged = max((e.of or before) - int(e.amount or 0), 0)


def _pest(f: Follower, e: Entry) -> None:
    if not e.column:
        return
    assert e.tier is not None
    place = (e.column, e.tier)
    t = f.in_tier(place, e.date)
    crop = e.crop or (t.batch.crop if t is not None else "")
    if not crop:
        f._fault(e, "crop", "", "the crop whose family is to wait: the tier is empty on that day")
        return
    f.pests.append((place, f.garden.crops[crop].family, e.date))


HAPPENINGS: dict[str, Callable[[Follower, Entry], None]] = {
    RAIN: _rain,
    TOPPED: _topped,
    **dict.fromkeys((MOVED, COVERED, SHADED, UNCOVERED), _changed),
    **dict.fromkeys((RIPE, WIDTH), _seen),
    **dict.fromkeys((THINNED, LOST), _fewer),
    EMERGED: _emerged,
    PEST: _pest,
}
