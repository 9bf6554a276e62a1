"""Plans of the example gardens, with the catalogue's crops and a year's weather: they hold as made,
and each slip in any of their batches is caught."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import timedelta
from functools import lru_cache
from pathlib import Path

import pytest
from not_empty import some

from scheduler.batches.candidates import build
from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.model.build import stands
from scheduler.plans import rules as r
from scheduler.plans.model import Batch, Plan, Stage
from scheduler.schedule import assemble
from scheduler.schedule.problem import by_tier
from scheduler.search.by_hand import ByHand
from scheduler.verify import verify

EXAMPLES = Path(__file__).parents[3] / "examples"
DAY = timedelta(days=1)


@lru_cache
def example(name: str) -> tuple[Garden, Plan]:
    """An example garden with the schedule by rules of thumb, which needs no search."""
    garden = load_garden(EXAMPLES / name / "garden.yaml")
    candidates, _ = build(garden)
    problem = by_tier(candidates)
    made = assemble.batches(candidates, stands(problem, ByHand(problem, forward=True).run()))
    table = assemble.serve(garden, made)
    values = {
        "produce": assemble.produce_value(garden, table),
        "evenness": assemble.evenness_value(table),
        "effort": assemble.effort_value(made),
    }
    stages = tuple(Stage(name, "best_found", value, None, 0.0) for name, value in values.items())
    season = garden.season
    return garden, Plan("best_found", stages, season.start, season.end, made, table.unmet())


@pytest.mark.slow
@pytest.mark.parametrize("name", ["balcony", "courtyard"])
def test_it_holds_as_made(name: str) -> None:
    garden, plan = example(name)
    assert len(plan.batches) > 3
    verdict = verify(garden, plan)
    assert verdict.ok, verdict.broken[:5]


def caught(garden: Garden, plan: Plan, old: Batch, *new: Batch) -> dict[str, set[str]]:
    """Rules broken once a batch is replaced, each with all its witnesses."""
    batches = [b for x in plan.batches for b in (new if x.id == old.id else (x,))]
    out: dict[str, set[str]] = {}
    for b in verify(garden, replace(plan, batches=tuple(batches))).broken:
        out.setdefault(b.rule, set()).update(b.witnesses)
    return out


def test_each_slip_in_each_batch_of_the_balcony_is_caught() -> None:
    garden, plan = example("balcony")
    for b in some(plan.batches, 4):
        shift = caught(garden, plan, b, replace(b, transplant=b.transplant + DAY))
        assert b.id in shift[r.CLAIMS.name]  # its levels are those of the day before
        early = tuple(replace(p, date=b.transplant + k * DAY) for k, p in enumerate(b.picks, 1))
        assert b.id in caught(garden, plan, b, replace(b, picks=early))[r.RIPE.name]
        fewer = caught(garden, plan, b, replace(b, picks=b.picks[:-1]))
        # Heads must all be picked; a crop cut again may be cut less often, but then dries sooner.
        heads = garden.crops[b.crop].cuts == 1 or len(b.picks) == 1
        assert b.id in fewer[r.RIPE.name if heads else r.CLAIMS.name]
        assert r.VALUES.name in caught(garden, plan, b)  # left out: less is on the table
        over = garden.nursery.cells + 1
        assert b.id in caught(garden, plan, b, replace(b, cells=over))[r.NURSERY.name]
        level = replace(b.levels[3], litres=b.levels[3].litres - 0.02)
        new = replace(b, levels=(*b.levels[:3], level, *b.levels[4:]))
        assert {b.id, level.date.isoformat()} <= caught(garden, plan, b, new)[r.CLAIMS.name]
        heavy = replace(b, picks=tuple(replace(p, grams=p.grams + 1) for p in b.picks))
        assert b.id in caught(garden, plan, b, heavy)[r.CLAIMS.name]


@pytest.mark.slow
def test_a_batch_doubled_in_its_tier_is_caught() -> None:
    garden, plan = example("courtyard")
    for b in some(plan.batches[::9], 5):
        twin = replace(b, id="twin")
        assert {b.id, "twin"} <= caught(garden, plan, b, b, twin)[r.OCCUPANCY.name]


@pytest.mark.slow
def test_swapped_tiers_are_caught_where_light_or_vessel_differ() -> None:
    garden, plan = example("courtyard")
    swaps = 0
    for b in plan.batches[::21]:
        tiers = next(c.tiers for c in garden.columns if c.name == b.column)
        here = garden.tier(b.column, b.tier)
        for other in tiers:
            if (other.light, other.vessel, other.plants) != (here.light, here.vessel, here.plants):
                found = caught(garden, plan, b, replace(b, tier=other.number))
                assert b.id in found.get(r.CLAIMS.name, set()) | found.get(r.WHOLE_TIER.name, set())
                swaps += 1
    assert swaps > 3


@pytest.mark.clock
def test_speed() -> None:
    """A season of the courtyard in half a second, ten of them side by side in three."""
    garden, plan = example("courtyard")
    began = time.perf_counter()
    verify(garden, plan)
    once = time.perf_counter() - began
    columns = tuple(replace(c, name=f"{c.name}-{k}") for k in range(10) for c in garden.columns)
    batches = tuple(
        replace(b, id=f"{b.id}-{k}", column=f"{b.column}-{k}")
        for k in range(10)
        for b in plan.batches
    )
    began = time.perf_counter()
    verify(replace(garden, columns=columns), replace(plan, batches=batches))
    ten = time.perf_counter() - began
    assert once < 0.5
    assert ten < 3
