"""What all share in a season that is gone on with: just enough, one too few, at 1 and at 3.

`verify_case`: a lettuce of four plants takes 4 cells from its sowing on day 0 to its transplanting
on day 10, is filled that day and picked on day 34 at the latest; a vessel of 2 kg holds 12 L, and 0.4 L less each
day.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
import verify_case as case
from rebalance_case import log

from crops.development import mass_share
from scheduler.batches.candidates import build
from scheduler.garden.model import Column, Garden, Limits, Nursery, Tier
from scheduler.log.state import state_on
from scheduler.plans.model import PLANNED, Batch
from scheduler.replanning.baseline import Kept, go_on_as_planned
from scheduler.replanning.take_stock import commitments_of
from scheduler.replanning.ways_on import Variant, row_of
from scheduler.schedule.check import broken
from scheduler.schedule.problem import Choice, by_tier

PLACES = ("A1", "B1", "C1", "D1")


def within(cells: int = 99, **limits: float | None) -> Garden:
    """Four columns of one tier, with no limit but those named."""
    columns = tuple(Column(place[0], (Tier(1, "box", 1.0, 4),)) for place in PLACES)
    return case.garden(columns=columns, nursery=Nursery(cells), limits=Limits(**limits))  # type: ignore[arg-type]


def many(count: int, apart: bool = False) -> tuple[Batch, ...]:
    """Batches on the same days, or all but their picks and fills on days of their own."""
    return tuple(
        replace(
            case.batch(f"b{n}", "lettuce", PLACES[n], 0 + apart * n, 10 + apart * n, [(34, 4)], 34),
            state=PLANNED,
        )
        for n in range(count)
    )


def gone_on(garden: Garden, batches: tuple[Batch, ...]) -> Kept:
    plan = case.plan(*batches)
    state = state_on(garden, plan, log(of=garden), case.day(0), False, 56)
    return go_on_as_planned(commitments_of(garden, plan, state))


@pytest.mark.parametrize("most", [1, 3])
@pytest.mark.parametrize(
    ("limit", "each", "apart", "why"),
    [
        ("fills_per_day", 1, False, "has room for no more fills"),
        ("picks_per_day", 1, True, "its picks fall on days that are full"),
        ("cells", 4, False, "the nursery has no cells for it"),
    ],
)
def test_going_on_as_planned_takes_all_there_is_and_no_more(
    limit: str, each: int, apart: bool, why: str, most: int
) -> None:
    """So many batches find room where there is just enough; where there is one less the last of
    them is dropped, and where there is one batch more, that."""
    enough = gone_on(within(**{limit: each * most}), many(most, apart))
    assert (len(enough.taken), enough.dropped) == (most, {})
    for short in (
        gone_on(within(**{limit: each * most - 1}), many(most, apart)),
        gone_on(within(**{limit: each * most}), many(most + 1, apart)),
    ):
        assert len(short.dropped) == 1
        assert why in next(iter(short.dropped.values()))


@pytest.mark.parametrize("most", [1, 3])
@pytest.mark.parametrize(
    ("limit", "each", "apart", "what"),
    [
        ("fills_per_day", 1, False, "fills"),
        ("picks_per_day", 1, True, "picks"),
        ("cells", 4, False, "nursery cells"),
    ],
)
def test_the_check_of_schedules_takes_all_there_is_and_no_more(
    limit: str, each: int, apart: bool, what: str, most: int
) -> None:
    for room, good in ((each * most, True), (each * most - 1, False)):
        garden = within(**{limit: room})
        cand, _ = build(garden)
        problem = by_tier(cand)
        table = cand.table
        choices = []
        for n in range(most):
            rows = table[
                (table["transplant"] == 10 + apart * n)
                & (table["first"] == table["last"])
                & ((table["last"] == 34) | (not apart))
                & (table["crop"] == cand.crop_names.index("lettuce"))
            ]
            clear = int(rows["last"].iloc[0])
            choices.append(Choice(problem.decision_of[n, int(rows.index[0])], clear))
        faults = broken(problem, True, choices)
        assert (faults == []) == good
        assert good or what in faults[0]


@pytest.mark.parametrize("limit", [13.5, 12.0, 9.0, 7.0])
def test_a_batch_in_hand_is_light_from_the_day_its_mass_says(limit: float) -> None:
    """On the k-th morning 2 + 12 - 0.4 k kilograms, and four plants of 100 g times their share."""
    garden = replace(case.garden(), limits=Limits(lift_kg=limit))
    kg = [14 - 0.4 * k + 0.4 * float(mass_share(min(k / 20, 1.0))) for k in range(20)]
    light = next(k for k in range(1, 20) if kg[k] <= limit)
    assert kg[light - 1] > limit
    batch = replace(case.heads("b1", "A1", 10), state=PLANNED)
    values = row_of(garden, Variant(batch), 0, 0, case.day(0)).values
    assert values["heavy_until"] == 10 + light
    # The same as in the candidates.
    cand, _ = build(garden)
    rows = cand.table[
        (cand.table["transplant"] == 10)
        & (cand.table["first"] == 30)
        & (cand.table["last"] == 30)
        & (cand.table["crop"] == cand.crop_names.index("lettuce"))
    ]
    assert set(rows["heavy_until"]) == {10 + light}


@pytest.mark.parametrize(("limit", "heavy"), [(6.0, 0), (5.9, 1)])
def test_a_batch_in_hand_is_too_heavy_while_it_waits(limit: float, heavy: int) -> None:
    """Picked after 20 days: 2 kg and 12 - 8 L."""
    garden = replace(case.garden(), limits=Limits(lift_kg=limit))
    batch = replace(case.heads("b1", "A1", 10), state=PLANNED)
    assert row_of(garden, Variant(batch), 0, 0, case.day(0)).values["heavy_after"] == heavy
