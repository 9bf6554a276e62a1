"""What stands in a column on a day, and what it weighs: for the calendar's words on lifting."""

from __future__ import annotations

from collections.abc import Hashable
from datetime import date

import numpy as np

from crops import development
from scheduler.garden.model import Garden
from scheduler.garden.placed import weather_at
from scheduler.plans.model import CLEARED, FAILED, GROWING, Batch, Lifted, Plan


class Standing:
    """Masses of plants and vessels of a plan, day by day."""

    def __init__(self, garden: Garden, plan: Plan) -> None:
        self._garden = garden
        self._in_tier: dict[tuple[str, int], list[Batch]] = {}
        for batch in plan.batches:
            self._in_tier.setdefault((batch.column, batch.tier), []).append(batch)
        self._sums: dict[Hashable, np.ndarray] = {}
        self._known: dict[Hashable, np.ndarray] = {}

    def plant_grams(self, batch: Batch, day: date) -> float:
        """Fresh mass of one plant on the morning of ``day`` [g], before any cut."""
        masses = self._masses(batch)
        grown = (day - batch.transplant).days
        return float(masses[grown]) if 0 <= grown < len(masses) else 0.0

    def days_to_mass(self, batch: Batch, grams: float) -> int | None:
        """Days from transplanting to the first morning, after it, on which a plant has ``grams``.

        None where the weather ends first.
        """
        reached = np.flatnonzero(self._masses(batch)[1:] >= grams)
        return int(reached[0]) + 1 if len(reached) else None

    def _masses(self, batch: Batch) -> np.ndarray:
        """Fresh mass of one plant [g] on each morning from transplanting on; batches share it."""
        garden = self._garden
        crop = garden.crops[batch.crop]
        tier = garden.tier(batch.column, batch.tier)
        key = crop.name, tier.light, tier.stays
        first = garden.season.index(batch.transplant)
        known = self._known.get((*key, first))
        if known is None:
            total = self._sums.get(key)
            if total is None:
                rate = development.daily_rate(crop, weather_at(garden, tier), tier.light)
                total = self._sums[key] = development.running_sum(rate)
            grown = total[first:] - total[first] if 0 <= first < len(total) else total[:0]
            known = crop.fresh_mass * development.weight_share(crop, grown)
            self._known[*key, first] = known
        return known

    def vessel_kg(self, column: str, tier: int, day: date) -> float:
        """Mass of one vessel with all that is in it on ``day`` [kg].

        A vessel counts as empty on its own day of filling or clearing: lower tiers are filled
        first, upper ones cleared first.
        """
        garden = self._garden
        mass = garden.vessels[garden.tier(column, tier).vessel].mass_kg
        for batch in self._in_tier.get((column, tier), ()):
            if batch.transplant < day < batch.clear:
                litres = _litres(batch, day)
                crop = garden.crops[batch.crop]
                gone = sum(p.plants for p in batch.picks if p.date <= day)
                left = batch.plants - (gone if crop.cuts == 1 else 0)
                if batch.picks and day >= batch.picks[-1].date:
                    left = 0
                mass += litres + left * self.plant_grams(batch, day) / 1000
        return mass

    def heaviest_above(self, column: str, tier: int, day: date) -> float:
        """Mass of the heaviest vessel that must come off to reach a tier [kg]; 0 at the top."""
        return max((self.vessel_kg(column, above, day) for above in range(1, tier)), default=0.0)

    def lifted(self, plan: Plan) -> Lifted:
        """What filling and clearing lifts, as far as it is still to be done."""
        masses = [
            self.vessel_kg(batch.column, above, day)
            for batch in plan.batches
            for event, day in (("transplant", batch.transplant), ("clear", batch.clear))
            if not _happened(batch, event, day, plan.as_of)
            for above in range(1, batch.tier)
        ]
        return Lifted(round(sum(masses), 2), len(masses), round(max(masses, default=0.0), 2))


def _litres(batch: Batch, day: date) -> float:
    """Level on the morning of a day [L]; levels are told day by day from transplanting on."""
    at = (day - batch.transplant).days
    if at < len(batch.levels) and batch.levels[at].date == day:
        return batch.levels[at].litres
    return next((v.litres for v in batch.levels if v.date == day), 0.0)


def _happened(batch: Batch, event: str, day: date, as_of: date | None) -> bool:
    """Whether a batch's filling or clearing lies behind: by the day, on the day by its state."""
    if as_of is not None and day != as_of:
        return day < as_of
    return batch.state in (CLEARED, FAILED) or (batch.state == GROWING and event == "transplant")
