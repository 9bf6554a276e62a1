"""Bolting as a dose of heat, day length, warmth and cold: by hand, and against what is published.

`RAMP`: days from 13 h on count, from 15 h on in full; warmth counts from 4 degC (base) to 20.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from verify_case import crop

from crops import development, radiation
from crops.catalogue import CropFaults, catalogue, crop_text, load_crop, with_overrides

RAMP = crop("spinach", bolt_daylength=13.0, bolt_full_daylength=15.0, bolt_days=10.0)
COLD = crop("pak_choi", bolt_cold=12.0, bolt_days=21.0)
SPINACH, PAK_CHOI = catalogue()["spinach"], catalogue()["pak_choi"]


def frame(mean: float, hours: float | np.ndarray, days: int = 120) -> pd.DataFrame:
    index = pd.date_range("2027-04-05", periods=days)
    return pd.DataFrame(
        {"tmin": mean - 5, "tmax": mean + 5, "dli": 20.0, "daylength": hours}, index=index
    )


@pytest.mark.parametrize(
    ("mean", "hours", "dose"),
    [
        (20.0, 13.0, 0.0),
        (20.0, 14.0, 0.5),
        (20.0, 15.0, 1.0),
        (20.0, 20.0, 1.0),
        (12.0, 15.0, 0.5),  # (12 - 4) / 16
        (12.0, 14.0, 0.25),
        (4.0, 15.0, 0.0),
        (-3.0, 15.0, 0.0),
        (30.0, 15.0, 1.0),  # heat slows growth, not bolting
    ],
)
def test_day_length_and_warmth(mean: float, hours: float, dose: float) -> None:
    assert development.bolting_day(RAMP, frame(mean, hours)) == pytest.approx(dose)


def test_a_batch_stands_its_days_and_no_hair_more() -> None:
    """Half a day a day: after 20 days the dose is 10, which is borne; with 9.99 only 19 are."""
    weather = frame(20.0, 14.0)
    for bolt_days, last in ((10.0, 25), (9.99, 24), (0.5, 6)):
        found = development.good_until(replace(RAMP, bolt_days=bolt_days), weather, [5])
        assert found.tolist() == [last]


def test_kinds_that_are_slow_stand_longer() -> None:
    weather = frame(20.0, 14.0)
    slow = replace(RAMP, bolt_days_slow=15.0, slow_to_bolt=True)
    assert development.good_until(slow, weather, [5]).tolist() == [35]
    assert development.good_until(replace(slow, slow_to_bolt=False), weather, [5]).tolist() == [25]


@pytest.mark.parametrize(
    ("mean", "hours", "dose"), [(12.0, 13.0, 0), (11.9, 13.0, 1), (11.9, 12.0, 0), (3.0, 12.1, 1)]
)
def test_cold_days_that_are_long(mean: float, hours: float, dose: float) -> None:
    assert development.bolting_day(COLD, frame(mean, hours)) == pytest.approx(dose)


def test_three_weeks_of_cold_are_borne_and_no_day_more() -> None:
    for cold, last in ((21, 119), (22, 26)):
        weather = frame(15.0, 14.0)
        weather.iloc[5 : 5 + cold, :2] -= 6.0
        until = development.good_until(COLD, weather, [5])
        assert until.tolist() == [120 if last == 119 else last]


def test_heat_and_a_part_of_a_long_day_where_both_are_needed() -> None:
    both = replace(RAMP, bolt_heat=24.0, bolt_both=True)
    assert development.bolting_day(both, frame(20.0, 14.0)) == pytest.approx(0.5)
    # A quarter where it is one alone: of a long day, 14 h are a third of the way from 13 to 16.
    assert development.bolting_day(both, frame(18.0, 14.0)) == pytest.approx(0.25 / 3)
    assert development.bolting_day(both, frame(18.0, 16.5)) == pytest.approx(0.25)
    assert development.bolting_day(both, frame(18.0, 13.0)) == pytest.approx(0.0)
    assert development.bolting_day(both, frame(20.0, 13.0)) == pytest.approx(0.25)
    either = replace(both, bolt_both=False)
    assert development.bolting_day(either, frame(20.0, 14.0)) == pytest.approx(1.0)


def test_the_grower_sets_the_kind_and_the_file_keeps_it() -> None:
    slow = with_overrides(SPINACH, {"slow_to_bolt": True})
    assert (SPINACH.bolts_after, slow.bolts_after) == (18, 32)
    assert load_crop(crop_text(slow)) == slow
    with pytest.raises(CropFaults, match="slow_to_bolt"):
        with_overrides(catalogue()["kale"], {"slow_to_bolt": True})  # no such kinds are known
    with pytest.raises(CropFaults, match="slow_to_bolt"):
        with_overrides(SPINACH, {"slow_to_bolt": True, "bolt_days_slow": "17 day"})


def test_spinach_in_days_of_10_and_of_16_hours() -> None:
    """None bolted at 10 h, more than 85 % at 16 h: HortScience 36:889 (abstract)."""
    short, long = (
        development.good_until(SPINACH, frame(20.0, hours), [0])[0] for hours in (10.0, 16.0)
    )
    assert long <= 20
    assert short > 3 * long


# Days from sowing to half of the plants in flower, four kinds sown all year in Chillan, 36 degrees
# 32' south: 43 to 60 where soonest, 131 to 148 where latest (Gonzalez, del Pozo, Cotroneo &
# Pertierra 2004, Agricultura Tecnica 64:331-337, abstract). The normals are from memory, within a
# degree or two; 14 days in the nursery, 8 from stalk to flower, from memory too. `bolt_days` are
# fitted to the soonest; the latest are what the fit gives.
CHILLAN = (
    (11, 10, 8, 6, 5, 4, 3.5, 4, 5, 6, 8, 10),
    (29, 28, 25, 20, 16, 13, 12, 14, 16, 20, 23, 26),
)


@pytest.mark.parametrize(("slow", "soonest"), [(False, 43), (True, 60)])
def test_spinach_sown_all_year_flowers_about_when_it_was_seen_to(slow: bool, soonest: int) -> None:
    days = np.arange(3 * 365)
    month = ((days % 365) / 30.4 - 0.5) % 12
    low, high = (np.interp(month, range(13), [*row, row[0]]) for row in CHILLAN)
    hours = radiation.day_length(-36.53, days % 365 + 1)
    weather = pd.DataFrame(
        {"tmin": low, "tmax": high, "daylength": hours},
        index=pd.date_range("2001-01-01", periods=len(days)),
    )
    kind = replace(SPINACH, slow_to_bolt=slow)
    sown = np.arange(365, 730)
    flowers = development.good_until(kind, weather, sown + 14) + 1 + 8 - sown
    assert flowers.min() == pytest.approx(soonest, abs=2)
    assert flowers.max() == pytest.approx(140, rel=0.6)
    assert min(abs(int(sown[flowers.argmin()]) % 365 - d) for d in (-20, 345)) < 45  # early summer


def test_chinese_cabbage_after_three_weeks_at_12_degrees() -> None:
    """One to three weeks at 12 degC hasten bolting, raised above 18 degC none is seen.

    Scientia Horticulturae 25(3):217-224, 1985 (abstract); 12 degC is taken as just too cold.
    """
    assert development.good_until(PAK_CHOI, frame(11.9, 15.0), [0])[0] == 21
    assert development.good_until(PAK_CHOI, frame(18.0, 15.0), [0])[0] == 120
