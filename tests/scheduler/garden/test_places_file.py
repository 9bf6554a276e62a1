"""Places in garden.yaml: read, refused with every fault, and where columns then stand."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
import yaml

from scheduler.base.faults import BadInput
from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.garden.placed import moves, place_on, weather_at
from scheduler.plans.brief import _stays_of

BALCONY = Path(__file__).parents[3] / "examples" / "balcony"
LAMP = {"power": "60 W", "efficacy": "2.5 umol/J", "hours": "14 h", "area": "0.5 m2", "price": 0.3}
HALL = {"kind": "indoors", "temperature": "19 degC", "lamp": LAMP}


def write(tmp_path: Path, places: object, place: object, **sections: object) -> Path:
    """The balcony, worked on Wednesdays and at weekends from 29 March to 27 June."""
    body = yaml.load((BALCONY / "garden.yaml").read_text(), yaml.BaseLoader)
    for key in ("start", "end"):
        body["season"][key] = str(body["season"][key])
    for tier in body["columns"][0]["tiers"]:
        tier["plants"] = 3
    body |= {"invented": True, "places": places, **sections}
    body["nursery"]["cells"] = 12
    body["limits"] |= {"fills_per_day": 2, "picks_per_day": 3}
    body["columns"][0]["place"] = place
    (tmp_path / "garden.yaml").write_text(yaml.safe_dump(body, sort_keys=False))
    (tmp_path / "climate.csv").write_bytes((BALCONY / "climate.csv").read_bytes())
    return tmp_path / "garden.yaml"


def faults(path: Path) -> dict[str, str]:
    with pytest.raises(BadInput) as error:
        load_garden(path)
    assert all(f.line for f in error.value.faults)
    return {f.path: f.expected for f in error.value.faults}


def where(garden: Garden, day: date) -> str:
    return place_on(garden.columns[0].tiers[1], day).name


def test_one_place_for_good(tmp_path: Path) -> None:
    garden = load_garden(write(tmp_path, {"hall": HALL}, "hall"))
    for day in (garden.season.start, garden.season.end, date(2027, 9, 1)):
        assert where(garden, day) == "hall"
    assert not list(moves(garden))
    there = weather_at(garden, garden.columns[0].tiers[0])
    assert (there["tmin"] == 19).all()
    assert (there["daylength"] == 14).all()
    assert garden.site.weather["tmin"].nunique() > 1  # the open air is as it was


def test_places_for_spans_of_days(tmp_path: Path) -> None:
    """29 March in the hall, from Saturday 1 May under the eaves, from Saturday 5 June in the open."""
    stays = [
        {"in": "wall", "from": "2027-05-01", "to": "2027-06-04"},
        {"in": "hall", "to": "2027-04-30"},
    ]
    garden = load_garden(write(tmp_path, {"hall": HALL, "wall": {"kind": "eaves"}}, stays))
    assert where(garden, date(2027, 4, 30)) == "hall"
    assert where(garden, date(2027, 5, 1)) == "wall"
    assert where(garden, date(2027, 6, 5)) == "open"
    told = [(m.date, m.before.name, m.there.name) for m in moves(garden)]
    assert told == [(date(2027, 5, 1), "hall", "wall"), (date(2027, 6, 5), "wall", "open")]
    tier = garden.columns[0].tiers[0]
    there, air = weather_at(garden, tier), garden.site.weather
    assert there.loc["2027-04-30", "tmin"] == 19
    assert there.loc["2027-05-01", "dli"] == pytest.approx(0.7 * air.loc["2027-05-01", "dli"])
    assert there.loc["2027-06-05", "et0"] == air.loc["2027-06-05", "et0"]


def test_figures_of_a_place_may_be_ones_own(tmp_path: Path) -> None:
    own = {
        "kind": "frame",
        "light": "75 %",
        "night": "3.6 degF",
        "day": "4 degC",
        "evaporation": 0.6,
    }
    garden = load_garden(write(tmp_path, {"box": own}, "box"))
    box = place_on(garden.columns[0].tiers[0], garden.season.start)
    assert (box.light, box.night, box.day, box.evaporation) == (0.75, pytest.approx(2.0), 4.0, 0.6)
    assert not box.rain
    lamp = (
        load_garden(write(tmp_path, {"hall": HALL}, "hall")).columns[0].tiers[0].stays[0].place.lamp
    )
    assert lamp is not None
    assert lamp.dli == pytest.approx(12.096)


def test_every_fault_at_once(tmp_path: Path) -> None:
    places = {
        "hall": {"kind": "indoors", "night": "2 degC", "lamp": {**LAMP, "power": "60"}},
        "dark": {"kind": "indoors", "temperature": "19 degC"},
        "wall": {"kind": "eaves", "temperature": "19 degC", "light": 1.2},
        "open": {"kind": "open"},
        "tent": {"kind": "tent"},
    }
    stays = [
        {"in": "wal", "from": "2027-04-01", "to": "2027-04-30"},
        {"in": "wall", "from": "2027-05-05", "to": "2027-05-01"},
        {"in": "open", "from": "2026-05-01", "to": "2026-05-02"},
        {"in": "wall", "from": "2027-04-30", "to": "2027-05-08"},
    ]
    found = faults(write(tmp_path, places, stays))
    assert found["columns[0].place[0].in"].startswith("a place: wall or hall (did you mean")
    assert found["columns[0].place[1].to"] == "2027-05-05 or later, the first day"
    assert found["columns[0].place[2].from"].startswith("days that touch the season")
    assert found["columns[0].place[3].from"].startswith("days that no other place has")
    assert found["places.hall.lamp.power"] == "0.5 to 5000 W"
    assert found["places.hall.night"] == "no night indoors"
    assert found["places.hall.temperature"] == "temperature, as it is indoors"
    assert found["places.dark"] == "light through a window, a lamp, or both"
    assert found["places.wall.temperature"] == "no temperature outdoors"
    assert found["places.wall.light"].startswith("a share")
    assert found["places.open"].startswith("each place's name once")
    assert "indoors" in found["places.tent.kind"]


def test_what_stands_has_grown_in_its_place(tmp_path: Path) -> None:
    """Its place reaches back to before the season: half grown on 29 March in 19 degC and 12 mol it
    was planted later than after a March in the open; carried in later, as late as in the open."""
    half = [{"crop": "mizuna", "column": "balcony", "tier": 1, "size": "50 %", "plants": 3}]
    planted = {}
    for name, place in (
        ("hall", "hall"),
        ("open", []),
        ("late", {"in": "hall", "from": "2027-05-01"}),
    ):
        garden = load_garden(write(tmp_path, {"hall": HALL}, place, standing=half))
        (one,) = garden.standing
        planted[name] = one.planted_on
        assert garden.today == date(2027, 3, 29)
        assert garden.season.start <= one.planted_on
        inside = "hall" if name == "hall" else "open"
        assert where(garden, one.planted_on) == where(garden, garden.season.start) == inside
    assert planted["hall"] > planted["open"] == planted["late"]


@pytest.mark.parametrize(
    ("written", "light"), [("20 %", 0.2), (0.5, 0.5), ("100 %", 1.0), ("101 %", None), (-0.1, None)]
)
def test_light_of_the_nursery(tmp_path: Path, written: object, light: float | None) -> None:
    nursery = {"cells": 12, "temperature": "20 degC", "light": written, "lamp": LAMP}
    path = write(tmp_path, {"hall": HALL}, "hall", nursery=nursery)
    if light is None:
        assert faults(path)["nursery.light"].startswith("a share, 0 to 1")
    else:
        made = load_garden(path).nursery
        assert made.light == light
        assert made.lamp is not None


@pytest.mark.parametrize("wall", [None, "dark", "grey", "white", "pink"])
def test_walls_of_vessels(tmp_path: Path, wall: str | None) -> None:
    vessels = yaml.load((BALCONY / "garden.yaml").read_text(), yaml.BaseLoader)["vessels"]
    (name,) = vessels
    if wall is not None:
        vessels[name]["wall"] = wall
    path = write(tmp_path, {"hall": HALL}, "hall", vessels=vessels)
    if wall == "pink":
        assert "white" in faults(path)[f"vessels.{name}.wall"]
    else:
        assert load_garden(path).vessels[name].wall == (wall or "grey")


def test_a_column_is_moved_on_work_days_alone(tmp_path: Path) -> None:
    """Friday 30 April is none; Saturday 1 May is."""
    for first, refused in (("2027-05-01", False), ("2027-04-30", True)):
        path = write(tmp_path, {"hall": HALL}, {"in": "hall", "from": first})
        if refused:
            assert faults(path)["columns[0].place"].startswith("a work day")
        else:
            assert load_garden(path)
    # Where it stands on the first day it is not carried to.
    assert load_garden(write(tmp_path, {"hall": HALL}, {"in": "hall", "from": "2027-03-26"}))


@pytest.mark.parametrize(("kg", "kept"), [(1.0, True), (0.99, False)])
def test_empty_vessels_are_light_enough_to_be_carried(
    tmp_path: Path, kg: float, kept: bool
) -> None:
    """The lift limit against a pail of 1 kg, in each of three tiers."""
    path = write(tmp_path, {"hall": HALL}, {"in": "hall", "from": "2027-05-01"})
    text = (
        path.read_text()
        .replace("mass: 2.6 lb", "mass: 1 kg")
        .replace("lift: 30 lb", f"lift: {kg} kg")
    )
    path.write_text(text)
    if kept:
        assert load_garden(path)
    else:
        told = faults(path)
        assert [p for p in told if p.endswith("vessel")] == [
            f"columns[0].tiers[{k}].vessel" for k in range(3)
        ]


def test_the_table_of_the_log_keeps_places(tmp_path: Path) -> None:
    """As JSON has it, with texts for days."""
    import json
    from dataclasses import asdict

    garden = load_garden(write(tmp_path, {"hall": HALL}, "hall"))
    stays = garden.columns[0].tiers[0].stays
    rows = json.loads(
        json.dumps([[s.start, s.end, asdict(s.place)] for s in stays], default=date.isoformat)
    )
    assert _stays_of(rows) == stays
