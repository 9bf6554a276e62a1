"""Random gardens with weather years and random schedules, to be lived in two ways."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st
from random_gardens import small_gardens

from scheduler.batches.candidates import Candidates, build
from scheduler.garden.model import Garden
from scheduler.lived.doubt import Doubt
from scheduler.lived.world import World, world_of
from scheduler.schedule.assemble import Stand
from scheduler.search.living.options import Options, options_of
from scheduler.years.generator import generated_years
from scheduler.years.weather_years import WeatherYears

SEED = 5


@dataclass(frozen=True, repr=False)
class Lot:
    """A garden, its candidates and years, and some batches in tiers, in each other's way or not."""

    garden: Garden
    cand: Candidates
    years: WeatherYears
    world: World
    options: Options
    rows: np.ndarray
    tiers: np.ndarray

    @property
    def depth(self) -> np.ndarray:
        return self.world.tiers["depth"].copy()

    @property
    def stands(self) -> list[Stand]:
        """Each cleared on the day of its last pick."""
        places = [(c.name, t.number) for c in self.garden.columns for t in c.tiers]
        last = self.cand.table["last"].to_numpy(int)
        return [
            Stand(int(row), *places[int(tier)], int(last[row]))
            for row, tier in zip(self.rows, self.tiers, strict=True)
        ]


def lot(garden: Garden, years: int = 3) -> Lot:
    """A garden with nothing in it."""
    cand, _ = build(garden)
    made = generated_years(garden, years, seed=(SEED, 0))
    world = world_of(garden, made, Doubt(), SEED)
    none = np.zeros(0, dtype=np.int64)
    return Lot(garden, cand, made, world, options_of(cand, world), none, none)


@st.composite
def lots(
    draw: st.DrawFn, most: int = 8, gardens: Callable[[], st.SearchStrategy[Garden]] = small_gardens
) -> Lot:
    garden = draw(gardens())
    assume(len(build(garden)[0]))
    empty = lot(garden)
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    rows, tiers = [], []
    for _ in range(draw(st.integers(1, most))):
        tier = int(rng.integers(len(empty.options.kind_of)))
        mine = np.flatnonzero(empty.options.rows["kind"] == empty.options.kind_of[tier])
        if len(mine):
            rows.append(int(rng.choice(mine)))
            tiers.append(tier)
    assume(rows)
    batches = np.array(rows, dtype=np.int64), np.array(tiers, dtype=np.int64)
    return Lot(garden, empty.cand, empty.years, empty.world, empty.options, batches[0], batches[1])
