"""What cold and heat leave to grow in seven climates: refused with the reason, or offered.

The monthly normals are invented, each plausible for its kind of climate. What is expected where:
- Winter at 44 degrees north: nothing overwinters in the open; lettuce goes out in April. A warm
  seedling set out in a December of frosts is lost (classes of damage: Wilson, Payne & Boyd 2023, Scientific Reports 13:8254, table 2).
- 61 and 65 degrees north: hardy greens from May, lettuce in June, no basil (chilling, FAO frost
  protection 2005, chapter 4: crops of tropical origin are harmed below about 12.5 degC).
- Desert: summer kills; the winter is the season (common practice, no source).
- Humid tropics: no spinach, parsley or coriander; pak choi and basil all year (common practice, no
  source; spinach in solution above 26 degC: see `tests/crops/test_survival.py`).
- Spinach that is slow to bolt grows at 55 and 65 degrees north in its season, quick kinds do not;
  pak choi bolts where every day is cold and long (Scientia Horticulturae 25(3):217-224, 1985,
  abstract: Chinese cabbage after one to three weeks at 12 degC).
- A cold coast grows kale and lettuce in its summer and no basil.
- The southern half of the year is turned round.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import pandas as pd
import pytest
from verify_case import garden

from crops import climate
from crops.catalogue import catalogue
from scheduler.batches.window_reasons import BOLTS, COLD, HEAT, WORKS
from scheduler.batches.windows import sow_windows
from scheduler.garden.model import Column, Limits, Nursery, Season, Site, Tier
from scheduler.years.expected import expecting

# Latitude, tmin and tmax of the months [degC].
CLIMATES = {
    "continental 44 N": (
        44.0,
        (-5.5, -4.5, -0.5, 4.5, 9.5, 13.5, 16.0, 15.5, 11.5, 6.0, 1.0, -3.5),
        (1.5, 3.5, 8.5, 14.5, 20.0, 24.5, 27.5, 26.5, 22.0, 15.0, 8.0, 3.0),
    ),
    "61 N": (
        61.0,
        (-9.0, -9.0, -6.0, -1.0, 4.0, 9.0, 12.0, 11.0, 6.0, 2.0, -2.0, -6.0),
        (-3.0, -2.0, 2.0, 8.0, 15.0, 19.0, 22.0, 20.0, 14.0, 8.0, 3.0, -1.0),
    ),
    "65 N": (
        65.0,
        (-14.0, -13.0, -9.0, -3.0, 2.0, 8.0, 11.0, 9.0, 4.0, -1.0, -7.0, -11.0),
        (-7.0, -6.0, -1.0, 5.0, 12.0, 18.0, 20.0, 18.0, 12.0, 5.0, -1.0, -4.0),
    ),
    "desert": (
        27.0,
        (8.0, 10.0, 13.0, 18.0, 23.0, 26.0, 28.0, 28.0, 25.0, 20.0, 14.0, 9.0),
        (20.0, 23.0, 27.0, 33.0, 38.0, 41.0, 42.0, 42.0, 39.0, 34.0, 27.0, 21.0),
    ),
    "humid tropics": (
        1.5,
        (24.0, 24.0, 24.0, 24.0, 24.5, 24.5, 24.5, 24.5, 24.0, 24.0, 24.0, 24.0),
        (31.0, 32.0, 32.5, 33.0, 33.0, 32.5, 32.0, 32.0, 32.0, 32.0, 31.5, 31.0),
    ),
    "cold coast": (
        55.0,
        (-4.0, -4.0, -3.0, -1.0, 2.0, 5.0, 8.0, 9.0, 6.0, 2.0, -1.0, -3.0),
        (1.0, 1.0, 2.0, 4.0, 8.0, 11.0, 13.0, 14.0, 11.0, 7.0, 4.0, 2.0),
    ),
    "43 S": (
        -43.0,
        (12.0, 12.0, 10.0, 7.0, 4.0, 2.0, 1.5, 2.5, 4.5, 6.5, 8.5, 10.5),
        (22.0, 22.0, 20.0, 17.0, 14.0, 11.0, 10.5, 12.0, 14.5, 17.0, 19.0, 21.0),
    ),
}
HOT = ("desert", "humid tropics")  # where vessels are white, or wrapped
CROPS = {
    **catalogue(),
    "slow_spinach": replace(catalogue()["spinach"], name="slow_spinach", slow_to_bolt=True),
}
START, END = date(2027, 1, 1), date(2028, 5, 30)


@cache
def codes(place: str, crop: str, wrapped: bool = True) -> dict[date, str]:
    """Why each day to transplant works or not, with the 20 years a plan has unless told."""
    latitude, low, high = CLIMATES[place]
    normals = pd.DataFrame({"month": range(1, 13), "tmin": low, "tmax": high})
    rows = climate.monthly_to_daily(normals, START, END + timedelta(days=120))
    made = garden(
        site=Site(latitude, 100.0, climate.weather(rows, latitude, 100.0)),
        season=Season(START, END),
        columns=(Column("A", (Tier(1, "box", 1.0, 1),)),),
        nursery=Nursery(40, 20.0),
        demands=(),
        limits=Limits(dry_margin_days=0),
        crops={crop: CROPS[crop]},
    )
    box = replace(made.vessels["box"], wall="white" if place in HOT and wrapped else "grey")
    made = replace(made, vessels={"box": box})
    (found,) = sow_windows(expecting(made, 20, 0))
    return {day: why.code for day, why in found.transplants}


def between(place: str, crop: str, first: date, last: date) -> set[str]:
    found = {code for day, code in codes(place, crop).items() if first <= day <= last}
    assert found
    return found


YEAR = (date(2027, 2, 15), date(2027, 12, 31))  # the first seedlings of all are fit by then


@pytest.mark.parametrize(
    ("place", "crop", "first", "last", "code"),
    [
        ("continental 44 N", "arugula", date(2027, 11, 10), date(2028, 2, 28), COLD),
        ("continental 44 N", "leaf_lettuce", date(2027, 10, 25), date(2028, 2, 28), COLD),
        ("continental 44 N", "spinach", date(2027, 11, 1), date(2027, 12, 31), COLD),
        ("61 N", "basil", date(2027, 4, 1), date(2027, 6, 10), COLD),
        ("61 N", "leaf_lettuce", date(2027, 4, 1), date(2027, 4, 30), COLD),
        ("65 N", "leaf_lettuce", date(2027, 4, 1), date(2027, 5, 25), COLD),
        ("65 N", "kale", date(2027, 4, 1), date(2027, 4, 30), COLD),
        *(
            ("desert", crop, date(2027, 5, 1), date(2027, 9, 15), HEAT)
            for crop in ("leaf_lettuce", "parsley", "spinach", "swiss_chard", "basil")
        ),
        *(("humid tropics", crop, *YEAR, HEAT) for crop in ("spinach", "parsley", "coriander")),
        ("cold coast", "leaf_lettuce", date(2027, 3, 20), date(2027, 5, 10), COLD),
        ("43 S", "leaf_lettuce", date(2027, 5, 1), date(2027, 7, 31), COLD),
        ("65 N", "spinach", date(2027, 5, 5), date(2027, 7, 25), BOLTS),
        ("cold coast", "pak_choi", date(2027, 6, 1), date(2027, 7, 20), BOLTS),
        ("43 S", "pak_choi", date(2027, 9, 20), date(2027, 10, 10), BOLTS),
    ],
)
def test_what_cannot_be_grown_is_refused_with_the_reason(
    place: str, crop: str, first: date, last: date, code: str
) -> None:
    assert between(place, crop, first, last) == {code}


@pytest.mark.parametrize(
    ("place", "crop", "first", "last"),
    [
        ("continental 44 N", "leaf_lettuce", date(2027, 4, 15), date(2027, 5, 31)),
        ("continental 44 N", "kale", date(2027, 4, 15), date(2027, 5, 31)),
        ("61 N", "leaf_lettuce", date(2027, 6, 1), date(2027, 7, 31)),
        ("61 N", "kale", date(2027, 5, 10), date(2027, 7, 15)),
        ("65 N", "leaf_lettuce", date(2027, 6, 10), date(2027, 7, 20)),
        ("65 N", "swiss_chard", date(2027, 6, 1), date(2027, 7, 10)),
        ("desert", "leaf_lettuce", date(2027, 12, 1), date(2028, 1, 31)),
        ("desert", "swiss_chard", date(2027, 10, 10), date(2028, 3, 1)),
        ("humid tropics", "pak_choi", *YEAR),
        ("humid tropics", "basil", *YEAR),
        ("cold coast", "kale", date(2027, 5, 10), date(2027, 6, 25)),
        ("cold coast", "leaf_lettuce", date(2027, 6, 5), date(2027, 7, 15)),
        ("43 S", "leaf_lettuce", date(2027, 9, 20), date(2027, 11, 15)),
        ("43 S", "spinach", date(2027, 4, 1), date(2027, 6, 30)),
        ("65 N", "slow_spinach", date(2027, 5, 3), date(2027, 5, 14)),
        ("cold coast", "slow_spinach", date(2027, 6, 15), date(2027, 7, 25)),
        ("continental 44 N", "slow_spinach", date(2027, 3, 20), date(2027, 5, 5)),
        ("continental 44 N", "pak_choi", date(2027, 4, 20), date(2027, 8, 31)),
    ],
)
def test_what_is_grown_there_is_offered(place: str, crop: str, first: date, last: date) -> None:
    assert between(place, crop, first, last) == {WORKS}


def test_a_grey_vessel_in_the_sun_of_the_tropics_is_too_warm_where_a_white_one_is_not() -> None:
    grey, white = (
        [code for day, code in codes("humid tropics", "pak_choi", w).items() if day >= YEAR[0]]
        for w in (False, True)
    )
    assert HEAT in grey
    assert HEAT not in white


def test_basil_finds_no_day_on_a_cold_coast() -> None:
    assert WORKS not in codes("cold coast", "basil").values()
