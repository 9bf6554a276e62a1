"""How a season under way stands on a morning, in every year: from what has happened on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.garden.model import Garden
from scheduler.lived.doubt import Doubt
from scheduler.lived.grower import SENSIBLE
from scheduler.lived.laid import lay_out
from scheduler.lived.live import Life
from scheduler.lived.replay import NONE
from scheduler.lived.world import SEEDLING, STAND, World
from scheduler.plans.model import Batch
from scheduler.years.weather_years import WeatherYears

_TIER = ("base", "bolted_before", "litres", "drank", "plants", "taken", "picks", "last_cut")


@dataclass(frozen=True)
class Now:
    """The morning of ``today``.

    Attributes
    ----------
    first : the season's first day.
    number : of each batch in hand, by its id; the others are as in `lived.world.World`.
    """

    today: int
    first: date
    number: dict[str, int]
    stands: np.ndarray
    seedlings: np.ndarray
    stock: np.ndarray
    met: np.ndarray
    others: np.ndarray
    kinds: np.ndarray

    def in_world(self, world: World) -> World:
        """The same world, lived from this morning on."""
        return world._replace(
            today=self.today,
            stands=self.stands,
            seedlings=self.seedlings,
            stock=self.stock,
            met=self.met,
            others=self.others,
            kinds=self.kinds,
        )


def now_of(
    garden: Garden,
    batches: Sequence[Batch],
    years: WeatherYears,
    doubt: Doubt,
    seed: int,
    today: int,
) -> Now:
    """The season on the morning of ``today``, after days that went as the batches tell."""
    laid = lay_out(garden, batches, years, doubt, seed)
    life = Life(laid, SENSIBLE, today)
    life.until(today)
    n, count = life.none, years.count
    stands = np.zeros((count, len(laid.queue)), dtype=STAND)
    for name in (*_TIER, "ripe_on", "dry_on", "free_from"):
        stands[name] = getattr(life, name).T
    stands["now"] = np.where(life.now < n, life.now, NONE).T
    stands["since"] = life.start[life.now, life.y].T
    stands["over"] = life.over.T
    failed = laid.failed[life.now].T
    stands["over"][failed] = 1
    stands["plants"][failed] = 0
    stands["not_before"] = life.not_before[life.now].T
    seedlings = np.zeros((n, count), dtype=SEEDLING)
    for name in ("sown", "fit", "keeps"):
        seedlings[name] = getattr(life, name)[:n]
    # In hand is what stands somewhere and what is sown and not yet planted.
    begun = (life.sown[:n] < today).all(axis=1) & (life.clear[:n] > today).all(axis=1)
    number = {laid.batches[b].id: b for b in np.flatnonzero(begun).tolist()}
    kitchen = life.kitchen
    names = list(garden.crops)
    kinds = np.zeros((count, len(names), len(kitchen.weeks)))
    for c, crop in enumerate(dict.fromkeys(b.crop for b in laid.batches)):
        kinds[:, names.index(crop)] = kitchen.kinds[c].T
    return Now(
        today,
        garden.season.start,
        number,
        stands,
        seedlings,
        np.moveaxis(kitchen.stock, 2, 0).copy(),
        np.moveaxis(kitchen.met, 2, 0).copy(),
        np.moveaxis(kitchen.others, 2, 0).copy(),
        kinds,
    )
