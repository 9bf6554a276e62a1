"""A season under way, compiled and by arrays: lived on from a day alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np
from draws import fixed
from hypothesis import given
from hypothesis import strategies as st
from living_case import Lot, lots

from scheduler.garden.model import Garden
from scheduler.lived.doubt import Doubt
from scheduler.lived.laid import FAR
from scheduler.lived.live import live
from scheduler.lived.now import now_of
from scheduler.lived.replay import BATCH, NONE, Schedule, live_all
from scheduler.plans.model import Batch
from scheduler.schedule import assemble
from scheduler.search.living.climb import _by_urgency

SEED = 5


@fixed(60)
@given(lots(), st.integers(1, 80))
def test_a_season_under_way_is_lived_on_the_same_in_both_tellings(one: Lot, today: int) -> None:
    """What lies before ``today`` has happened as the batches tell: once lived by that telling, once
    taken over as it stands that morning. Some have failed, some drink more than expected."""
    rng = np.random.default_rng(len(one.rows) + today)
    season = one.garden.season
    today = min(today, season.days - 1)
    batches = [
        replace(
            b,
            demand_factor=float(rng.choice([1.0, 1.3])),
            state="failed"
            if season.index(b.transplant) < today and rng.random() < 0.2
            else b.state,
        )
        for b in one_after_the_other(assemble.batches(one.cand, one.stands), season.date(today))
    ]
    told = live(one.garden, batches, one.years, doubt=Doubt(), seed=SEED, today=today)
    now = now_of(one.garden, batches, one.years, Doubt(), SEED, today)
    # What is over is not looked at again; what was to be sown before and was not never is.
    mine = [
        i for i, b in enumerate(told.batches) if b.id in now.number or season.index(b.sow) >= today
    ]
    picks = told.pick_day.shape[1]
    schedule = of_batches(one.garden, [told.batches[i] for i in mine], now.number, picks)
    day = np.full((one.years.count, len(mine), picks), FAR)
    grams = np.zeros(day.shape)
    world = now.in_world(one.world)
    met, others = live_all(world, schedule, day, grams)
    total = float(world.weight @ world.wish.sum(axis=1))
    share = np.einsum("g,ygw->y", world.weight, met) / max(total, 1e-9)
    np.testing.assert_allclose(share, told.share if total else share, rtol=0, atol=1e-12)
    np.testing.assert_allclose(others.transpose(1, 2, 0), told.others, rtol=0, atol=1e-6)
    ahead = (told.pick_day[mine] >= today) & (told.pick_day[mine] < FAR)
    late = np.where(ahead, told.pick_day[mine], FAR)
    np.testing.assert_array_equal(np.sort(day.transpose(1, 2, 0), axis=1), np.sort(late, axis=1))


def one_after_the_other(batches: Sequence[Batch], on: date) -> list[Batch]:
    """Without what was planted before a day in a tier that was not free."""
    out: list[Batch] = []
    for b in sorted(batches, key=lambda b: (b.transplant, b.sow)):
        before = [x.clear for x in out if (x.column, x.tier) == (b.column, b.tier)]
        if b.transplant >= on or not before or b.transplant > max(before):
            out.append(b)
    return out


def of_batches(
    garden: Garden, batches: list[Batch], number: dict[str, int], picks: int
) -> Schedule:
    """Batches of a plan, in the order in which they are lived, as a schedule."""
    places = [(c.name, t.number) for c in garden.columns for t in c.tiers]
    names, index = list(garden.crops), garden.season.index
    out = np.zeros(len(batches), BATCH)
    due_day = np.full((len(batches), picks), FAR)
    due_plants = np.zeros((len(batches), picks), dtype=int)
    queue = np.full((len(places), len(batches) + 1), NONE)
    asked = np.full((garden.season.days, len(places)), -1)
    for i, b in enumerate(batches):
        t = places.index((b.column, b.tier))
        queue[t, int((queue[t] != NONE).sum())] = i
        out[i] = (
            names.index(b.crop),
            b.cells,
            b.plants,
            index(b.sow),
            index(b.transplant),
            t,
            number.get(b.id, NONE),
            b.demand_factor,
        )
        again = garden.crops[b.crop].cuts > 1
        each = [1 if again else p.plants for p in b.picks]
        due_plants[i] = sum(each)
        due_plants[i, : len(each)] = np.cumsum(each)
        for k, p in enumerate(b.picks):
            due_day[i, k] = index(p.date)
            if due_day[i, k] < len(asked):
                asked[due_day[i, k], t] = due_day[i, k]
    return Schedule(out, due_day, due_plants, queue, _by_urgency(asked))
