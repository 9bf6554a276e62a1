"""What another kind beside the one eaten most is worth in a repair: a guess, by what is picked.

What a pick gives is taken as eaten in equal parts in all weeks that it serves, in the first of the
guiding years. Living a schedule tells what it really is (`lived.worth`).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from scheduler.base.compiled import compiled
from scheduler.search.living.options import Options


@compiled
def varied(taste: Any, met: float, wish: float) -> float:
    """How far another kind counts in a group of which so much is met in the season [0..1]."""
    share: float = (met / max(wish, 1.0) - taste.short) / (taste.enough - taste.short)
    return min(max(share, 0.0), 1.0)


@compiled
def wanted(
    taste: Any, kinds: np.ndarray, group_of: np.ndarray, wish: np.ndarray, group: int
) -> float:
    """What a gram of another kind counts for in a group, by what is picked so far.

    ``wish`` : [g], groups x weeks.
    """
    met = 0.0
    for week in range(wish.shape[1]):
        total = 0.0
        for c in range(len(kinds)):
            if group_of[c] == group:
                total += kinds[c, week]
        met += min(total, wish[group, week])
    return float(taste.other * varied(taste, met, wish[group].sum()))


@compiled
def put(options: Options, kinds: np.ndarray, row: int) -> None:
    """Add what a row gives to ``kinds`` [g, crops x weeks]."""
    crop = options.rows[row].crop
    for k in range(options.grams.shape[2]):
        weeks = options.length[row, 0, k] + 1
        for week in range(options.first[row, 0, k], options.first[row, 0, k] + weeks):
            kinds[crop, week] += options.grams[row, 0, k] / weeks


@compiled
def welcome(
    options: Options,
    kinds: np.ndarray,
    group_of: np.ndarray,
    wish: np.ndarray,
    least: float,
    row: int,
) -> float:
    """How much more of other kinds than the one of which there is most a row brings [g].

    Up to the share ``least`` of each week's wish. ``kinds``: [g], crops x weeks; ``group_of`` : of
    each crop; wish : of the row's group [g, weeks].
    """
    crop, group, out = options.rows[row].crop, options.rows[row].group, 0.0
    for k in range(options.grams.shape[2]):
        grams = options.grams[row, 0, k]
        weeks = options.length[row, 0, k] + 1
        if grams <= 0:
            continue
        for week in range(options.first[row, 0, k], options.first[row, 0, k] + weeks):
            total = most = 0.0
            for c in range(len(kinds)):
                if group_of[c] == group:
                    total += kinds[c, week]
                    most = max(most, kinds[c, week])
            enough = least * wish[week]
            before = min(total - most, enough)
            most = max(most, kinds[crop, week] + grams / weeks)
            out += min(total + grams / weeks - most, enough) - before
    return out
