"""Where plugs sit, and the fill that goes with them; every limit just met and just missed."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
import verify_case as case
from click.testing import CliRunner

from crops.vessel import Plugs, Vessel
from scheduler.base.faults import BadInput
from scheduler.cli import cli
from scheduler.garden.file import load_garden
from scheduler.outputs.work import TRANSPLANT, work_items

EXAMPLE = Path(__file__).parents[3] / "examples" / "courtyard"
STRAIGHT = "    shape: rectangular\n    length: 30 cm\n    width: 20 cm\n    height: {height} cm\n"


def _garden(tmp_path: Path, fill: str, plugs: str, height: float = 30, plants: int = 4) -> Path:
    """The courtyard with one kind of vessel, 600 cm2 in area: 1 L stands 1.667 cm deep."""
    text = (EXAMPLE / "garden.yaml").read_text()
    head, rest = text.split("vessels:\n", 1)
    _vessels, rest = rest.split("\ncolumns:", 1)
    vessel = (
        "  pail_18:\n"
        + STRAIGHT.format(height=height)
        + f"    fill: {fill}\n    keep: 1 cm\n    mass: 1 kg\n    plugs: {plugs}\n"
    )
    rest = rest.replace("pail_11", "pail_18").replace("plants: 4", f"plants: {plants}")
    (tmp_path / "garden.yaml").write_text(head + "vessels:\n" + vessel + "\ncolumns:" + rest)
    (tmp_path / "climate.csv").write_bytes((EXAMPLE / "climate.csv").read_bytes())
    return tmp_path / "garden.yaml"


def _faults(path: Path) -> list[tuple[str, str, str]]:
    with pytest.raises(BadInput) as error:
        load_garden(path)
    assert all(f.line for f in error.value.faults)
    return [(f.path, f.value, f.expected) for f in error.value.faults]


LID = "{in: lid, depth: 8 cm}"  # of a vessel 30 cm high: the tips are 22 cm above the bottom
# 8 cm at 30 degrees reach 4 cm down from holes at 25 cm: the tips are 21 cm above the bottom.
SIDE = "{in: side, depth: 8 cm, hole: 25 cm, angle: 30 degree}"


@pytest.mark.parametrize(
    ("plugs", "low", "high"),
    [(LID, 22 + 1.27, 30 - 1.27), (SIDE, 21 + 1.27, 25 - 1.27)],
    ids=["lid", "side"],
)
def test_fill_reaches_the_plug_tips_and_leaves_air(
    tmp_path: Path, plugs: str, low: float, high: float
) -> None:
    """Half an inch in the solution, half an inch of air: Kratky 2010 and 2005, see crops.vessel."""
    for depth in (low, high):
        assert load_garden(_garden(tmp_path, f"{depth} cm", plugs)).vessels["pail_18"].plugs
    for depth in (low - 0.01, high + 0.01):
        [(path, _value, expected)] = _faults(_garden(tmp_path, f"{depth} cm", plugs))
        assert path == "vessels.pail_18.fill"
        assert f"{low:.1f} cm to {high:.1f} cm deep" in expected
    # The same said in litres: 0.6 L a cm.
    assert load_garden(_garden(tmp_path, f"{0.6 * low + 0.001} L", plugs))
    assert _faults(_garden(tmp_path, f"{0.6 * low - 0.01} L", plugs))


def test_plugs_that_cannot_be(tmp_path: Path) -> None:
    cases = {
        "{in: lid, depth: 8 cm, hole: 20 cm, angle: 45 degree}": {"hole", "angle"},
        "{in: side, depth: 8 cm}": {"hole", "angle"},
        "{in: side, depth: 8 cm, hole: 30 cm, angle: 45 degree}": {"hole"},  # the height
        "{in: side, depth: 8 cm, hole: 8 cm, angle: 90 degree}": {"depth"},  # on the bottom
        # 2.54 cm from top to tip is the least: half an inch wet, half an inch of air.
        "{in: lid, depth: 2.53 cm}": {"depth"},
        "{in: floor, depth: 8 cm}": {"in"},
        "{in: lid}": {"depth"},
        "{in: side, depth: 8 cm, hole: 20 cm, angle: 0 degree}": {"angle"},
    }
    for plugs, keys in cases.items():
        found = _faults(_garden(tmp_path, "24 cm", plugs))
        assert {path.rpartition(".")[2] for path, _v, _e in found} == keys, plugs
    assert load_garden(_garden(tmp_path, "28.73 cm", "{in: lid, depth: 2.54 cm}"))


@pytest.mark.parametrize("holes", [1, 3])
def test_no_more_plants_than_holes(tmp_path: Path, holes: int) -> None:
    plugs = f"{{in: lid, depth: 8 cm, holes: {holes}}}"
    text = _garden(tmp_path, "25 cm", plugs, plants=holes).read_text()
    text = text.replace("plants: 3", f"plants: {holes}")
    (tmp_path / "garden.yaml").write_text(text)
    garden = load_garden(tmp_path / "garden.yaml")
    assert all(t.plants == holes for c in garden.columns for t in c.tiers)
    (tmp_path / "garden.yaml").write_text(
        text.replace(f"1.0, plants: {holes}", f"1.0, plants: {holes + 1}")
    )
    [(path, value, expected)] = _faults(tmp_path / "garden.yaml")
    assert path == "columns[0].tiers[0].plants"
    assert (value, expected) == (str(holes + 1), f"at most {holes}, the holes of pail_18")


def test_depth_of_the_tip() -> None:
    """A plug 8 cm long at 45 degrees reaches 8/sqrt(2) = 5.657 cm down from its hole."""
    vessel = Vessel("v", "rectangular", (30, 20), 40, 18, plugs=Plugs("side", 8, 32, 45))
    assert vessel.tip_cm == pytest.approx(32 - 8 / math.sqrt(2))
    assert vessel.dip_at(18) == pytest.approx(30 - 32 + 8 / math.sqrt(2))  # 18 L stand 30 cm deep
    assert vessel.dip_at(15) < 0  # 25 cm: below the tips
    lid = Vessel("v", "rectangular", (30, 20), 40, 18, plugs=Plugs("lid", 12))
    assert (lid.tip_cm, lid.dip_at(18)) == (28, 2)
    assert Vessel("v", "rectangular", (30, 20), 40, 18).dip_at(18) is None


def test_the_calendar_says_how_deep_the_tips_stand_and_which_holes_to_stop(tmp_path: Path) -> None:
    """2 of 5 holes planted: they drink as 2, and the calendar has 3 stopped."""
    text = (EXAMPLE.parent / "balcony" / "garden.yaml").read_text()
    text = text.replace("angle: 45 degree}", "angle: 45 degree, holes: 5}")
    text = text.replace("plants: 3", "plants: 2")
    (tmp_path / "garden.yaml").write_text(text)
    climate = EXAMPLE.parent / "balcony" / "climate.csv"
    (tmp_path / "climate.csv").write_bytes(climate.read_bytes())

    def run(*args: str) -> str:
        result = CliRunner().invoke(cli, args, standalone_mode=False)
        assert result.exception is None, result.output
        return result.output

    out = str(tmp_path / "out")
    garden = str(tmp_path / "garden.yaml")
    run("plan", garden, "--out", out, "--years", "0", "--time-limit", "1", "--workers", "1")
    said = " ".join(run("calendar", out).split())
    # 3 gal stand 23.91 cm deep; the tips are 25.4 - 6.35 sin 45 = 20.91 cm up: 3.00 cm, 1.18 in, told in eighths.
    assert "3.00 gal is 9 3/8 in deep, the plug tips 1 1/8 in below the surface." in said
    assert "3.00 gal, 2 plants in balcony" in said
    batches = json.loads((tmp_path / "out" / "plan.json").read_text())["batches"]
    assert said.count("(stop 3 empty holes)") == len(batches) > 0


@pytest.mark.parametrize("planted", [1, 3, 5])
def test_each_tier_may_be_planted_in_part(planted: int) -> None:
    """Tier 1 has so many plants in 5 holes, tier 2 four: what is stopped is each tier's own."""
    g = case.garden()
    vessels = {name: replace(v, plugs=Plugs("lid", 10.0, holes=5)) for name, v in g.vessels.items()}
    tiers = (replace(g.columns[0].tiers[0], plants=planted), *g.columns[0].tiers[1:])
    g = replace(g, vessels=vessels, columns=(replace(g.columns[0], tiers=tiers), *g.columns[1:]))
    some = replace(case.heads("x", "A1", 10), plants=planted)
    items = work_items(g, case.plan(some, case.heads("y", "A2", 10)))
    stopped = {w.tier: w.stopped for w in items if w.kind == TRANSPLANT}
    assert stopped == {1: 5 - planted, 2: 1}
