"""Courses of single batches in many weather years at once.

All arrays are [years] or [years, days]; no Python loop runs over years or days of a batch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from crops import demand, development, survival
from crops.crop import Crop
from scheduler.batches.thirst import READY, running
from scheduler.garden.baths import bath_of, lamp_light
from scheduler.garden.model import Garden, Stay, Tier
from scheduler.plans.model import Batch
from scheduler.years.placed import years_at
from scheduler.years.weather_years import WeatherYears


@dataclass(frozen=True)
class Course:
    """One batch in every year.

    Attributes
    ----------
    dry_index, ready_index : day indices [years]; -1 where the weather ends first.
    bolted_index : first morning on which it has bolted [years]; -1: never.
    killed_index : first morning on which cold or heat has killed it [years]; -1: never.
    grams : of each pick [years, picks].
    """

    dry_index: np.ndarray
    ready_index: np.ndarray
    bolted_index: np.ndarray
    killed_index: np.ndarray
    grams: np.ndarray


class Replay:
    """Courses of batches in many years; what batches share is computed once."""

    def __init__(self, garden: Garden, years: WeatherYears) -> None:
        self.garden, self.years = garden, years
        self._progress: dict[tuple[str, float], np.ndarray] = {}
        self._bolting: dict[str, np.ndarray | None] = {}
        self._at: dict[tuple[Stay, ...], Replay] = {}

    def at(self, tier: Tier) -> Replay:
        """The same where a tier stands."""
        if not tier.stays:
            return self
        if tier.stays not in self._at:
            self._at[tier.stays] = Replay(self.garden, years_at(self.garden, self.years, tier))
        return self._at[tier.stays]

    def progress(self, crop: Crop, light: float) -> np.ndarray:
        """Running sum of progress on each morning [years, days + 1]."""
        key = (crop.name, light)
        if key not in self._progress:
            self._progress[key] = running(self.years.carried.rates(crop, light))
        return self._progress[key]

    def bolting(self, crop: Crop) -> np.ndarray | None:
        """Bolting days before each morning [years, days + 1]; None: it never bolts."""
        if crop.name not in self._bolting:
            found = None
            y = self.years
            days = development.bolting_dose(crop, y.tmin, y.tmax, y.daylength)
            if days.any():
                found = running(days)
            self._bolting[crop.name] = found
        return self._bolting[crop.name]

    def course(self, batch: Batch, as_of: date | None = None) -> Course:
        """One batch in every year; picks before ``as_of`` stand as told."""
        tier = self.garden.tier(batch.column, batch.tier)
        return self.at(tier)._course(batch, tier, as_of)

    def _course(self, batch: Batch, tier: Tier, as_of: date | None) -> Course:
        crop = self.garden.crops[batch.crop]
        vessel = self.garden.vessels[tier.vessel]
        start = self._index(batch.transplant)
        total = self.progress(crop, tier.light)[:, start:]
        progress = total - total[:, :1]
        lost = self.years.carried.taken(tier.light)[:, start:] / crop.demand_et0
        one = crop.peak_demand * demand.leaf_share(crop, progress[:, :-1]) * lost
        days = [self._index(p.date) - start for p in batch.picks]
        standing = _drinking(crop, batch, days, progress.shape[1])
        drunk = running(one * batch.demand_factor * standing[:-1])
        litres = np.maximum(vessel.fill_l - drunk / 1000, 0.0)
        dry = _first(litres <= vessel.floor_l + 1e-9)
        ready = _first(progress >= READY)
        count = self.bolting(crop)
        bolted = np.full(self.years.count, -1)
        if count is not None:
            bolted = _first(
                count[:, start:] - count[:, start : start + 1] > crop.bolts_after + 1e-9
            )
        killed = self._killed(crop, tier, start, as_of)
        columns = []
        for k, (pick, day) in enumerate(zip(batch.picks, days, strict=True)):
            if as_of is not None and pick.date < as_of:
                columns.append(np.full(self.years.count, pick.grams))
                continue
            share = crop.cut_shares[k] if crop.cuts > 1 else 1.0
            grown = np.where(
                progress[:, day] >= READY, 1.0, development.harvest_share(progress[:, day])
            )
            grams = np.rint(pick.plants * (crop.fresh_mass * grown) * share)
            gone = ((dry >= 0) & (dry < day)) | ((bolted >= 0) & (bolted <= day))
            gone |= (killed >= 0) & (killed <= start + day)
            columns.append(np.where(gone, 0, grams).astype(int))
        return Course(
            _shift(dry, start),
            _shift(ready, start),
            _shift(bolted, start),
            killed,
            np.stack(columns, axis=1) if columns else np.zeros((self.years.count, 0), int),
        )

    def _killed(self, crop: Crop, tier: Tier, start: int, as_of: date | None) -> np.ndarray:
        """First morning on which a batch is dead; -1: never, or so long ago that it was not."""
        y = self.years
        lamp = lamp_light(y.first, y.days, tier.stays)
        solution = y.carried.solution(bath_of(self.garden, tier), lamp)
        dead = survival.killed_from(crop, y.tmin, y.tmax, [start], solution)[:, 0]
        today = 0 if as_of is None else self._index(as_of)
        return np.where((dead > y.days) | (dead <= today), -1, dead)

    def _index(self, day: date) -> int:
        return (day - self.years.first).days


def _drinking(crop: Crop, batch: Batch, days: Sequence[int], length: int) -> np.ndarray:
    """Plants that drink on each day after transplanting, the last pick not made [length]."""
    out = np.full(length, float(batch.plants))
    for day, pick in list(zip(days, batch.picks, strict=True))[:-1]:
        if crop.cuts == 1:
            out[day:] -= pick.plants
        else:
            out[day:] = batch.plants * crop.after_cut
    return out


def _first(holds: np.ndarray) -> np.ndarray:
    """First column in which each row holds, or -1."""
    return np.where(holds.any(axis=1), holds.argmax(axis=1), -1)


def _shift(index: np.ndarray, start: int) -> np.ndarray:
    return np.where(index < 0, -1, index + start)
