"""The garden made of answers loads as it is, says what was guessed, and is short."""

from __future__ import annotations

from datetime import date
from itertools import product
from pathlib import Path

import pytest

from crops.catalogue import catalogue
from scheduler.beginning import vessels, weather
from scheduler.beginning.answers import read_grows, read_wish
from scheduler.beginning.garden_text import garden_yaml
from scheduler.beginning.questions import of, questions
from scheduler.cli import main
from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden

TODAY = date(2027, 6, 20)


def made(folder: Path, told: dict[str, str]) -> tuple[Garden, str]:
    found: dict[str, object] = {}
    for one in questions(TODAY, "metric"):
        found[one.key] = one.read(told.get(one.key, one.default(found)), found)
    a = of(found)
    text = garden_yaml(a, True)
    (folder / "garden.yaml").write_text(text)
    south = a.place.latitude < 0
    (folder / "climate.csv").write_text(weather.table(str(a.climate), south, a.units))
    return load_garden(folder / "garden.yaml"), text


@pytest.mark.parametrize(
    ("units", "vessel", "stand"),
    list(product(["metric", "us"], ["1", "2", "3", "4", "5", "15 L, 30 cm"], ["open", "balcony"])),
)
def test_every_vessel_loads(tmp_path: Path, units: str, vessel: str, stand: str) -> None:
    told = {"units": units, "vessel": vessel, "stand": stand, "place": "45 N, 120 m"}
    garden, text = made(tmp_path, told)
    assert 25 <= len(text.splitlines()) <= 40
    assert all(len(line) <= 100 for line in text.splitlines())
    assert garden.units == units
    assert "(invented weather)" in garden.name
    assert garden.invented
    kind = vessels.COMMON[int(vessel) - 1] if vessel.isdigit() else vessels.own(15, 30)
    (made_of,) = garden.vessels.values()
    # Rounded to a tenth of an inch in US units: 3 % of a volume.
    near = 0.005 if units == "metric" else 0.03
    assert made_of.capacity_l == pytest.approx(kind.litres, rel=near)
    assert made_of.depth_at(made_of.fill_l) == pytest.approx(kind.fill_depth, rel=0.05)
    assert garden.limits.lift_kg == pytest.approx(16, rel=0.01)
    # Plugs of 6 cm lean in from the side: at 45 degrees they reach down 4.2 cm from 2 cm above the
    # fill, whose last 2.2 cm they stand in; a hole of 4.5 cm fits below the rim.
    assert made_of.plugs is not None
    assert made_of.dip_at(made_of.fill_l) == pytest.approx(
        2.24, abs=0.3 if units == "metric" else 0.5
    )
    assert made_of.plugs.hole_cm + vessels.HOLE <= made_of.height_cm + 0.2


@pytest.mark.parametrize(("depth", "plugged"), [(12.5, False), (12.6, True), (30, True)])
@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_vessel_deep_enough_for_plugs_at_the_side(
    tmp_path: Path, units: str, depth: float, plugged: bool
) -> None:
    """Above a plug's own 6 cm there must be room for the hole, 4.5 cm, and 2 cm of air."""
    garden, text = made(tmp_path, {"units": units, "vessel": f"12 L, {depth} cm"})
    (vessel,) = garden.vessels.values()
    assert (vessel.plugs is not None) is plugged
    assert ("plugs:" in text) is plugged


def test_the_largest_answers_stay_short(tmp_path: Path) -> None:
    told = {
        "stack": "3 x 4 x 4",
        "grows": "A1 1 kale 40 %; A2 2 basil 2027-05-20; seedlings 6 kale 2027-06-10",
        "away": "2027-08-01 to 2027-08-14",
        "groups": "lettuce, greens, herbs",
    }
    garden, text = made(tmp_path, told)
    assert len(text.splitlines()) <= 42
    assert [(s.column, s.tier) for s in garden.standing] == [("A1", 1), ("A2", 2)]
    assert garden.seedlings[0].cells == 6
    assert garden.today == TODAY
    assert len(garden.season.away) == 1


def test_wishes_become_grams_and_are_told_back(tmp_path: Path) -> None:
    """600 g for two groups is 300 g each; 4 heads are 2 of each, by its crops' own masses."""
    garden, text = made(tmp_path, {"wish": "2 people x 3 salads"})
    assert [d.grams_per_week for d in garden.demands] == [300, 300]
    assert "2 people x 3 salads of 100 g a week" in text
    garden, _ = made(tmp_path, {"wish": "4 heads"})
    mass = {n: c.fresh_mass for n, c in catalogue().items()}
    lettuce = mass["leaf_lettuce"] + mass["butterhead"] + mass["romaine"]
    heads = [2 * lettuce / 3, mass["pak_choi"] + mass["mizuna"]]  # kale is cut again
    assert [d.grams_per_week for d in garden.demands] == pytest.approx(heads)
    assert [d.said for d in garden.demands] == ["2 heads", "2 heads"]
    assert read_wish("4 heads").heads == 4
    assert read_grows("none", None, TODAY) == ()  # type: ignore[arg-type]


def test_south_of_the_equator_the_warm_months_are_january_and_its_like(tmp_path: Path) -> None:
    garden, _ = made(tmp_path, {"place": "33.9 S"})
    days = garden.site.weather["tmax"]
    assert days[days.index.month == 1].mean() > days[days.index.month == 4].mean()
    assert garden.season.start.month == 10


def test_invented_weather_goes_when_a_stations_is_put_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`start` with an invented climate, then `climate --out`; its plan says so no longer."""

    def run(*arguments: object) -> int:
        with pytest.raises(SystemExit) as end:
            main([str(a) for a in arguments])
        capsys.readouterr()
        return int(end.value.code or 0)

    home, rows = tmp_path / "yard", "".join(f"{m},{m},{m + 9}\n" for m in range(1, 13))
    assert run("start", home, "--units", "metric", "--climate", "warm", "--no-plan") == 0
    before = load_garden(home / "garden.yaml")
    assert before.invented
    assert "(invented weather)" in before.name
    own = tmp_path / "station.csv"
    own.write_text("month,tmin,tmax\n" + rows)
    assert run("climate", own, "--out", home) == 0
    after = load_garden(home / "garden.yaml")
    assert not after.invented
    assert "invented" not in (home / "garden.yaml").read_text()
    assert after.demands == before.demands
    # A table that somebody has written is not replaced unless that is said.
    assert run("climate", own, "--out", home) == 2
    # What is invented for another reason stays so.
    (home / "garden.yaml").write_text("invented: true\n" + (home / "garden.yaml").read_text())
    assert run("climate", own, "--out", home, "--replace") == 0
    assert load_garden(home / "garden.yaml").invented
