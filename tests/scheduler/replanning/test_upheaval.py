"""What a way to go on changes of what the grower knows, counted by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
import rebalance_case as rc
import verify_case as case

from scheduler.log.state import state_on
from scheduler.replanning.baseline import Taken, go_on_as_planned
from scheduler.replanning.by_living import LITTLE, upheaval
from scheduler.replanning.commitments import Commitments, Option
from scheduler.replanning.search import Found
from scheduler.replanning.take_stock import commitments_of


def known() -> tuple[Commitments, Found]:
    """The plan of `rebalance_case` on day 12, going on as it is; b005 is only planned."""
    c = commitments_of(
        rc.garden(), rc.plan(), state_on(rc.garden(), rc.plan(), rc.log(), case.day(12))
    )
    return c, Found(dict(go_on_as_planned(c).taken))


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
    assert upheaval(c, replace(way, new=[Taken(Option(("A", 3), 0), 60)]), {}) == weight + 1


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
