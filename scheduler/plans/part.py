"""Part of a large garden: some columns whole, with what is planned in them, wished and limited.

Living thousands of tiers day by day takes minutes a year, and columns that are alike tell the same.
So of a large garden some columns are lived, evenly spaced in the order of the garden file. Each
wish is cut to the share of its planned grams that grows in them; what all share is cut to the share
of all batches, but never below what the plan itself asks for in them on any day: that a few columns
bunch their work is chance, not a lack of hands.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from scheduler.garden.model import Garden, Helper
from scheduler.plans.model import Batch

WHOLE = 240  # tiers that are lived whole; of larger gardens about as many


def lived_part(
    garden: Garden, batches: Sequence[Batch], whole: int = WHOLE
) -> tuple[Garden, tuple[Batch, ...]]:
    """The garden and its batches, or of a large garden the columns to live and what is in them."""
    tiers = sum(len(c.tiers) for c in garden.columns)
    if tiers <= whole:
        return garden, tuple(batches)
    n = len(garden.columns)
    count = max(1, whole * n // tiers)
    columns = tuple(garden.columns[(2 * k + 1) * n // (2 * count)] for k in range(count))
    names = {c.name for c in columns}
    mine = tuple(b for b in batches if b.column in names)
    planned, there = _grams(garden, batches), _grams(garden, mine)
    part = {
        d.group: there[d.group] / planned[d.group] if there[d.group] else len(columns) / n
        for d in garden.demands
    }
    demands = tuple(
        replace(d, grams_per_week=d.grams_per_week * part[d.group]) for d in garden.demands
    )
    events = tuple(replace(e, grams=e.grams * part[e.group]) for e in garden.events)
    return (
        replace(
            garden,
            columns=columns,
            demands=demands,
            events=events,
            **_limits(garden, mine, len(mine) / max(len(batches), 1)),
        ),
        mine,
    )


def _grams(garden: Garden, batches: Iterable[Batch]) -> Counter[str]:
    """What is planned for each group [g]."""
    out: Counter[str] = Counter()
    for b in batches:
        demand = garden.demand_of(b.crop)
        if demand is not None:
            out[demand.group] += b.grams
    return out


def _limits(garden: Garden, mine: Sequence[Batch], share: float) -> dict[str, Any]:
    """Nursery and limits for a share of all batches, with room for what is planned each day."""
    limits, season = garden.limits, garden.season

    def cut(limit: int | None, most: int) -> int | None:
        return None if limit is None else max(math.ceil(limit * share), most)

    cells: Counter[int] = Counter()
    for b in mine:
        for day in range(max(season.index(b.sow), 0), max(season.index(b.transplant), 0)):
            cells[day] += b.cells
    return {
        "nursery": replace(
            garden.nursery,
            cells=max(math.ceil(garden.nursery.cells * share), max(cells.values(), default=0)),
        ),
        "limits": replace(
            limits,
            fills_per_day=cut(limits.fills_per_day, _most(mine, lambda b: [b.transplant])),
            picks_per_day=cut(
                limits.picks_per_day, _most(mine, lambda b: [p.date for p in b.picks])
            ),
            **_hands(garden, mine, share),
        ),
    }


def _hands(garden: Garden, mine: Sequence[Batch], share: float) -> dict[str, Any]:
    """Minutes a day for a share of all batches, or helpers with minutes for it."""
    limits = garden.limits
    asked = max(_minutes(garden, mine).values(), default=0.0)
    if not limits.helpers:
        each = limits.minutes_per_day
        return {"minutes_per_day": None if each is None else max(each * share, asked)}
    # One for each weekday: a weekday without anybody stays one.
    by_day = {day: limits.minutes_on(day) or 0.0 for day in range(7)}
    return {
        "helpers": tuple(
            Helper(str(day), frozenset({day}), max(minutes * share, asked))
            for day, minutes in by_day.items()
            if minutes > 0
        )
    }


def _minutes(garden: Garden, mine: Sequence[Batch]) -> Mapping[object, float]:
    """Work by day [min]."""
    labour = garden.limits.labour
    out: defaultdict[object, float] = defaultdict(float)
    for b in mine:
        lifts = labour.lift * (b.tier - 1)  # tiers are numbered from the top
        out[b.sow] += labour.sow * b.cells
        out[b.transplant] += labour.fill + lifts
        for p in b.picks:
            out[p.date] += labour.pick * p.plants
        out[b.clear] += labour.clear + lifts
    return out


def _most(mine: Sequence[Batch], days: Callable[[Batch], Iterable[object]]) -> int:
    """How often a day occurs at most."""
    return max(Counter(day for b in mine for day in days(b)).values(), default=0)
