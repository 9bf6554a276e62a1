"""`dryline start`: what it writes loads, and nothing is overwritten."""

import json
from datetime import date

import pytest

from crops.catalogue import catalogue
from scheduler.cli import main
from scheduler.commands.start import LOG_HEADER, garden_text, season_start
from scheduler.garden.file import load_garden


def run(*args):
    with pytest.raises(SystemExit) as end:
        main([str(a) for a in args])
    return end.value.code


@pytest.mark.parametrize("units", ["metric", "us"])
def test_it_writes_a_garden_that_loads(tmp_path, capsys, units):
    folder = tmp_path / "new" / "garden"
    assert run("start", folder, "--units", units, "--json") == 0
    written = json.loads(capsys.readouterr().out)["written"]
    assert [p.rsplit("/", 1)[-1] for p in written] == ["garden.yaml", "climate.csv", "log.csv"]
    garden = load_garden(folder / "garden.yaml")
    assert garden.invented
    assert garden.units == units
    assert garden.notes == ()
    assert (folder / "log.csv").read_text() == LOG_HEADER
    assert LOG_HEADER == "date,what,column,tier,crop,amount,unit,note\n"
    # Twelve rows under remarks and a header.
    rows = [r for r in (folder / "climate.csv").read_text().splitlines() if r[0].isdigit()]
    assert len(rows) == 12


@pytest.mark.slow
def test_it_plans_as_it_is(tmp_path, capsys):
    """Every group gets something, and the plan holds."""
    assert run("start", tmp_path) == 0
    out = tmp_path / "season"
    assert run("plan", tmp_path / "garden.yaml", "--out", out, "--time-limit", "2") == 0
    assert run("verify", out) == 0
    batches = json.loads((out / "plan.json").read_text())["batches"]
    groups = {catalogue()[b["crop"]].group for b in batches}
    assert groups == {"lettuce", "greens", "herbs"}


def test_both_units_describe_nearly_the_same_garden(tmp_path):
    """Sizes are rounded in each system, so within 3 %."""
    gardens = []
    for units in ("metric", "us"):
        run("start", tmp_path / units, "--units", units)
        gardens.append(load_garden(tmp_path / units / "garden.yaml"))
    metric, us = gardens
    assert us.vessels["pail"].fill_l == pytest.approx(metric.vessels["pail"].fill_l, rel=0.03)
    assert us.limits.lift_kg == pytest.approx(metric.limits.lift_kg, rel=0.03)
    # 1 degF is 0.56 degC, so whole degrees differ by at most half of that.
    difference = us.site.weather["tmax"] - metric.site.weather["tmax"]
    assert difference.abs().max() <= 0.3


@pytest.mark.parametrize("name", ["garden.yaml", "climate.csv", "log.csv"])
def test_an_existing_file_is_kept_and_named(tmp_path, capsys, name):
    (tmp_path / name).write_text("mine")
    assert run("start", tmp_path) == 2
    assert name in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text() == "mine"


def test_a_file_in_place_of_the_folder(tmp_path, capsys):
    (tmp_path / "here").write_text("")
    assert run("start", tmp_path / "here") == 2
    assert "expected a folder" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("today", "start"),
    [
        (date(2027, 1, 5), date(2027, 4, 12)),  # a Monday itself
        (date(2027, 4, 12), date(2027, 4, 12)),
        (date(2027, 4, 13), date(2028, 4, 17)),  # 12 April 2028 is a Wednesday
    ],
)
def test_the_season_is_the_next_one(today, start):
    assert season_start(today) == start
    assert f"start: {start}" in garden_text("metric", today)


def test_lines_fit_an_editor():
    for units in ("metric", "us"):
        assert max(len(line) for line in garden_text(units, date(2027, 1, 1)).splitlines()) <= 100
