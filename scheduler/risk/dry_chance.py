"""The chance of running dry of every candidate.

What a plant has drunk by a morning is a sum over days of ET0 times a curve of its progress, and the
curve is made of straight pieces. So running sums of ET0, and of ET0 times progress, give it for
any transplanting day and any later morning without a loop over days, in all years at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from crops import demand
from crops.crop import Crop
from scheduler.batches.candidates import Candidates
from scheduler.batches.courses import NEVER
from scheduler.risk.courses import READY, Replay, running
from scheduler.years.weather_years import WeatherYears

BLOCK = 2_000_000  # numbers held at once: rows of candidates times years


@dataclass(frozen=True)
class Thirst:
    """What one plant of a crop drinks in a tier with some light, in every year.

    Attributes
    ----------
    total : progress on each morning [years, days + 1].
    water : sum of ET0 before each morning [mm]; growing : of ET0 times progress; same shape.
    per_mm : solution per mm of ET0 at the full curve [mL/mm].
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
        for reach in (self.crop.stage_start, self.crop.stage_full, READY):
            at = np.searchsorted(line, begin + reach + lift) - np.arange(years)[:, None] * width
            marks.append(np.minimum(at, width - 1))
        return Starts(self, starts, begin, marks[0], marks[1], marks[2])


@dataclass(frozen=True)
class Starts:
    """`Thirst` from given days on.

    Mornings [years, m] on which the curve begins to rise, is full, and on which the crop is ready.
    """

    thirst: Thirst
    starts: np.ndarray
    begin: np.ndarray
    rises: np.ndarray
    full: np.ndarray
    ready: np.ndarray

    def drunk(self, which: np.ndarray, day: np.ndarray) -> np.ndarray:
        """mL drunk by one plant up to the morning of ``day`` [years, q].

        Parameters
        ----------
        which : positions in ``starts`` [q]; day : mornings [q], not before the start.
        """
        crop, water, growing = self.thirst.crop, self.thirst.water, self.thirst.growing
        a = np.minimum(self.rises[:, which], day)
        b = np.minimum(self.full[:, which], day)
        r = np.minimum(self.ready[:, which], day)
        slope = (1 - crop.stage_initial) / (crop.stage_full - crop.stage_start)
        offset = crop.stage_initial - slope * (crop.stage_start + self.begin[:, which])
        w_a, w_b, w_r = (np.take_along_axis(water, i, axis=1) for i in (a, b, r))
        rising = np.take_along_axis(growing, b, axis=1) - np.take_along_axis(growing, a, axis=1)
        out: np.ndarray = crop.stage_initial * (w_a - water[:, self.starts[which]])
        out += offset * (w_b - w_a) + slope * rising
        out += (w_r - w_b) + crop.stage_late * (water[:, day] - w_r)
        return out * self.thirst.per_mm


def thirst(tool: Replay, crop: Crop, light: float) -> Thirst:
    """`Thirst` of ``crop`` in a tier with ``light`` [0..1]."""
    total = tool.progress(crop, light)
    et0 = tool.years.et0
    return Thirst(
        crop,
        total,
        running(et0),
        running(et0 * total[:, :-1]),
        crop.peak_demand / crop.demand_et0 * float(demand.light_response(light)),
    )


def dry_chances(cand: Candidates, years: WeatherYears) -> np.ndarray:
    """Chance of each candidate to fall to its keep level before its last pick [n].

    As `risk.replay.replay` counts it: the level is at or below the floor on a morning before
    that of the last pick.
    """
    garden = cand.garden
    tool = Replay(garden, years)
    out = np.zeros(len(cand))
    crops, kinds = (cand.table[c].to_numpy(int) for c in ("crop", "kind"))
    transplant = cand.table["transplant"].to_numpy(int)
    known: dict[tuple[int, float], Thirst] = {}
    for c, k in sorted(set(zip(crops.tolist(), kinds.tolist(), strict=True))):
        tier = cand.kinds[k].tier
        vessel = garden.vessels[tier.vessel]
        crop = garden.crops[cand.crop_names[c]]
        key = (c, tier.light)
        if key not in known:
            known = {key: thirst(tool, crop, tier.light)}  # crops come in turn: one is enough
        rows = np.flatnonzero((crops == c) & (kinds == k))
        for block in np.array_split(rows, max(1, -(-len(rows) * years.count // BLOCK))):
            starts, which = np.unique(transplant[block], return_inverse=True)
            after = known[key].after(starts)
            out[block] = _chance(
                cand,
                block,
                after,
                which,
                crop,
                tier.plants,
                1000 * (vessel.fill_l - vessel.floor_l - 1e-9),
            )
    return out


def _chance(
    cand: Candidates,
    rows: np.ndarray,
    after: Starts,
    which: np.ndarray,
    crop: Crop,
    plants: int,
    usable_ml: float,
) -> np.ndarray:
    """Share of years in which each of ``rows`` has drunk all it may before its last pick."""
    last = cand.table["last"].to_numpy(int)[rows]
    eve = last - 1
    chance = np.zeros(len(rows))
    # Most starts are safe even if nothing is picked before the latest day any of their rows asks.
    latest = np.zeros(len(after.starts), dtype=int)
    np.maximum.at(latest, which, eve)
    worst = after.drunk(np.arange(len(latest)), latest) * plants
    some = worst.max(axis=0) >= usable_ml
    at = np.flatnonzero(some[which])
    if not len(at):
        return chance
    pairs, place = np.unique(np.stack([which[at], eve[at]]), axis=1, return_inverse=True)
    sofar = after.drunk(pairs[0], pairs[1])[:, place.reshape(-1)]
    total = sofar * plants
    days, counts = cand.pick_day[rows[at]], cand.pick_plants[rows[at]]
    before = np.full(len(at), float(plants))
    for e in range(days.shape[1]):
        early = (days[:, e] < NEVER) & (days[:, e] < last[at])
        if not early.any():
            break
        q = np.flatnonzero(early)
        cut = np.full(len(q), plants * crop.after_cut)
        left = before[q] - counts[q, e] if crop.cuts == 1 else cut
        since = sofar[:, q] - after.drunk(which[at][q], np.minimum(days[q, e], eve[at][q]))
        total[:, q] -= since * (before[q] - left)
        before[q] = left
    chance[at] = (total >= usable_ml).mean(axis=0)
    return chance
