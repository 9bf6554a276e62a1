"""One plant of a crop over the weather years, as the course of a tier is made of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.levels.estimate import Course


@dataclass(frozen=True)
class Kind:
    """One plant of a crop in some light from one transplanting day on; batches alike share it.

    Attributes
    ----------
    drinks, slopes, noise : of each day, as in `Course` [L, L, L2].
    growth, growth_spread, mass : of each morning, one more than days: progress, its spread, share
        of the full mass [-].
    years : covariance of level, slope and pace over the years [3 x 3].
    """

    drinks: Sequence[float]
    slopes: Sequence[float]
    noise: Sequence[float]
    growth: Sequence[float]
    growth_spread: Sequence[float]
    mass: Sequence[float]
    years: Sequence[Sequence[float]]

    def course(self, plants: Sequence[float]) -> Course:
        """The course of a tier with so many plants on each day; its last number goes on."""
        n = len(self.drinks)
        there = [*plants[:n], *[plants[-1]] * (n - len(plants))]
        return Course(
            [d * p for d, p in zip(self.drinks, there, strict=True)],
            [d * p for d, p in zip(self.slopes, there, strict=True)],
            [d * p * p for d, p in zip(self.noise, there, strict=True)],
            self.growth,
            self.growth_spread,
            self.years,
        )

    def progress_at(self, mass: float) -> float:
        """Progress that goes with a share of the full mass, at most the last [-]."""
        for day in range(1, len(self.mass)):
            below, above = self.mass[day - 1], self.mass[day]
            if above >= mass:
                part = (mass - below) / (above - below) if above > below else 1.0
                low, high = self.growth[day - 1], self.growth[day]
                return low + max(part, 0.0) * (high - low)
        return self.growth[-1]

    def mass_at(self, progress: float) -> float:
        """Share of the full mass that goes with a progress [0..1]."""
        for day in range(1, len(self.growth)):
            below, above = self.growth[day - 1], self.growth[day]
            if above >= progress:
                part = (progress - below) / (above - below) if above > below else 1.0
                low, high = self.mass[day - 1], self.mass[day]
                return low + max(part, 0.0) * (high - low)
        return self.mass[-1]
