"""A planned batch moved a little costs little in the search by living, as it does when judged."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
import rebalance_case as rc
import verify_case as case
from lived_case import KNOWN, mean_years

from scheduler.garden.model import Garden
from scheduler.lived.worth import FLAT, Taste
from scheduler.log.state import state_on
from scheduler.plans.model import Plan
from scheduler.replanning.baseline import go_on_as_planned
from scheduler.replanning.by_living import LITTLE, SAME_WEEK, lived_on, taken_of
from scheduler.replanning.commitments import Commitments, Item
from scheduler.replanning.near_rows import NearRows, near_rows
from scheduler.replanning.rebalance import made_of
from scheduler.replanning.search import Found
from scheduler.replanning.take_stock import commitments_of
from scheduler.schedule.assemble import Stand
from scheduler.solvers.cp_sat import Settings
from scheduler.years.weather_years import WeatherYears

PLACE = ("B", 1)
WEIGHT = 2  # of b005 on day 12: it is sown 14 days later, within four weeks


def season() -> tuple[Garden, Plan]:
    """The season of `rebalance_case`; b005 is picked on day 56, a Monday, one day after the last
    week that is wished: of no use. A day sooner its 400 g are eaten: of 600 g wished each week the
    others bring half."""
    crops = {name: replace(crop, parameters=KNOWN) for name, crop in rc.garden().crops.items()}
    lettuce, greens = rc.garden().demands
    lettuce = replace(lettuce, grams_per_week=600.0, end=case.day(55))
    late = case.batch("b005", "lettuce", "B1", 26, 36, [(56, 4)], 56)
    batches = tuple(late if b.id == "b005" else b for b in rc.plan().batches)
    garden = replace(rc.garden(), crops=crops, demands=(lettuce, greens))
    return garden, replace(rc.plan(), batches=batches)


def known() -> Commitments:
    g, plan = season()
    return commitments_of(g, plan, state_on(g, plan, rc.log(of=g), case.day(12)))


def planned(c: Commitments, name: str = "b005") -> Item:
    return next(i for i in c.items if i.batch.id == name)


def near(c: Commitments, days: int = SAME_WEEK) -> tuple[NearRows, np.ndarray]:
    kind = next(k for k, one in enumerate(c.cand.kinds) if PLACE in one.places)
    rows = np.flatnonzero(c.cand.table["kind"].to_numpy()[: c.free] == kind)
    return near_rows(c.cand, [planned(c)], {PLACE: rows}, days), rows


@pytest.mark.parametrize("days", [1, 3])
def test_rows_of_its_own_are_what_is_planted_near_its_day(days: int) -> None:
    c = known()
    found, rows = near(c, days)
    table = c.cand.table
    lettuce = c.cand.crop_names.index("lettuce")
    mine = [
        r
        for r in rows.tolist()
        if table["crop"][r] == lettuce and 36 - days <= table["transplant"][r] <= 36 + days
    ]
    assert sorted(row for _, row in found.number) == mine
    assert {place for place, _ in found.number} == {PLACE}
    starts = set(found.cand.table["transplant"][found.first :])
    assert starts == set(range(36 - days, 36 + days + 1))


def test_what_could_stand_beside_it_is_no_move_of_it() -> None:
    # It is picked on day 56; after a day of turnaround another fits beside it.
    found, _ = near(known(), 30)
    starts = found.cand.table["transplant"].to_numpy()[found.first :]
    assert starts.max() == 56
    assert 57 in set(known().cand.table["transplant"])


def test_numbers_are_the_tiers_own_and_are_given_back() -> None:
    c = known()
    found, rows = near(c)
    ((place, old), new), *_ = found.number.items()
    assert new in found.offered(PLACE, rows)
    assert old not in found.offered(PLACE, rows)
    assert (found.offered(("B", 2), rows) == rows).all()
    here, there = Stand(old, *place, 60), Stand(old, "B", 2, 60)
    assert found.taken([here, there]) == [replace(here, row=new), there]
    assert found.given_back(found.taken([here, there])) == [here, there]
    for name in ("pick_day", "pick_plants", "pick_grams"):
        mine = getattr(found.cand, name)
        assert (mine[found.first :] == getattr(c.cand, name)[found.stands_for]).all()
    assert (found.cand.table.iloc[new] == c.cand.table.iloc[old]).all()


@dataclass
class Ahead:
    planning: WeatherYears
    seed: int = 0
    taste: Taste = FLAT

    def grams(self, batches: object) -> float:
        raise AssertionError("the search does not ask")


# 400 g and what is not wasted (3 % of them) are to pay for the move; a new batch costs a price.
@pytest.mark.parametrize("price", [412 / (WEIGHT * LITTLE) - 30, 412 / (WEIGHT * LITTLE) + 30])
def test_a_move_of_a_day_is_made_where_it_pays_for_little_and_not_beyond(price: float) -> None:
    c = known()
    assert planned(c).weight == WEIGHT
    g, plan = season()
    kept = go_on_as_planned(c)
    way = Found(dict(kept.taken))
    assert len(way.taken) == 5
    found = lived_on(
        c,
        kept,
        [way],
        lambda one: made_of(g, plan, c, one),
        Ahead(mean_years(g, 2)),
        price,
        Settings(workers=1, seed=1, deterministic=0.5),
    )
    assert found is not None
    start = c.cand.table["transplant"].to_numpy()
    days = [int(start[t.option.row]) for t in taken_of(found) if t.option.place == PLACE]
    moved = [d for d in days if d not in (10, 36)]
    assert len(found.new) == len(moved)
    if price * WEIGHT * LITTLE < 412:
        assert moved
        assert moved[0] < 36
    else:
        assert not moved
