"""``dryline crops``: the list, one crop, units, machines, and names that do not exist."""

from __future__ import annotations

import json
import re
from importlib import resources

import pytest

from crops.catalogue import catalogue, load_crop
from crops.crop_keys import KEYS
from scheduler.cli import main
from scheduler.outputs.crop_sheet import listing, sheet


@pytest.fixture
def run(capsys):
    """Run the command line; gives exit code, output and error output."""

    def call(*arguments: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as exit_:
            main(["crops", *arguments])
        out = capsys.readouterr()
        return int(exit_.value.code or 0), out.out, out.err

    return call


def test_list(run):
    code, out, _ = run()
    assert code == 0
    lines = out.splitlines()
    assert max(map(len, lines)) <= 80
    for name in catalogue():
        row = next(line for line in lines if line.startswith(name + " "))
        crop = catalogue()[name]
        cells = row.split()
        assert cells[1:3] == [crop.group, crop.family]
        assert cells[3] == f"{crop.nursery_days:.0f}+{crop.days_to_harvest:.0f}"
        assert cells[4:6] == [f"{crop.fresh_mass:.0f}", f"{crop.peak_demand:.0f}"]
        assert cells[6] == f"{crop.dli_min:g}/{crop.dli_target:g}"
        assert cells[7:9] == [f"{crop.hold:g}", f"{crop.storage_life:g}"]
        assert cells[10] == f"{crop.storage_temperature:.0f}"


def test_list_in_us_units(run):
    code, out, _ = run("--units", "us")
    assert code == 0
    assert max(map(len, out.splitlines())) <= 80
    row = next(line.split() for line in out.splitlines() if line.startswith("leaf_lettuce"))
    crop = catalogue()["leaf_lettuce"]
    assert float(row[4]) == pytest.approx(crop.fresh_mass / 28.3495, abs=0.06)  # g in an ounce
    assert float(row[5]) == pytest.approx(crop.peak_demand / 29.5735, abs=0.06)  # mL in a fl oz
    assert float(row[10]) == pytest.approx(crop.storage_temperature * 1.8 + 32, abs=0.51)


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("name", sorted(catalogue()))
def test_every_crop_fits_80_columns_and_shows_all(name, units):
    text = sheet(catalogue()[name], units)
    assert max(map(len, text.splitlines())) <= 80
    flat = " ".join(text.split())
    for key, parameter in catalogue()[name].parameters.items():
        assert f" {key} " in flat
        assert " ".join(parameter.source.split()) in flat
        assert KEYS[key].meaning.split()[0] in flat


def test_one_crop(run):
    code, out, _ = run("basil")
    assert code == 0
    assert "t_base 11 °C" in " ".join(out.split())
    assert "from memory" in out
    code, us, _ = run("basil", "--units", "us")
    assert code == 0
    assert "t_base 51.8 °F" in " ".join(us.split())  # 11 x 1.8 + 32


def test_json(run):
    code, out, _ = run("--json")
    assert code == 0
    assert {c["name"] for c in json.loads(out)["crops"]} == set(catalogue())
    code, out, _ = run("kale", "--json", "--units", "us")
    assert code == 0
    data = json.loads(out)
    number = data["numbers"]["fresh_mass"]
    assert number["unit"] == "oz"
    assert number["value"] == pytest.approx(catalogue()["kale"].fresh_mass / 28.349523, rel=1e-6)
    assert number["source"] == catalogue()["kale"].parameters["fresh_mass"].source
    assert set(data["numbers"]) == {k for k, v in KEYS.items() if v.kind != "text"}


@pytest.mark.parametrize("asked", ["pak choi", "Pak-Choi", "PAK_CHOI"])
def test_names_are_found_as_people_write_them(run, asked):
    code, out, _ = run(asked)
    assert code == 0
    assert out.startswith("pak choi")


@pytest.mark.parametrize(
    ("asked", "near"),
    [("basl", "basil"), ("chard", "swiss_chard"), ("lettuce", "romaine"), ("herbs", "dill")],
)
def test_unknown_name_gives_the_near_ones(run, asked, near):
    code, out, err = run(asked)
    assert (code, out) == (2, "")
    assert repr(asked) in err
    assert near in err
    assert "Traceback" not in err


@pytest.mark.parametrize("asked", ["xyzzy", "", " ", "../../zz", "\x00", "ä" * 500])
def test_name_near_to_nothing_lists_what_there_is(run, asked):
    code, _, err = run(asked)
    assert code == 2
    assert "kale" in err
    assert len(err) < 400


def test_unknown_name_for_machines(run):
    code, out, _ = run("basl", "--json")
    assert code == 2
    assert json.loads(out)["exit"] == 2
    assert "basil" in json.loads(out)["message"]


def test_crop_file_of_ones_own(run, tmp_path):
    code, text, _ = run("basil", "--yaml")
    assert code == 0
    own = tmp_path / "own.yaml"
    own.write_text(text.replace("name: basil", "name: holy_basil"), "utf-8")
    assert load_crop(own).name == "holy_basil"
    code, out, _ = run(str(own))
    assert code == 0
    assert "holy_basil" in out


def test_faulty_crop_file_gives_every_fault(run, tmp_path):
    own = tmp_path / "own.yaml"
    text = run("basil", "--yaml")[1]
    own.write_text(
        re.sub(r"(peak_demand:\s+value: \d+) mL/day", r"\1 mL", text).replace(
            "value: 17 day", "value: 17"
        )
    )
    code, _, err = run(str(own))
    assert code == 2
    assert "2 faults" in err
    assert f"{own}:" in err
    assert "water.peak_demand.value" in err
    assert "nursery.nursery_days.value" in err
    code, out, _ = run(str(own), "--json")
    assert code == 2
    assert {f["path"] for f in json.loads(out)["faults"]} >= {"water.peak_demand.value"}
    assert all(f["line"] for f in json.loads(out)["faults"])


def test_missing_crop_file(run, tmp_path):
    code, _, err = run(str(tmp_path / "none.yaml"))
    assert code == 2
    assert "none.yaml" in err


def test_folder_in_place_of_a_crop_file(run, tmp_path):
    folder = tmp_path / "folder.yaml"
    folder.mkdir()
    assert run(str(folder))[0] == 2


def test_schema(run):
    code, out, _ = run("--schema")
    assert code == 0
    shipped = (resources.files("crops") / "data" / "crop.schema.json").read_text("utf-8")
    assert json.loads(out) == json.loads(shipped)


def test_yaml_needs_a_name(run):
    assert run("--yaml")[0] == 2


def test_listing_of_one_crop_with_overrides():
    from crops.catalogue import with_overrides

    crop = with_overrides(catalogue()["kale"], {"fresh_mass": "1234 g", "group": "winter"})
    row = listing([crop]).splitlines()[2]
    assert " 1234 " in row
    assert " winter " in row
