"""What is planted in place of what the grower knew: another crop in its tier, or another tier.

Both together are one change, not one batch dropped and one added.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from scheduler.log.tracks import Place

MOVED_DAYS = 28  # a batch planted that much later or sooner is another one


class Planting(NamedTuple):
    """A batch to be planted; ``day`` of transplanting, counted from any day."""

    crop: str
    place: Place
    day: int


def replaced(dropped: Sequence[Planting], added: Sequence[Planting]) -> int:
    """How many of the dropped have one of the added in their place, each at most one.

    In the same tier, or the same crop in another, at most `MOVED_DAYS` sooner or later: as many as
    can be paired.
    """
    if not dropped or not added:
        return 0
    in_place = np.array([[_in_place(a, b) for b in added] for a in dropped], dtype=np.int8)
    return int((maximum_bipartite_matching(csr_array(in_place)) >= 0).sum())


def _in_place(old: Planting, new: Planting) -> bool:
    same = old.place == new.place or old.crop == new.crop
    return same and abs(old.day - new.day) <= MOVED_DAYS
