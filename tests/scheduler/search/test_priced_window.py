"""Lean windows: what they offer, and that what they leave out can still be found."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from solver_case import STEADY, rows_of, tiny
from test_improve import goals

from scheduler.garden.file import load_garden
from scheduler.model.build import build_model
from scheduler.model.linear import relax
from scheduler.model.reduced import keeping_cuts
from scheduler.schedule.problem import Problem, by_tier, pooled
from scheduler.search import improve
from scheduler.search.goal import Incumbent
from scheduler.search.improve import Improver
from scheduler.search.priced_window import CHEAP_EACH, cheap_decisions
from scheduler.search.window import Opener, Window
from scheduler.solvers.cp_sat import Settings

BENCH = Path(__file__).parents[2] / "bench" / "gardens"


@cache
def courtyard() -> tuple[Problem, np.ndarray]:
    problem = by_tier(rows_of(load_garden(BENCH / "courtyard-13.yaml")))
    found = cheap_decisions(problem, goals(problem)[0].expression, 60.0)
    assert found is not None
    return problem, found


@pytest.mark.slow
def test_so_many_for_each_kind_of_tier() -> None:
    problem, found = courtyard()
    kinds = {place.kind for place in problem.places}
    assert (
        len(np.unique(problem.row_of[found]))
        == CHEAP_EACH * len(kinds)
        < len(pooled(problem.cand)) / 4
    )
    # Tiers that are alike are offered the same.
    twins = [p for p, place in enumerate(problem.places) if place.kind == problem.places[0].kind]
    assert len(twins) > 1
    offered = {tuple(problem.row_of[found & (problem.place_of == p)]) for p in twins}
    assert len(offered) == 1


def bound(problem: Problem) -> float:
    built = build_model(problem, access=False)
    keeping_cuts(built)
    built.model.maximize(built.produce.value())
    got = relax(built.model, True, 60.0)
    assert got is not None
    return got.bound


@pytest.mark.slow
def test_they_lose_next_to_nothing_of_the_relaxation() -> None:
    """With the cheapest fifth of all; as many of the others, drawn by chance, lose more."""
    problem, found = courtyard()
    pool = pooled(problem.cand)
    rows = np.unique(problem.row_of[found])
    all_of_it = bound(pool)
    assert bound(pool.restricted(np.flatnonzero(np.isin(pool.row_of, rows)))) > 0.999 * all_of_it
    others = np.flatnonzero(~np.isin(pool.row_of, rows))
    drawn = np.random.default_rng(1).choice(others, len(rows), replace=False)
    assert bound(pool.restricted(np.sort(drawn))) < 0.98 * all_of_it


def test_a_small_garden_has_none() -> None:
    problem = by_tier(rows_of(tiny(60)))
    assert cheap_decisions(problem, goals(problem)[0].expression, 60.0) is None


def test_a_cheap_window_offers_nothing_else() -> None:
    problem = by_tier(rows_of(tiny(60, tiers=2)))
    opener = Opener(problem, True, STEADY)
    opener.cheap = np.zeros(len(problem), dtype=bool)
    opener.cheap[::5] = True
    full, _ = opener._model(Window(0, 60, False, False, 1), [])
    less, _ = opener._model(Window(0, 60, False, True, 1), [])
    assert full.tolist() == list(range(len(problem)))
    assert less.tolist() == list(range(0, len(problem), 5))


@pytest.mark.slow
@pytest.mark.parametrize(("share", "finds"), [(improve.CHEAP, True), (1.0, False)])
def test_what_is_left_out_can_still_be_found(
    share: float, finds: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every tenth window or so offers all; if none did, what is not cheap could not be found."""
    monkeypatch.setattr(improve, "CHEAP", share)
    problem = by_tier(rows_of(tiny(60)))
    settings = Settings(workers=1, seed=1, deterministic=100.0)
    improver = Improver(problem, True, settings)
    improver.opener.cheap = np.zeros(len(problem), dtype=bool)
    best = improver.run(goals(problem)[0], Incumbent([], 0.0), 300.0)
    assert (best.value > 0) == finds


def test_later_stages_have_no_cheap_windows() -> None:
    """What is cheap for the most produce need not be what makes it even."""
    problem = by_tier(rows_of(tiny(60)))
    improver = Improver(problem, True, STEADY)
    improver.opener.cheap = np.zeros(len(problem), dtype=bool)
    for goal, expected in zip(goals(problem), (True, False, False), strict=True):
        r = improver.begin(goal, 60.0)
        drawn = [improver._draw(r, []) for _ in range(40)]
        assert any(w.cheap for w in drawn) == expected
