"""What who knew the weather could bring at most: above all that is lived, and reached by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from lived_case import bed, head, mean_years, thirstier
from living_case import SEED, Lot, lots
from places_case import placed_gardens
from verify_case import CHARD, LETTUCE, day

from crops.crop import Crop
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Tier
from scheduler.lived.doubt import NONE, Doubt
from scheduler.lived.live import live
from scheduler.schedule import assemble
from scheduler.search.foreseen import foreseen
from scheduler.search.living import improved
from scheduler.solvers.cp_sat import Settings

NODES = 200


def above_what_is_lived(one: Lot) -> None:
    """Of batches in each other's way and of a plan searched for, in each of the years."""
    most = foreseen(one.garden, one.years, range(one.years.count), 0, Doubt(), SEED, nodes=NODES)
    assert most.years == tuple(range(one.years.count))
    searched = improved(
        one.cand, one.years, [[]], Settings(workers=1, seed=SEED, deterministic=0.05)
    )
    for stands in (one.stands, searched.stands):
        batches = assemble.batches(one.cand, stands)
        told = live(one.garden, batches, one.years, doubt=Doubt(), seed=SEED)
        assert (told.share <= most.most + 1e-9).all()


@fixed(16)
@given(lots())
def test_no_year_brings_more(one: Lot) -> None:
    above_what_is_lived(one)


@pytest.mark.slow
@fixed(5)
@given(lots(gardens=placed_gardens))
def test_nor_where_columns_stand_in_places(one: Lot) -> None:
    above_what_is_lived(one)


def wednesdays(crop: Crop, last: int = 41, **changes: object) -> Garden:
    """Three tiers worked at on Wednesdays, the third day of a week alone.

    Seedlings sown on day 2 are fit on day 12 and keep until 18; transplanted on day 16 heads are
    ripe on day 36 and picked on day 37. Nothing sown later is ripe by day 41.
    """
    garden = replace(
        bed(),
        season=Season(day(0), day(last), work_days=(2,)),
        columns=(Column("A", tuple(Tier(k, "box", 1.0, 4) for k in (1, 2, 3))),),
        nursery=Nursery(400, 20.0),
        demands=(Demand(crop.group, (crop.name,), 7_000.0, day(35), day(last)),),
        limits=Limits(dry_margin_days=0, young=1.0),
        crops={crop.name: replace(crop, nursery_wait=6.0)},
    )
    return replace(garden, **changes)  # type: ignore[arg-type]


def grams(garden: Garden, thirst: float = 1.0) -> float:
    years = thirstier(mean_years(garden), thirst)
    found = foreseen(garden, years, [0], 0, NONE, SEED, nodes=NODES)
    assert found.proven == 1
    return float(found.most[0]) * assemble.wish_total(garden)


# A head has 100 g, and half a gram is allowed for each: 4 heads a tier.
TIER = 4 * 100.5


@pytest.mark.parametrize("tiers", [1, 2, 3])
def test_shared_limits_hold(tiers: int) -> None:
    """So many fills on day 16, picks on day 37, or cells from day 2 on, 4 for each tier."""
    limits = Limits(dry_margin_days=0, young=1.0)
    for changes in (
        {"limits": replace(limits, fills_per_day=tiers)},
        {"limits": replace(limits, picks_per_day=tiers)},
        {"nursery": Nursery(4 * tiers + 3, 20.0)},
    ):
        assert grams(wednesdays(LETTUCE, **changes)) == pytest.approx(tiers * TIER, rel=0.003)


def test_a_tier_holds_one_batch_after_the_other() -> None:
    """Day 16 to 37, then 44 to 65 with a day between: by day 69 twice; by day 62 only once."""
    assert grams(wednesdays(LETTUCE, last=69)) == pytest.approx(6 * TIER, rel=0.003)
    assert grams(wednesdays(LETTUCE, last=62)) == pytest.approx(3 * TIER, rel=0.003)
    still = Limits(dry_margin_days=0, young=1.0, turnaround_days=8)  # 45: the next is 51, ripe 71
    assert grams(wednesdays(LETTUCE, last=69, limits=still)) == pytest.approx(3 * TIER, rel=0.003)


def test_the_tier_must_last() -> None:
    """4 plants drink 0.4 L a day of 10.8: at 1.25 times as much 21.6 days, at 1.4 times 19.3."""
    assert grams(wednesdays(LETTUCE), 1.25) == pytest.approx(3 * TIER, rel=0.003)
    assert grams(wednesdays(LETTUCE), 1.4) == 0


def test_what_is_ripe_keeps_for_its_hold() -> None:
    """Ripe on day 36, picked on 37."""
    assert grams(wednesdays(replace(LETTUCE, hold=1.0))) == pytest.approx(3 * TIER, rel=0.003)
    over = replace(LETTUCE, hold=0.0, after_hold=1.0)
    assert grams(wednesdays(over)) == 0
    # Of what loses its worth over 2, 3 or 4 days one has gone by: it is lived so too.
    for days, share in ((2.0, 1 / 2), (3.0, 2 / 3), (4.0, 3 / 4)):
        garden = wednesdays(replace(over, after_hold=days))
        most = grams(garden)
        assert most == pytest.approx(3 * 400 * share, rel=0.012)
        batches = [
            replace(head(37), id=f"b{k}", tier=k, sow=day(2), transplant=day(16)) for k in (1, 2, 3)
        ]
        told = live(garden, batches, mean_years(garden))
        assert told.pick_grams.sum() == pytest.approx(3 * 400 * share, abs=3)
        assert told.pick_grams.sum() <= most


def test_what_has_bolted_is_lost() -> None:
    """Every day is long: on day 37 it has stood 21 of them."""
    long = replace(LETTUCE, bolt_daylength=12.0, bolt_days=21.0)
    assert grams(wednesdays(long)) == pytest.approx(3 * TIER, rel=0.003)
    assert grams(wednesdays(replace(long, bolt_days=20.0))) == 0


def test_what_freezes_is_lost() -> None:
    """20 degrees every night: who dies below 21 never lives, who bears 20 does."""
    tender = replace(LETTUCE, kill_temperature=21.0, kill_hardened=21.0)
    assert grams(wednesdays(tender)) == 0
    assert grams(wednesdays(replace(tender, kill_temperature=20.0))) > 0


@pytest.mark.parametrize(("interval", "share"), [(7.0, 1.0), (8.0, 0.6)])
def test_a_second_cut_grows_back_first(interval: float, share: float) -> None:
    """Cut on day 37, and on 44 if a week is enough: 60 and 40 % of 4 x 150 g in each tier."""
    chard = replace(CHARD, cut_interval=interval)
    assert grams(wednesdays(chard, last=48)) == pytest.approx(3 * 600 * share, rel=0.004)


def test_the_mean_of_more_years_is_no_one_years() -> None:
    """A dry year and a usual one: half of what a usual one brings, each told by itself."""
    garden = wednesdays(LETTUCE)
    years = mean_years(garden, 2)
    years = replace(years, et0=years.et0 * np.array([[1.4], [1.0]]))
    found = foreseen(garden, years, [1, 0], 0, NONE, SEED, nodes=NODES)
    assert found.years == (1, 0)
    most = found.most * assemble.wish_total(garden)
    assert most == pytest.approx([3 * TIER, 0], rel=0.003)
