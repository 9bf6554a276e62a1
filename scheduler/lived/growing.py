"""How everything stands on a day of all years: what grows, drinks and is lost without a hand moved.

State is held in arrays [tiers, years]; what was made of each batch in arrays [batches, years].
"""

from __future__ import annotations

import numpy as np

from crops import development, survival
from crops.growth import KNOTS
from scheduler.garden.model import Garden
from scheduler.garden.placed import moving_minutes
from scheduler.lived.grower import Grower
from scheduler.lived.kitchen import Kitchen
from scheduler.lived.laid import FAR, Laid

READY = 1 - 1e-9  # sums of equal parts are ready on the day they should
# How a batch ended, by number: well, or lost to this.
WELL, DRY, BOLTED, TOO_OLD, SEEDLINGS_TOO_OLD, NEVER_BEGUN, FROZEN, OVERHEATED = range(8)
UNKNOWN = -1


def minutes_by_day(garden: Garden) -> np.ndarray:
    """Minutes of work that each day of the season has room for [days]; infinite: no limit."""
    season, limits = garden.season, garden.limits
    most = [limits.minutes_on(season.date(d).weekday()) for d in range(season.days)]
    out = np.array([np.inf if m is None else m + 1e-6 for m in most])
    for day, spent in moving_minutes(garden).items():
        out[season.index(day)] -= spent
    return out


