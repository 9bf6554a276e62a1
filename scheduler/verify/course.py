"""One batch day by day: progress, plants standing, level, dry date. Plain loops, no shortcuts.

Days are counted from the first row of the weather. "Morning of day d" is before that day's
drinking.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from crops import demand, development
from crops.crop import Crop
from crops.vessel import Vessel
from crops.years import carried_by, most_lost
from scheduler.garden.model import Garden, Tier
from scheduler.plans.model import Batch
from scheduler.verify.harm import dies, solution
from scheduler.verify.places import Stays, frame_in

SLACK = 1e-6  # [L]: sums in another order
TINY = 1e-9  # sums of equal parts reach 1 on the day they should


@dataclass(frozen=True)
class Plant:
    """One plant from its transplanting on; lists are by day after transplanting.

    ``progress`` and ``mass_g`` [g] are the morning's, ``drinks_ml`` [mL] the day's.
    """

    progress: list[float]
    drinks_ml: list[float]
    mass_g: list[float]


@dataclass(frozen=True)
class Course:
    """What happens to a batch.

    Attributes
    ----------
    start, end : day of transplanting, last day followed (clearing, or the end of the weather).
    ready : first morning it is ready, or None if the weather ends first.
    dry : first morning at or below the floor if the last pick is not made, or None.
    litres, depth_cm : on each morning from ``start`` to ``end`` [L], [cm].
    kg : mass of the whole vessel on the same mornings [kg].
    """

    start: int
    end: int
    ready: int | None
    dry: int | None
    litres: list[float]
    depth_cm: list[float]
    kg: list[float]


class Physics:
    """Courses of batches in one garden; what batches share is computed once."""

    def __init__(self, garden: Garden, stays: Stays = ()) -> None:
        self.garden = garden
        self.weather = frame_in(garden, stays) if stays else garden.site.weather
        self._at: dict[Stays, Physics] = {}
        self.n = len(self.weather)
        self.first: date = self.weather.index[0].date()
        self.et0, self.sun, self.air = demand.taken(self.weather)
        self.dli = self.weather["dli"].to_numpy(float).tolist()
        self._rates: dict[tuple[str, float], list[float]] = {}
        self._plants: dict[tuple[str, float, int], Plant] = {}
        self._yearly: dict[tuple[str, float], list[list[float]]] = {}
        self._nursery: dict[str, list[float]] = {}
        self._bolting: dict[str, list[list[float]]] = {}

    def at(self, tier: Tier) -> Physics:
        """The same where a tier stands."""
        if not tier.stays:
            return self
        if tier.stays not in self._at:
            self._at[tier.stays] = Physics(self.garden, tier.stays)
        return self._at[tier.stays]

    def index(self, day: date) -> int:
        return (day - self.first).days

    def inside(self, day: date) -> bool:
        """Whether there is weather for ``day``."""
        return 0 <= self.index(day) < self.n

    def nursery(self, crop: Crop) -> list[float]:
        """Nursery progress of each day."""
        if crop.name not in self._nursery:
            warmth = self.garden.nursery.temperature
            if warmth is None:
                low, high = self.weather["tmin"].to_numpy(), self.weather["tmax"].to_numpy()
            else:
                low = high = np.full(self.n, float(warmth))
            self._nursery[crop.name] = development.nursery_rate(crop, low, high).tolist()
        return self._nursery[crop.name]

    def fit(self, crop: Crop, sown: int) -> int | None:
        """First morning on which a seedling sown on day ``sown`` is fit, or None."""
        done = 0.0
        for day, rate in enumerate(self.nursery(crop)[sown:], start=sown):
            if done >= 1 - TINY:
                return day
            done += rate
        return self.n if done >= 1 - TINY else None

    def bolting(self, crop: Crop) -> list[list[float]]:
        """What each day counts as bolting, in each year that the weather carries."""
        if crop.name not in self._bolting:
            self._bolting[crop.name] = development.bolting_days(crop, self.weather).tolist()
        return self._bolting[crop.name]

    def hot_days(self, crop: Crop, first: int, last: int) -> float:
        """Bolting days from ``first`` to before ``last``: no more in all years but those lost."""
        counts = sorted(sum(year[first:last]) for year in self.bolting(crop))
        if len(counts) == 1:
            return counts[0]
        return counts[-1 - int(len(counts) * most_lost(self.weather) + TINY)]

    def plant(self, crop: Crop, light: float, start: int) -> Plant:
        """One plant transplanted on day ``start``, up to the end of the weather."""
        key = (crop.name, light, start)
        if key not in self._plants:
            if key[:2] not in self._rates:
                rate = development.daily_rate(crop, self.weather, light)
                self._rates[key[:2]] = rate.tolist()
            progress = [0.0]
            for rate_of_day in self._rates[key[:2]][start:]:
                progress.append(progress[-1] + rate_of_day)
            drinks = demand.plant_demand(
                crop, self.et0[start:], light, progress[:-1], self.sun[start:], self.air[start:]
            )
            mass = crop.fresh_mass * development.weight_share(crop, progress)
            self._plants[key] = Plant(progress, drinks.tolist(), mass.tolist())
        return self._plants[key]

    def mass_shares(self, crop: Crop, light: float, start: int, day: int) -> list[float]:
        """Share of its mass that a plant has on the morning of ``day``, in each year."""
        years = carried_by(self.weather)
        if years is None:
            return [self.plant(crop, light, start).mass_g[day - start] / crop.fresh_mass]
        key = (crop.name, light)
        if key not in self._yearly:
            columns = years.columns(self.weather.index)
            self._yearly[key] = years.rates(crop, light)[:, columns].tolist()
        grown = [sum(year[start:day]) for year in self._yearly[key]]
        return [float(share) for share in development.harvest_share(grown)]

    def course(self, batch: Batch, crop: Crop, tier: Tier, vessel: Vessel) -> Course | None:
        """The course of a batch; None if it is transplanted outside the weather."""
        start = self.index(batch.transplant)
        if not 0 <= start < self.n:
            return None
        plant = self.plant(crop, tier.light, start)
        ready = next((start + k for k, x in enumerate(plant.progress) if x >= 1 - TINY), None)
        picks = [(self.index(p.date), p.plants) for p in batch.picks]
        thirst = batch.demand_factor  # 1, or what levels measured in the tier have taught
        end = min(max(self.index(batch.clear), start), self.n)
        litres, kg = [], []
        drunk = 0.0
        for day in range(start, end + 1):
            level = max(vessel.fill_l - drunk / 1000, 0.0)
            litres.append(level)
            over = bool(picks) and day >= picks[-1][0]
            standing = 0 if over else _standing(crop, batch.plants, picks, day)
            kg.append(vessel.mass_kg + level + standing * plant.mass_g[day - start] / 1000)
            if not over and day < self.n:
                plants = _drinking(crop, batch.plants, picks, day) * thirst
                drunk += plants * plant.drinks_ml[day - start]
        dry = self._dry(crop, batch, picks[:-1], plant, start, vessel)
        depth = np.atleast_1d(vessel.depth(litres)).tolist()
        return Course(start, end, ready, dry, litres, depth, kg)

    def dry_years(self, batch: Batch, crop: Crop, tier: Tier, vessel: Vessel) -> float | None:
        """Share of the years in which the tier is dry before the last pick; None: no years."""
        years = carried_by(self.weather)
        if years is None or years.et0 is None:
            return None
        start = self.index(batch.transplant)
        days = range(start, self.index(batch.picks[-1].date) - 1)
        picks = [(self.index(p.date), p.plants) for p in batch.picks[:-1]]
        plants = [_drinking(crop, batch.plants, picks, d) * batch.demand_factor for d in days]
        columns = years.columns(self.weather.index)[start:]
        progress = np.cumsum(years.rates(crop, tier.light)[:, columns], axis=1)
        dry = 0
        for year in range(years.count):
            before = np.concatenate([[0.0], progress[year]])[: len(plants)]
            at = columns[: len(plants)]
            et0, sun, air = (part[year, at] for part in (years.et0, years.sun, years.air))
            drinks = demand.plant_demand(crop, et0, tier.light, before, sun, air)
            left = vessel.fill_l - float(np.dot(plants, drinks)) / 1000
            dry += left <= vessel.floor_l - SLACK
        return dry / years.count

    def killed_years(
        self, crop: Crop, start: int, last: int, tier: Tier, vessel: Vessel
    ) -> tuple[int, int]:
        """In how many years a batch is dead by the morning of ``last``, of how many there are."""
        years = carried_by(self.weather)
        names = ("tmin", "tmax", "dli")
        if years is None:
            days = [[self.weather[name].tolist()] for name in names]
        else:
            at = years.columns(self.weather.index)
            days = [getattr(years, name)[:, at].tolist() for name in names]
        dead = 0
        for low, high, sky in zip(*days, strict=True):
            warm = solution(low, high, sky, tier, vessel, self.first)
            dead += any(dies(crop, low, high, warm, start, day) for day in range(start, last))
        return dead, len(days[0])

    def _dry(
        self,
        crop: Crop,
        batch: Batch,
        picks: list[tuple[int, int]],
        plant: Plant,
        start: int,
        vessel: Vessel,
    ) -> int | None:
        drunk = 0.0
        for day in range(start, self.n + 1):
            if max(vessel.fill_l - drunk / 1000, 0.0) <= vessel.floor_l + TINY:
                return day
            if day < self.n:
                plants = _drinking(crop, batch.plants, picks, day) * batch.demand_factor
                drunk += plants * plant.drinks_ml[day - start]
        return None


def _standing(crop: Crop, plants: int, picks: list[tuple[int, int]], day: int) -> int:
    """Plants in the tier after the morning's picks; plants that are cut again stay."""
    if crop.cuts > 1:
        return plants
    return plants - sum(count for when, count in picks if when <= day)


def _drinking(crop: Crop, plants: int, picks: list[tuple[int, int]], day: int) -> float:
    """Plants that drink, counted in plants that were never cut."""
    if crop.cuts > 1:
        cut = any(when <= day for when, _ in picks)
        return plants * crop.after_cut if cut else float(plants)
    return float(_standing(crop, plants, picks, day))
