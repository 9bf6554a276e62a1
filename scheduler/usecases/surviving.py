"""What is planned for the mean year must live through the years too."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.batches.candidates import Candidates
    from scheduler.garden.model import Garden


def surviving(garden: Garden, cand: Candidates) -> Candidates:
    """The candidates that cold and heat spare in enough of the years that ``garden`` carries.

    Nothing is set out in a frost that only the mean year does not have, whatever it might bring.
    """
    import numpy as np

    from scheduler.batches.rules import killed_from
    from scheduler.risk.limit import only

    crop, start, last = (cand.table[name].to_numpy(int) for name in ("crop", "transplant", "last"))
    lives = np.zeros(len(cand), dtype=bool)
    for number, name in enumerate(cand.crop_names):
        rows = np.flatnonzero(crop == number)
        days, at = np.unique(start[rows], return_inverse=True)
        if len(days):
            lives[rows] = last[rows] < killed_from(garden, garden.crops[name], days)[at.ravel()]
    return only(cand, np.flatnonzero(lives))
