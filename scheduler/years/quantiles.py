"""What stays below a value in a stated share of years, from a sample of years."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike


def share_below(values: ArrayLike, share: float, axis: int = 0) -> np.ndarray:
    """Value below which a further year lies with chance ``share``.

    Of n years the k-th smallest lies above a further one with chance k / (n + 1), whatever the
    distribution (Gumbel 1958, Statistics of Extremes, section 1.2.7, from memory), so that is the
    share it stands for; between two of them runs a straight line. Shares that the sample is too
    small to tell give its smallest or largest value.

    Parameters
    ----------
    values : a year each along ``axis``; infinity may stand for never.
    share : from 0 to 1.

    Raises
    ------
    ValueError
        No value, or a share that is none.
    """
    ordered = np.sort(np.moveaxis(np.asarray(values, float), axis, 0), axis=0)
    n = len(ordered)
    if n == 0:
        raise ValueError("no years to tell a share of")
    if not 0 <= share <= 1:
        raise ValueError(f"share {share}; expected 0 to 1")
    place = np.clip(share * (n + 1), 1, n) - 1
    low = int(place + 1e-9)
    part = place - low
    if part < 1e-9:
        return np.asarray(ordered[low])
    below, above = ordered[low], ordered[low + 1]
    with np.errstate(invalid="ignore"):
        between = below + part * (above - below)
    return np.asarray(np.where(below == above, below, between))
