"""What a season that was lived is worth to a search: a gram the less, the more of it there is.

The first half of a week's wish counts more than the second, so that of two groups wished alike
neither is left with nothing. Of a group of which there is enough a second kind beside the one that
is eaten most counts more; who has too little of it wants more of it before it is of two kinds.
Shares that are printed are plain weighted grams.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

# Share of a week's wish from which on a second kind is on the table; own judgement, no source.
LEAST = 0.1


@dataclass(frozen=True)
class Taste:
    """How the worth of a gram changes within a group's week; own judgement, no source.

    Attributes
    ----------
    falls : a gram of the first half of a wish is worth 1 + ``falls``, of the second 1 - ``falls``:
        a full wish counts as before.
    other : a gram of another kind than the one that is eaten most is worth so much more, up to the
        share ``least`` of the wish, where ``enough`` of all that is wished of its group in the
        season is met or more; nothing more up to ``short`` of it, in a line between.
    """

    falls: float = 0.2
    other: float = 0.35
    least: float = 0.2  # about what a batch brings in each of two weeks; some years bring half
    short: float = 0.75
    enough: float = 0.95


FALLING, FLAT = Taste(), Taste(0.0, 0.0)
TASTES = {"falling": FALLING, "flat": FLAT}


def worth(
    met: np.ndarray, others: np.ndarray, wish: np.ndarray, weight: np.ndarray, taste: Taste
) -> np.ndarray:
    """Worth of what was eaten, as a share of all that is wished [years].

    Parameters
    ----------
    met : [g], groups x weeks x years; others : of it, of other kinds than the one that was eaten
        most, alike. wish : [g], groups x weeks; weight : of a gram [groups].
    """
    total = float(weight @ wish.sum(axis=1))
    if total <= 0:
        return np.zeros(met.shape[2])
    full = wish[:, :, None]
    value = (1 - taste.falls) * met + 2 * taste.falls * np.minimum(met, full / 2)
    of_season = met.sum(axis=1) / np.maximum(wish.sum(axis=1), 1.0)[:, None]
    varied = np.clip((of_season - taste.short) / (taste.enough - taste.short), 0.0, 1.0)
    second = np.minimum(others, taste.least * full)
    value = value + taste.other * varied[:, None, :] * second
    out: np.ndarray = np.einsum("g,gwy->y", weight, value) / total
    return out


def two_kinds(others: np.ndarray, wish: np.ndarray) -> np.ndarray:
    """Whether a second kind is on the table, groups x weeks x years; never where none is wished.

    ``others``, ``wish`` : as of `worth`. Amounts that are equal but for rounding count as equal.
    """
    full = wish[:, :, None]
    out: np.ndarray = (full > 0) & (others >= LEAST * full * (1 - 1e-9))
    return out
