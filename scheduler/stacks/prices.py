"""What a batch is worth at given prices, and the bound on every plan that prices prove."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from scheduler.stacks.layout import Layout


@dataclass(frozen=True)
class Aim:
    """A mix of the stages: ``produce * met - uneven * (wasted + short) - effort * points``.

    Produce counts by the whole weights of `objective.whole_weights`.
    """

    produce: float = 1.0
    uneven: float = 0.0
    effort: float = 0.0


@dataclass(frozen=True)
class Prices:
    """Multipliers of the rows of the linear program; none below 0 but ``cells``.

    Attributes
    ----------
    cells : of the balance of seedlings, by slot: a batch pays cells[start] - cells[sow].
    fill, pick : of one fill, one pick, by slot.
    gram : worth of a gram of each produce class.
    wish : of each group and week [groups, weeks]; half : of half of it.
    column : of each column kind.
    """

    cells: np.ndarray
    fill: np.ndarray
    pick: np.ndarray
    gram: np.ndarray
    wish: np.ndarray
    half: np.ndarray
    column: np.ndarray

    def toward(self, other: Prices, share: float) -> Prices:
        """A mix: ``share`` of the other's prices, the rest of these."""
        return Prices(*(
            (1 - share) * getattr(self, f.name) + share * getattr(other, f.name)
            for f in fields(self)
        ))  # fmt: skip


def worth(layout: Layout, prices: Prices, aim: Aim) -> np.ndarray:
    """What each row brings in less what it uses; but for lifts, which depend on the tier [rows]."""
    s = layout.supply
    out = np.zeros(len(layout))  # a count of nothing would be one of whole numbers
    out += np.bincount(s.decision, s.grams * prices.gram[s.klass], len(layout))
    cells = np.append(prices.cells, 0.0)
    out += layout.cells * (cells[layout.sow] - cells[layout.start])
    out -= prices.fill[layout.start]
    out -= np.bincount(layout.pick_row, prices.pick[layout.pick_slot], len(layout))
    return out - aim.uneven * layout.grams - aim.effort


def lifts(aim: Aim, number: Any) -> Any:
    """What a batch in tier ``number`` (or an array of them) costs in lifts: fill and clearing."""
    return aim.effort * 2 * (number - 1)


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
    return best[0]


def bound(
    layout: Layout, prices: Prices, aim: Aim, value: np.ndarray, weights: np.ndarray
) -> float:
    """No plan has more of ``aim`` than this, whatever the prices are (weak duality).

    ``value`` is `worth` of the rows; ``weights`` the whole weights of the groups. Work days used
    are left out of the effort, which they only add to.
    """
    s, limits = layout.supply, layout.garden.limits
    cand = layout.cand
    least = np.array([min(lifts(aim, n) for _, n in kind.places) for kind in cand.kinds])
    tier = best_tiers(layout, value - least[layout.kind])
    total = float(tier @ np.array([kind.count for kind in cand.kinds]))
    after = np.append(prices.cells, 0.0)
    stay = after[1:] - after[:-1]  # a seedling that stays over a slot
    total += float(np.maximum(stay, 0.0).sum()) * layout.garden.nursery.cells
    if limits.fills_per_day is not None:
        total += float(prices.fill.sum()) * limits.fills_per_day
    if limits.picks_per_day is not None:
        total += float(prices.pick.sum()) * limits.picks_per_day
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
