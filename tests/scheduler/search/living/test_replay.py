"""Compiled and by arrays, the same season: not a gram and not a day apart."""

from __future__ import annotations

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from living_case import Lot, lots
from places_case import placed_gardens

from scheduler.lived.doubt import Doubt
from scheduler.lived.laid import FAR
from scheduler.lived.live import live
from scheduler.lived.replay import live_all
from scheduler.plans.model import Batch
from scheduler.schedule import assemble
from scheduler.search.living.climb import scheduled
from scheduler.verify.lived import Life
from scheduler.verify.year import Year, doubts

SEED = 5


def replayed(one: Lot, picks: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Shares [years], days and grams of the picks [years, batches, picks], others."""
    w, n = one.world, len(one.rows)
    schedule = scheduled(one.options, one.garden.season.days, one.rows, one.tiers)
    day = np.full((one.years.count, n, picks), FAR)
    grams = np.zeros((one.years.count, n, picks))
    met, others = live_all(w, schedule, day, grams)
    total = float(w.weight @ w.wish.sum(axis=1))
    share = np.einsum("g,ygw->y", w.weight, met)
    return share / total if total > 0 else share, day, grams, others


@fixed(120)
@given(lots())
def test_a_schedule_brings_the_same_in_both_tellings(one: Lot) -> None:
    """Batches in each other's way, in years with a doubt of their own; the second telling is that
    of the promise, which `scheduler.verify` tells once more in loops of its own."""
    told_alike(one)


@fixed(40)
@given(lots(gardens=placed_gardens))
def test_so_it_does_where_columns_stand_in_places(one: Lot) -> None:
    """Indoors under a lamp, in frames, under fleece, moved: the verifier's telling agrees too."""
    batches = told_alike(one)
    factors = doubts(one.garden, batches, one.years.count, SEED)
    told = live(one.garden, batches, one.years, doubt=Doubt(), seed=SEED)
    for n in range(one.years.count):
        again = Life(one.garden, batches, Year(one.garden, one.years, n, factors[n]))
        assert again.share() == pytest.approx(told.share[n], abs=1e-9)


def told_alike(one: Lot) -> list[Batch]:
    batches = assemble.batches(one.cand, one.stands)
    told = live(one.garden, batches, one.years, doubt=Doubt(), seed=SEED)
    share, day, grams, others = replayed(one, told.pick_day.shape[1])
    np.testing.assert_allclose(others.transpose(1, 2, 0), told.others, rtol=0, atol=1e-6)
    np.testing.assert_allclose(share, told.share, rtol=0, atol=1e-12)
    np.testing.assert_array_equal(day.transpose(1, 2, 0), told.pick_day)
    np.testing.assert_array_equal(grams.transpose(1, 2, 0), told.pick_grams)
    return list(batches)
