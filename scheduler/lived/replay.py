"""Live a schedule, one year after the other, compiled: what `lived.live` does, for a search.

The sensible grower alone, from the first day of the season on or from the day that the world begins
with. `live` is the same season told in full, with all its days; the tests hold the two together,
day for day.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from crops import survival
from scheduler.base.compiled import compiled
from scheduler.lived.curves import leaves_at, share_at
from scheduler.lived.grower import THIRSTIER
from scheduler.lived.growing import READY
from scheduler.lived.laid import FAR
from scheduler.lived.world import SEEDLING, STAND, World

NIGHTS, FORTNIGHT, DOSE = survival.NIGHTS, survival.FORTNIGHT, survival.DOSE
NONE = -1
HAIR = 1e-9


BATCH = np.dtype(
    [
        *((name, "i8") for name in ("crop", "cells", "plants", "sow", "start", "tier")),
        ("known", "i8"),  # its number among those in hand, or `NONE`
        ("factor", "f8"),  # of its thirst, from measured levels
    ]
)


class Schedule(NamedTuple):
    """Batches in the order of (transplanting, sowing): who lives them needs nothing more.

    Attributes
    ----------
    batches : of `BATCH` [n].
    due_day, due_plants : day of each planned pick and plants due by then, cuts of what is cut
        again [n, picks]; `FAR` and the last value fill the rest, of which there is at least one.
    queue : batches of each tier in order, `NONE` behind the last [tiers, most + 1].
    order : tiers by how long their picks have been due [days, tiers], or one row for all days.
    """

    batches: np.ndarray
    due_day: np.ndarray
    due_plants: np.ndarray
    queue: np.ndarray
    order: np.ndarray


_TODAY = np.dtype([("minutes", "f8"), ("most", "f8"), ("cells", "i8"), ("unsown", "i8")])


class _State(NamedTuple):
    """One year on a day: of each tier, each batch, the kitchen (last week it keeps), the day."""

    tiers: np.ndarray
    batches: np.ndarray
    stock: np.ndarray
    kinds: np.ndarray
    met: np.ndarray
    others: np.ndarray
    today: np.ndarray


@compiled
def _morning(w: World, p: Schedule, s: _State, y: int, d: int) -> None:
    tiers, batches, crops, weather = s.tiers, p.batches, w.crops, w.weather
    growth, bolted, harm, key, vessels = w.growth, w.bolting, w.harm, w.key, w.tiers
    for t in range(len(tiers)):
        at = tiers[t]
        if at.now == NONE:
            continue
        batch = batches[at.now]
        crop = crops[batch.crop]
        at.progress = growth[key[batch.crop, batch.tier], y, d] - at.base
        if at.progress >= READY and at.ripe_on == FAR:
            at.ripe_on = d
        sky = vessels[t].sky
        at.bolting = bolted[sky, batch.crop, y, d] - at.bolted_before
        if at.dry_on == FAR and at.litres <= vessels[t].floor + HAIR:
            at.dry_on = d
        if crop.cuts > 1 and at.picks > 0:
            at.good_until = at.last_cut + crop.interval + crop.hold
        elif at.ripe_on < FAR:
            at.good_until = at.ripe_on + crop.hold
        else:
            at.good_until = FAR
        if at.over:
            continue
        faded = d >= at.good_until + crop.fades
        lost = at.dry_on < d or at.bolting > crop.bolt_days or faded
        # What has happened is told: a batch that stands today was not killed before.
        if not lost and at.since < d and d > w.today:
            eve = d - 1
            since = min(max(at.since, max(eve - NIGHTS, 0)), max(eve, 0))
            hard = (weather[y, sky, eve].hardening - weather[y, sky, since].hardening) / NIGHTS
            bears = crop.kills + hard * (crop.kills_hardened - crop.kills)
            since = min(max(at.since, max(d - FORTNIGHT, 0)), d)
            kind = w.harm_of[vessels[t].bath, batch.crop]
            worn = harm[kind, y, d] - harm[kind, y, since]
            lost = weather[y, sky, eve].tmin < bears or worn > DOSE + HAIR
        if lost:
            at.over, at.plants = 1, 0


@compiled
def _pick(
    w: World,
    p: Schedule,
    s: _State,
    d: int,
    pick_day: np.ndarray,
    pick_grams: np.ndarray,
) -> None:
    tiers, batches, crops, vessels = s.tiers, p.batches, w.crops, w.tiers
    due_day, due_plants, order = p.due_day, p.due_plants, p.order
    stock, wish, cut_shares, last_week = s.stock, w.wish, w.cut_shares, w.last_week
    limits, today = w.limits[0], s.today[0]
    ahead = min(w.days[d].next_pick, FAR) - d
    used = 0
    today_order = order[d if len(order) > 1 else 0]
    for i in range(len(today_order)):
        t = today_order[i]
        at = tiers[t]
        if at.now == NONE or at.over:
            continue
        b = at.now
        batch = batches[b]
        crop = crops[batch.crop]
        again = crop.cuts > 1
        if again and at.picks > 0 and d < at.last_cut + crop.interval:
            continue
        ripe = at.progress >= READY
        share = 1.0 if ripe else min(share_at(at.progress), 1.0)
        if not ripe and share < limits.least:
            continue
        due = following = 0
        for k in range(due_day.shape[1]):
            if due_day[b, k] <= d:
                due = max(due, due_plants[b, k])
            if following == 0 and due_plants[b, k] > at.taken:
                following = due_plants[b, k] - at.taken
        due -= at.taken
        tomorrow = at.litres - (min(ahead, 1000) - 1) * THIRSTIER * at.drank
        last_call = (
            (tomorrow <= vessels[t].floor + HAIR and at.drank > 0)
            or at.dry_on <= d
            or at.good_until < d + ahead
            or (at.bolting > 0 and at.bolting + ahead > crop.bolt_days)
            or ahead > FAR // 2
        )
        group, want = crop.group, 0.0
        if limits.lone:
            want = HAIR
        elif group >= 0 and w.next_eaten[group, d] < stock.shape[1]:
            there, week = 0.0, w.next_eaten[group, d]
            for last in range(week, stock.shape[1]):
                there += stock[group, last]
            want = max(wish[group, week] - there, 0.0)
        take = 0
        if due > 0:
            take = due if ripe or want > 0 else 0
        elif ripe and following * (batch.plants if again else 1) * crop.fresh <= 2 * want:
            take = following
        if last_call:
            take = 1 if again else at.plants
        take = min(max(take, 0), 1 if again else at.plants)
        if take <= 0:
            continue
        plants = batch.plants if again else take
        if used >= limits.most_picks or (today.minutes + limits.per_pick * plants > today.most):
            continue
        used += 1
        today.minutes += limits.per_pick * plants
        cut = min(at.picks, cut_shares.shape[1] - 1) if again else 0
        full = 1.0 if again and at.picks > 0 else share
        if d > at.good_until:  # what is still good past its hold
            full *= 1.0 - (d - at.good_until) / crop.fades
        grams = np.rint(plants * crop.fresh * full * cut_shares[batch.crop, cut])
        slot = min(at.picks, pick_day.shape[1] - 1)
        pick_day[b, slot] = d
        pick_grams[b, slot] += grams
        at.taken += take
        at.picks += 1
        at.last_cut = d
        if not again:
            at.plants -= take
        if group >= 0 and last_week[batch.crop, d] >= 0:
            stock[group, last_week[batch.crop, d]] += grams
            s.kinds[batch.crop, last_week[batch.crop, d]] += grams
        if at.taken >= due_plants[b, -1] if again else at.plants <= 0:
            at.over, at.plants = 1, 0


@compiled
def _heavy(
    tiers: np.ndarray,
    batches: np.ndarray,
    crops: np.ndarray,
    vessels: np.ndarray,
    lift: float,
    t: int,
) -> bool:
    """Whether a tier is too heavy to lift."""
    at = tiers[t]
    if at.now == NONE or lift == np.inf:
        return False
    crop = crops[batches[at.now].crop]
    full = share_at(at.progress)
    if crop.cuts > 1:
        full = 1.0 if at.picks > 0 else min(full, 1.0)
    return bool(vessels[t].mass + at.litres + at.plants * crop.fresh * full / 1000 > lift)


@compiled
def _clear(w: World, p: Schedule, s: _State, d: int) -> None:
    """Clear what is over, in each column from the top down."""
    tiers, vessels, limits, today = s.tiers, w.tiers, w.limits[0], s.today[0]
    batches, crops, tops = p.batches, w.crops, w.tops
    for c in range(len(tops) - 1):
        lowest = -1
        for t in range(tops[c], tops[c + 1]):
            if tiers[t].now != NONE and tiers[t].over:
                lowest = t
        for t in range(tops[c], lowest + 1):
            at = tiers[t]
            cost = limits.per_clear + limits.per_lift * vessels[t].depth
            time = today.minutes + cost <= today.most
            if at.now != NONE and at.over and d >= at.not_before and time:
                today.minutes += cost
                at.now = NONE
                at.over = at.plants = at.not_before = 0
                at.litres = at.drank = at.progress = 0.0
                at.free_from = d + limits.turnaround
            elif t < lowest and _heavy(tiers, batches, crops, vessels, limits.lift, t):
                break


@compiled
def _fill(w: World, p: Schedule, s: _State, y: int, d: int) -> None:
    """Fill what is asked for, in each column from the top down."""
    tiers, batches, seedlings, vessels = s.tiers, p.batches, s.batches, w.tiers
    queue, open_, growth, bolted, key = p.queue, w.open, w.growth, w.bolting, w.key
    limits, today, crops, tops = w.limits[0], s.today[0], w.crops, w.tops
    filled = 0
    for column in range(len(tops) - 1):
        lowest = -1
        for t in range(tops[column], tops[column + 1]):
            b = queue[t, tiers[t].turn]
            if b != NONE and (d >= batches[b].start or d > seedlings[b].keeps):
                lowest = t
        blocked = False
        for t in range(tops[column], lowest + 1):
            at = tiers[t]
            b = queue[t, at.turn]
            if b != NONE and d > seedlings[b].keeps:
                today.cells -= batches[b].cells
                at.turn += 1
                b = queue[t, at.turn]
            cost = limits.per_fill + limits.per_lift * vessels[t].depth
            if (
                b != NONE
                and at.now == NONE
                and d >= batches[b].start
                and seedlings[b].fit <= d <= seedlings[b].keeps
                and d >= at.free_from
                and not blocked
                and filled < limits.most_fills
                and open_[t, d]
                and today.minutes + cost <= today.most
            ):
                filled += 1
                today.minutes += cost
                c = batches[b].crop
                at.now, at.since = b, d
                at.base = growth[key[c, t], y, d]
                at.bolted_before = bolted[vessels[t].sky, c, y, d]
                at.litres = vessels[t].fill
                at.drank = at.progress = 0.0
                at.plants = batches[b].plants
                at.taken = at.picks = 0
                at.last_cut = -FAR
                at.ripe_on = at.dry_on = FAR
                today.cells -= batches[b].cells
                at.turn += 1
            elif not blocked and t < lowest:
                blocked = _heavy(tiers, batches, crops, vessels, limits.lift, t)


@compiled
def _sow(w: World, p: Schedule, s: _State, y: int, d: int) -> None:
    batches, seedlings, crops, fit = p.batches, s.batches, w.crops, w.fit
    limits, today = w.limits[0], s.today[0]
    n = len(batches)
    for b in range(today.unsown, n):
        batch, seedling = batches[b], seedlings[b]
        if batch.sow > d or seedling.sown:
            continue
        cost = limits.per_sow * batch.cells
        if today.cells + batch.cells <= limits.cells and today.minutes + cost <= today.most:
            today.minutes += cost
            today.cells += batch.cells
            seedling.sown = 1
            seedling.fit = fit[batch.crop, y, d]
            seedling.keeps = min(seedling.fit + crops[batch.crop].wait, FAR)
    while today.unsown < n and seedlings[today.unsown].sown:
        today.unsown += 1


@compiled
def _drink(w: World, p: Schedule, s: _State, y: int, d: int) -> None:
    tiers, batches, crops, thirst, vessels = s.tiers, p.batches, w.crops, w.thirst, w.tiers
    weather = w.weather
    for t in range(len(tiers)):
        at = tiers[t]
        if at.now == NONE:
            continue
        if at.over:
            at.drank = 0.0
            continue
        batch = batches[at.now]
        crop = crops[batch.crop]
        plants = float(at.plants)
        if crop.cuts > 1 and at.picks > 0:
            plants *= crop.after_cut
        sky = weather[y, vessels[t].sky, d]
        lost = sky.air + sky.sun * vessels[t].light
        one = crop.per_mm * leaves_at(crop, at.progress) * thirst[batch.crop, y] * lost
        at.drank = plants * one * batch.factor / 1000
        at.litres = max(at.litres - at.drank, 0.0)


@compiled
def _eat(w: World, s: _State, d: int) -> None:
    wish, stock, kinds, met, crops = w.wish, s.stock, s.kinds, s.met, w.crops
    for g in range(len(wish)):
        week = w.next_eaten[g, d]
        if week == stock.shape[1] or w.eaten[g, week] != d:
            continue
        need = wish[g, week]
        eaten = np.zeros(len(kinds))
        for last in range(week, stock.shape[1]):
            there = stock[g, last]
            used = min(need, there)
            if used <= 0:
                continue
            part = used / there  # of what keeps alike each kind is eaten in proportion
            for c in range(len(kinds)):
                if crops[c].group == g:
                    eaten[c] += part * kinds[c, last]
                    kinds[c, last] *= 1 - part
            stock[g, last] -= used
            need -= used
        met[g, week] = wish[g, week] - need
        s.others[g, week] = eaten.sum() - eaten.max()


@compiled
def _begin(w: World, p: Schedule, y: int) -> _State:
    """The morning of the first day to live: nothing stands, or what has happened."""
    groups, weeks = w.wish.shape
    tiers, n = len(p.queue), len(p.batches)
    s = _State(
        np.zeros(tiers, STAND),
        np.zeros(n, SEEDLING),
        np.zeros((groups, weeks)),
        np.zeros((len(w.crops), weeks)),
        np.zeros((groups, weeks)),
        np.zeros((groups, weeks)),
        np.zeros(1, _TODAY),
    )
    if w.today > 0:
        s.tiers[:] = w.stands[y]
        s.stock[:] = w.stock[y]
        s.met[:] = w.met[y]
        s.others[:] = w.others[y]
        s.kinds[:] = w.kinds[y]
    for t in range(tiers):
        at, first = s.tiers[t], p.queue[t, 0]
        if w.today > 0 and at.now != NONE and first != NONE and p.batches[first].known == at.now:
            at.now, at.turn = first, 1
        else:
            at.now, at.over = NONE, 0
            at.ripe_on = at.dry_on = FAR
    for b in range(n):
        batch, seedling = p.batches[b], s.batches[b]
        seedling.fit = seedling.keeps = FAR
        if batch.known != NONE:
            seedling.sown = 1
            seedling.fit = w.seedlings[batch.known, y].fit
            seedling.keeps = w.seedlings[batch.known, y].keeps
            if s.tiers[batch.tier].now != b:
                s.today[0].cells += batch.cells
    return s


@compiled
def live_year(
    w: World, p: Schedule, y: int, pick_day: np.ndarray, pick_grams: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """What one year meets of the wishes, and of it of other kinds than the one eaten most.

    Both [g], groups x weeks; picks are written [n, picks].
    """
    s = _begin(w, p, y)
    days = w.days
    for d in range(w.today, len(days)):
        _morning(w, p, s, y, d)
        if days[d].work:
            s.today[0].minutes, s.today[0].most = 0.0, days[d].minutes
            if days[d].pick:
                _pick(w, p, s, d, pick_day, pick_grams)
            _clear(w, p, s, d)
            _fill(w, p, s, y, d)
            _sow(w, p, s, y, d)
        _drink(w, p, s, y, d)
        _eat(w, s, d)
    return s.met, s.others


@compiled
def live_all(
    w: World, p: Schedule, pick_day: np.ndarray, pick_grams: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """What every year meets of the wishes, and others of it [g], both years x groups x weeks."""
    years = len(w.weather)
    met = np.zeros((years, w.wish.shape[0], w.wish.shape[1]))
    others = np.zeros_like(met)
    for y in range(years):
        met[y], others[y] = live_year(w, p, y, pick_day[y], pick_grams[y])
    return met, others
