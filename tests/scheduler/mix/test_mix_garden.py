"""The section solution of garden.yaml, and the file of learned numbers."""

import json
import shutil
from pathlib import Path

import pytest

from crops.solution.acid import ACIDS
from crops.solution.salts import TARGETS, THREE_SALT
from scheduler.base.faults import BadInput
from scheduler.garden.file import garden_sources, load_garden

HERE = Path(__file__).parents[1] / "malformed"
BASE = (HERE / "base.yaml").read_text()
OWN = """solution:
  fertilizers:
    - {name: complete, analysis: 4-18-38, parts: 2}
    - {name: calcium nitrate, analysis: 15.5-0-0, Ca: 19 %, ammonium: 1.1 %, parts: 2}
    - {name: Epsom salt, formula: MgSO4.7H2O, parts: 1}
  water: {alkalinity: 120 mg/L, pH: 7.6, Ca: 40 mg/L, Mg: 8 mg/L, NO3_N: 2 ppm}
  acid: phosphoric 75 %
  pH: 5.9
  scale: 0.1 g
"""


@pytest.fixture
def folder(tmp_path):
    for name in ("climate.csv", "tatsoi.yaml"):
        shutil.copy(HERE / name, tmp_path)
    return tmp_path


def load(folder, more):
    (folder / "garden.yaml").write_text(BASE + more)
    return load_garden(folder / "garden.yaml")


def faults(folder, more):
    with pytest.raises(BadInput) as caught:
        load(folder, more)
    return caught.value.faults


def test_left_out_it_is_the_three_salt_way_in_rain_water(folder):
    shelf = load(folder, "").solution
    assert shelf.salts == THREE_SALT.salts
    assert shelf.way == "three-salt"
    assert not shelf.known
    assert shelf.recipe(10, 1.5, 6.0).dose is None


def test_what_the_grower_tells(folder):
    shelf = load(folder, OWN).solution
    assert [s.name for s in shelf.salts] == ["complete", "calcium nitrate", "Epsom salt"]
    assert shelf.salts[1].shares == pytest.approx(
        {"N_NO3": 0.144, "N_NH4": 0.011, "Ca": 0.19}, rel=1e-9
    )
    assert shelf.water.elements == {"Ca": 40.0, "Mg": 8.0, "N_NO3": 2.0}
    assert (shelf.water.alkalinity, shelf.water.ph) == (120.0, 7.6)
    assert shelf.acid is ACIDS["phosphoric 75 %"]
    assert (shelf.ph, shelf.scale, shelf.target, shelf.known) == (5.9, 0.1, None, True)


@pytest.mark.parametrize(
    ("text", "mg"),
    [("120 mg/L", 120.0), ("120 ppm", 120.0), ("2.4 meq/L", 2.4 * 50.04), ("6.7 dKH", 119.6)],
)
def test_alkalinity_as_people_state_it(folder, text, mg):
    # 1 meq/L is 50.04 mg/L CaCO3; one degree of carbonate hardness 17.85 mg/L.
    shelf = load(folder, f"solution:\n  water: {{alkalinity: {text}}}\n").solution
    assert shelf.water.alkalinity == pytest.approx(mg, rel=1e-3)


def test_fertilizers_without_parts_come_near_to_a_target(folder):
    own = "solution:\n  fertilizers:\n    - {name: a, formula: KNO3}\n"
    assert load(folder, own).solution.target == TARGETS["leafy"]
    assert load(folder, own + "  target: hoagland-1\n").solution.target == TARGETS["hoagland-1"]
    given = load(folder, own + "  target: {N: 100 mg/L, K: 120 ppm}\n").solution.target
    assert given == {"N": 100.0, "K": 120.0}


def test_a_way_by_name(folder):
    assert load(folder, "solution:\n  way: two-part\n").solution.way == "two-part"


F = "solution.fertilizers[0]"
BAD = {
    "neither": ("fertilizers: [{name: a}]", F, "either an analysis or a formula"),
    "both": ("fertilizers: [{name: a, analysis: 4-18-38, formula: KNO3}]", F, "either an"),
    "no formula": ("fertilizers: [{name: a, formula: Kx}]", F, "a fertilizer that can be"),
    "no grade": ("fertilizers: [{name: a, analysis: 4-18}]", F, "15.5-0-0"),
    "line beside formula": ("fertilizers: [{name: a, formula: KNO3, Ca: 1 %}]", F, "no line Ca"),
    "above all": ("fertilizers: [{name: a, analysis: 50-50-0, Ca: 29 %}]", F, "more than 100 %"),
    "share": ("fertilizers: [{name: a, analysis: 5-0-0, Ca: 19 g}]", f"{F}.Ca", "19 %"),
    "share above one": ("fertilizers: [{name: a, analysis: 5-0-0, Ca: 19}]", f"{F}.Ca", "19 %"),
    "unknown line": (
        "fertilizers: [{name: a, analysis: 5-0-0, Si: 1 %}]",
        f"{F}.Si",
        "did you mean",
    ),
    "twice": (
        "fertilizers: [{name: a, formula: KNO3}, {name: a, formula: KCl}]",
        "solution",
        "a stands twice",
    ),
    "some parts": (
        "fertilizers: [{name: a, formula: KNO3, parts: 1}, {name: b, formula: KCl}]",
        "solution",
        "parts for every",
    ),
    "parts and target": (
        "target: leafy\n  fertilizers: [{name: a, formula: KNO3, parts: 1}]",
        "solution",
        "parts or a target",
    ),
    "way": ("way: four-salt", "solution.way", "three-salt"),
    "acid": ("acid: sulfuric 93 %", "solution.acid", "citric"),
    "pH too low": ("pH: 3.9", "solution.pH", "4 to 8"),
    "pH too high": ("pH: 8.1", "solution.pH", "4 to 8"),
    "target": ("target: {N: 100, K: 120 mg/L}", "solution.target", "mg/L"),
    "target of an unknown": ("target: {X: 100 mg/L}", "solution.target", "N, P, K"),
    "alkalinity": ("water: {alkalinity: 120}", "solution.water.alkalinity", "with its unit"),
    "alkalinity below": ("water: {alkalinity: -3 mg/L}", "solution.water.alkalinity", "0 to"),
    "scale": ("scale: 0 g", "solution.scale", "0.001"),
    "a list": ("- a", "solution", "a mapping"),
}


