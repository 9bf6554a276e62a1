"""Doubt in our own crop numbers: how far a crop's true figures may lie from the catalogue's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from zlib import crc32

import numpy as np

from crops.crop import Crop
from crops.learning import is_learned

SPREAD = 0.10  # of days to harvest and of peak demand, one standard deviation; own judgement


@dataclass(frozen=True)
class Doubt:
    """Spread of a crop's days to harvest and peak demand around what is known of them [-].

    Each year every crop is as much faster or thirstier as one draw from a lognormal distribution
    with median 1 says: the same for all batches of a crop in a year. A number that `review` has
    learned from the grower's own finished crops is not doubted.
    """

    days: float = SPREAD
    demand: float = SPREAD

    def draw(self, crops: Sequence[Crop], years: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
        """Factors of speed and of demand [crops, years].

        A crop's follow from its name alone: plans with other crops beside it meet the same years.
        """
        z = np.zeros((2, len(crops), years))
        for i, crop in enumerate(crops):
            rng = np.random.default_rng([seed, 0x60B7, crc32(crop.name.encode())])
            z[:, i] = rng.standard_normal((2, years))
        days = [0.0 if is_learned(c, "days_to_harvest") else self.days for c in crops]
        demand = [0.0 if is_learned(c, "peak_demand") else self.demand for c in crops]
        return np.exp(np.array(days)[:, None] * z[0]), np.exp(np.array(demand)[:, None] * z[1])


NONE = Doubt(0.0, 0.0)
