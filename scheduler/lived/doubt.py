"""Doubt in our own crop numbers: how far a crop's true figures may lie from the catalogue's."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

SPREAD = 0.10  # of days to harvest and of peak demand, one standard deviation; own judgement


@dataclass(frozen=True)
class Doubt:
    """Spread of a crop's days to harvest and peak demand around what is known of them [-].

    Each year every crop is as much faster or thirstier as one draw from a lognormal distribution
    with median 1 says: the same for all batches of a crop in a year.
    """

    days: float = SPREAD
    demand: float = SPREAD

    def draw(self, crops: int, years: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
        """Factors of speed and of demand [crops, years]."""
        rng = np.random.default_rng([seed, 0x60B7])
        z = rng.standard_normal((2, crops, years))
        return np.exp(self.days * z[0]), np.exp(self.demand * z[1])


NONE = Doubt(0.0, 0.0)
