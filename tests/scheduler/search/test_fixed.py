"""Batches that are fixed, and crops that may never stand in a tier: what the search makes of them.

Day 0 is a Monday. A lettuce is fit 10 days after sowing, ready 20 after transplanting, holds 5.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from solver_case import STEADY, exact, tiny
from verify_case import day

from scheduler.base.faults import NoPlan
from scheduler.batches import candidates as c
from scheduler.batches.candidates import build
from scheduler.batches.fixed import fixed_rows
from scheduler.garden.model import Fixed, Garden, Never
from scheduler.lived.worth import FALLING
from scheduler.plans.model import Plan
from scheduler.search.living import improved
from scheduler.search.solve import solve
from scheduler.verify import verify
from scheduler.years.generator import generated_years


def fix(g: Garden, *days: int, tier: int = 1, picks: tuple[int, ...] = ()) -> Garden:
    on = tuple(day(d) for d in picks)
    return replace(g, fixed=tuple(Fixed("lettuce", "A", tier, day(d), on) for d in days))


def planted(plan: Plan, tier: int = 1) -> list[int]:
    return sorted((b.transplant - day(0)).days for b in plan.batches if b.tier == tier)


@pytest.mark.parametrize("settled", [(17,), (11, 40, 70)])
def test_a_plan_holds_what_is_fixed_and_grows_round_it(settled: tuple[int, ...]) -> None:
    """The garden alone grows batches on 10, 31, 52 and so on: none of those that are fixed."""
    g = fix(tiny(100), *settled)
    season = solve(g, STEADY)
    assert set(settled) <= set(planted(season.plan))
    # After 17 there is room from 38 and from 59 on, none before: 10 to 30. Of three, 11 to 31, 40
    # to 60 and 70 to 90, none is 20 days apart.
    assert len(season.plan.batches) == 3
    assert verify(g, season.plan).ok
    assert season.plan.stages[0].value == pytest.approx(exact(g)[0])


def test_its_picks_are_as_told_or_the_plan_chooses() -> None:
    g = fix(tiny(60), 10, picks=(33,))
    (batch,) = [b for b in solve(g, STEADY).plan.batches if b.transplant == day(10)]
    assert [p.date for p in batch.picks] == [day(33)]
    (_, told), (_, free) = (fixed_rows(build(x)[0])[0] for x in (g, fix(tiny(60), 10)))
    assert len(told) == 1
    assert len(free) > 1


@pytest.mark.parametrize(("first", "kept"), [(31, True), (30, False)])
def test_what_is_in_its_way_is_no_candidate(first: int, kept: bool) -> None:
    """Planted on 10, picked on 30 and cleared then, a tier is free again on the day after."""
    cand, _ = build(fix(tiny(100), 10))
    start = cand.table["transplant"].to_numpy(int)
    assert bool((start == first).any()) is kept
    assert set(start[start <= 30].tolist()) == {10}


def test_one_that_no_rule_allows_is_refused_and_so_are_those_that_cannot_all_be() -> None:
    assert solve(fix(tiny(31), 10), STEADY).plan.batches
    with pytest.raises(NoPlan, match=r"These fixed batches cannot be:\n  lettuce in A 1"):
        solve(fix(tiny(31), 9), STEADY)  # sown on day 0 it is fit on day 10
    # Four cells each in the nursery up to day 10: three batches need twelve.
    three = tuple(Fixed("lettuce", name, 1, day(10)) for name in "ABC")
    enough = tiny(40, columns="ABC", cells=12)
    assert len(solve(replace(enough, fixed=three), STEADY).plan.batches) == 3
    with pytest.raises(NoPlan, match="cannot all be.\nWhat stands against it: cells") as caught:
        solve(replace(tiny(40, columns="ABC", cells=11), fixed=three), STEADY)
    # Any of them can make way.
    assert str(caught.value).splitlines()[3:] == [
        f"  lettuce in {n} 1, planted 15 April" for n in "ABC"
    ]


@pytest.mark.slow
def test_the_search_by_living_keeps_them() -> None:
    g = fix(tiny(100, tiers=2, lift_kg=13.5), 17, tier=2)
    season = solve(g, STEADY)
    years = generated_years(g, 3, seed=(1, 0))
    little = replace(STEADY, deterministic=0.05)
    found = improved(season.cand, years, [season.stands], little, taste=FALLING)
    start = season.cand.table["transplant"].to_numpy(int)
    assert ("A", 2, 17) in {(s.column, s.tier, int(start[s.row])) for s in found.stands}
    assert found.worth >= found.begun


@pytest.mark.parametrize(
    ("first", "last", "starts"),
    [
        (0, 9, list(range(10, 23))),
        (0, 11, list(range(12, 23))),
        (33, 42, list(range(10, 13))),
        # Three days, on which nothing stands: picked by 29, or planted from 33 on (not ready).
        (30, 32, []),
    ],
)
def test_never_leaves_out_what_stands_there_then(first: int, last: int, starts: list[int]) -> None:
    """In 43 days what is planted from 10 to 22 is ready by the last, 42."""
    g = tiny(43)
    tier = replace(g.columns[0].tiers[0], never=(Never(("lettuce",), day(first), day(last)),))
    g = replace(g, columns=(replace(g.columns[0], tiers=(tier,)),))
    cand, windows = build(g)
    found = sorted(set(cand.table["transplant"].to_numpy(int).tolist()))
    assert found == starts
    assert (cand.pick_day[cand.pick_day < c.NEVER] < first).all() or first == 0
    why = windows[0].reason[np.isin(windows[0].starts, np.arange(first, last + 1))]
    assert {c.FORBIDDEN} >= {x for x in why.tolist() if x not in (c.NO_SEEDLING, c.NO_DAY)}
