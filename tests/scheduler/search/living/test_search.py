"""The best schedule over years: by the search, and by trying every one there is."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest
from draws import fixed
from hypothesis import assume, given
from hypothesis import strategies as st
from living_case import SEED, Lot, lot
from random_gardens import small_gardens

from scheduler.batches.candidates import build
from scheduler.garden.model import Garden
from scheduler.lived.doubt import Doubt
from scheduler.lived.live import live
from scheduler.schedule import assemble
from scheduler.search.living import improved, taken_over
from scheduler.search.living import search as module
from scheduler.search.living.climb import lived
from scheduler.search.living.move import FILL, LIFT, WASTE
from scheduler.search.living.search import _At, _Search
from scheduler.search.living.settle import settled
from scheduler.solvers.cp_sat import Settings

MOST = 1500  # schedules of a garden, broken ones too
STEADY = Settings(workers=1, seed=3, deterministic=0.4)


def lanes(one: Lot, tier: int) -> list[tuple[int, ...]]:
    """Every way to use one tier, batch after batch."""
    rows = one.options.rows
    mine = np.flatnonzero((rows["kind"] == one.options.kind_of[tier]) & (rows["group"] >= 0))
    out: list[tuple[int, ...]] = [()]
    for way in out:  # grows on the way
        free = int(rows["last"][way[-1]]) + one.options.turnaround if way else -1
        out += [(*way, int(r)) for r in mine if rows["start"][r] >= free]
        if len(out) > MOST:
            break
    return out


def schedules(
    one: Lot, ways: list[list[tuple[int, ...]]]
) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    for chosen in product(*ways):
        rows = [r for way in chosen for r in way]
        tiers = [t for t, way in enumerate(chosen) for _ in way]
        yield np.array(rows, dtype=np.int64), np.array(tiers, dtype=np.int64)


def worth(one: Lot, rows: np.ndarray, tiers: np.ndarray) -> float:
    nothing = np.full(one.years.count, -np.inf)
    return float(lived(one.world, one.options, rows, tiers, nothing, 0.0).mean())


@st.composite
def countable(draw: st.DrawFn) -> tuple[Lot, list[list[tuple[int, ...]]]]:
    """A garden with no more schedules than can be tried."""
    garden = draw(small_gardens())
    assume(0 < len(build(garden)[0]) < 300)
    one = lot(garden, years=5)
    ways = [lanes(one, t) for t in range(len(one.options.kind_of))]
    assume(1 < np.prod([len(w) for w in ways]) <= MOST)
    return one, ways


@pytest.mark.slow
@fixed(30)  # ten of them in CI, all where ``DRYLINE_GARDENS`` is ``by-hand``
@given(countable())
def test_the_search_finds_the_best_of_all_schedules(
    found: tuple[Lot, list[list[tuple[int, ...]]]],
) -> None:
    one, ways = found
    best = max(
        worth(one, rows, tiers)
        for rows, tiers in schedules(one, ways)
        if len(settled(one.options, one.depth, one.world.open, rows, tiers)) == len(rows)
    )
    made = improved(one.cand, one.years, [[]], Settings(workers=1, seed=SEED, deterministic=0.4))
    assert made.worth == pytest.approx(best, abs=1e-9)


@fixed(40)
@given(small_gardens())
def test_a_worth_is_what_comes_to_the_table_less_waste_and_work(garden: Garden) -> None:
    """Reckoned once more from the days and grams of `live`."""
    assume(len(build(garden)[0]))
    one = lot(garden, years=4)
    made = improved(one.cand, one.years, [[]], Settings(workers=1, seed=SEED, deterministic=0.02))
    assume(made.stands)
    told = live(
        garden, assemble.batches(one.cand, made.stands), one.years, doubt=Doubt(), seed=SEED
    )
    weights = {d.group: d.weight for d in garden.demands}
    total = max(assemble.wish_total(garden), 1.0)
    weight = np.zeros(len(told.batches))
    for i, batch in enumerate(told.batches):
        wished = garden.demand_of(batch.crop)
        weight[i] = 0.0 if wished is None else weights[wished.group]
    picked = np.einsum("b,bpy->y", weight, told.pick_grams) / total
    work = sum(FILL + 2 * LIFT * (s.tier - 1) for s in made.stands) / total
    expected = told.share - WASTE * (picked - told.share) - work
    assert made.worth == pytest.approx(float(expected.mean()), abs=1e-9)


@pytest.mark.slow
@fixed(40)
@given(small_gardens())
def test_a_plan_taken_over_is_as_it_was_and_never_made_worse(garden: Garden) -> None:
    assume(len(build(garden)[0]))
    one = lot(garden, years=4)
    first = improved(one.cand, one.years, [[]], Settings(workers=1, seed=1, deterministic=0.02))
    again = taken_over(one.cand, assemble.batches(one.cand, first.stands))
    now, before = ({(s.row, s.column, s.tier) for s in made} for made in (again, first.stands))
    assert now == before
    more = improved(one.cand, one.years, [[], again], STEADY)
    assert more.begun <= more.worth


@pytest.mark.parametrize("each", [0.001, 2.0, 5.0])
def test_the_clock_is_looked_at_in_time(monkeypatch: pytest.MonkeyPatch, each: float) -> None:
    """Where a move takes 2 s a search of 20 s ends with the move that it is in, not after 16 for
    each time that it begins anew; where moves are quick, 16 are made between looks."""
    now, made = [0.0], []
    monkeypatch.setattr(module.time, "monotonic", lambda: now[0])

    class Slow(_Search):
        def __init__(self) -> None:
            none = SimpleNamespace(weight=np.ones(1), wish=np.ones((1, 1)))
            self.world = none  # type: ignore[assignment]

        def rank(self, at: _At) -> tuple[int, float]:
            return 0, at.worth

        def go(self, at: _At, best: _At, moves: int, share: float, worker: int) -> tuple[_At, _At]:
            now[0] += moves * each
            made.append(moves)
            return at, best

    start = _At(np.zeros(0, int), np.zeros(0, int), np.zeros(1))
    Slow().side_by_side(start, 20.0, 1, None, None)
    assert 20 <= now[0] < 20 + max(each, 16 * 0.001) + 1e-9
    assert max(made) == (16 if each < 1 else 1)
