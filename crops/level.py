"""One batch in one vessel, day by day: progress, mass, what it drinks, the level, the dry day.

Arrays are indexed by day after transplanting: entry h is the morning of that day, before its
drinking (entry 0: right after filling).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from crops import demand, development
from crops.crop import Crop
from crops.radiation import Array
from crops.vessel import Vessel

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class BatchCourse:
    """What `batch_course` returns.

    Attributes
    ----------
    transplant : day index of transplanting (row of the weather).
    progress : 0 transplanted, 1 ready [n + 1].
    plants : plants standing after the morning's pick [n + 1].
    drinks : mL drunk by the tier on each day [n].
    litres, depth_cm : level as it really falls: nothing is drunk after the last pick [n + 1].
    unpicked : level [L] had the last pick not been made [n + 1]; it gives the dry day.
    plant_grams : mass of one plant [n + 1].
    ready_index, dry_index : day indices; None where the weather ends first.
    """

    transplant: int
    progress: Array
    plants: Array
    drinks: Array
    litres: Array
    depth_cm: Array
    unpicked: Array
    plant_grams: Array
    ready_index: int | None
    dry_index: int | None


def batch_course(
    crop: Crop,
    vessel: Vessel,
    weather: pd.DataFrame,
    light: float,
    transplant_index: int,
    plants: int,
    picks: Sequence[tuple[int, int]] = (),
    demand_factor: float = 1.0,
) -> BatchCourse:
    """The course of one batch to the end of the weather.

    Parameters
    ----------
    light : share of the open sky [0..1]; transplant_index : row of the weather.
    picks : (day index, plants picked) by date. A crop picked once loses the plants; a crop cut
        again keeps them and drinks its ``after_cut`` share from the first cut on.
    demand_factor : correction of the demand from measured levels [-].

    Raises
    ------
    ValueError
        The transplanting day lies outside the weather, or picks are not by date.
    """
    n = len(weather) - transplant_index
    if not 0 <= transplant_index < len(weather):
        raise ValueError(f"transplanting day {transplant_index} lies outside the weather")
    days = [day for day, _ in picks]
    if days != sorted(days):
        raise ValueError("picks must be in order of date")
    total = development.running_sum(development.daily_rate(crop, weather, light))
    progress = total[transplant_index:] - total[transplant_index]
    et0, sun, air = (column[transplant_index:] for column in demand.taken(weather))
    one = demand.plant_demand(crop, et0, light, progress[:-1], sun, air) * demand_factor

    standing = np.full(n + 1, float(plants))
    drinking = standing.copy()  # as if the last pick were not made
    for k, (day, count) in enumerate(picks):
        h = day - transplant_index
        last = k == len(picks) - 1
        if crop.cuts == 1:
            standing[h:] -= count
            if not last:
                drinking[h:] -= count
        else:
            if last:
                standing[h:] = 0
            elif k == 0:
                drinking[h:] = plants * crop.after_cut
    real = drinking.copy()
    if picks:
        real[picks[-1][0] - transplant_index :] = 0.0
    litres = vessel.fill_l - np.concatenate([[0.0], np.cumsum(real[:-1] * one)]) / 1000
    unpicked = vessel.fill_l - np.concatenate([[0.0], np.cumsum(drinking[:-1] * one)]) / 1000
    litres, unpicked = np.maximum(litres, 0.0), np.maximum(unpicked, 0.0)
    ready = np.flatnonzero(progress >= 1 - 1e-9)
    dry = np.flatnonzero(unpicked <= vessel.floor_l + 1e-9)
    return BatchCourse(
        transplant=transplant_index,
        progress=progress,
        plants=standing,
        drinks=real[:-1] * one,
        litres=litres,
        depth_cm=vessel.depth(litres),
        unpicked=unpicked,
        plant_grams=crop.fresh_mass * development.weight_share(crop, progress),
        ready_index=int(ready[0]) + transplant_index if len(ready) else None,
        dry_index=int(dry[0]) + transplant_index if len(dry) else None,
    )
