"""What a season that was lived is worth to a search: a gram the less, the more of it there is.

The first half of a week's wish counts more than the second, so that of two groups wished alike
neither is left with nothing, and a second kind beside the one that is eaten most counts a little.
Shares that are printed are plain weighted grams.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

# Share of a week's wish from which on a kind counts as on the table; own judgement, no source.
LEAST = 0.1


@dataclass(frozen=True)
class Taste:
    """How the worth of a gram changes within a group's week; own judgement, no source.

    Attributes
    ----------
    falls : a gram of the first half of a wish is worth 1 + ``falls``, of the second 1 - ``falls``:
        a full wish counts as before.
    other : a gram of another kind than the one that is eaten most is worth so much more, up to the
        share ``least`` of the wish.
    """

    falls: float = 0.2
    other: float = 0.3
    least: float = LEAST


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
    value = value + taste.other * np.minimum(others, taste.least * full)
    out: np.ndarray = np.einsum("g,gwy->y", weight, value) / total
    return out


def two_kinds(others: np.ndarray, wish: np.ndarray) -> np.ndarray:
    """Whether a second kind is on the table, groups x weeks x years; never where none is wished.

    ``others``, ``wish`` : as of `worth`. Amounts that are equal but for rounding count as equal.
    """
    full = wish[:, :, None]
    out: np.ndarray = (full > 0) & (others >= LEAST * full * (1 - 1e-9))
    return out
