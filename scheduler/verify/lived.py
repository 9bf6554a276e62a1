"""A promise lived once more: one year at a time, in loops and words of its own.

Nothing is shared with `scheduler.lived`: not the arrays, not the order of thoughts. What is read is
the garden, the plan and the weather years.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from crops import demand, development
from crops.crop import Crop
from scheduler.garden.model import Garden, Tier
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.plans.model import Batch
from scheduler.verify import harm
from scheduler.verify.case import minutes_there
from scheduler.verify.pantry import Pantry
from scheduler.verify.places import Stays
from scheduler.verify.year import READY, Year

MORE = 1.2  # of yesterday's drinking is reckoned with for each day ahead without work


@dataclass
class Stand:
    """A batch in its tier."""

    batch: Batch
    since: int
    litres: float
    plants: int
    progress: float = 0.0
    hot: float = 0.0
    taken: int = 0
    picks: int = 0
    cut_on: int = -1
    ripe_on: int | None = None
    dry_on: int | None = None
    drank: float = 0.0
    over: bool = False


@dataclass
class Seedlings:
    """A batch in the nursery: the morning on which it is fit, and the last on which it keeps."""

    cells: int
    fit: int | None
    keeps: int


class Life:
    """One season of one year, day after day.

    ``made`` tells, by batch and number of the pick, the day by which as many plants had been picked
    as the plan says by then, or as many cuts made; ``fit_on`` the first morning on which a batch
    was ripe, or where its first pick is planned young as large as the grower allows; ``lost`` how a
    batch ended that did not come to its last pick.
    """

    def __init__(self, garden: Garden, batches: Sequence[Batch], year: Year) -> None:
        self.garden, self.year, self.season = garden, year, garden.season
        self.limits = garden.limits
        self.weeks, self.wish = season_weeks(garden.season), wish(garden)
        order = sorted(batches, key=lambda b: (b.transplant, b.sow, b.id))
        self.places = [(c.name, t.number) for c in garden.columns for t in c.tiers]
        self.waiting = {p: [b for b in order if (b.column, b.tier) == p] for p in self.places}
        self.order = order
        self.tiers: dict[tuple[str, int], Stand | None] = dict.fromkeys(self.places)
        self.free: dict[tuple[str, int], int] = dict.fromkeys(self.places, 0)
        self.nursery: dict[str, Seedlings] = {}
        self.sown: set[str] = set()
        self.pantry, self.met = Pantry(), 0.0
        self.tier = {(c.name, t.number): t for c in garden.columns for t in c.tiers}
        self.due = {b.id: self._due(b) for b in order}
        self.picked_on = {
            p: sorted(on for b in self.waiting[p] for on, _ in self.due[b.id]) for p in self.places
        }
        self.made: dict[str, dict[int, int]] = {b.id: {} for b in order}
        self.fit_on: dict[str, int] = {}
        self.lost: dict[str, str] = {}
        self.minutes = self.picks = self.fills = 0.0
        self.most_minutes: float | None = None

    def share(self) -> float:
        """Weighted share of the wishes met."""
        season, days = self.season, self.season.days
        self.work = [season.is_work_day(season.date(d)) for d in range(days)]
        self.picking = [
            works and season.date(d).weekday() in season.pick_days
            for d, works in enumerate(self.work)
        ]
        week = [self.weeks.index(weeks_served(season.date(d), 0)[0]) for d in range(days)]
        for d in range(days):
            self._grow(d)
            if self.work[d]:
                self.minutes = self.picks = self.fills = 0.0
                self.most_minutes = minutes_there(self.garden, season.date(d))
                if self.picking[d]:
                    self._pick(d, week)
                self._clear(d)
                self._fill(d)
                self._sow(d)
            self._drink(d)
            for wished in self.garden.demands:
                if d == self._table(wished.group, d, week):
                    wanted = self.wish.get((wished.group, self.weeks[week[d]]), 0)
                    self.met += wished.weight * self.pantry.eat(wished.group, week[d], wanted)
        total = sum(
            wished.weight * self.wish.get((wished.group, w), 0)
            for wished in self.garden.demands
            for w in self.weeks
        )
        return self.met / total if total > 0 else self.met

    def _table(self, group: str, d: int, week: list[int]) -> int:
        """The day of a day's week at whose end the wish is eaten: its last, or the first event."""
        same = [e for e in range(max(0, d - 6), min(d + 7, self.season.days)) if week[e] == week[d]]
        feasts = [self.season.index(e.date) for e in self.garden.events if e.group == group]
        return min([same[-1], *(on for on in feasts if on in same)])

    def _grow(self, d: int) -> None:
        for (column, number), s in self.tiers.items():
            if s is None:
                continue
            crop = self.garden.crops[s.batch.crop]
            tier = self.tier[column, number]
            if d > s.since:
                s.progress += self.year.at(tier).rate(crop, tier.light)[d - 1]
                s.hot += self.year.at(tier).hot(crop)[d - 1]
            if s.ripe_on is None and s.progress >= READY:
                s.ripe_on = d
            floor = self.garden.vessels[self.tier[column, number].vessel].floor_l
            if s.dry_on is None and s.litres <= floor + 1e-9:
                s.dry_on = d
            if s.over:
                continue
            young = bool(s.batch.picks) and s.batch.picks[0].young
            needs = development.progress_at(self.limits.young) if young else 1.0
            if s.progress >= needs - 1e-9:
                self.fit_on.setdefault(s.batch.id, d)
            why = self._killed(s, crop, d)
            if why:
                pass
            elif s.dry_on is not None and s.dry_on < d:
                why = "dry"
            elif s.hot > crop.bolts_after + 1e-9:
                why = "bolted"
            elif self._still_good(s, crop, d) <= 0:
                why = "too old"
            if why:
                self.lost[s.batch.id] = why
                s.over, s.plants = True, 0

    def _killed(self, s: Stand, crop: Crop, d: int) -> str:
        """What cold or heat have done to it by the day before; empty: nothing."""
        if d <= s.since:
            return ""
        tier = self.tier[s.batch.column, s.batch.tier]
        there, eve = self.year.at(tier), d - 1
        if harm.frozen(crop, there.low, s.since, eve):
            return "frozen"
        warm = there.solution(tier, self.garden.vessels[tier.vessel])
        if not harm.worn(crop, there.low, there.high, warm, s.since, eve):
            return ""
        return "frozen" if float(there.low[eve]) < crop.chill_limit else "overheated"

    def _good(self, s: Stand, crop: Crop) -> float:
        """The last morning on which what is next to be picked is still good."""
        if crop.cuts > 1 and s.picks:
            return s.cut_on + crop.cut_interval + int(crop.hold)
        return float("inf") if s.ripe_on is None else s.ripe_on + int(crop.hold)

    def _still_good(self, s: Stand, crop: Crop, d: int) -> float:
        """Share of it that is still good: all up to its hold, then a day's part less each day."""
        days = round(crop.after_hold)
        if days == 0:
            days = max(2, round(crop.hold / 3))
        past = d - self._good(s, crop)
        return 1.0 if past <= 0 else max(1.0 - past / days, 0.0)

    def _due(self, batch: Batch) -> list[tuple[int, int]]:
        """Day of each planned pick, and plants picked or cuts made by then."""
        out, total = [], 0
        for p in batch.picks:
            total += 1 if self.garden.crops[batch.crop].cuts > 1 else p.plants
            out.append((self.season.index(p.date), total))
        return out

    def _asked(self, place: tuple[str, int], d: int) -> float:
        """The last day up to now on which the calendar picks in a tier."""
        days = self.picked_on[place]
        before = bisect_right(days, d)
        return days[before - 1] if before else float("inf")

    def _pick(self, d: int, week: list[int]) -> None:
        later = [e for e in range(d + 1, self.season.days) if self.picking[e]]
        ahead = later[0] - d if later else 1 << 30
        for place in sorted(self.places, key=lambda p: self._asked(p, d)):
            s = self.tiers[place]
            if s is None or s.over:
                continue
            crop, tier = self.garden.crops[s.batch.crop], self.tier[place]
            again = crop.cuts > 1
            counts = self.due[s.batch.id]
            due = max((n for on, n in counts if on <= d), default=0) - s.taken
            following = next((n - s.taken for _, n in counts if n > s.taken), 0)
            back = not (again and s.picks) or d >= s.cut_on + crop.cut_interval
            ripe = s.progress >= READY and back
            last = self._last_call(s, crop, tier, d, ahead)
            share = 1.0
            if s.progress < READY:  # nobody looks how large it is while nothing asks for it
                asked = due > 0 or last
                share = float(development.harvest_share(s.progress)) if asked else 0.0
            young = not ripe and share >= self.limits.young and back
            lacks = self._lacks(crop, d, week)
            take = 0
            if ripe and due > 0:
                take = due
            if young and due > 0 and lacks > 0:
                take = due
            each = s.batch.plants if again else 1
            if ripe and due <= 0 and following * each * crop.fresh_mass <= 2 * lacks:
                take = following
            if last and (ripe or young):
                take = 1 if again else s.plants
            take = min(take, 1) if again else min(take, s.plants)
            if take > 0:
                self._take(s, crop, d, take, again, share)

    def _last_call(self, s: Stand, crop: Crop, tier: Tier, d: int, ahead: int) -> bool:
        """Whether it will not last to the next work day, as far as can be seen today."""
        floor = self.garden.vessels[tier.vessel].floor_l
        dries = s.litres - (min(ahead, 1000) - 1) * MORE * s.drank <= floor + 1e-9
        return (
            (dries and s.drank > 0)
            or (s.dry_on is not None and s.dry_on <= d)
            or self._good(s, crop) < d + ahead
            or (s.hot > 0 and s.hot + ahead > crop.bolts_after + 1e-9)
            or ahead > 1 << 29
        )

    def _lacks(self, crop: Crop, d: int, weeks: list[int]) -> float:
        """What the week that is eaten next still lacks: the week after, once this one is eaten."""
        wished = self.garden.demand_of(crop.name)
        if wished is None:
            return 0.0
        week = weeks[d] + (d > self._table(wished.group, d, weeks))
        if week >= len(self.weeks):
            return 0.0
        wanted = self.wish.get((wished.group, self.weeks[week]), 0)
        return max(0.0, wanted - self.pantry.there(wished.group, week))

    def _take(self, s: Stand, crop: Crop, d: int, take: int, again: bool, share: float) -> None:
        plants = s.batch.plants if again else take
        minutes, most = self.limits.labour.pick * plants, self.limits.picks_per_day
        if most is not None and self.picks >= most:
            return
        if not self._time(minutes):
            return
        self.picks += 1
        self.minutes += minutes
        cut = crop.cut_shares[min(s.picks, len(crop.cut_shares) - 1)] if again else 1.0
        grown = 1.0 if again and s.picks else share
        grown *= self._still_good(s, crop, d)
        grams = float(np.rint(plants * crop.fresh_mass * grown * cut))
        wished = self.garden.demand_of(crop.name)
        if wished is not None:
            on, events = self.season.date(d), self.garden.event_weeks(crop.name)
            weeks = [w for w in weeks_served(on, crop.storage_life, events) if w in self.weeks]
            last = self.weeks.index(weeks[-1]) if weeks else -1
            self.pantry.put(wished.group, last, grams, crop.name)
        s.taken += take
        for k, (_, total) in enumerate(self.due[s.batch.id]):
            if s.taken >= total:
                self.made[s.batch.id].setdefault(k, d)
        s.picks += 1
        s.cut_on = d
        if again:
            s.over = s.taken >= len(s.batch.picks)
        else:
            s.plants -= take
            s.over = s.plants <= 0
        if s.over:
            s.plants = 0

    def _time(self, minutes: float) -> bool:
        most = self.most_minutes
        return most is None or self.minutes + minutes <= most + 1e-6

    def _heavy(self, place: tuple[str, int]) -> bool:
        s, most = self.tiers[place], self.limits.lift_kg
        if s is None or most is None:
            return False
        crop = self.garden.crops[s.batch.crop]
        vessel = self.garden.vessels[self.tier[place].vessel]
        grown = (
            1.0 if crop.cuts > 1 and s.picks else float(development.weight_share(crop, s.progress))
        )
        return vessel.mass_kg + s.litres + s.plants * crop.fresh_mass * grown / 1000 > most + 1e-9

    def _clear(self, d: int) -> None:
        labour = self.limits.labour
        over = {p[0] for p, s in self.tiers.items() if s is not None and s.over}
        for column in self.garden.columns:
            if column.name not in over:
                continue
            blocked = False
            for k, tier in enumerate(column.tiers):
                place = (column.name, tier.number)
                s, cost = self.tiers[place], labour.clear + labour.lift * k
                if s is not None and s.over and not blocked and self._time(cost):
                    self.minutes += cost
                    self.tiers[place] = None
                    self.free[place] = d + self.limits.turnaround_days
                else:
                    blocked = blocked or self._heavy(place)

    def _fill(self, d: int) -> None:
        labour = self.limits.labour
        for column in self.garden.columns:
            blocked = False
            for k, tier in enumerate(column.tiers):
                place = (column.name, tier.number)
                cost = labour.fill + labour.lift * k
                if blocked or not self._filled(place, tier, d, cost):
                    self._give_up(place, d)
                    blocked = blocked or self._heavy(place)

    def _give_up(self, place: tuple[str, int], d: int) -> None:
        queue = self.waiting[place]
        if queue and queue[0].id in self.nursery and d > self.nursery[queue[0].id].keeps:
            del self.nursery[queue.pop(0).id]

    def _filled(self, place: tuple[str, int], tier: Tier, d: int, cost: float) -> bool:
        """Transplant what is next in a tier, if it can be."""
        self._give_up(place, d)
        queue, most = self.waiting[place], self.limits.fills_per_day
        if not queue or queue[0].id not in self.nursery or self.tiers[place] is not None:
            return False
        batch, seedlings = queue[0], self.nursery[queue[0].id]
        today = self.season.date(d)
        can = (
            d >= self.season.index(batch.transplant)
            and seedlings.fit is not None
            and seedlings.fit <= d <= seedlings.keeps
            and d >= self.free[place]
            and (most is None or self.fills < most)
            and (not tier.available or any(today in span for span in tier.available))
            and self._time(cost)
        )
        if can:
            self.fills += 1
            self.minutes += cost
            vessel = self.garden.vessels[tier.vessel]
            self.tiers[place] = Stand(batch, d, vessel.fill_l, batch.plants)
            del self.nursery[queue.pop(0).id]
        return can

    def _sow(self, d: int) -> None:
        for batch in self.order:
            if batch.id in self.sown or self.season.index(batch.sow) > d:
                continue
            used = sum(s.cells for s in self.nursery.values())
            cost = self.limits.labour.sow * batch.cells
            if used + batch.cells <= self.garden.nursery.cells and self._time(cost):
                self.minutes += cost
                fit, keeps = self.year.keeps(self.garden.crops[batch.crop], d)
                self.nursery[batch.id] = Seedlings(batch.cells, fit, keeps)
                self.sown.add(batch.id)

    def _drink(self, d: int) -> None:
        drinking: dict[tuple[str, Stays], list[tuple[Stand, Tier]]] = {}
        for place, s in self.tiers.items():
            if s is not None and s.over:
                s.drank = 0.0
            elif s is not None:
                tier = self.tier[place]
                drinking.setdefault((s.batch.crop, tier.stays), []).append((s, tier))
        for (name, _stays), stands in drinking.items():
            crop = self.garden.crops[name]
            lights, grown = [tier.light for _, tier in stands], [s.progress for s, _ in stands]
            there = self.year.at(stands[0][1])
            each = demand.plant_demand(
                crop, there.et0[d], lights, grown, there.sun[d], there.air[d]
            ).tolist()
            for (s, _), one in zip(stands, each, strict=True):
                plants = s.plants * (crop.after_cut if crop.cuts > 1 and s.picks else 1.0)
                thirst = self.year.factors[name][1] * s.batch.demand_factor
                s.drank = plants * one * thirst / 1000
                s.litres = max(0.0, s.litres - s.drank)
