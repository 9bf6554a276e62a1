"""When rain must be kept out of a column, and how much of it is too much.

Roots grown in moist air drown when rain lifts the level by more than 2 cm (Kratky 2004, Acta Hort
648:83-89, abstract), so a cover is due once the level has fallen by more than that, in places into
which rain falls, of vessels that take it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from crops.vessel import LATE_RISE_CM, Vessel
from scheduler.garden.model import ONE_DAY, Column, Garden, Tier
from scheduler.garden.placed import place_on
from scheduler.plans.model import CLEARED, FAILED, Batch, Plan

SAFE = 0.5  # share of the rain that would do harm at which to cover; a forecast errs; own judgement


@dataclass(frozen=True)
class Cover:
    """Days from ``first`` to ``last`` on which some tiers of a column need a cover.

    ``rain_cm`` : more than this in a forecast asks for it [cm].
    """

    column: str
    first: date
    last: date
    tiers: tuple[int, ...]
    rain_cm: float


def covers(garden: Garden, plan: Plan) -> Iterator[Cover]:
    """Every cover of a plan, by column and day."""
    gaps: dict[tuple[str, int], list[tuple[date, date, float]]] = {}
    for batch in plan.batches:
        if batch.state in (FAILED, CLEARED):
            continue
        tier = garden.tier(batch.column, batch.tier)
        vessel = garden.vessels[tier.vessel]
        gap = _air_gap(batch)
        if gap is not None and vessel.rain:
            rain = _harmless(vessel, batch, gap)
            for first, last in _rained_on(tier, gap, batch.clear):
                gaps.setdefault((batch.column, batch.tier), []).append((first, last, rain))
    for column in garden.columns:
        yield from _of_column(column, gaps)


def _of_column(
    column: Column, gaps: dict[tuple[str, int], list[tuple[date, date, float]]]
) -> Iterator[Cover]:
    """Gaps of its tiers that follow one another put together."""
    all_ = sorted(
        (gap, t.number) for t in column.tiers for gap in gaps.get((column.name, t.number), ())
    )
    together: list[tuple[tuple[date, date, float], int]] = []
    for gap, number in all_:
        if together and gap[0] > max(last for (_, last, _), _ in together) + ONE_DAY:
            yield _cover(column.name, together)
            together = []
        together.append((gap, number))
    if together:
        yield _cover(column.name, together)


def _cover(column: str, gaps: Sequence[tuple[tuple[date, date, float], int]]) -> Cover:
    return Cover(
        column,
        min(first for (first, _, _), _ in gaps),
        max(last for (_, last, _), _ in gaps),
        tuple(sorted({number for _, number in gaps})),
        min(rain for (_, _, rain), _ in gaps),
    )


def _air_gap(batch: Batch) -> date | None:
    """First morning on which the level stands more than 2 cm below the fill; None: never."""
    if not batch.levels:
        return None
    full = batch.levels[0].depth_cm
    return next((v.date for v in batch.levels if full - v.depth_cm > LATE_RISE_CM), None)


def _harmless(vessel: Vessel, batch: Batch, gap: date) -> float:
    """Rain that lifts the level half as far as does harm, on the worst day [cm]."""
    depths = [v.depth_cm for v in batch.levels if v.date >= gap]
    litres = (vessel.volume_at(d + LATE_RISE_CM) - vessel.volume_at(d) for d in depths)
    return SAFE * 1000 * min(litres) / vessel.mouth_cm2


def _rained_on(tier: Tier, first: date, last: date) -> Iterator[tuple[date, date]]:
    """Spans of these days on which rain falls where the tier stands."""
    edges = {first, last + ONE_DAY}
    for stay in tier.stays:
        edges |= {d for d in (stay.start, stay.end + ONE_DAY) if first < d <= last}
    begun: date | None = None
    for day, after in pairwise(sorted(edges)):
        if not place_on(tier, day).rain:
            begun = None
            continue
        begun = begun or day
        wet = after <= last and place_on(tier, after).rain
        if not wet:
            yield begun, after - ONE_DAY
            begun = None
