"""What a way to go on changes of what the grower knows, counted by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
import rebalance_case as rc
import verify_case as case

from scheduler.log.state import state_on
from scheduler.log.tracks import Place
from scheduler.replanning.baseline import Taken, go_on_as_planned
from scheduler.replanning.by_living import LITTLE, upheaval
from scheduler.replanning.commitments import Commitments, Option
from scheduler.replanning.search import Found
from scheduler.replanning.take_stock import commitments_of


def known(day: int = 12) -> tuple[Commitments, Found]:
    """The plan of `rebalance_case` on a day, going on as it is; on day 12 b005 is only planned."""
    c = commitments_of(
        rc.garden(), rc.plan(), state_on(rc.garden(), rc.plan(), rc.log(), case.day(day))
    )
    return c, Found(dict(go_on_as_planned(c).taken))


def planted(c: Commitments, way: Found, *new: tuple[str, Place, int]) -> Found:
    """The way with these planted anew: crop, tier, day of transplanting."""
    numbers = [c.cand.crop_names.index(crop) for crop, _, _ in new]
    table = c.cand.table.copy()
    table.loc[: len(new) - 1, "crop"] = numbers
    table.loc[: len(new) - 1, "transplant"] = [day for _, _, day in new]
    c.cand = replace(c.cand, table=table)
    return replace(way, new=[Taken(Option(place, n), 80) for n, (_, place, _) in enumerate(new)])


def item(c: Commitments, name: str) -> int:
    return next(n for n, i in enumerate(c.items) if i.batch.id == name)


def test_what_goes_on_as_known_changes_nothing() -> None:
    c, way = known()
    assert upheaval(c, way, {}) == 0


@pytest.mark.parametrize("weight", [1, 3])
def test_a_batch_dropped_counts_its_weight_and_a_new_one_counts_one(weight: int) -> None:
    c, way = known()
    n = item(c, "b005")
    c.items[n].weight = weight
    del way.taken[n]
    assert upheaval(c, way, {}) == weight
    # Neither its tier nor its crop.
    assert upheaval(c, planted(c, way, ("chard", ("A", 3), 34)), {}) == weight + 1


@pytest.mark.parametrize("weight", [1, 3])
@pytest.mark.parametrize(("days", "part"), [(7, LITTLE), (-7, LITTLE), (8, 1.0), (-8, 1.0)])
def test_a_batch_moved_within_a_week_counts_little(weight: int, days: int, part: float) -> None:
    c, way = known()
    n = item(c, "b005")
    c.items[n].weight = weight
    del way.taken[n]
    c.cand = replace(c.cand, table=c.cand.table.assign(transplant=34 + days))  # planned on day 34
    way = replace(way, new=[Taken(Option(("B", 1), 0), 80)])
    assert upheaval(c, way, {0: "b005"}) == part * weight


def test_picks_moved_of_what_grows_count_little() -> None:
    c, way = known()
    n = next(i for i, one in enumerate(c.items) if one.begun)
    c.items[n].weight = 4
    other = replace(way.taken[n], clear=way.taken[n].clear + 1)
    assert upheaval(c, replace(way, taken={**way.taken, n: other}), {}) == LITTLE * 4


# Planned on day 3, with the day of transplanting: b002 chard in A1 on day 14, b003 lettuce in A2 on
# day 20, b004 lettuce in B2 on day 24 (b005, lettuce in B1 on day 34, stays).
PLANNED = {"b002": ("chard", ("A", 1), 14), "b003": ("lettuce", ("A", 2), 20)}
PLANNED["b004"] = ("lettuce", ("B", 2), 24)


@pytest.mark.parametrize("weight", [1, 3])
@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(("late", "more"), [(28, 0), (-28, 0), (29, 1), (-29, 1)])
@pytest.mark.parametrize("other", ["crop", "tier"])
def test_another_crop_or_tier_is_one_change(
    weight: int, count: int, late: int, more: int, other: str
) -> None:
    """Up to four weeks later or sooner; beyond, one is dropped and another one added."""
    c, way = known(3)
    new = []
    for name, (crop, place, _) in list(PLANNED.items())[:count]:
        n = item(c, name)
        c.items[n].weight = weight
        c.items[n].batch = replace(c.items[n].batch, transplant=case.day(40))
        del way.taken[n]
        if other == "crop":
            # A third crop's name, so that it pairs with nothing but its tier.
            new.append(("basil", place, 40 + late))
        else:
            new.append((crop, ("B", 3), 40 + late))
    c.cand = replace(c.cand, crop_names=[*c.cand.crop_names, "basil"])
    assert upheaval(c, planted(c, way, *new), {}) == count * weight + count * more


def test_each_is_in_place_of_one() -> None:
    c, way = known(3)
    n = item(c, "b003")
    del way.taken[n]
    c.items[n].weight = 1
    two = (("lettuce", ("B", 3), 20), ("chard", ("A", 2), 20))
    assert upheaval(c, planted(c, way, *two), {}) == 2  # one in place of it, one added
    del way.taken[item(c, "b002")]
    c.items[item(c, "b002")].weight = 1
    # The nearest would take the chard's tier from it: as many pairs as there can be.
    two = (("lettuce", ("A", 1), 18), ("lettuce", ("A", 3), 30))
    assert upheaval(c, planted(c, way, *two), {}) == 2


def test_what_is_planted_for_a_moved_batch_replaces_no_other() -> None:
    c, way = known(3)
    for name in ("b003", "b004"):
        c.items[item(c, name)].weight = 1
        del way.taken[item(c, name)]
    # The first is b003 a day later, the second stands in for b004.
    new = planted(c, way, ("lettuce", ("A", 2), 21), ("chard", ("B", 2), 24))
    assert upheaval(c, new, {0: "b003"}) == LITTLE + 1
    c, way = known(3)
    c.items[item(c, "b003")].weight = 1
    del way.taken[item(c, "b003")]
    # The second is added beside it, though in its crop.
    new = planted(c, way, ("lettuce", ("A", 2), 21), ("lettuce", ("A", 3), 21))
    assert upheaval(c, new, {0: "b003"}) == LITTLE + 1


def test_seedlings_given_up_for_another_crop_are_two_changes() -> None:
    c, way = known(12)  # b003 was sown on day 10
    n = item(c, "b003")
    c.items[n].weight = 1
    del way.taken[n]
    assert upheaval(c, planted(c, way, ("chard", ("A", 2), 20)), {}) == 2
