"""How long the work of a day takes, by the garden's minutes for each kind of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from scheduler.garden.model import Garden
from scheduler.outputs.work import (
    CLEAR,
    FILL,
    HARDEN,
    MOVE,
    PICK,
    PROTECT,
    SHADE,
    SOW,
    Work,
    work_items,
)
from scheduler.plans.model import Plan

TIMED = (SOW, FILL, PICK, CLEAR, MOVE)  # kinds of work that a plan has minutes for
CARE = (HARDEN, PROTECT, SHADE)  # the weather decides: printed, outside a day's limit


def minutes(garden: Garden, item: Work) -> float:
    """How long one item of work takes [min]; 0 for what is done in passing.

    A filling or a clearing takes in each vessel that is lifted off above it and put back.
    """
    labour = garden.limits.labour
    lifts = labour.lift * ((item.tier or 1) - 1)
    return {
        SOW: labour.sow * item.cells,
        FILL: labour.fill + lifts,
        PICK: labour.pick * item.plants,
        CLEAR: labour.clear + lifts,
        MOVE: labour.move * len(item.tiers),
        HARDEN: labour.harden,
        PROTECT: labour.protect,
        SHADE: labour.shade,
    }.get(item.kind, 0.0)


def of_items(garden: Garden, items: Iterable[Work]) -> float:
    """How long some items take together [min]."""
    return sum(minutes(garden, item) for item in items)


def by_day(garden: Garden, items: Sequence[Work]) -> dict[date, dict[str, float]]:
    """Minutes of each kind of `TIMED` work on each day that has any, by date."""
    out: dict[date, dict[str, float]] = {}
    for item in items:
        if item.kind in TIMED:
            day = out.setdefault(item.date, dict.fromkeys(TIMED, 0.0))
            day[item.kind] += minutes(garden, item)
    return dict(sorted(out.items()))


def care(garden: Garden, items: Iterable[Work]) -> dict[str, float]:
    """Minutes of each kind of `CARE`: each day of hardening off, one night of protection."""
    out: dict[str, float] = {}
    for item in items:
        if item.kind in CARE:
            days = (item.until - item.date).days if item.kind == HARDEN and item.until else 1
            spent = minutes(garden, item) * max(days, 1)
            out[item.kind] = out.get(item.kind, 0.0) + spent
    return out


def season(garden: Garden, plan: Plan, items: Sequence[Work] | None = None) -> dict[date, float]:
    """Minutes of each day of a plan on which there is work; ``items``: its work, if at hand."""
    timed = by_day(garden, work_items(garden, plan) if items is None else items)
    return {day: sum(kinds.values()) for day, kinds in timed.items()}
