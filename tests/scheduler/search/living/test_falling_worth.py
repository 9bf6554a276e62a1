"""The worth of a gram falls: by hand, alike in both tellings, and what a search makes of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from living_case import SEED, Lot, lots
from verify_case import LETTUCE, day, garden

from scheduler.batches.candidates import build
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Tier
from scheduler.lived.doubt import Doubt
from scheduler.lived.kitchen import Kitchen
from scheduler.lived.live import live, worth_of
from scheduler.lived.world import world_of
from scheduler.lived.worth import FALLING, FLAT, Taste, worth
from scheduler.schedule import assemble
from scheduler.search.living import improved
from scheduler.search.living.climb import lived
from scheduler.search.living.move import FILL, LIFT, WASTE
from scheduler.solvers.cp_sat import Settings
from scheduler.years.generator import generated_years

STEADY = Settings(workers=1, seed=3, deterministic=0.4)


@pytest.mark.parametrize(
    ("met", "others", "value"),
    [
        (40, 0, 48.0),  # 40 of the first 50 at 1.2
        (80, 0, 84.0),  # 50 x 1.2 + 30 x 0.8
        (100, 0, 100.0),  # a full wish counts as before
        (100, 5, 101.5),  # 5 of another kind at 0.3 more
        (100, 30, 103.0),  # up to a tenth of the wish
    ],
)
@pytest.mark.parametrize("weight", [1.0, 3.0])
def test_by_hand(met: float, others: float, value: float, weight: float) -> None:
    """One group, one week, one year, 100 g wished; as a share of all that is wished."""
    one = [np.array([[[float(x)]]]) for x in (met, others)]
    wish, weights = np.array([[100.0]]), np.array([weight])
    assert worth(*one, wish, weights, FALLING)[0] == pytest.approx(value / 100)
    assert worth(*one, wish, weights, FLAT)[0] == pytest.approx(met / 100)
    steep = worth(*one, wish, weights, Taste(0.5, 0.0))[0]
    assert steep == pytest.approx((0.5 * met + min(met, 50)) / 100)


def two_groups(second: float = 1.0) -> Garden:
    """Three tiers, two crops alike in groups of their own, 400 g a week wished of each."""
    tiers = tuple(Tier(k + 1, "box", 1.0, 4) for k in range(3))
    again = replace(LETTUCE, name="again", title="again")
    return garden(
        season=Season(day(0), day(90)),
        columns=(Column("A", tiers),),
        nursery=Nursery(60, 20.0),
        demands=(
            Demand("first", ("lettuce",), 400.0, day(35), day(84)),
            Demand("second", ("again",), 400.0, day(35), day(84), second),
        ),
        limits=Limits(dry_margin_days=0),
        crops={"lettuce": LETTUCE, "again": again},
    )


def test_of_two_kinds_that_keep_alike_each_is_eaten_in_proportion() -> None:
    g = two_groups()
    g = replace(g, demands=(replace(g.demands[0], crops=("lettuce", "again")),))
    kitchen = Kitchen(g, 1, np.array([0, 0]))
    monday = next(d for d in range(40, 48) if g.season.date(d).weekday() == 0)
    for crop, grams in ((0, 400.0), (1, 200.0)):
        kitchen.put(crop, monday, 20.0, np.array([grams]))
    for d in range(monday, monday + 7):
        kitchen.end_of(d)
    week = int(np.flatnonzero(kitchen.met[0, :, 0])[0])
    # 400 of 600 g: two thirds of each, so 133.3 g of the kind of which there is less.
    assert kitchen.met[0, week, 0] == 400
    assert kitchen.others[0, week, 0] == pytest.approx(400 / 3)
    assert kitchen.kinds[:, :, 0].sum(axis=1) == pytest.approx([400 / 3, 200 / 3])


def share_of_less(g: Garden, taste: Taste) -> float:
    """Share of its wish that the group of which less is eaten gets, of what a search finds."""
    cand, _ = build(g)
    years = generated_years(g, 2, seed=(SEED, 0))
    found = improved(cand, years, [[]], STEADY, taste=taste)
    brought = live(g, assemble.batches(cand, found.stands), years, doubt=Doubt(), seed=3)
    met = brought.met.mean(axis=2).sum(axis=1) / (400 * 50 / 7)
    return float(met.min())


def test_of_two_groups_wished_nearly_alike_neither_is_left_with_little() -> None:
    """A gram of the second is worth 5 % more: flat it gets all there is room for, falling not."""
    g = two_groups(1.05)
    flat, falling = (share_of_less(g, taste) for taste in (FLAT, FALLING))
    assert flat < 0.3
    assert falling > flat + 0.1


@fixed(40)
@given(lots())
def test_the_search_counts_as_is_told(one: Lot) -> None:
    """What the compiled search takes a schedule for, against the telling by arrays."""
    world = world_of(one.garden, one.years, Doubt(), SEED, taste=FALLING)
    nothing = np.full(one.years.count, -np.inf)
    mine = lived(world, one.options, one.rows, one.tiers, nothing, 0.0)
    told = live(
        one.garden, assemble.batches(one.cand, one.stands), one.years, doubt=Doubt(), seed=SEED
    )
    total = float(world.weight @ world.wish.sum(axis=1))
    if total <= 0:
        return
    depth = world.tiers["depth"][one.tiers]
    work = (FILL + 2 * LIFT * depth).sum()
    of_group = world.crops["group"][one.options.rows["crop"][one.rows]]
    names = list(one.garden.crops)
    weight = np.array(
        [
            0.0 if (g := world.crops["group"][names.index(b.crop)]) < 0 else world.weight[g]
            for b in told.batches
        ]
    )
    assert len(of_group) == len(weight)
    picked = np.einsum("b,bky->y", weight, told.pick_grams)
    met = np.einsum("g,gwy->y", world.weight, told.met)
    expected = worth_of(one.garden, told, FALLING) + (WASTE * (met - picked) - work) / total
    np.testing.assert_allclose(mine, expected, rtol=0, atol=1e-9)
