"""Last nights of frost of spring and first ones of autumn, of years of daily minima."""

from __future__ import annotations

import numpy as np

TURN = 210  # day on which spring is over


def frosts(tmin: np.ndarray, celsius: float) -> tuple[np.ndarray, np.ndarray]:
    """Day of the last night of spring and of the first of autumn below some degrees [years].

    Parameters
    ----------
    tmin : [degC; years, days].

    Returns
    -------
    Days from 1 on; a year without such a night has its last on day 0, its first on the last day.
    """
    cold = tmin < celsius
    spring, autumn = cold[:, :TURN], cold[:, TURN:]
    last = np.where(spring.any(axis=1), TURN - np.argmax(spring[:, ::-1], axis=1), 0)
    first = np.where(autumn.any(axis=1), TURN + 1 + np.argmax(autumn, axis=1), tmin.shape[1])
    return last, first
