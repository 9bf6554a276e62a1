"""What the log tells of one tier, as what its estimate takes in: readings, water, shade, plants."""

from __future__ import annotations

from datetime import date

from crops.vessel import Vessel
from scheduler.garden.model import Garden
from scheduler.levels.estimate import Event, Grown, Inflow, Reading, Shift
from scheduler.levels.kind import Kind
from scheduler.log.amounts import COVERED, MOVED, SHADED, UNCOVERED
from scheduler.log.state import Followed

# A ruler in a moving surface is read to about a quarter inch, one standard deviation. Common
# practice, no source.
RULER_CM = 0.635
# What a tier drinks in shade against before, and how its thirst may change, one standard deviation,
# where it is moved, covered, shaded, uncovered. Own judgement, no source.
IN_SHADE = 0.75
SHIFTS = {MOVED: 0.20, COVERED: 0.10, SHADED: 0.15, UNCOVERED: 0.10}
# What looks ripe is so to within a twentieth of its time. Own judgement, no source.
RIPE_SPREAD = 0.05
# A loose head of so many centimetres weighs about so many grams a cubed centimetre, give or take
# this share. From memory of market heads (150 g at 22 to 25 cm), no source.
HEAD_G_CM3, HEAD_SPREAD = 0.0115, 0.4


def events_of(
    garden: Garden, followed: Followed, kind: Kind | None, days: int, on: date
) -> list[Event]:
    """Everything that the log tells of a batch up to a day, in order; what is after ``days`` not.

    A level is that of the morning, so what comes in on its day comes after it, unless the log tells
    of it on an earlier line. Without a ``kind`` how the crop looked tells nothing.
    """
    batch = followed.batch
    vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
    by_day = {r.date: r for r in followed.readings if r.date <= on}
    found: list[tuple[int, int, Event]] = []

    def add(day: date, line: int, make: Event) -> None:
        if day <= on and 0 <= make.day <= days:
            found.append((make.day, line, make))

    def at(day: date) -> int:
        return (day - batch.transplant).days

    for r in by_day.values():
        if at(r.date) > 0:
            error = ruler_error(vessel, r.litres)
            add(r.date, r.line, Reading(at(r.date), vessel.fill_l - r.litres, error))
    for w in followed.water:
        add(w.date, w.line, Inflow(at(w.date), w.litres, w.spread))
    for c in followed.changes:
        add(c.date, c.line, Shift(at(c.date), SHIFTS[c.what]))
    if kind is not None:
        for s in followed.sights:
            looked = _looked(garden, followed, kind, at(s.date), s.width_cm)
            if looked is not None:
                add(s.date, s.line, looked)
    return [e for _, _, e in sorted(found, key=lambda x: x[:2])]


def _looked(
    garden: Garden, followed: Followed, kind: Kind, day: int, width: float | None
) -> Grown | None:
    """How far a crop is by how it looks; None where its width tells nothing."""
    if width is None:
        return Grown(day, 1.0, RIPE_SPREAD, least=True)
    crop = garden.crops[followed.batch.crop]
    if crop.cuts > 1 or crop.plants_per_hole > 1:
        return None  # no single head
    share = HEAD_G_CM3 * width**3 / crop.fresh_mass
    low, middle, high = (kind.progress_at(share * f) for f in (1 - HEAD_SPREAD, 1, 1 + HEAD_SPREAD))
    return Grown(day, middle, max((high - low) / 2, RIPE_SPREAD), least=share >= 1)


def ruler_error(vessel: Vessel, litres: float) -> float:
    """Standard deviation of a level read by a ruler [L]."""
    depth = vessel.depth_at(litres)
    low, high = max(depth - RULER_CM, 0.0), min(depth + RULER_CM, vessel.height_cm)
    return (vessel.volume_at(high) - vessel.volume_at(low)) / max(high - low, 1e-9) * RULER_CM


def drinking(garden: Garden, followed: Followed) -> list[float]:
    """Plants that drink on each day after transplanting, the last pick not made.

    In shade they count for less.
    """
    batch, crop = followed.batch, garden.crops[followed.batch.crop]
    told = [at for x in (followed.fewer, followed.changes) for at in (e.date for e in x)]
    days = [(d - batch.transplant).days for d in (*told, *(p.date for p in batch.picks))]
    out = [float(batch.plants + sum(f.plants for f in followed.fewer))] * max(max(days) + 1, 1)
    for f in followed.fewer:
        for day in range(max((f.date - batch.transplant).days, 0), len(out)):
            out[day] -= f.plants
    for pick in batch.picks[:-1]:
        after = max((pick.date - batch.transplant).days, 0)
        for day in range(after, len(out)):
            if crop.cuts > 1:
                out[day] = min(out[day], batch.plants * crop.after_cut)
            else:
                out[day] = max(out[day] - pick.plants, 0.0)
    for day in shaded(followed, len(out)):
        out[day] *= IN_SHADE
    return out


def shaded(followed: Followed, days: int) -> list[int]:
    """Days after transplanting on which a tier stands in shade."""
    start, out = None, set()
    for c in sorted(followed.changes, key=lambda c: (c.date, c.line)):
        day = max((c.date - followed.batch.transplant).days, 0)
        if c.what == SHADED and start is None:
            start = day
        elif c.what in (UNCOVERED, MOVED) and start is not None:
            out |= set(range(start, day))
            start = None
    return sorted(out | set(range(days if start is None else start, days)))
