"""What a measured EC or pH is answered with."""

from __future__ import annotations

from dataclasses import replace

import pytest
import verify_case as case

from scheduler.log.model import Entry
from scheduler.watch.solution import expected_ec, said_of_solution
from scheduler.words.language import use_language

GARDEN = case.garden()
# Filled on day 10 with 1.6, picked on day 30 with 1.2 left: 0.02 a day.
BATCH = replace(case.heads("b1", "A1", 10), fill_ec=1.6, harvest_ec=1.2)


def said(what: str, amount: float, day: int, batch=BATCH):
    entry = Entry(2, case.day(day), what, "A", 1, "", amount)
    return said_of_solution(GARDEN, batch, entry, "season")


def test_between_fill_and_last_pick_it_goes_in_even_steps():
    assert [expected_ec(BATCH, case.day(d)) for d in (10, 20, 30, 40)] == pytest.approx(
        [1.6, 1.4, 1.2, 1.2]
    )
    assert expected_ec(replace(BATCH, harvest_ec=None), case.day(20)) == 1.6
    assert expected_ec(replace(BATCH, fill_ec=None), case.day(20)) is None


@pytest.mark.parametrize(
    ("what", "amount", "day", "fits"),
    [
        ("ec", 1.5, 10, True),  # a tenth is what a meter shows
        ("ec", 1.49, 10, False),
        ("ec", 1.82, 20, True),  # three tenths of 1.4 are 0.42
        ("ec", 1.83, 20, False),
        ("ph", 6.7, 10, True),  # 5.5 to 6.5, and two tenths
        ("ph", 6.71, 10, False),
        ("ph", 5.3, 20, True),
        ("ph", 5.29, 20, False),
    ],
)
def test_what_is_within_what_a_meter_shows_fits(what, amount, day, fits):
    text = said(what, amount, day)
    assert text.endswith(": it fits.") is fits
    if not fits:
        assert ("dryline mix season --batch b1 --measured-" in text) is (day == 10)
        assert ("Do not add salts or acid where a crop stands" in text) is (day == 20)


def test_where_the_plan_tells_no_strength_nothing_is_compared():
    assert said("ec", 1.0, 20, replace(BATCH, fill_ec=None)) == ""


def test_in_german():
    use_language("de")
    assert said("ec", 1.5, 20).startswith("EC 1,5, etwa 1,4 erwartet: das passt.")
    use_language(None)
