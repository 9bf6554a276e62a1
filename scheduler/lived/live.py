"""Live a plan: day by day through many weather years at once, by one grower (`lived.grower`).

All years are lived together: state is held in arrays [tiers, years], and a day's work goes through
the tiers one by one, since they share cells, hands and columns. What the grower decides on a
morning rests on that morning: levels, how grown the crops look, what is in the kitchen, and what a
tier drank the day before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from crops import development
from scheduler.base.weeks import week_of
from scheduler.garden.model import Garden
from scheduler.lived.doubt import NONE, Doubt
from scheduler.lived.grower import SENSIBLE, THIRSTIER, Grower
from scheduler.lived.kitchen import Kitchen
from scheduler.lived.laid import FAR, Laid, lay_out
from scheduler.plans.model import Batch
from scheduler.years.weather_years import WeatherYears

READY = 1 - 1e-9  # sums of equal parts are ready on the day they should
# How a batch ended, by number: well, or lost to this.
WELL, DRY, BOLTED, TOO_OLD, SEEDLINGS_TOO_OLD, NEVER_BEGUN = range(6)
UNKNOWN = -1


@dataclass(frozen=True)
class Lived:
    """What a plan brought in each year.

    Attributes
    ----------
    share : weighted share of the wishes met [years]; met : [g], groups x weeks x years.
    pick_day : of each pick, `FAR` if never made [batches, picks, years]; pick_grams : [g] alike.
    made : day by which as much had been picked as the plan says by each of its picks, `FAR` if
        never [batches, picks, years]: who is late may take two picks at once.
    start, clear : day of transplanting, of clearing, or `FAR` [batches, years].
    ready : first morning on which it was ripe, or `FAR` [batches, years].
    due_fit : first morning on which what stood in the tier was ripe, or where its first pick is
        planned young as large as the grower allows, or `FAR` [batches, years].
    end : how each batch ended, a number above [batches, years]; lost : to what the rest of it was
        lost before its last pick, or `UNKNOWN`, alike.
    """

    batches: tuple[Batch, ...]
    share: np.ndarray
    met: np.ndarray
    pick_day: np.ndarray
    pick_grams: np.ndarray
    made: np.ndarray
    start: np.ndarray
    clear: np.ndarray
    ready: np.ndarray
    due_fit: np.ndarray
    end: np.ndarray
    lost: np.ndarray


def live(
    garden: Garden,
    batches: Sequence[Batch],
    years: WeatherYears,
    grower: Grower = SENSIBLE,
    doubt: Doubt = NONE,
    seed: int = 0,
    today: int = 0,
) -> Lived:
    """Live a plan's batches through every year.

    Parameters
    ----------
    doubt : spread of the crops' own numbers, drawn with ``seed`` for each crop and year.
    today : days before this one have happened as the batches tell: nothing is decided on them.
    """
    return _Life(lay_out(garden, batches, years, doubt, seed), grower, today).run()


class _Life:
    def __init__(self, laid: Laid, grower: Grower, today: int) -> None:
        self.it, self.grower, self.today = laid, grower, today
        self.least = grower.least(laid.garden)
        tiers, years, n = len(laid.queue), laid.years.count, len(laid.batches)
        self.none = n
        self.y = np.arange(years)
        self.kitchen = Kitchen(laid.garden, years)
        season = laid.garden.season
        self.week = [self.kitchen.weeks.index(week_of(season.date(d))) for d in range(season.days)]
        work = [*np.flatnonzero(season.work_mask).tolist(), FAR]
        self.is_work = season.work_mask
        self.next_work = np.array(
            [work[int(np.searchsorted(work, d, side="right"))] for d in range(season.days)]
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
        early = np.array([*(bool(b.picks) and b.picks[0].young for b in laid.batches), False])
        self.due_progress = np.where(early, development.progress_at(self.least), 1.0) - 1e-9
        limits = laid.garden.limits
        self.limits, self.labour = limits, limits.labour
        self.lift = np.inf if limits.lift_kg is None else limits.lift_kg + 1e-9
        self.minutes = np.inf if limits.minutes_per_day is None else limits.minutes_per_day + 1e-6
        self.most_picks = np.inf if limits.picks_per_day is None else limits.picks_per_day
        self.most_fills = np.inf if limits.fills_per_day is None else limits.fills_per_day
        self.depth = np.zeros(tiers, dtype=int)
        for column in laid.columns:
            self.depth[list(column)] = np.arange(len(column))

        self.asked = _asked(laid)

    def run(self) -> Lived:
        days = self.it.garden.season.days
        for d in range(days):
            self._morning(d)
            if d < self.today:
                self._as_told(d)
            elif self.is_work[d]:
                self.spent = np.zeros(len(self.y))
                self._pick(d)
                self._clear(d)
                self._fill(d)
                self._sow(d)
            self._drink(d)
            if d + 1 == days or self.week[d + 1] != self.week[d]:
                self.kitchen.eat(self.week[d])
        n = self.none
        end = np.where(self.end[:n] == UNKNOWN, NEVER_BEGUN, self.end[:n])
        begun = (self.start[:n] < FAR) & (self.end[:n] == UNKNOWN)
        return Lived(
            self.it.batches,
            self.kitchen.share(),
            self.kitchen.met,
            self.pick_day[:n],
            self.pick_grams[:n],
            self.made[:n],
            self.start[:n],
            self.clear[:n],
            self.ready[:n],
            self.due_fit[:n],
            np.where(begun, TOO_OLD, end),
            self.lost[:n],
        )

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
        self.bolting = crops.bolting[crop, self.y, d] - self.bolted_before
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
        for lost, why in (
            (self.dry_on < d, DRY),
            (self.bolting > self._of(crops.bolt_days), BOLTED),
            (d > self.good_until, TOO_OLD),
        ):
            self._finish(there & lost & ~self.over, why)

    def _finish(self, where: np.ndarray, why: int) -> None:
        rows, cols = np.nonzero(where)
        self.over[rows, cols] = True
        self.plants[rows, cols] = 0
        batch = self.now[rows, cols]
        if why != WELL:
            self.lost[batch, cols] = why
        partly = (why != WELL) & (self.picks[rows, cols] > 0)
        self.end[batch, cols] = np.where(partly & (self.end[batch, cols] == WELL), WELL, why)

    def _pick(self, d: int) -> None:
        it, crops, grower = self.it, self.it.crops, self.grower
        standing = (self.now < self.none) & ~self.over
        if not standing.any():
            return
        again = self._of(crops.cuts) > 1
        share = np.where(self.ripe, 1.0, development.mass_share(self.progress))
        due_day, due_plants = it.due_day[self.now], it.due_plants[self.now]
        due = np.max(np.where(due_day <= d, due_plants, 0), axis=2) - self.taken
        following = np.where(due_plants > self.taken[..., None], due_plants, FAR).min(axis=2)
        following = np.where(following < FAR, following - self.taken, 0)
        grown = np.where(
            again & (self.picks > 0), d >= self.last_cut + self._of(crops.interval), True
        )
        ripe = self.ripe & grown
        ahead = min(int(self.next_work[d]), FAR) - d
        tomorrow = self.litres - (min(ahead, 1000) - 1) * THIRSTIER * self.drank
        last_call = (tomorrow <= it.floor[:, None] + 1e-9) & (self.drank > 0)
        last_call |= self.dry_on <= d
        last_call |= self.good_until < d + ahead
        bolt_days = self._of(crops.bolt_days)
        last_call |= (self.bolting > 0) & (self.bolting + ahead > bolt_days)
        last_call |= bool(ahead > FAR // 2)
        young = ~ripe & (share >= self.least) & grown
        fresh, group = self._of(crops.fresh), it.crops.group[it.crop[self.now]]
        used = np.zeros(len(self.y))
        # Whose calendar has been asking the longest comes first: the same order in every year.
        urgent = np.argsort(self.asked[:, d], kind="stable")
        for t in urgent[(standing & ((due > 0) | last_call | ripe)).any(axis=1)[urgent]].tolist():
            if not grower.waits:
                take = np.where(standing[t], np.maximum(due[t], 0), 0)
            else:
                want = np.zeros(len(self.y))
                for g in np.unique(group[t]).tolist():
                    mine = group[t] == g
                    want[mine] = self.kitchen.short(g, self.week[d])[mine]
                each = np.where(again[t], it.plants[self.now[t]], 1)
                ahead_of_time = following[t] * each * fresh[t] <= 2 * want
                take = np.where(ripe[t] & (due[t] > 0), due[t], 0)
                take = np.where(young[t] & (due[t] > 0) & (want > 0), due[t], take)
                take = np.where(ripe[t] & (due[t] <= 0) & ahead_of_time, following[t], take)
                all_left = np.where(again[t], 1, self.plants[t])
                take = np.where(last_call[t] & (ripe[t] | young[t]), all_left, take)
                take = np.where(standing[t], np.maximum(take, 0), 0)
            take = np.where(again[t], np.minimum(take, 1), np.minimum(take, self.plants[t]))
            plants = np.where(again[t] & (take > 0), it.plants[self.now[t]], take)
            fits = (used < self.most_picks) & (
                self.spent + self.labour.pick * plants <= self.minutes
            )
            take, plants = np.where(fits, take, 0), np.where(fits, plants, 0)
            if not take.any():
                continue
            used += take > 0
            self.spent += self.labour.pick * plants
            cut = np.where(again[t], np.minimum(self.picks[t], crops.cut_shares.shape[1] - 1), 0)
            part = crops.cut_shares[it.crop[self.now[t]], cut]
            # What is cut again has grown back; only its first cut can be young.
            full = np.where(again[t] & (self.picks[t] > 0), 1.0, share[t])
            grams = np.rint(plants * fresh[t] * full * part).astype(int)
            self._picked(t, d, take, grams, again[t])

    def _picked(
        self, t: int, d: int, take: np.ndarray, grams: np.ndarray, again: np.ndarray
    ) -> None:
        it, crops = self.it, self.it.crops
        cols = np.flatnonzero(take)
        batch = self.now[t, cols]
        slot = np.minimum(self.picks[t, cols], self.pick_day.shape[1] - 1)
        self.pick_day[batch, slot, cols] = d
        self.pick_grams[batch, slot, cols] += grams[cols]
        self.end[batch, cols] = WELL
        self.taken[t, cols] += take[cols]
        reached = it.due_plants[batch] <= self.taken[t, cols][:, None]
        self.made[batch, :, cols] = np.where(
            reached & (self.made[batch, :, cols] == FAR), d, self.made[batch, :, cols]
        )
        self.picks[t, cols] += 1
        self.last_cut[t, cols] = d
        heads = cols[~again[cols]]
        self.plants[t, heads] -= take[heads]
        for c in np.unique(it.crop[batch]).tolist():
            mine = np.where(it.crop[self.now[t]] == c, grams, 0)
            self.kitchen.put(int(crops.group[c]), d, float(crops.storage[c]), mine)
        planned = it.due_plants[self.now[t], -1]
        done = np.zeros(len(self.y), dtype=bool)
        done[cols] = np.where(
            again[cols], self.taken[t, cols] >= planned[cols], self.plants[t, cols] <= 0
        )
        finished = np.zeros_like(self.over)
        finished[t] = done
        self._finish(finished, WELL)

    def _mass(self) -> np.ndarray:
        """What each tier weighs this morning [kg]; 0 where nothing stands in it."""
        full = np.where(
            self._of(self.it.crops.cuts) > 1,
            np.where(self.picks > 0, 1.0, development.mass_share(self.progress)),
            development.mass_share(self.progress),
        )
        plants = self.plants * self._of(self.it.crops.fresh) * full / 1000
        return np.where(self.now < self.none, self.it.mass[:, None] + self.litres + plants, 0.0)

    def _clear(self, d: int) -> None:
        """What is over is cleared from the top down, where nothing too heavy stands above it."""
        want = self.over & (self.now < self.none)
        if not want.any():
            return
        heavy = self._mass() > self.lift
        for column in self.it.columns:
            if not want[list(column)].any():
                continue
            blocked = np.zeros(len(self.y), dtype=bool)
            for t in column:
                cost = self.labour.clear + self.labour.lift * self.depth[t]
                can = want[t] & ~blocked & (self.spent + cost <= self.minutes)
                self.spent += np.where(can, cost, 0)
                blocked |= heavy[t] & ~can
                self._empty(t, d, can)

    def _empty(self, t: int, d: int, where: np.ndarray) -> None:
        cols = np.flatnonzero(where)
        if not len(cols):
            return
        self.clear[self.now[t, cols], cols] = d
        self.now[t, cols] = self.none
        self.over[t, cols] = False
        self.litres[t, cols] = 0.0
        self.drank[t, cols] = 0.0
        self.plants[t, cols] = 0
        self.free_from[t, cols] = d + self.limits.turnaround_days

    def _fill(self, d: int) -> None:
        heavy = self._mass() > self.lift
        used = np.zeros(len(self.y))
        for column in self.it.columns:
            blocked = np.zeros(len(self.y), dtype=bool)
            for t in column:
                nxt = self.it.queue[t, self.turn[t]]
                gone = (d > self.keeps[nxt, self.y]) & (nxt < self.none)
                if gone.any():
                    self._given_up(t, nxt, gone)
                    nxt = self.it.queue[t, self.turn[t]]
                can = (
                    (nxt < self.none)
                    & (self.now[t] == self.none)
                    & (d >= self.it.start[nxt])
                    & (d >= self.fit[nxt, self.y])
                    & (d <= self.keeps[nxt, self.y])
                    & (d >= self.free_from[t])
                    & ~blocked
                    & (used < self.most_fills)
                    & bool(self.it.open_[t, d])
                )
                cost = self.labour.fill + self.labour.lift * self.depth[t]
                can &= self.spent + cost <= self.minutes
                if can.any():
                    used += can
                    self.spent += np.where(can, cost, 0)
                    self._transplant(t, d, nxt, can)
                blocked |= heavy[t] & ~can

    def _given_up(self, t: int, nxt: np.ndarray, where: np.ndarray) -> None:
        cols = np.flatnonzero(where)
        self.end[nxt[cols], cols] = SEEDLINGS_TOO_OLD
        self.cells[cols] -= self.it.cells[nxt[cols]]
        self.turn[t, cols] += 1

    def _transplant(self, t: int, d: int, nxt: np.ndarray, where: np.ndarray) -> None:
        it, cols = self.it, np.flatnonzero(where)
        batch = nxt[cols]
        self.now[t, cols] = batch
        self.start[batch, cols] = d
        self.base[t, cols] = it.growth[it.key[batch], cols, d]
        self.bolted_before[t, cols] = it.crops.bolting[it.crop[batch], cols, d]
        self.litres[t, cols] = it.fill[t]
        self.drank[t, cols] = 0.0
        self.plants[t, cols] = it.plants[batch]
        for held, value in ((self.taken, 0), (self.picks, 0), (self.last_cut, -FAR)):
            held[t, cols] = value
        self.ripe_on[t, cols] = self.dry_on[t, cols] = FAR
        self.cells[cols] -= it.cells[batch]
        self.turn[t, cols] += 1

    def _sow(self, d: int) -> None:
        waiting = np.flatnonzero(self.it.sow[: self.none] <= d)
        for b in waiting.tolist():
            new = self.sown[b] == FAR
            if not new.any():
                continue
            cells = int(self.it.cells[b])
            cost = self.labour.sow * cells
            room = self.cells + cells <= self.it.garden.nursery.cells
            self._sown(b, d, new & room & (self.spent + cost <= self.minutes), cost)

    def _sown(self, b: int, d: int, where: np.ndarray, cost: float) -> None:
        cols = np.flatnonzero(where)
        if not len(cols):
            return
        if d >= self.today:
            self.spent[cols] += cost
        self.sown[b, cols] = d
        self.cells[cols] += self.it.cells[b]
        crop = int(self.it.crop[b])
        total = self.it.crops.nursery[crop]
        for y in cols.tolist():
            first = int(np.searchsorted(total[y], total[y, d] + READY))
            self.fit[b, y] = first if first < total.shape[1] else FAR
        self.keeps[b, cols] = np.minimum(self.fit[b, cols] + int(self.it.crops.wait[crop]), FAR)

    def _drink(self, d: int) -> None:
        it, crops = self.it, self.it.crops
        crop = it.crop[self.now]
        initial, begin, full, late = np.moveaxis(crops.stage[crop], -1, 0)
        rise = np.clip((self.progress - begin) / np.maximum(full - begin, 1e-9), 0.0, 1.0)
        curve = np.where(self.progress >= READY, late, initial + (1 - initial) * rise)
        again = self._of(crops.cuts) > 1
        plants = np.where(
            again & (self.picks > 0), self.plants * self._of(crops.after_cut), self.plants
        )
        one = crops.per_mm[crop] * curve * crops.thirst[crop, self.y] * it.years.et0[:, d]
        drinks = plants * one * it.shade[:, None] * it.factor[self.now] / 1000
        self.drank = np.where((self.now < self.none) & ~self.over, drinks, 0.0)
        self.litres = np.maximum(self.litres - self.drank, 0.0)

    def _as_told(self, d: int) -> None:
        """A day that has happened: work was done on the day that the batches tell."""
        it = self.it
        everywhere = np.ones(len(self.y), dtype=bool)
        self.spent = np.zeros(len(self.y))
        for b, batch in enumerate(it.batches):
            t = int(it.place[b])
            for k in np.flatnonzero(it.due_day[b] == d).tolist():
                if (self.now[t] == b).all():
                    again = np.full(len(self.y), it.garden.crops[batch.crop].cuts > 1)
                    took = int(it.due_plants[b, k] - (it.due_plants[b, k - 1] if k else 0))
                    self._picked(
                        t,
                        d,
                        np.full(len(self.y), took),
                        np.full(len(self.y), int(it.due_grams[b, k])),
                        again,
                    )
            if it.clear[b] == d and (self.now[t] == b).all():
                if it.failed[b]:
                    self.end[b] = DRY
                self._empty(t, d, everywhere)
        for b in range(len(it.batches)):
            t = int(it.place[b])
            if it.sow[b] == d:
                self._sown(b, d, everywhere, 0.0)
            if it.start[b] == d:
                while int(it.queue[t, self.turn[t, 0]]) != b:
                    self.turn[t] += 1
                self._transplant(t, d, np.full(len(self.y), b), everywhere)


def _asked(laid: Laid) -> np.ndarray:
    """The last day up to each day on which a pick is planned in each tier [tiers, days].

    `FAR` before the first.
    """
    days = laid.garden.season.days
    out = np.full((len(laid.queue), days), -1)
    for b in range(len(laid.batches)):
        for due in laid.due_day[b][laid.due_day[b] < days].tolist():
            out[laid.place[b], due] = due
    out = np.maximum.accumulate(out, axis=1)
    return np.where(out < 0, FAR, out)
