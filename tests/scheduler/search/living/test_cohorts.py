"""A large garden by a sample of its columns: who follows whom, and that nothing is overdrawn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from lived_case import bed, mean_years
from verify_case import LETTUCE, day

from scheduler.batches.candidates import Candidates, build
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Tier
from scheduler.lived.live import live
from scheduler.schedule import assemble
from scheduler.schedule.assemble import Stand
from scheduler.search.living import improved
from scheduler.search.living.cohorts import cohorts, of_the_sample, spread, within
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import choosing
from scheduler.usecases.choosing import best_lived
from scheduler.usecases.promising import YearsOf
from scheduler.verify.check import verify


def rows_of(*kinds: tuple[str, int, float], **changes: object) -> Garden:
    """Columns of two tiers, so many of each name, with so much light on all of them."""
    columns = tuple(
        Column(f"{name}{k}", tuple(Tier(n, "box", light, 4) for n in (1, 2)))
        for name, count, light in kinds
        for k in range(count)
    )
    garden = replace(
        bed(),
        columns=columns,
        season=Season(day(0), day(48)),
        demands=(Demand("lettuce", ("lettuce",), 400.0 * len(columns), day(28), day(48)),),
    )
    return replace(garden, **changes)  # type: ignore[arg-type]


def first_of(cand: Candidates, garden: Garden) -> list[Stand]:
    """In every tier the first batch that can be, all on the same days."""
    out = []
    for k, kind in enumerate(cand.kinds):
        mine = np.flatnonzero(cand.table["kind"].to_numpy(int) == k)
        row = int(mine[np.argmin(cand.table["transplant"].to_numpy(int)[mine])])
        last = int(cand.table["last"].to_numpy(int)[row])
        out += [Stand(row, *place, last) for place in kind.places]
    return out


def test_each_follows_one_like_it_and_as_many_each() -> None:
    """24 tiers for a sample of 8: of 8 bright columns 8 x 8 / 24 = 2.7, so 3; of 4 dim ones 1."""
    garden = rows_of(("bright", 8, 1.0), ("dim", 4, 0.7))
    them = cohorts(build(garden)[0], tiers=8)
    assert them is not None
    followed = list(them.follows.values())
    assert set(them.follows) == {c.name for c in garden.columns}
    assert all(one[:3] == other[:3] for one, other in them.follows.items())
    counts = sorted(followed.count(name) for name in set(followed))
    assert counts == [2, 3, 3, 4]
    assert them.columns == 4
    assert all(them.follows[name] == name for name in set(followed))


def test_wishes_and_limits_are_cut_to_the_share_of_the_tiers() -> None:
    """4 of 12 columns: a third, limits in whole numbers rounded down, but never to nothing."""
    limits = Limits(fills_per_day=8, picks_per_day=2, minutes_per_day=90.0)
    garden = rows_of(("bright", 8, 1.0), ("dim", 4, 0.7), nursery=Nursery(100, 20.0), limits=limits)
    them = cohorts(build(garden)[0], tiers=8)
    assert them is not None
    part = them.cand.garden
    assert part.demands[0].grams_per_week == pytest.approx(1600)
    assert (part.limits.fills_per_day, part.limits.picks_per_day) == (2, 1)
    assert part.limits.minutes_per_day == pytest.approx(30)
    assert part.nursery.cells == 33


def test_too_many_kinds_have_no_sample() -> None:
    garden = rows_of(*((f"kind{k}-", 1, 1 - k / 100) for k in range(5)))
    cand = build(garden)[0]
    assert cohorts(cand, tiers=4, most=9) is None
    found = cohorts(cand, tiers=4, most=10)
    assert found is not None
    assert found.columns == 5


def test_what_the_sample_does_is_done_by_all() -> None:
    garden = rows_of(("bright", 8, 1.0), ("dim", 4, 0.7))
    cand = build(garden)[0]
    them = cohorts(cand, tiers=8)
    assert them is not None
    everywhere = first_of(cand, garden)
    mine = of_the_sample(them, everywhere)
    assert len(mine) == 8
    assert sorted(spread(cand, them, mine), key=str) == sorted(everywhere, key=str)


@pytest.mark.parametrize("limit", [1, 3])
def test_what_all_share_is_never_overdrawn(limit: int) -> None:
    """24 batches on the same days: so many fills, picks, or cells of 4 for each batch."""
    none = Limits(dry_margin_days=0, young=1.0)
    for changes in (
        {"limits": replace(none, fills_per_day=limit)},
        {"limits": replace(none, picks_per_day=limit)},
        {"nursery": Nursery(4 * limit + 3, 20.0)},
    ):
        garden = rows_of(("bright", 8, 1.0), ("dim", 4, 1.0), **changes)
        cand = build(garden)[0]
        kept = within(cand, first_of(cand, garden))
        assert len(kept) == limit


@pytest.mark.slow
def test_a_large_garden_keeps_every_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    """120 columns of two tiers, in years that are warmer and colder than each other by turns."""
    limits = Limits(fills_per_day=30, picks_per_day=40, dry_margin_days=1)
    crops = {"lettuce": LETTUCE}
    garden = rows_of(
        ("bright", 80, 1.0), ("dim", 40, 0.45), limits=limits, crops=crops, nursery=Nursery(700)
    )
    known = YearsOf(garden, 4, seed=1)
    monkeypatch.setattr(choosing, "LEAST_SAMPLED", 7.0)  # seconds: enough for so small a garden
    settings = Settings(time_limit=7.0, seed=1, workers=1)
    made = best_lived(known.garden, garden, 4, known.choosing, settings, 1, planning=known.planning)
    verdict = verify(replace(made.garden, limits=garden.limits), made.plan)
    assert verdict.ok, verdict.broken
    assert made.sample is None or 1 <= made.sample < 120


def test_living_a_sample_finds_what_the_whole_has_too() -> None:
    """Of steady years a batch after the other in each tier: as much per column as by itself."""
    garden = rows_of(("bright", 6, 1.0))
    cand = build(garden)[0]
    them = cohorts(cand, tiers=4)
    assert them is not None
    years = mean_years(garden, 2)
    settings = Settings(workers=1, seed=2, deterministic=0.1)
    found = improved(them.cand, years, [[]], settings)
    batches = assemble.batches(cand, spread(cand, them, found.stands))
    share = live(garden, batches, years).share.mean()
    part = live(them.cand.garden, assemble.batches(them.cand, found.stands), years).share.mean()
    assert share == pytest.approx(part, abs=1e-9)
    assert share > 0
