"""Tiers that run dry in some years and not in others: for many starts and ways to pick at once.

What a plant has drunk by a morning is a sum over days of what leaves lose times a curve of its
progress, and the curve is made of straight pieces. So running sums of the one, and of it times
progress, give it for any transplanting day and any later morning without a loop over days, in all
years at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

import numpy as np

from crops import demand
from crops.crop import Crop
from crops.growth import KNOTS
from crops.vessel import Vessel
from crops.years import Years, carried_by
from scheduler.batches.courses import NEVER

if TYPE_CHECKING:
    import pandas as pd

# As long as somebody holds the years: batches are looked at one by one when a season goes on.
_known: WeakKeyDictionary[Years, dict[tuple[Any, ...], Thirst]] = WeakKeyDictionary()
READY = 1 - 1e-9  # sums of equal parts are ready on the day they should


@dataclass(frozen=True)
class Thirst:
    """What one plant of a crop drinks in a tier with some light, in every year.

    Attributes
    ----------
    total : progress on each morning [years, days + 1].
    water : sum of what leaves lose before each morning [mm]; growing : of that times progress;
        same shape.
    per_mm : solution per mm lost at a share of 1 [mL/mm].
    """

    crop: Crop
    total: np.ndarray
    water: np.ndarray
    growing: np.ndarray
    per_mm: float

    def after(self, starts: np.ndarray) -> Starts:
        """The same from each transplanting day of ``starts`` [m] on."""
        years = self.total.shape[0]
        begin = self.total[:, starts]
        # One search for all years: each year's sums are lifted above those of the year before.
        step = float(self.total.max()) + 2.0
        lift = (np.arange(years) * step)[:, None]
        line = (self.total + lift).ravel()
        width = self.total.shape[1]
        marks = []
        for reach in KNOTS[1:]:
            at = np.searchsorted(line, begin + reach + lift) - np.arange(years)[:, None] * width
            marks.append(np.minimum(at, width - 1))
        return Starts(self, starts, begin, tuple(marks))


@dataclass(frozen=True)
class Starts:
    """`Thirst` from given days on.

    ``marks``: mornings [years, m] on which the crop is as far as each of `growth.KNOTS` but the
    first.
    """

    thirst: Thirst
    starts: np.ndarray
    begin: np.ndarray
    marks: tuple[np.ndarray, ...]

    def drunk(self, which: np.ndarray, day: np.ndarray) -> np.ndarray:
        """mL drunk by one plant up to the morning of ``day`` [years, q].

        Parameters
        ----------
        which : positions in ``starts`` [q]; day : mornings [q], not before the start.
        """
        water, growing = self.thirst.water, self.thirst.growing
        shares = demand.leaf_shares(self.thirst.crop)
        begin = self.begin[:, which]
        w, g = water[:, self.starts[which]], growing[:, self.starts[which]]
        out = np.zeros_like(begin)
        for k, mark in enumerate(self.marks):
            slope = (shares[k + 1] - shares[k]) / (KNOTS[k + 1] - KNOTS[k])
            at = np.minimum(mark[:, which], day)
            w_at, g_at = (np.take_along_axis(sums, at, axis=1) for sums in (water, growing))
            # The share is that at the knot, plus the slope times how far progress is past it.
            out += (shares[k] - slope * (KNOTS[k] + begin)) * (w_at - w) + slope * (g_at - g)
            w, g = w_at, g_at
        out += shares[-1] * (water[:, day] - w)
        return out * self.thirst.per_mm


def thirst(crop: Crop, total: np.ndarray, lost: np.ndarray) -> Thirst:
    """`Thirst` of ``crop`` where leaves lose ``lost`` [mm/d, years x days].

    ``total`` : progress on each morning [years, days + 1].
    """
    return Thirst(
        crop,
        total,
        running(lost),
        running(lost * total[:, :-1]),
        crop.peak_demand / crop.demand_et0,
    )


def thirst_in(weather: pd.DataFrame, crop: Crop, light: float) -> Thirst | None:
    """`Thirst` in the years that a frame carries, by its days; None where it carries none."""
    years = carried_by(weather)
    if years is None or years.et0 is None:
        return None
    known = _known.setdefault(years, {})
    key = (crop, light, weather.index[0], len(weather))
    if key not in known:
        columns = years.columns(weather.index)
        total = running(years.rates(crop, light)[:, columns])
        known[key] = thirst(crop, total, years.taken(light)[:, columns])
    return known[key]


def running(values: np.ndarray) -> np.ndarray:
    """Sums of ``values`` [years, days] before each morning [years, days + 1]."""
    out = np.zeros((values.shape[0], values.shape[1] + 1))
    np.cumsum(values, axis=1, out=out[:, 1:])
    return out


def usable_ml(vessel: Vessel) -> float:
    """What a full vessel gives until it counts as dry [mL]."""
    return 1000 * (vessel.fill_l - vessel.floor_l - 1e-9)


def dry_share(
    after: Starts,
    which: np.ndarray,
    days: np.ndarray,
    picked: np.ndarray,
    plants: float,
    usable: float,
) -> np.ndarray:
    """Share of the years in which each batch has drunk all it may before its last pick [n].

    The level is then at or below the floor on a morning before that of the last pick.

    Parameters
    ----------
    which : place of each batch in the starts of ``after`` [n].
    days, picked : day of each pick, `NEVER` for none, and how many plants it takes [n, e].
    plants : in the tier; usable : of its solution, see `usable_ml` [mL].
    """
    crop = after.thirst.crop
    last = np.where(days < NEVER, days, 0).max(axis=1)
    eve = last - 1
    chance = np.zeros(len(days))
    # Most starts are safe even if nothing is picked before the latest day any of their rows asks.
    latest = after.starts.astype(int)
    np.maximum.at(latest, which, eve)
    worst = after.drunk(np.arange(len(latest)), latest) * plants
    some = worst.max(axis=0) >= usable
    at = np.flatnonzero(some[which])
    if not len(at):
        return chance
    pairs, place = np.unique(np.stack([which[at], eve[at]]), axis=1, return_inverse=True)
    sofar = after.drunk(pairs[0], pairs[1])[:, place.reshape(-1)]
    total = sofar * plants
    days, picked = days[at], picked[at]
    before = np.full(len(at), float(plants))
    for e in range(days.shape[1]):
        early = (days[:, e] < NEVER) & (days[:, e] < last[at])
        if not early.any():
            break
        q = np.flatnonzero(early)
        cut = np.full(len(q), plants * crop.after_cut)
        left = before[q] - picked[q, e] if crop.cuts == 1 else cut
        since = sofar[:, q] - after.drunk(which[at][q], np.minimum(days[q, e], eve[at][q]))
        total[:, q] -= since * (before[q] - left)
        before[q] = left
    chance[at] = (total >= usable).mean(axis=0)
    return chance
