"""The worth of a gram falls: by hand, alike in both tellings, and what a search makes of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from lived_case import mean_years
from living_case import SEED, Lot, lots
from verify_case import LETTUCE, day, garden

from scheduler.batches.candidates import build
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Tier
from scheduler.lived.doubt import NONE, Doubt
from scheduler.lived.kitchen import Kitchen
from scheduler.lived.live import live, wish_by_week, worth_of
from scheduler.lived.world import world_of
from scheduler.lived.worth import FALLING, FLAT, Taste, two_kinds, worth
from scheduler.schedule import assemble
from scheduler.search.living import improved
from scheduler.search.living.climb import lived, tasted
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
        (100, 5, 101.75),  # 5 of another kind at 0.35 more
        (100, 30, 107.0),  # up to a fifth of the wish
        (95, 30, 103.0),  # 60 + 36 + 7: of 95 % of a season's wish there is enough
        (85, 30, 91.5),  # 60 + 28 + 3.5: half of it midway between 75 and 95 %
        (75, 30, 80.0),  # 60 + 20: who is short of a group does not mind one kind
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
    """What the compiled search takes a schedule for, against the telling by arrays.

    A second kind counts more from the first gram to the last of a wish, as far as it is met."""
    taste = Taste(short=0.0, enough=1.0)
    world = world_of(one.garden, one.years, Doubt(), SEED, taste=taste)
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
    expected = worth_of(one.garden, told, taste) + (WASTE * (met - picked) - work) / total
    np.testing.assert_allclose(mine, expected, rtol=0, atol=1e-9)


@pytest.mark.parametrize("share", [0.3, 0.8, 0.9, 1.0])
def test_a_second_kind_counts_alike_in_both_tellings(share: float) -> None:
    """Compiled and by arrays, of a group of which so much of the wish is met."""
    g = two_groups()
    world = world_of(g, mean_years(g, 1), taste=FALLING)
    met = share * world.wish
    others = np.minimum(met, world.wish * np.linspace(0, 0.5, met.shape[1]))
    told = worth(met[:, :, None], others[:, :, None], world.wish, world.weight, FALLING)[0]
    mine = sum(world.weight[k] * tasted(world, k, met[k], others[k]) for k in range(2))
    assert mine / (world.weight @ world.wish.sum(axis=1)) == pytest.approx(told, abs=1e-12)


def weeks_with_two(share: float, weeks: int, taste: Taste) -> int:
    """Weeks with two kinds on the table, of what a search finds.

    Of 800 g a week two batches of 400 g are all there is, as tiers serve once before the season's
    wish is over, and one week each; a batch of the second crop brings a ``share`` of it.
    """
    first = replace(LETTUCE, storage_life=2.0)
    again = replace(first, name="again", title="again", fresh_mass=100.0 * share)
    tiers = tuple(Tier(k + 1, "box", 1.0, 4) for k in range(2))
    g = garden(
        season=Season(day(0), day(27 + 7 * weeks)),
        columns=tuple(Column("ABC"[k], tiers) for k in range(weeks)),
        nursery=Nursery(96, 20.0),
        demands=(Demand("salad", ("lettuce", "again"), 800.0, day(28), day(27 + 7 * weeks)),),
        limits=Limits(dry_margin_days=0),
        crops={"lettuce": first, "again": again},
    )
    cand, _ = build(g)
    years = mean_years(g, 2)
    found = improved(cand, years, [[]], STEADY, taste=taste, doubt=NONE)
    brought = live(g, assemble.batches(cand, found.stands), years, doubt=NONE)
    return int(two_kinds(brought.others, wish_by_week(g))[0, :, 0].sum())


@pytest.mark.parametrize("weeks", [1, 3])
def test_a_second_kind_that_costs_little_is_on_the_table(weeks: int) -> None:
    """It brings 360 g for 400: the 40 g less are worth 40 x 0.8 = 32 g, a fifth of the wish of a
    second kind is worth 160 x 0.35 = 56 g, all of it at (400 + 360) / 800 = 95 % of the wish."""
    assert weeks_with_two(0.9, weeks, FALLING) == weeks
    assert weeks_with_two(0.9, weeks, FLAT) == 0


@pytest.mark.parametrize(("share", "weeks"), [(0.84, 1), (0.8, 3)])
def test_a_second_kind_that_costs_too_much_is_not(share: float, weeks: int) -> None:
    """It brings 336 g for 400: 64 x 0.8 = 51 g less, and a second kind is worth 160 x 0.35 x 0.85 =
    48 g at 92 % of the wish. Of three weeks it may be in one, where all of 160 x 0.35 = 56 g count,
    so there it brings 320 g: 80 x 0.8 = 64 g less."""
    assert weeks_with_two(share, weeks, FALLING) == 0
