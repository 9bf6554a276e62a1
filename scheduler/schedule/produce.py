"""How produce is shared out over the weekly wishes: said once, for one year or many at a time.

A lot keeps from one week to another. Of all ways to hand lots out, search, plan and replayed
weather years take the one of `most_even`; `scheduler.verify` finds it another way, by smallest
cuts.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

# First and last week a lot serves, its class, and its grams: a number, or one a year [years].
Lot = tuple[int, int, int, Any]


def shared_out(
    lots: Sequence[Lot], wish: np.ndarray
) -> tuple[dict[tuple[int, int], Any], np.ndarray]:
    """Share one group's produce out over the weeks in order, what spoils first going first.

    For lots that keep from one week to another no other way meets more of ``wish``.

    Parameters
    ----------
    wish : grams wished, [weeks], or [weeks, years] where lots have grams for each year.

    Returns
    -------
    Grams by (class, week), and grams met, of the shape of ``wish``.
    """
    many = wish.ndim > 1
    least: Any = np.minimum if many else min
    flow: dict[tuple[int, int], Any] = {}
    out = []
    coming: dict[int, list[list[Any]]] = {}
    for first, last, k, grams in lots:
        coming.setdefault(first, []).append([last, k, grams])
    there: list[list[Any]] = []  # what spoils first comes first
    for week, wished in enumerate(wish if many else wish.tolist()):
        there = [lot for lot in there if lot[0] >= week and (many or lot[2])]
        if week in coming:
            there = sorted(there + coming[week], key=lambda lot: (lot[0], lot[1]))
        need = wished
        for lot in there:
            if not many and not need:
                break
            used = least(need, lot[2])
            lot[2] = lot[2] - used
            need = need - used
            flow[lot[1], week] = used
        out.append(wished - need)
    return flow, np.array(out, dtype=int).reshape(wish.shape)


def most_even(lots: Sequence[Lot], wish: np.ndarray) -> np.ndarray:
    """Grams of one group's ``wish`` that are met, shared out the most even way; shapes as above.

    Of the ways that meet the most of the wishes, those that meet the most of their halves; of
    these the one in which the first week gets the most it can, then the next, and so on. What
    weeks can get is a polymatroid: what meets the most of the halves can always be filled up to
    what meets the most of all.
    """
    _, met = shared_out(lots, wish // 2)
    for week in range(len(wish)):
        if (met[week] < wish[week]).any():
            more = met.copy()
            more[week] = wish[week]
            met[week] += shared_out(lots, more)[1].sum(axis=0) - met.sum(axis=0)
    return met
