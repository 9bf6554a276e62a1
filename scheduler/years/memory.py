"""Days that remember the day before: a first-order autoregressive series."""

from __future__ import annotations

import numpy as np


def remembering(fresh: np.ndarray, memory: float) -> np.ndarray:
    """Each day what is fresh on it, and ``memory`` times the day before [n, days].

    To the last bit what `scipy.signal.lfilter` gives, which takes half a second to load: no
    calendar waits for that.
    """
    out = np.empty((fresh.shape[1], fresh.shape[0]))
    kept = np.zeros(fresh.shape[0])
    for day, new in enumerate(np.ascontiguousarray(fresh.T)):
        np.add(kept, new, out=out[day])
        kept = memory * out[day]
    return np.ascontiguousarray(out.T)
