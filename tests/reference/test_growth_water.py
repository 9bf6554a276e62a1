"""Growth and water as one plant: what must hold whatever the numbers of the catalogue.

Five invented climates, each steady; no real station. Water per gram goes with the vapour pressure
deficit of the air (Bierhuizen & Slatyer 1965, Tanner & Sinclair 1983; both from memory).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from crops import climate, demand, development, evaporation, growth, transpiration
from crops.catalogue import catalogue
from crops.level import batch_course
from crops.vessel import Vessel

CROPS = catalogue()
TUB = Vessel("tub", "rectangular", (60, 60), 80, 200.0)  # never dry
# tmin, tmax [degC], relative humidity [%], radiation [MJ m-2 d-1], wind [m/s], latitude
CLIMATES = {
    "cold foggy coast": (8, 14, 85, 16, 3.0, 44),
    "humid shelter": (16, 25, 78, 12, 1.0, 44),
    "courtyard": (13, 25, 62, 21, 1.5, 44),
    "dry summer": (18, 31, 48, 26, 2.0, 38),
    "desert": (24, 38, 22, 28, 2.5, 32),
}


def steady(name: str) -> pd.DataFrame:
    low, high, humid, rs, wind, latitude = CLIMATES[name]
    rows = pd.DataFrame(
        {"tmin": low, "tmax": high, "rh": humid, "rs": rs, "wind": wind},
        index=pd.date_range("2027-05-15", periods=150),
    )
    return climate.weather(rows, latitude, 50.0)


def deficit(name: str) -> float:
    """Vapour pressure deficit [kPa]."""
    low, high, humid, *_ = CLIMATES[name]
    return float(evaporation.mean_saturation_pressure(low, high)) * (1 - humid / 100)


def per_gram(crop: str, weather: pd.DataFrame, light: float = 1.0) -> float:
    """Drunk by the morning on which it is ready [mL/g]."""
    course = batch_course(CROPS[crop], TUB, weather, light, 0, 1)
    assert course.ready_index is not None
    return float(course.drinks[: course.ready_index].sum() / CROPS[crop].fresh_mass)


@pytest.mark.parametrize("crop", ["leaf_lettuce", "butterhead", "romaine", "pak_choi", "kale"])
def test_water_per_gram_rises_with_the_dryness_of_the_air(crop: str) -> None:
    assert np.all(np.diff([deficit(name) for name in CLIMATES]) > 0)
    used = {name: per_gram(crop, steady(name)) for name in CLIMATES}
    assert np.all(np.diff(list(used.values())) > 0)
    assert used["cold foggy coast"] < 0.65 * used["courtyard"]
    assert used["desert"] > 3 * used["courtyard"]


@pytest.mark.parametrize("crop", ["leaf_lettuce", "butterhead", "romaine", "pak_choi"])
@pytest.mark.parametrize("place", ["cold foggy coast", "humid shelter"])
def test_lettuce_and_pak_choi_in_humid_air(crop: str, place: str) -> None:
    """Kratky 2010 (VC-1, as reprinted): 11 to 20 mL/g."""
    assert 11 <= per_gram(crop, steady(place)) <= 20


def test_a_summer_day_takes_its_et0_from_a_leaf() -> None:
    low, high, rs, ra, humid = transpiration.SUMMER
    ea = humid * evaporation.mean_saturation_pressure(low, high)
    et0 = evaporation.penman_monteith(low, high, rs, ra, ea, 2.0, 0.0)
    assert et0 == pytest.approx(transpiration.SUMMER_ET0, abs=0.05)
    sun, air = transpiration.per_et0(low, high, rs, ra, ea, 0.0, transpiration.SUMMER_ET0)
    assert sun + air == pytest.approx(1.0)
    assert 0.3 < air < 0.6


def test_without_humidity_the_air_is_moist_as_below_its_minimum() -> None:
    """FAO-56 eq. 48, two degrees lower: the same as rows that tell that humidity."""
    rows = pd.DataFrame(
        {"tmin": 12.0, "tmax": 26.0, "rs": 20.0}, index=pd.date_range("2027-06-01", periods=3)
    )
    es = float(evaporation.mean_saturation_pressure(12.0, 26.0))
    told = rows.assign(rh=100 * float(evaporation.saturation_pressure(10.0)) / es)
    for name in ("sun", "air"):
        assert climate.weather(rows, 44, 100)[name].to_numpy() == pytest.approx(
            climate.weather(told, 44, 100)[name].to_numpy()
        )
    drier = climate.weather(rows.assign(rh=30.0), 44, 100)
    assert (drier["air"] > climate.weather(rows, 44, 100)["air"]).all()


@pytest.mark.parametrize("crop", ["leaf_lettuce", "pak_choi"])
def test_a_dim_tier_is_later_and_lighter_and_drinks_less(crop: str) -> None:
    """Gobilik et al. (abstract): 8.8-20.3 g inside or at the bottom, 39.2-71.7 g outside or top."""
    sky = steady("courtyard")
    day = {light: batch_course(CROPS[crop], TUB, sky, light, 0, 1) for light in (1.0, 0.15)}
    ready = day[1.0].ready_index
    assert ready is not None
    dim = day[0.15]
    assert dim.ready_index is None or dim.ready_index > ready + 14
    assert 0.1 <= dim.plant_grams[ready] / day[1.0].plant_grams[ready] <= 0.5
    assert (dim.drinks[:ready] < day[1.0].drinks[:ready]).all()


def test_heads_grow_and_drink_on_in_the_hold_and_cut_crops_do_not() -> None:
    sky = steady("courtyard")
    head = batch_course(CROPS["leaf_lettuce"], TUB, sky, 1.0, 0, 1)
    at = head.ready_index
    assert at is not None
    assert head.plant_grams[at + 7] > 1.1 * head.plant_grams[at]
    assert head.drinks[at + 7] > 1.1 * head.drinks[at]
    assert head.plant_grams.max() <= 1.9 * CROPS["leaf_lettuce"].fresh_mass  # no further than 1.5
    chard = CROPS["swiss_chard"]
    assert demand.leaf_share(chard, 1.5) == demand.leaf_share(chard, 1.0)
    assert development.weight_share(chard, 1.5) == 1


def test_an_old_crop_file_drinks_as_much_by_harvest_as_it_said() -> None:
    """The stages' mean times the peak, times the days: whatever the leaves do between."""
    old = replace(CROPS["leaf_lettuce"], light_gain=0.0, t_exponent=1.0, days_to_harvest=400.0)
    days = (np.arange(400) + 0.5) / 400
    drunk = demand.plant_demand(old, 5.5, 1.0, days).sum()
    assert drunk == pytest.approx(400 * old.peak_demand * demand.mean_stage(old), rel=1e-3)


def test_the_curve_is_exponential_first_and_linear_at_last() -> None:
    """Goudriaan & Monteith 1990: relative growth at its largest, then growth at its largest."""
    early, late = growth.mass_share([-0.0, 0.01]), growth.mass_share([1.4, 1.41])
    relative = np.log(early[1] / early[0]) / 0.01
    assert relative == pytest.approx(growth.RELATIVE, rel=0.10)
    assert (late[1] - late[0]) / 0.01 == pytest.approx(growth.RELATIVE / growth.FULL, rel=0.01)
