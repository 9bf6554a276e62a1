"""Plans of gardens whose columns stand in places: each is sound, by the verifier's own telling."""

from __future__ import annotations

from dataclasses import replace

import pytest
from draws import fixed
from hypothesis import given
from places_case import placed_gardens
from solver_case import rows_of, sound

from scheduler.base.faults import NoPlan
from scheduler.garden.model import Garden
from scheduler.outputs.work import work_items
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify
from scheduler.years.expected import expecting

STEADY = Settings(time_limit=600.0, gap=0.0, seed=1, workers=1, deterministic=0.01)


@fixed(3)
@given(placed_gardens())
def test_every_plan_in_places_is_sound(g: Garden) -> None:
    try:
        season = solve(g, STEADY)
    except NoPlan:
        assert len(rows_of(g)) == 0
        return
    sound(g, season)
    work_items(g, season.plan)


@pytest.mark.slow
@fixed(8)
@given(placed_gardens())
def test_so_it_is_with_years(g: Garden) -> None:
    years = expecting(g, 6, seed=1)
    try:
        season = solve(years, STEADY)
    except NoPlan:
        return
    assert verify(years, replace(season.plan)).ok
