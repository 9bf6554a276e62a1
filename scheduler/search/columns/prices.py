"""What a batch is worth at given prices, and the bound on every plan that prices prove."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from scheduler.schedule import effort
from scheduler.search.columns.layout import Layout


@dataclass(frozen=True)
class Aim:
    """A mix of the stages: ``produce * met - uneven * (wasted + short) - effort * points``.

    Produce counts by the whole weights of `stages.whole_weights`.
    """

    produce: float = 1.0
    uneven: float = 0.0
    effort: float = 0.0


@dataclass(frozen=True)
class Prices:
    """Multipliers of the rows of the linear program; none below 0 but those of what is held.

    Attributes
    ----------
    shared : of each resource of the layout, by slot: what is used on its day pays the price of the
        day; of what is held the price is of the balance, and price[last] - price[first] is paid.
    gram : worth of a gram of each produce class.
    wish : of each group and week [groups, weeks]; half : of half of it.
    column : of each column kind.
    """

    shared: tuple[np.ndarray, ...]
    gram: np.ndarray
    wish: np.ndarray
    half: np.ndarray
    column: np.ndarray

    def toward(self, other: Prices, share: float) -> Prices:
        """A mix: ``share`` of the other's prices, the rest of these."""

        def mixed(mine: np.ndarray, others: np.ndarray) -> np.ndarray:
            return (1 - share) * mine + share * others

        shared = tuple(map(mixed, self.shared, other.shared))
        names = [f.name for f in fields(self) if f.name != "shared"]
        return Prices(shared, *(mixed(getattr(self, n), getattr(other, n)) for n in names))


@dataclass(frozen=True)
class Services:
    """What a vessel lifted, and a clearing without its lifts, cost on each slot [slots + 1]."""

    lift: np.ndarray
    clearing: np.ndarray

    def cost(self, above: Any, start: np.ndarray, clear: np.ndarray) -> np.ndarray:
        """Of batches filled and cleared on these slots under ``above`` vessels [n]."""
        out: np.ndarray = above * (self.lift[start] + self.lift[clear]) + self.clearing[clear]
        return out


def services(layout: Layout, prices: Prices) -> Services | None:
    """What lifts and clearings cost at the prices of what all share; None: nothing."""
    if not any(r.clears for r in layout.resources):
        return None
    pairs = list(zip(layout.resources, prices.shared, strict=True))
    lift = sum((r.per_lift * price for r, price in pairs), np.zeros(layout.slots))
    clearing = sum((r.per_clearing * price for r, price in pairs), np.zeros(layout.slots))
    return Services(np.append(lift, 0.0), np.append(clearing, 0.0))


def worth(layout: Layout, prices: Prices, aim: Aim) -> np.ndarray:
    """What each row brings in less what it uses [rows].

    But for what depends on its tier: lifts and the day of its clearing (`services`).
    """
    s = layout.supply
    out = np.zeros(len(layout))  # a count of nothing would be one of whole numbers
    out += np.bincount(s.decision, s.grams * prices.gram[s.week_class], len(layout))
    for r, price in zip(layout.resources, prices.shared, strict=True):
        to_pay = np.append(price, 0.0)
        paid = to_pay[r.last] - to_pay[r.first] if r.held else to_pay[r.first]
        out -= np.bincount(r.which, r.amount * paid, len(layout))
        out -= r.per_fill * to_pay[layout.start]
    return out - aim.uneven * layout.grams - aim.effort


def lifts(aim: Aim, number: Any) -> Any:
    """What a batch in tier ``number`` (or an array of them) costs in lifts: fill and clearing."""
    return aim.effort * effort.lifts(effort.above(number))


def best_tiers(layout: Layout, value: np.ndarray) -> np.ndarray:
    """The most that one tier of each kind can be worth, stack access left out [kinds].

    From the last slot to the first: a tier stays empty for a slot, or begins one of the rows.
    """
    order = np.argsort(layout.start, kind="stable")
    ends = np.searchsorted(layout.start[order], np.arange(layout.slots + 1))
    again = layout.again[layout.last]
    best = np.zeros((layout.slots + 1, len(layout.cand.kinds)))
    for w in range(layout.slots - 1, -1, -1):
        rows = order[ends[w] : ends[w + 1]]
        best[w] = best[w + 1]
        if len(rows):
            kind = layout.kind[rows]
            np.maximum.at(best[w], kind, value[rows] + best[again[rows], kind])
    most: np.ndarray = best[0]
    return most


def bound(
    layout: Layout, prices: Prices, aim: Aim, value: np.ndarray, weights: np.ndarray
) -> float:
    """No plan has more of ``aim`` than this, whatever the prices are (weak duality).

    ``value`` is `worth` of the rows; ``weights`` the whole weights of the groups. Work days used
    are left out of the effort, which they only add to.
    """
    s, cand = layout.supply, layout.cand
    least = np.array([min(lifts(aim, n) for _, n in kind.places) for kind in cand.kinds])
    tier = best_tiers(layout, value - least[layout.kind])
    total = float(tier @ np.array([kind.count for kind in cand.kinds]))
    for r, price in zip(layout.resources, prices.shared, strict=True):
        if r.held:
            after = np.append(price, 0.0)
            price = np.maximum(after[1:] - after[:-1], 0.0)  # of what stays over a slot
        total += float(price @ r.limits(len(price)))
    total += float((prices.wish * s.wish).sum()) + float(prices.gram @ s.given)
    half = s.wish // 2
    # Grams handed to a week, each at most its wish; grams short, each at most half of it.
    for k, (group, first, last) in enumerate(s.classes):
        gain = aim.produce * weights[group] + aim.uneven
        weeks = slice(first, last + 1)
        more = gain + prices.half[group, weeks] - prices.gram[k] - prices.wish[group, weeks]
        total += float(np.maximum(more, 0.0) @ s.wish[group, weeks])
    total -= float((prices.half * half).sum())
    total += float((np.maximum(prices.half - aim.uneven, 0.0) * half).sum())
    # what is there anyhow is wasted unless it is handed out
    return total - aim.uneven * float(s.given.sum())
