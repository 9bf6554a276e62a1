"""Crops grown in the computer with known true numbers, and the log a grower would have kept."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np

from crops import learning
from crops.catalogue import catalogue
from crops.level import batch_course
from crops.solution import balance
from scheduler.garden.model import Garden
from scheduler.log.model import HEADER
from scheduler.review.estimates import scaled

PRIOR = {p.name: p for p in learning.PRIORS}


@dataclass
class Grower:
    """Grows crops whose truth is ``truth`` times the catalogue and writes down what happens.

    ``spread`` scales how far single crops differ from it, and the errors of ruler, scale and meter.
    """

    garden: Garden
    truth: dict[str, float]
    rng: np.random.Generator
    spread: float = 1.0
    rows: list[str] = field(default_factory=list)

    def grow(self, crop: str, column: str, tier: int, day: date) -> date:
        """One crop from transplanting; the day on which its tier is cleared."""
        g, noise = self.garden, {}
        for name, factor in self.truth.items():
            scatter = PRIOR[name].noise * self.spread
            noise[name] = factor * math.exp(self.rng.normal(0, scatter))
        real = scaled(catalogue()[crop], noise)
        place = g.tier(column, tier)
        vessel = replace(g.vessels[place.vessel])
        start = g.season.index(day)
        course = batch_course(real, vessel, g.site.weather, place.light, start, place.plants)
        ready = course.ready_index
        assert ready is not None
        dry = course.dry_index if course.dry_index is not None else 10**6
        pick = min(ready, dry)
        self._row(day, "transplanted", column, tier, crop, f"{place.plants}", "plants")
        for h in range(7, pick - start, 7):
            self._level(column, tier, day + timedelta(days=h), float(course.depth_cm[h]))
        end = g.season.date(pick)
        left = float(course.litres[pick - start])
        grams = float(course.plant_grams[pick - start]) * place.plants
        drunk = vessel.fill_l - left
        # A fill somewhat stronger than what is taken up, so that nothing is used up.
        fill_ec = round(1.15 * balance.strength(balance.uptake(real, drunk * 1000 / grams)), 2)
        up = balance.strength(balance.uptake(real, drunk * 1000 / grams, fill_ec))
        ec = (vessel.fill_l * fill_ec - drunk * up) / left
        error = 0.02 * self.spread
        self._row(day, "ec", column, tier, "", f"{fill_ec:.2f}", "mS/cm")
        self._level(column, tier, end, float(course.depth_cm[pick - start]))
        self._row(
            end, "ec", column, tier, "", f"{ec * math.exp(self.rng.normal(0, error)):.3f}", "mS/cm"
        )
        self._row(end, "picked", column, tier, "", f"{place.plants}", "plants")
        self._row(end, "picked", column, tier, "", f"{grams:.0f}", "g")
        self._row(end, "cleared", column, tier, "", "", "")
        return end

    def _level(self, column: str, tier: int, day: date, cm: float) -> None:
        place = self.garden.tier(column, tier)
        vessel = self.garden.vessels[place.vessel]
        seen = cm + self.rng.normal(0, 0.25 * self.spread)
        seen = min(max(seen, 0.0), float(vessel.depth(vessel.fill_l)))
        self._row(day, "level", column, tier, "", f"{seen:.2f}", "cm")

    def _row(
        self, day: date, what: str, column: str, tier: int, crop: str, amount: str, unit: str
    ) -> None:
        self.rows.append(f"{day},{what},{column},{tier},{crop},{amount},{unit},")

    def log(self) -> str:
        """The log so far."""
        return "\n".join([HEADER, *self.rows]) + "\n"


def grown(
    garden: Garden,
    truth: dict[str, float],
    n: int,
    seed: int,
    crop: str = "leaf_lettuce",
    spread: float = 1.0,
) -> Grower:
    """``n`` crops of one kind, tier after tier through the season."""
    grower = Grower(garden, truth, np.random.default_rng(seed), spread)
    places = [(c.name, t.number) for c in garden.columns for t in c.tiers]
    free = dict.fromkeys(places, garden.season.start + timedelta(days=20))
    for i in range(n):
        place = places[i % len(places)]
        free[place] = grower.grow(crop, *place, free[place]) + timedelta(days=1)
    return grower
