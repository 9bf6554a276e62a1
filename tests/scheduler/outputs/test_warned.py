"""Chances of warm solution and of burnt tips, told beside what is lost."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from verify_case import LETTUCE, day, garden, heads, plan

from crops.place import KINDS
from crops.solution_heat import sun_gain
from scheduler.cli import cli
from scheduler.garden.model import Stay
from scheduler.outputs.warned import warned, warned_lines
from scheduler.years.weather_years import WeatherYears

BALCONY = Path(__file__).parents[3] / "examples" / "balcony"


@pytest.mark.parametrize("count", [1, 3])
def test_chances_are_shares_of_the_years(count: int) -> None:
    """In ``count`` of 10 years the light under a frame is 17.6 mol, and a week's air so warm that
    the solution is half a degree above what lettuce bears: 1 of 10 is no matter, 3 of 10 is told."""
    lettuce = replace(LETTUCE, heat_limit=30.0)
    g = garden(crops={**garden().crops, "lettuce": lettuce})
    stays = (Stay(day(0), day(400), KINDS["frame"]),)
    column = g.columns[0]
    tiers = (replace(column.tiers[0], stays=stays), *column.tiers[1:])
    g = replace(g, columns=(replace(column, tiers=tiers), *g.columns[1:]))
    w = g.site.weather
    rows = {n: np.tile(w[n].to_numpy(float), (10, 1)) for n in ("tmin", "tmax", "et0", "dli")}
    made = WeatherYears(first=day(0), daylength=w["daylength"].to_numpy(float), **rows)
    made.dli[:count] = 22.0
    warm = 30.5 - float(sun_gain(22.0, 1.0))
    made.tmin[:count, 14:22] = made.tmax[:count, 14:22] = warm
    found = warned(g, plan(heads("x", "A1", 10), heads("y", "A2", 10)), made)
    told = {(one["batch"], one["cause"]): one["chance"] for one in found}
    if count == 1:
        assert told == {}
        assert warned_lines(g, found) == []
    else:
        assert told[("x", "burnt tips")] == pytest.approx(0.3)
        assert ("y", "burnt tips") not in told  # in the open
        assert any(cause == "warm solution" for _batch, cause in told)
        text = warned_lines(g, found)
        assert any("burnt tips" in line and "30" in line for line in text)
        assert all(len(line) <= 79 for line in text)


@pytest.mark.slow
def test_risk_tells_them(tmp_path: Path) -> None:
    """Lettuce in a bright frame; a plan of the open balcony has no burnt tips."""
    text = (BALCONY / "garden.yaml").read_text()
    name = "  - name: balcony\n"
    for place in ("open", "box"):
        own = text.replace(name, name + f"    place: {place}\n")
        own += "\nplaces: {box: {kind: frame, light: 95 %}}\n"
        (tmp_path / "garden.yaml").write_text(own)
        (tmp_path / "climate.csv").write_bytes((BALCONY / "climate.csv").read_bytes())
        out = str(tmp_path / place)
        options = ["--years", "0", "--time-limit", "1", "--workers", "1"]
        done = CliRunner().invoke(
            cli, ["plan", str(tmp_path / "garden.yaml"), "--out", out, *options]
        )
        assert done.exit_code == 0, done.output
        said = CliRunner().invoke(cli, ["risk", out, "--json", "--years", "20"])
        assert said.exit_code == 0, said.output
        causes = {w["cause"] for w in json.loads(said.output)["warned"]}
        assert ("burnt tips" in causes) == (place == "box")
