"""Live a plan: day by day through many weather years at once, by one grower (`lived.grower`).

All years are lived together (`lived.growing`), and a day's work goes through the tiers one by one,
since they share cells, hands and columns. What the grower decides on a morning rests on that
morning: levels, how grown the crops look, what is in the kitchen, and what a tier drank the day
before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from crops import development
from scheduler.garden.model import Garden
from scheduler.garden.weekly import season_weeks, wish
from scheduler.lived.doubt import NONE, Doubt
from scheduler.lived.grower import SENSIBLE, THIRSTIER, Grower
from scheduler.lived.growing import (
    DRY,
    NEVER_BEGUN,
    READY,
    SEEDLINGS_TOO_OLD,
    TOO_OLD,
    UNKNOWN,
    WELL,
    Growing,
)
from scheduler.lived.laid import FAR, Laid, lay_out
from scheduler.lived.worth import Taste, worth
from scheduler.plans.model import Batch
from scheduler.years.weather_years import WeatherYears


@dataclass(frozen=True)
class Lived:
    """What a plan brought in each year.

    Attributes
    ----------
    share : weighted share of the wishes met [years]; met : [g], groups x weeks x years; others :
        of it, of other kinds than the one that was eaten most, alike.
    pick_day : of each pick, `FAR` if never made [batches, picks, years]; pick_grams : [g] alike.
    made : day by which as much had been picked as the plan says by each of its picks, `FAR` if
        never [batches, picks, years]: who is late may take two picks at once.
    start, clear : day of transplanting, of clearing, or `FAR` [batches, years].
    ready : first morning on which it was ripe, or `FAR` [batches, years].
    due_fit : first morning on which what stood in the tier was ripe, or where its first pick is
        planned young as large as the grower allows, or `FAR` [batches, years].
    end : how each batch ended, a number of `lived.growing` [batches, years]; lost : to what the
        rest of it was lost before its last pick, or `UNKNOWN`, alike.
    """

    batches: tuple[Batch, ...]
    share: np.ndarray
    met: np.ndarray
    others: np.ndarray
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
    return Life(lay_out(garden, batches, years, doubt, seed), grower, today).run()


def wish_by_week(garden: Garden) -> np.ndarray:
    """What is wished [g], groups x weeks."""
    wished, weeks = wish(garden), season_weeks(garden.season)
    full = [[wished.get((d.group, w), 0) for w in weeks] for d in garden.demands]
    return np.array(full, dtype=float).reshape(len(garden.demands), len(weeks))


def worth_of(garden: Garden, lived: Lived, taste: Taste) -> np.ndarray:
    """What was lived is worth, as a share of all that is wished [years]: `lived.worth.worth`."""
    weight = np.array([d.weight for d in garden.demands], dtype=float)
    return worth(lived.met, lived.others, wish_by_week(garden), weight, taste)


class Life(Growing):
    """What the grower does, in the order of a day."""

    def __init__(self, laid: Laid, grower: Grower, today: int) -> None:
        super().__init__(laid, grower, today)
        self.asked = _asked(laid)
        self.to_sow = list(range(self.none))  # in some year still

    def run(self) -> Lived:
        self.until(self.it.garden.season.days)
        return self._lived()

    def until(self, day: int) -> None:
        """Live the days before ``day``, from the first."""
        for d in range(day):
            self._morning(d)
            if d < self.today:
                self._as_told(d)
            elif self.is_work[d]:
                self.spent, self.minutes = np.zeros(len(self.y)), float(self.minutes_of[d])
                if self.is_pick[d]:
                    self._pick(d)
                self._clear(d)
                self._fill(d)
                self._sow(d)
            self._drink(d)
            self.kitchen.end_of(d)

    def _lived(self) -> Lived:
        n = self.none
        end = np.where(self.end[:n] == UNKNOWN, NEVER_BEGUN, self.end[:n])
        begun = (self.start[:n] < FAR) & (self.end[:n] == UNKNOWN)
        return Lived(
            self.it.batches,
            self.kitchen.share(),
            self.kitchen.met,
            self.kitchen.others,
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

    def _pick(self, d: int) -> None:
        it, crops, grower = self.it, self.it.crops, self.grower
        standing = (self.now < self.none) & ~self.over
        if not standing.any():
            return
        again = self._of(crops.cuts) > 1
        share = np.where(self.ripe, 1.0, development.harvest_share(self.progress))
        due_day, due_plants = it.due_day[self.now], it.due_plants[self.now]
        due = np.max(np.where(due_day <= d, due_plants, 0), axis=2) - self.taken
        following = np.where(due_plants > self.taken[..., None], due_plants, FAR).min(axis=2)
        following = np.where(following < FAR, following - self.taken, 0)
        grown = np.where(
            again & (self.picks > 0), d >= self.last_cut + self._of(crops.interval), True
        )
        ripe = self.ripe & grown
        ahead = min(int(self.next_pick[d]), FAR) - d
        tomorrow = self.litres - (min(ahead, 1000) - 1) * THIRSTIER * self.drank
        last_call = (tomorrow <= it.floor[:, None] + 1e-9) & (self.drank > 0)
        last_call |= self.dry_on <= d
        last_call |= self.good_until < d + ahead
        bolt_days = self._of(crops.bolt_days)
        last_call |= (self.bolting > 0) & (self.bolting + ahead > bolt_days)
        last_call |= bool(ahead > FAR // 2)
        young = ~ripe & (share >= self.least) & grown
        late = np.maximum(d - self.good_until, 0.0)
        good = 1.0 - late / self._of(crops.fades)  # what is still good past its hold
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
                    want[mine] = self.kitchen.short(g, d)[mine]
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
            full = full * good[t]
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
            self.kitchen.put(c, d, float(crops.storage[c]), mine)
        planned = it.due_plants[self.now[t], -1]
        done = np.zeros(len(self.y), dtype=bool)
        done[cols] = np.where(
            again[cols], self.taken[t, cols] >= planned[cols], self.plants[t, cols] <= 0
        )
        finished = np.zeros_like(self.over)
        finished[t] = done
        self._finish(finished, WELL)

    def _clear(self, d: int) -> None:
        """What is over is cleared from the top down, where nothing too heavy stands above it.

        What has failed not before the day told.
        """
        want = self.over & (self.now < self.none) & (d >= self.not_before[self.now])
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
        nxt = self.it.queue[np.arange(len(self.turn))[:, None], self.turn]
        asks = (nxt < self.none) & ((d >= self.it.start[nxt]) | (d > self.keeps[nxt, self.y]))
        asked = asks.any(axis=1)
        if not asked.any():
            return
        heavy = self._mass() > self.lift
        used = np.zeros(len(self.y))
        for column in self.it.columns:
            if not asked[list(column)].any():
                continue
            blocked = np.zeros(len(self.y), dtype=bool)
            for t in column:
                if not asked[t]:  # nothing is done to it: it can only stand in the way
                    blocked |= heavy[t]
                    continue
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
        self.bolted_before[t, cols] = it.crops.bolting[it.sky[t], it.crop[batch], cols, d]
        self.litres[t, cols] = it.fill[t]
        self.drank[t, cols] = self.progress[t, cols] = 0.0
        self.plants[t, cols] = it.plants[batch]
        for held, value in ((self.taken, 0), (self.picks, 0), (self.last_cut, -FAR)):
            held[t, cols] = value
        self.ripe_on[t, cols] = self.dry_on[t, cols] = FAR
        self.cells[cols] -= it.cells[batch]
        self.turn[t, cols] += 1

    def _sow(self, d: int) -> None:
        for b in [b for b in self.to_sow if self.it.sow[b] <= d]:
            new = self.sown[b] == FAR
            if not new.any():
                self.to_sow.remove(b)
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