class Growing:
    """The state of a season lived in many years at once.

    Parameters
    ----------
    laid : plan and years as arrays; grower : who lives it; today : days before it have happened.
    """

    def __init__(self, laid: Laid, grower: Grower, today: int) -> None:
        self.it, self.grower, self.today = laid, grower, today
        self.least = grower.least(laid.garden)
        tiers, years, n = len(laid.queue), laid.years.count, len(laid.batches)
        self.none = n
        self.y = np.arange(years)
        self.kitchen = Kitchen(laid.garden, years, laid.crops.group)
        season = laid.garden.season
        picks = [*np.flatnonzero(season.pick_mask).tolist(), FAR]
        self.is_work, self.is_pick = season.work_mask, season.pick_mask
        self.next_pick = np.array(
            [picks[int(np.searchsorted(picks, d, side="right"))] for d in range(season.days)]
        )
        # Of each tier: the batch in it, progress sum and bolting days at its transplanting.
        self.now = np.full((tiers, years), n)
        self.base, self.bolted_before = np.zeros((tiers, years)), np.zeros((tiers, years))
        self.litres, self.drank = np.zeros((tiers, years)), np.zeros((tiers, years))
        self.plants = np.zeros((tiers, years), dtype=int)
        self.taken, self.picks = np.zeros_like(self.plants), np.zeros_like(self.plants)
        self.last_cut = np.full((tiers, years), -FAR)
        self.ripe_on, self.dry_on = np.full((tiers, years), FAR), np.full((tiers, years), FAR)
        self.over = np.zeros((tiers, years), dtype=bool)
        self.free_from, self.turn = np.zeros((tiers, years), dtype=int), np.zeros_like(self.plants)
        # Of each batch: sowing, first and last day on which its seedlings can be transplanted.
        self.sown = np.full((n + 1, years), FAR)
        self.fit, self.keeps = np.full((n + 1, years), FAR), np.full((n + 1, years), FAR)
        self.cells = np.zeros(years, dtype=int)
        most = laid.due_day.shape[1]
        self.pick_day = np.full((n + 1, most, years), FAR)
        self.pick_grams = np.zeros((n + 1, most, years), dtype=int)
        self.made = np.full((n + 1, most, years), FAR)
        self.start, self.clear = np.full((n + 1, years), FAR), np.full((n + 1, years), FAR)
        self.ready = np.full((n + 1, years), FAR)
        self.end = np.full((n + 1, years), UNKNOWN)
        self.lost = np.full((n + 1, years), UNKNOWN)
        self.due_fit = np.full((n + 1, years), FAR)
        # What has failed stands until the day on which its tier is to be cleaned.
        self.not_before = np.where(laid.failed, laid.clear, 0)
        early = np.array([*(bool(b.picks) and b.picks[0].young for b in laid.batches), False])
        self.due_progress = np.where(early, development.progress_at(self.least), 1.0) - 1e-9
        limits = laid.garden.limits
        self.limits, self.labour = limits, limits.labour
        self.lift = np.inf if limits.lift_kg is None else limits.lift_kg + 1e-9
        self.minutes_of = minutes_by_day(laid.garden)
        self.minutes = np.inf
        self.most_picks = np.inf if limits.picks_per_day is None else limits.picks_per_day
        self.most_fills = np.inf if limits.fills_per_day is None else limits.fills_per_day
        self.depth = np.zeros(tiers, dtype=int)
        for column in laid.columns:
            self.depth[list(column)] = np.arange(len(column))

    def _of(self, values: np.ndarray) -> np.ndarray:
        """A crop's number for what stands in each tier [tiers, years]."""
        return np.asarray(values[self.it.crop[self.now]])

    def _morning(self, d: int) -> None:
        """How everything stands, and what is lost by this morning."""
        it, crops = self.it, self.it.crops
        key, crop = it.key[self.now], it.crop[self.now]
        self.progress = it.growth[key, self.y, d] - self.base
        self.ripe = (self.progress >= READY) & (self.now < self.none)
        new = self.ripe & (self.ripe_on == FAR)
        self.ripe_on[new] = d
        rows, cols = np.nonzero(new)
        self.ready[self.now[rows, cols], cols] = d
        self.bolting = crops.bolting[it.sky[:, None], crop, self.y, d] - self.bolted_before
        gone = (self.litres <= it.floor[:, None] + 1e-9) & (self.dry_on == FAR)
        self.dry_on[gone & (self.now < self.none)] = d
        again = self._of(crops.cuts) > 1
        hold = self._of(crops.hold)
        self.good_until = np.where(
            again & (self.picks > 0),
            self.last_cut + self._of(crops.interval) + hold,
            np.where(self.ripe_on < FAR, self.ripe_on + hold, FAR),
        )
        there = (self.now < self.none) & ~self.over
        fit = there & (self.progress >= self.due_progress[self.now])
        rows, cols = np.nonzero(fit & (self.due_fit[self.now, self.y] == FAR))
        self.due_fit[self.now[rows, cols], cols] = d
        if d < self.today:
            return
        self._finish(there & it.failed[self.now], DRY)
        there &= ~self.over
        frozen, overheated = self._killed(d)
        for lost, why in (
            (frozen, FROZEN),
            (overheated, OVERHEATED),
            (self.dry_on < d, DRY),
            (self.bolting > self._of(crops.bolt_days), BOLTED),
            (d >= self.good_until + self._of(crops.fades), TOO_OLD),
        ):
            self._finish(there & lost & ~self.over, why)

    def _killed(self, d: int) -> tuple[np.ndarray, np.ndarray]:
        """What the cold and what the heat of the days before have killed [tiers, years]."""
        it, crops = self.it, self.it.crops
        crop, start, eve = it.crop[self.now], self.start[self.now, self.y], d - 1
        # What has happened is told: a batch that stands today was not killed before.
        stood = (self.now < self.none) & (start < d) & (d > self.today)
        since = np.clip(start, max(eve - survival.NIGHTS, 0), max(eve, 0))
        sky = it.sky[:, None]
        hard = crops.hardening[sky, self.y, max(eve, 0)] - crops.hardening[sky, self.y, since]
        hard = hard / survival.NIGHTS
        tender, hardened = np.moveaxis(crops.kills[crop], -1, 0)
        bears = np.where(stood, tender + hard * (hardened - tender), -np.inf)
        frozen = it.tmin[it.sky, :, max(eve, 0)] < bears
        since = np.clip(start, max(d - survival.FORTNIGHT, 0), d)
        kind = crops.harm_of[it.bath[:, None], crop]
        harm = crops.harm[kind, self.y, d] - crops.harm[kind, self.y, since]
        worn = stood & (harm > survival.DOSE + 1e-9)
        chilled = worn & (it.tmin[it.sky, :, max(eve, 0)] < crops.chill[crop])
        return frozen | chilled, worn & ~chilled

    def _finish(self, where: np.ndarray, why: int) -> None:
        rows, cols = np.nonzero(where)
        if not len(rows):
            return
        self.over[rows, cols] = True
        self.plants[rows, cols] = 0
        batch = self.now[rows, cols]
        if why != WELL:
            self.lost[batch, cols] = why
        partly = (why != WELL) & (self.picks[rows, cols] > 0)
        self.end[batch, cols] = np.where(partly & (self.end[batch, cols] == WELL), WELL, why)

    def _mass(self) -> np.ndarray:
        """What each tier weighs this morning [kg]; 0 where nothing stands in it."""
        full = development.mass_share(self.progress)
        again = self._of(self.it.crops.cuts) > 1
        full = np.where(again, np.where(self.picks > 0, 1.0, np.minimum(full, 1.0)), full)
        plants = self.plants * self._of(self.it.crops.fresh) * full / 1000
        return np.where(self.now < self.none, self.it.mass[:, None] + self.litres + plants, 0.0)

    def _drink(self, d: int) -> None:
        it, crops = self.it, self.it.crops
        crop = it.crop[self.now]
        curve = _between(crops.leaves[crop], self.progress)
        again = self._of(crops.cuts) > 1
        plants = np.where(
            again & (self.picks > 0), self.plants * self._of(crops.after_cut), self.plants
        )
        lost = it.air[it.sky, :, d] + it.sun[it.sky, :, d] * it.light[:, None]
        one = crops.per_mm[crop] * curve * crops.thirst[crop, self.y] * lost
        drinks = plants * one * it.factor[self.now] / 1000
        self.drank = np.where((self.now < self.none) & ~self.over, drinks, 0.0)
        self.litres = np.maximum(self.litres - self.drank, 0.0)


def _between(leaves: np.ndarray, progress: np.ndarray) -> np.ndarray:
    """What a plant drinks over its peak, between the values at `growth.KNOTS` [.., knots]."""
    out = leaves[..., 0].copy()
    for k in range(1, len(KNOTS)):
        width = KNOTS[k] - KNOTS[k - 1]
        part = np.clip((progress - KNOTS[k - 1]) / width, 0.0, 1.0)
        out += (leaves[..., k] - leaves[..., k - 1]) * part
    return np.asarray(out)
