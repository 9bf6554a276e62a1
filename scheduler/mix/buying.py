"""What is still to be bought for a plan: how much of what, by which day, what it costs.

Money is told, never weighed: no plan is another one for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil

from scheduler.garden.model import Garden
from scheduler.mix.fills import weighed_fills
from scheduler.mix.prices_file import SEEDS, Price
from scheduler.plans.model import PLANNED, SOWN, Batch, Plan

SLACK = 1e-9


@dataclass(frozen=True)
class Item:
    """One thing to have.

    Attributes
    ----------
    name : of the crop (``unit`` seeds), fertilizer or acid (g, mL).
    need : for all that is still to be sown or filled; have : in stock.
    by : day on which the stock runs short; None: it never does.
    packets, paid : to buy, and for how much; used : worth of what is needed; None: not told.
    """

    name: str
    unit: str
    need: float
    have: float = 0.0
    by: date | None = None
    packet: float | None = None
    packets: int | None = None
    paid: float | None = None
    used: float | None = None


@dataclass(frozen=True)
class CropCost:
    """What is used for a crop, by its seeds and its fills, and what it gives [g], [plants]."""

    crop: str
    seeds: float
    salts: float
    grams: int
    heads: int


@dataclass(frozen=True)
class Buying:
    """All of it; ``crops`` only of those whose seeds and fills all have a price."""

    items: tuple[Item, ...]
    crops: tuple[CropCost, ...]
    unpriced: tuple[str, ...]


def buying(garden: Garden, plan: Plan, prices: Mapping[str, Price] | None = None) -> Buying:
    """What is still to be sown and filled, by the plan, from its first or re-planned day on."""
    prices = prices or {}
    sown = [b for b in plan.batches if b.state == PLANNED]
    filled = [b for b in plan.batches if b.state in (PLANNED, SOWN)]
    fills = weighed_fills(garden, replace(plan, batches=tuple(filled)))
    uses: dict[tuple[str, str], list[tuple[date, float]]] = {}
    for b in sorted(sown, key=lambda b: garden.crops[b.crop].title):
        uses.setdefault((b.crop, SEEDS), []).append((b.sow, float(b.seeds)))
    salts: dict[tuple[str, str], list[tuple[date, float]]] = {}
    for b in filled:
        for name, amount, unit in fills[b.id]:
            salts.setdefault((name, unit), []).append((b.transplant, amount))
    order = {s.name: k for k, s in enumerate(garden.solution.salts)}
    uses |= dict(sorted(salts.items(), key=lambda pair: order.get(pair[0][0], len(order))))
    items = tuple(_item(name, unit, days, prices.get(name)) for (name, unit), days in uses.items())
    unpriced = tuple(i.name for i in items if i.used is None)
    return Buying(items, tuple(_costs(filled, fills, prices)), unpriced)


def _item(name: str, unit: str, uses: Sequence[tuple[date, float]], price: Price | None) -> Item:
    need = sum(amount for _, amount in uses)
    have = price.have if price else 0.0
    by, left = None, have
    for day, amount in sorted(uses):
        left -= amount
        if left < -SLACK:
            by = day
            break
    if price is None or price.unit != unit:
        return Item(name, unit, need, 0.0, min(day for day, _ in uses))
    packets = max(ceil((need - have) / price.packet - SLACK), 0)
    each = price.price
    return Item(
        name,
        unit,
        need,
        have,
        by,
        price.packet,
        packets,
        None if each is None else packets * each,
        None if each is None else need / price.packet * each,
    )


def _worth(name: str, unit: str, amount: float, prices: Mapping[str, Price]) -> float | None:
    price = prices.get(name)
    if price is None or price.price is None or price.unit != unit:
        return None
    return amount / price.packet * price.price


def _costs(
    batches: Sequence[Batch],
    fills: Mapping[str, Sequence[tuple[str, float, str]]],
    prices: Mapping[str, Price],
) -> list[CropCost]:
    """Of each crop all of whose things have a price."""
    out = []
    for crop in sorted({b.crop for b in batches}):
        mine = [b for b in batches if b.crop == crop]
        seeds = [_worth(crop, SEEDS, b.seeds, prices) for b in mine]
        salts = [_worth(n, unit, x, prices) for b in mine for n, x, unit in fills[b.id]]
        if None in seeds or None in salts:
            continue
        out.append(
            CropCost(
                crop,
                sum(x or 0.0 for x in seeds),
                sum(x or 0.0 for x in salts),
                sum(b.grams for b in mine),
                sum(b.plants for b in mine),
            )
        )
    return out
