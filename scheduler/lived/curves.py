"""The curves of growth and of demand, compiled: what `crops` has for arrays, for one plant."""

from __future__ import annotations

from typing import Any

import numpy as np

from crops.growth import FULL, KNOTS, LATEST, RELATIVE, TURN
from scheduler.base.compiled import compiled

_ONE, _TWO, _RIPE = KNOTS[1], KNOTS[2], KNOTS[3]


@compiled
def share_at(progress: float) -> float:
    """`growth.mass_share` of one plant [-]."""
    x = min(max(progress, 0.0), LATEST)
    return float(np.log1p(np.exp(RELATIVE * (x - TURN))) / FULL)


@compiled
def _line(low: float, high: float, share: float) -> float:
    return low + (high - low) * share


@compiled
def leaves_at(crop: Any, progress: float) -> float:
    """`demand.leaf_share` of one plant [-]; ``crop`` is of `world.CROP`."""
    x = min(max(progress, 0.0), LATEST)
    if x < _ONE:
        return _line(crop.leaf_0, crop.leaf_1, x / _ONE)
    if x < _TWO:
        return _line(crop.leaf_1, crop.leaf_2, (x - _ONE) / (_TWO - _ONE))
    if x < _RIPE:
        return _line(crop.leaf_2, crop.leaf_3, (x - _TWO) / (_RIPE - _TWO))
    return _line(crop.leaf_3, crop.leaf_4, (x - _RIPE) / (LATEST - _RIPE))
