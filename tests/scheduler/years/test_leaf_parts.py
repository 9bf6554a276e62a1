"""Radiation and dry air reach the leaves of every year, place and course as the weather tells them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from verify_case import garden

from crops import demand
from crops.catalogue import catalogue
from crops.level import batch_course
from crops.place import KINDS
from crops.vessel import Vessel
from crops.years import carried_by
from scheduler.batches.courses import course
from scheduler.batches.thirst import thirst_in
from scheduler.garden.model import Garden
from scheduler.garden.placed import weather_at
from scheduler.garden.spans import Stay
from scheduler.lived import replay
from scheduler.lived.doubt import NONE
from scheduler.lived.world import world_of
from scheduler.years.expected import with_years
from scheduler.years.generator import generated_years
from scheduler.years.past import whole_years
from scheduler.years.purposes import joined, some
from scheduler.years.weather_years import WeatherYears, resampled_years

LETTUCE = catalogue()["leaf_lettuce"]


def dry_garden() -> Garden:
    """The garden of the case where sun and air take other shares on each day, and a real lettuce."""
    g = garden(crops={"lettuce": replace(LETTUCE, name="lettuce")})
    n = len(g.site.weather)
    weather = g.site.weather.assign(sun=np.linspace(0.3, 0.8, n), air=np.linspace(0.9, 0.2, n))
    return replace(g, site=replace(g.site, weather=weather))


def past() -> pd.DataFrame:
    index = pd.date_range("2001-01-01", "2004-12-31")
    rows = pd.DataFrame(
        {"tmin": 12.0, "tmax": 24.0, "tmean": 18.0, "et0": 4.0, "dli": 20.0}, index=index
    )
    return rows.assign(sun=index.year / 2000 - 0.5, air=index.dayofyear / 400)


def test_made_years_have_those_of_the_garden() -> None:
    g = dry_garden()
    made = generated_years(g, 3)
    for name in ("sun", "air"):
        assert (getattr(made, name) == g.site.weather[name].to_numpy()).all()
        assert getattr(made, name).shape == made.et0.shape


def test_past_years_have_their_own() -> None:
    g = dry_garden()
    whole = whole_years(g, past()).years
    for k, year in enumerate((2001, 2002, 2003, 2004)):
        assert whole.sun[k] == pytest.approx(year / 2000 - 0.5)
    assert (np.diff(whole.air[0]) > 0).all()
    drawn = resampled_years(g, past(), 6)
    assert set(np.unique(drawn.sun).round(4)) <= {0.5005, 0.501, 0.5015, 0.502}
    two = some(whole, [2, 0])
    assert two.sun[:, 0] == pytest.approx([0.5015, 0.5005])
    assert joined(whole, generated_years(g, 2)).air.shape == (6, whole.days)


def test_what_tells_neither_has_the_usual() -> None:
    g = garden()
    made = generated_years(g, 2)
    assert (made.sun == demand.SUN).all()
    assert (made.air == demand.AIR).all()


def test_a_room_has_its_own_and_a_place_outdoors_the_days() -> None:
    g = dry_garden()
    tier = g.columns[0].tiers[0]
    start, end = g.season.start, g.season.date(10)
    for kind, same in (("eaves", True), ("indoors", False)):
        stay = Stay(start, end, KINDS[kind])
        there = replace(tier, stays=(stay,))
        years = with_years(g, generated_years(g, 2))
        frame = weather_at(years, there)
        own = g.site.weather["air"]
        assert bool((frame["air"].iloc[:11] == own.iloc[:11]).all()) == same
        assert (frame["air"].iloc[11:] == own.iloc[11:]).all()
        carried = carried_by(frame)
        assert carried is not None
        assert bool((carried.air[:, :11] == own.to_numpy()[:11]).all()) == same


@pytest.mark.parametrize("light", [1.0, 0.35])
def test_all_ways_to_what_a_plant_drinks_agree(light: float) -> None:
    """One plant in three years: a year at a time, by running sums, and as it is lived."""
    g = dry_garden()
    years: WeatherYears = generated_years(g, 3)
    with_them = with_years(g, years)
    crop = g.crops["lettuce"]
    thirst = thirst_in(with_them.site.weather, crop, light)
    assert thirst is not None
    starts = np.array([3, 40])
    tub = Vessel("tub", "rectangular", (60, 60), 80, 200.0)
    for y in range(3):
        rows = g.site.weather.assign(
            tmin=years.tmin[y], tmax=years.tmax[y], dli=years.dli[y], et0=years.et0[y]
        )
        for i, start in enumerate(starts.tolist()):
            plain = batch_course(crop, tub, rows, light, start, 1)
            for after in (1, 20, 33, 60):
                by_sums = thirst.after(starts).drunk(np.array([i]), np.array([start + after]))
                assert by_sums[y, 0] == pytest.approx(plain.drinks[:after].sum())
    tier = replace(g.columns[0].tiers[0], light=light)
    mean = batch_course(crop, tub, g.site.weather, light, 3, 1)
    found = course(g, crop, tier, np.array([3]))
    assert found.drunk[0, 33] == pytest.approx(mean.drinks[:33].sum())
    world = world_of(g, years, NONE)
    lost = world.weather["air"] + world.weather["sun"] * light
    assert lost[:, 0, :-1] == pytest.approx(years.carried.taken(light))


@pytest.mark.parametrize("light", [1.0, 0.35])
@pytest.mark.parametrize("progress", [0.0, 0.4, 0.8, 1.2, 1.7])
def test_the_compiled_living_drinks_the_same(light: float, progress: float) -> None:
    g = dry_garden()
    columns = tuple(
        replace(c, tiers=tuple(replace(t, light=light) for t in c.tiers)) for c in g.columns
    )
    g = replace(g, columns=columns)
    years = generated_years(g, 2)
    world = world_of(g, years, NONE)
    batch = np.zeros(1, replay.BATCH)
    batch["plants"], batch["known"], batch["factor"] = 4, replay.NONE, 1.0
    none = np.full((len(world.tiers), 2), replay.NONE)
    schedule = replay.Schedule(batch, np.full((1, 1), 99), np.full((1, 1), 4), none, none[:1])
    state = replay._begin(world, schedule, 1)
    stand = state.tiers
    stand["now"][0], stand["plants"][0], stand["litres"][0] = 0, 4, 12.0
    stand["progress"][0] = progress
    replay._drink(world, schedule, state, 1, 20)
    one = demand.plant_demand(
        g.crops["lettuce"], years.et0[1, 20], light, progress, years.sun[1, 20], years.air[1, 20]
    )
    assert stand["drank"][0] == pytest.approx(4 * float(one) / 1000)
    assert stand["litres"][0] == pytest.approx(12.0 - 4 * float(one) / 1000)
