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

    from scheduler.batches.fixed import is_fixed
    from scheduler.batches.rules import killed_from
    from scheduler.garden.baths import bath_of
    from scheduler.risk.limit import only

    crop, start, last = (cand.table[name].to_numpy(int) for name in ("crop", "transplant", "last"))
    lives = np.zeros(len(cand), dtype=bool)
    keys = [(kind.tier.stays, bath_of(garden, kind.tier)) for kind in cand.kinds]
    places = {key: kind.tier for key, kind in zip(keys, cand.kinds, strict=True)}
    where = [list(places).index(key) for key in keys]
    place = np.array(where, dtype=int)[cand.table["kind"].to_numpy(int)]
    for number, name in enumerate(cand.crop_names):
        for which, tier in enumerate(places.values()):
            rows = np.flatnonzero((crop == number) & (place == which))
            days, at = np.unique(start[rows], return_inverse=True)
            if len(days):
                killed = killed_from(garden, garden.crops[name], tier, days)
                lives[rows] = last[rows] < killed[at.ravel()]
    return only(cand, np.flatnonzero(lives | is_fixed(cand)))
