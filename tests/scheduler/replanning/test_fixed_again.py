"""A plan made again, and one made from what stands, hold what the grower has fixed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
import rebalance_case as rc
import verify_case as case
from standing_case import write

from scheduler.base.faults import NoPlan
from scheduler.garden.model import Fixed
from scheduler.plans.model import GROWING
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import plan_season
from scheduler.verify import verify

B005 = Fixed("lettuce", "B", 1, case.day(34))  # the last batch of `rebalance_case.plan`


@pytest.mark.parametrize("fixed", [(), (B005,)])
def test_a_batch_that_nobody_needs_any_more_stays_where_it_is_fixed(
    fixed: tuple[Fixed, ...],
) -> None:
    """Lettuce is wished up to day 41 now: what is picked on day 54 meets nothing."""
    g = rc.garden()
    lettuce = replace(g.demands[0], end=case.day(41))
    g = replace(g, demands=(lettuce, g.demands[1]), fixed=fixed)
    done = rc.go(6, within=g, anyway=True, change_grams=0.0)
    there = {(b.crop, b.column, b.tier, b.transplant) for b in done.plan.batches}
    assert (("lettuce", "B", 1, case.day(34)) in there) is bool(fixed)
    assert verify(g, done.plan).ok


@pytest.mark.slow
@pytest.mark.parametrize("day", ["2027-06-28", "2027-07-05"])
def test_beside_what_stands_a_fixed_batch_is_planted_on_its_day(tmp_path: Path, day: str) -> None:
    told = f"""standing:
  - {{crop: leaf_lettuce, column: A, tier: 1, planted_on: 2027-05-20, level: 26 cm}}
fixed:
  - {{crop: leaf_lettuce, column: B2, tier: 1, planted_on: {day}}}
"""
    path = write(tmp_path, told, until="2027-08-08")
    made = plan_season(path, Settings(time_limit=4.0, workers=1))
    assert verify(made.garden, made.plan).ok
    planted = [b.transplant for b in made.plan.batches if b.column == "B2" and b.state != GROWING]
    assert date.fromisoformat(day) in planted


@pytest.mark.slow
def test_where_something_else_stands_it_cannot_be(tmp_path: Path) -> None:
    """Planted on 5 June the lettuce of A 1 stands beyond 28 June."""
    told = """standing:
  - {crop: leaf_lettuce, column: A, tier: 1, planted_on: 2027-06-05}
fixed:
  - {crop: leaf_lettuce, column: A, tier: 1, planted_on: 2027-06-28}
"""
    path = write(tmp_path, told, until="2027-08-08")
    with pytest.raises(NoPlan, match="leaf lettuce in A 1, planted 28 June"):
        plan_season(path, Settings(time_limit=4.0, workers=1))
