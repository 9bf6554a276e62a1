"""The water of a plan's batches over many years: dry dates and levels on the days as planned.

The rule. In each year a batch is transplanted and picked on its planned days and drinks what that
year's weather and the doubt in its crop's numbers make it drink.

- The *dry date* is the day of the k-th earliest year, k a tenth of n + 1, rounded down, that finds
  the tier at or below its floor in the morning, were the last pick not made: before it the tier is
  dry in about one year of ten. None where too few years see it dry while there is weather.
- ``low`` and ``high`` of a level are those of the k-th lowest and the k-th highest year.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np

from crops.growth import KNOTS
from scheduler.garden.model import Garden
from scheduler.lived.doubt import Doubt
from scheduler.lived.laid import FAR, Laid, lay_out
from scheduler.plans.model import CLEARED, FAILED, Batch, Level
from scheduler.years.weather_years import WeatherYears

ONE_IN = 10  # years


def with_water(
    garden: Garden, batches: Sequence[Batch], years: WeatherYears, seed: int
) -> tuple[Batch, ...]:
    """The batches with dry dates, margins and spread of levels; what is over stays as it is."""
    laid = lay_out(garden, batches, years, Doubt(), seed)
    at = {b.id: i for i, b in enumerate(laid.batches)}
    found: dict[Hashable, tuple[int, tuple[Level, ...]]] = {}
    out = []
    for b in batches:
        start = garden.season.index(b.transplant)
        if b.state in (CLEARED, FAILED) or not 0 <= start < years.days:
            out.append(b)
            continue
        i = at[b.id]
        place = laid.place[i]
        # Batches alike share their levels, which are most of a plan.
        tier = (laid.fill[place], laid.floor[place], laid.light[place])
        picks = tuple((p.date, p.plants) for p in b.picks)
        key = (tier, laid.key[i], b.plants, b.transplant, picks, b.demand_factor, b.levels)
        if key not in found:
            found[key] = _water(laid, i)
        dry, levels = found[key]
        day = None if dry == FAR else garden.season.date(dry)
        margin = None if day is None or not b.picks else (day - b.picks[-1].date).days
        out.append(replace(b, dry_date=day, margin_days=margin, levels=levels))
    return tuple(out)


def _water(laid: Laid, i: int) -> tuple[int, tuple[Level, ...]]:
    """Dry day of a batch, or `FAR`, and its levels with their spread."""
    batch, start = laid.batches[i], int(laid.start[i])
    one, _progress = one_plant(laid, i)
    k = max((len(one) + 1) // ONE_IN, 1) - 1
    waiting = _litres(laid, i, one, _drinking(laid, i, one.shape[1], last=False))
    dry = waiting <= laid.floor[laid.place[i]] + 1e-9
    first = np.where(dry.any(axis=1), start + dry.argmax(axis=1), FAR)
    litres = np.sort(_litres(laid, i, one, _drinking(laid, i, one.shape[1], last=True)), axis=0)
    levels = []
    for level in batch.levels:
        day = (level.date - batch.transplant) // timedelta(days=1)
        if 0 <= day < litres.shape[1]:
            low, high = round(float(litres[k, day]), 3), round(float(litres[-1 - k, day]), 3)
            level = replace(level, low=low, high=high)
        levels.append(level)
    return int(np.sort(first)[k]), tuple(levels)


def one_plant(laid: Laid, i: int) -> tuple[np.ndarray, np.ndarray]:
    """What one plant of batch ``i`` drinks on each day from its transplanting on, and how it grows.

    Returns
    -------
    Drinks [L; years, days]; progress of each morning [-; years, days + 1].
    """
    crops, crop, start, years = laid.crops, laid.crop[i], int(laid.start[i]), laid.years
    grown = laid.growth[laid.key[i]]
    whole = grown[:, start : years.days + 1] - grown[:, start, None]
    progress = whole[:, :-1]
    curve = np.interp(progress, KNOTS, crops.leaves[crop])
    place = laid.place[i]
    sun, air = (part[laid.sky[place], :, start:] for part in (laid.sun, laid.air))
    lost = air + sun * laid.light[place]
    drinks = curve * crops.per_mm[crop] * crops.thirst[crop][:, None] * lost * laid.factor[i]
    return np.asarray(drinks / 1000), np.asarray(whole)


def _drinking(laid: Laid, i: int, days: int, last: bool) -> np.ndarray:
    """Plants that drink on each day from transplanting on [days]; ``last``: with the last pick."""
    batch, start = laid.batches[i], int(laid.start[i])
    crop = laid.garden.crops[batch.crop]
    out = np.full(days, float(batch.plants))
    picks = batch.picks if last else batch.picks[:-1]
    for n, pick in enumerate(picks):
        after = max(laid.garden.season.index(pick.date) - start, 0)
        if crop.cuts > 1:
            out[after:] = batch.plants * crop.after_cut
        else:
            out[after:] -= pick.plants
        if last and n == len(picks) - 1:
            out[after:] = 0.0
    return out


def _litres(laid: Laid, i: int, one: np.ndarray, plants: np.ndarray) -> np.ndarray:
    """What is left on each morning from transplanting on [L; years, days + 1]."""
    drunk = np.zeros((one.shape[0], one.shape[1] + 1))
    np.cumsum(one * plants, axis=1, out=drunk[:, 1:])
    return np.asarray(np.maximum(laid.fill[laid.place[i]] - drunk, 0.0))