@pytest.mark.parametrize("name", list(BAD))
def test_faults_of_the_section(folder, name):
    text, path, expected = BAD[name]
    found = faults(folder, f"solution:\n  {text}\n")
    assert [f for f in found if f.path == path and expected in f.expected], [
        f.text() for f in found
    ]
    assert all(f.line for f in found)


@pytest.mark.parametrize("edge", ["pH: 4", "pH: 8", "scale: 0.001 g", "scale: 100 g"])
def test_edges_of_the_section(folder, edge):
    load(folder, f"solution:\n  {edge}\n")


def test_every_fault_at_once(folder):
    text = OWN.replace("MgSO4.7H2O", "MgXO4").replace("120 mg/L", "120").replace("pH: 5.9", "pH: 9")
    assert len(faults(folder, text)) == 3


def test_the_schema_takes_what_the_reader_takes(folder):
    jsonschema = pytest.importorskip("jsonschema")
    import yaml

    schema = json.loads(
        (Path(__file__).parents[3] / "scheduler/data/garden.schema.json").read_text()
    )

    class Plain(yaml.SafeLoader):
        """YAML 1.2: dates stay texts."""

    Plain.yaml_implicit_resolvers = {
        k: [(t, r) for t, r in v if not t.endswith("timestamp")]
        for k, v in yaml.SafeLoader.yaml_implicit_resolvers.items()
    }
    jsonschema.validate(yaml.load(BASE + OWN, Plain), schema)


# Learned numbers

LEARNED = """# what finished crops teach
pak_choi:
  peak_demand: {value: 190 mL/day, source: learned from 5 crops}
  days_to_harvest: 30 day
romaine:
  fresh_mass: {value: 210 g, source: learned from 3 crops}
mizuna:
  fresh_mass: 80 g
"""


def with_learned(folder, text):
    (folder / "learned.yaml").write_text(text)
    text = BASE.replace("  overrides:", "  learned: learned.yaml\n  overrides:")
    (folder / "garden.yaml").write_text(text)
    return folder / "garden.yaml"


def test_learned_numbers_are_read_and_the_growers_own_come_first(folder):
    garden = load_garden(with_learned(folder, LEARNED))
    assert garden.crops["pak_choi"].peak_demand == 190
    assert garden.crops["pak_choi"].days_to_harvest == 32  # by the garden's own override
    assert garden.crops["romaine"].fresh_mass == 210
    assert "mizuna" not in garden.crops  # not grown here
    assert garden.crops["romaine"].parameters["fresh_mass"].source == "learned from 3 crops"


def test_learned_numbers_go_with_the_plan(folder):
    path = with_learned(folder, LEARNED)
    assert garden_sources(path)["inputs/learned.yaml"] == LEARNED.encode()


def test_faults_of_the_learned_file_name_it(folder):
    text = LEARNED.replace("190 mL/day", "190 mL").replace("mizuna", "mizunna")
    with pytest.raises(BadInput) as caught:
        load_garden(with_learned(folder, text))
    places = {(Path(f.file).name, f.line, f.path) for f in caught.value.faults}
    assert places == {
        ("learned.yaml", 3, "pak_choi.peak_demand.value"),
        ("learned.yaml", 7, "mizunna"),
    }


@pytest.mark.parametrize("text", ["[]", "a: [", "pak_choi: 3", "x"])
def test_a_learned_file_that_is_none(folder, text):
    with pytest.raises(BadInput) as caught:
        load_garden(with_learned(folder, text))
    assert "learned.yaml" in caught.value.faults[0].file


def test_a_learned_file_that_is_missing(folder):
    path = with_learned(folder, LEARNED)
    (folder / "learned.yaml").unlink()
    with pytest.raises(BadInput) as caught:
        load_garden(path)
    assert caught.value.faults[0].path == "crops.learned"


def test_the_garden_to_begin_with_shows_a_section_that_loads(folder):
    text = (Path(__file__).parents[3] / "scheduler/data/start_garden.yaml").read_text()
    lines = text[text.index("# solution:") :].splitlines()
    shelf = load(folder, "\n".join(line[2:] for line in lines) + "\n").solution
    assert len(shelf.salts) == 3
    assert shelf.water.alkalinity == 120
    assert shelf.acid is ACIDS["citric"]
