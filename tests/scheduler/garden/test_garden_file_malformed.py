"""Malformed gardens: every fault with its line, never a traceback, exit 2."""

import json
import shutil
import time
import tracemalloc
from pathlib import Path

import pytest

from scheduler.base.faults import BadInput
from scheduler.cli import main
from scheduler.garden.climate_file import read_climate
from scheduler.garden.file import load_garden
from tests.scheduler.malformed.cases import CASES

HERE = Path(__file__).parents[1] / "malformed"
BASE = (HERE / "base.yaml").read_text()


@pytest.fixture
def folder(tmp_path):
    for name in ("climate.csv", "tatsoi.yaml"):
        shutil.copy(HERE / name, tmp_path)
    return tmp_path


def faults_of(folder, text):
    path = folder / "garden.yaml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(BadInput) as caught:
        load_garden(path)
    return caught.value.faults


def line_of(text, mark):
    return text[: text.index(mark)].count("\n") + 1


def test_the_base_is_sound(folder):
    (folder / "garden.yaml").write_text(BASE)
    assert len(load_garden(folder / "garden.yaml").columns) == 4
    assert len(CASES) >= 40


@pytest.mark.parametrize("name", list(CASES))
def test_one_spoilt_place(folder, name):
    old, new, path, expected, *mark = CASES[name]
    assert BASE.count(old) == 1, f"{old!r} must stand once in base.yaml"
    text = BASE.replace(old, new)
    if name == "missing section":
        start, end = text.index("demand:"), text.index("limits:")
        text = text[:start] + text[end:]
        line = 1
    else:
        line = line_of(
            text,
            mark[0]
            if mark
            else new.split("\n")[-1 if old == "names: [A, B]" and "name: D" in new else 0],
        )
    faults = faults_of(folder, text)
    matching = [f for f in faults if f.path == path and expected in f.expected]
    assert matching, [f.text() for f in faults]
    assert matching[0].file == str(folder / "garden.yaml")
    if name != "column with name and names":
        assert matching[0].line == line
    assert len(faults) <= 3, [f.text() for f in faults]
    assert all(len(f.value) <= 60 for f in faults)


CLIMATES = {
    "empty month": ("7,16.0,27.5,21.6", "7,,27.5,21.6", "tmin", "-60 to 50 degC", 9),
    "month missing": ("7,16.0,27.5,21.6\n", "", "month", "each month", 1),
    "month twice": ("7,16.0", "6,16.0", "month", "each month once", 9),
    "thirteenth month": ("12,-3.5", "13,-3.5", "month", "1 to 12", 14),
    "not a number": ("7,16.0", "7,warm", "tmin", "-60 to 50 degC", 9),
    "nan": ("7,16.0", "7,nan", "tmin", "-60 to 50 degC", 9),
    "infinite": ("7,16.0", "7,-inf", "tmin", "-60 to 50 degC", 9),
    "degF in a column of degC": ("7,16.0,27.5", "7,16.0,81.5", "tmax", "-60 to 60 degC", 9),
    "min above max": ("7,16.0,27.5", "7,28.0,27.5", "tmin", "at most tmax", 9),
    "negative radiation": ("27.5,21.6", "27.5,-1", "rs", "0 to 45 MJ/m^2/day", 9),
    "value missing in a row": ("7,16.0,27.5,21.6", "7,16.0,27.5", "", "4, as in the header", 9),
    "unknown column": ("rs [MJ/m^2/day]", "rain", "", "one of", 2),
    "misspelt column": ("tmin [degC]", "t_min", "", "tmin (did you mean that?)", 2),
    "unit of another kind": ("tmin [degC]", "tmin [mm]", "tmin", "converts to degC", 2),
    "expression as a unit": ("tmin [degC]", "tmin [degC**9**9]", "tmin", "converts to degC", 2),
    "no key column": ("month,tmin", "rh,tmin", "", "a column month, or a column date", 2),
    "column twice": ("tmax [degC]", "tmin", "tmin", "each column once", 2),
}


@pytest.mark.parametrize("name", list(CLIMATES))
def test_climate_faults(folder, name):
    old, new, path, expected, line = CLIMATES[name]
    text = (folder / "climate.csv").read_text()
    assert text.count(old) == 1
    (folder / "climate.csv").write_text(text.replace(old, new))
    faults = faults_of(folder, BASE)
    matching = [f for f in faults if f.path == path and expected in f.expected]
    assert matching, [f.text() for f in faults]
    assert (matching[0].file, matching[0].line) == (str(folder / "climate.csv"), line)


def daily(first, last, skip=()):
    import pandas as pd

    days = [d.date() for d in pd.date_range(first, last) if str(d.date()) not in skip]
    return "date,tmin,tmax\n" + "".join(f"{d},10,20\n" for d in days)


@pytest.mark.parametrize(
    ("text", "expected", "file"),
    [
        (daily("2027-04-12", "2027-10-09"), "rows for the whole season", "garden.yaml"),
        (daily("2027-04-13", "2027-10-10"), "rows for the whole season", "garden.yaml"),
        (daily("2027-04-12", "2027-10-10", {"2027-06-01"}), "every day", "climate.csv"),
        (daily("2027-04-12", "2027-10-10") + "2027-05-01,9,20\n", "each date once", "climate.csv"),
        (
            daily("2027-04-12", "2027-10-10").replace("2027-06-01", "01/06/2027"),
            "a day written",
            "climate.csv",
        ),
        ("", "a header", "climate.csv"),
        ("month,tmin,tmax\n", "twelve months", "climate.csv"),
        ('month,tmin,tmax\n1,"2,3\n', "3, as in the header", "climate.csv"),
        ("\x00\x01" * 1000, "one of", "climate.csv"),
    ],
)
def test_climate_tables_that_do_not_do(folder, text, expected, file):
    (folder / "climate.csv").write_text(text)
    faults = faults_of(folder, BASE)
    assert any(expected in f.expected and f.file == str(folder / file) for f in faults), faults


def test_daily_rows_that_just_cover_the_season(folder):
    (folder / "climate.csv").write_text(daily("2027-04-12", "2027-10-10"))
    (folder / "garden.yaml").write_text(BASE)
    weather = load_garden(folder / "garden.yaml").site.weather
    assert (str(weather.index[0].date()), len(weather)) == ("2027-04-12", 182)


def test_faults_of_a_crop_file_name_its_lines(folder):
    text = (folder / "tatsoi.yaml").read_text()
    mark = "value: 28 day"
    assert text.count(mark) == 1
    (folder / "tatsoi.yaml").write_text(text.replace(mark, "value: 28 L"))
    (fault,) = faults_of(folder, BASE)
    assert (fault.file, fault.line) == (str(folder / "tatsoi.yaml"), line_of(text, mark))
    assert fault.path == "development.days_to_harvest.value"


def bomb():
    """Nine levels of nine aliases: 9 ** 9 values from a few hundred bytes."""
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 10)]
    return "\n".join(lines)


HOSTILE = {
    "empty": b"",
    "only a remark": b"# nothing\n",
    "a list": b"- a\n- b\n",
    "a word": b"garden",
    "tabs": b"site:\n\tlatitude: 1 degree\n",
    "not UTF-8": BASE.encode().replace(b"base\n", b"b\xe4se\n", 1),
    "UTF-16": BASE.encode("utf-16"),
    "null bytes": b"name: a\x00b\n",
    "junk of 2 MB": bytes(range(256)) * 8192,
    "2 MB of brackets": b"[" * 2_000_000,
    "just under 1 MB of brackets": b"[" * 999_999,
    "just under 1 MB of closed brackets": b"[" * 499_000 + b"]" * 499_000,
    "just under 1 MB of braces": b"{" * 999_999,
    "just under 1 MB of dashes": b"- " * 499_000,
    "just under 1 MB of keys": b"a: 1\n" * 190_000,
    "deep blocks": "\n".join(" " * i + "a:" for i in range(900)).encode(),
    "anchor bomb": bomb().encode(),
    "merge bomb": b"a: &a {x: 1}\n"
    + b"\n".join(
        b"b%d: &b%d {<<: [%s]}" % (i, i, b", ".join([b"*b%d" % (i - 1)] * 9 if i else [b"*a"] * 9))
        for i in range(12)
    ),
    "chain of aliases": b"- &a0 [x]\n"
    + b"".join(b"- &a%d [*a%d]\n" % (i, i - 1) for i in range(1, 5000)),
    "anchor of itself": b"site: &a [*a]\n",
    "merge of itself": b"site: &a {<<: *a, x: 1}\n",
    "merge of a text": b"site: {<<: text}\n",
    "unknown alias": b"site: *nowhere\n",
    "object tag": b"site: !!python/object/apply:os.system ['true']\n",
    "two documents": b"a: 1\n---\nb: 2\n",
    "unclosed text": b'name: "base\n',
    "huge integer": b"nursery: {cells: " + b"9" * 100_000 + b"}\n",
    "long key": b"k" * 5000 + b": 1\n",
}


@pytest.mark.parametrize("name", list(HOSTILE))
def test_hostile_files(folder, name):
    faults = faults_of(folder, HOSTILE[name])  # the bombs would take hours
    assert faults
    assert all(len(f.text()) < 600 for f in faults)
    if not name.startswith(("junk", "2 MB", "just under 1 MB of keys")):
        assert any(f.line for f in faults)


@pytest.mark.clock
@pytest.mark.parametrize("name", list(HOSTILE))
def test_hostile_files_are_refused_soon(folder, name):
    began = time.process_time()
    faults_of(folder, HOSTILE[name])
    assert time.process_time() - began < 10


@pytest.mark.slow
def test_more_tiers_than_fit_are_refused_before_their_columns_are_named(folder):
    """31 kB stood for four million columns, and took 580 MB; 1 MB would have taken all there is."""
    entry = "  - {name: C%d, count: 10000, tiers: [{vessel: pail, light: 1, plants: 4}]}\n"
    before, after = BASE[: BASE.index("columns:")], BASE[BASE.index("nursery:") :]
    text = before + "columns:\n" + "".join(entry % i for i in range(400)) + after
    tracemalloc.start()
    try:
        (fault,) = faults_of(folder, text)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert (fault.path, fault.value) == ("columns", "4000000 tiers")
    assert most < 50e6


@pytest.mark.parametrize(
    ("year", "sound"),
    [
        (1899, False),
        (1900, True),
        (2201, True),
        (2202, False),
        (1500, False),
        (9999, False),
    ],
)
def test_climate_of_years_that_no_season_has(year, sound):
    """Days before 1677 ended in an error of the library for dates."""
    frame, faults = read_climate(f"date,tmin,tmax\n{year}-06-01,5,15\n", "climate.csv")
    assert (frame is not None, bool(faults)) == (sound, not sound)
    assert sound or "1900 to 2201" in faults[0].expected


def test_a_climate_table_of_very_many_columns_is_refused_at_once():
    frame, faults = read_climate(",".join(["tminn"] * 800_000), "climate.csv")
    assert frame is None
    assert [f.value for f in faults] == ["800000 columns"]


@pytest.mark.parametrize(("depth", "expected"), [(20, "the sections"), (21, "at most 20 levels")])
def test_nesting_is_limited(folder, depth, expected):
    (fault,) = faults_of(folder, b"[" * depth + b"]" * depth)
    assert expected in fault.expected


@pytest.mark.slow
def test_values_are_limited(folder):
    """200,000 values, anchors followed: one more is refused before any is judged."""
    row = b"[" + b", ".join([b"x"] * 999) + b"]"  # 1,000 values with the list itself
    for rows, expected in ((198, "the sections"), (202, "at most 200,000")):
        text = b"- &a " + row + b"\n" + b"- *a\n" * (rows - 1)
        (fault,) = faults_of(folder, text)
        assert expected in fault.expected


def test_tabs_are_named(folder):
    (fault,) = faults_of(folder, HOSTILE["tabs"])
    assert (fault.line, fault.value) == (2, "a tab")


def test_missing_file_and_folder(tmp_path):
    for path in (tmp_path / "none.yaml", tmp_path, tmp_path / "none" / "garden.yaml"):
        with pytest.raises(BadInput) as caught:
            load_garden(path)
        assert "can be read" in caught.value.faults[0].expected


def test_a_byte_order_mark_and_windows_lines_are_fine(folder):
    text = BASE.replace("\n", "\r\n").encode("utf-8-sig")
    (folder / "garden.yaml").write_bytes(text)
    assert load_garden(folder / "garden.yaml").name == "base"


def test_norway(folder):
    """`no` is a name, not a truth value: YAML 1.2's core schema."""
    (folder / "garden.yaml").write_text(BASE.replace("names: [A, B]", "names: [no, 1]"))
    columns = load_garden(folder / "garden.yaml").columns
    assert [c.name for c in columns] == ["no", "1", "C1", "C2"]


def test_all_faults_at_once(folder):
    """Faults of shape, unit and fit, of the climate and of the crop file, in one answer."""
    text = BASE
    for name in (
        "wrong unit",
        "negative light",
        "unknown vessel",
        "wish outside the season",
        "unknown crop",
        "unknown key",
    ):
        old, new = CASES[name][:2]
        if name == "unknown vessel":
            old, new = "- vessel: box", "- vessel: bix"
        text = text.replace(old, new)
    climate = (folder / "climate.csv").read_text()
    (folder / "climate.csv").write_text(climate.replace("7,16.0", "7,36.0"))
    paths = {f.path for f in faults_of(folder, text)}
    assert {
        "limits.lift",
        "columns[0].tiers[0].light",
        "columns[1].tiers[0].vessel",
        "demand[0].from",
        "crops.which[2]",
        "site.elevaton",
        "site.elevation",
    } <= paths


def test_a_fault_does_not_hide_its_neighbours(folder):
    """A vessel unknown in a column with another fault; dates against a season with a fault."""
    text = BASE.replace("[mon, wed, fri]", "[mon, wod]").replace(
        "tiers:\n      - {vessel: pail, light: 1.0", "tiers:\n      - {vessel: pial, light: 1.5"
    )
    text = text.replace("per_week: 2 lb, from: 2027-05-31", "per_week: 2 lb, from: 2026-05-31")
    assert {f.path for f in faults_of(folder, text)} == {
        "season.work_days",
        "columns[0].tiers[0].light",
        "columns[0].tiers[0].vessel",
        "demand[1].from",
    }


@pytest.mark.parametrize("name", ["wrong unit", "season reversed", "unknown crop", "anchor bomb"])
@pytest.mark.parametrize("as_json", [False, True])
def test_the_command_line_ends_with_2(folder, capsys, name, as_json):
    text = HOSTILE[name] if name in HOSTILE else BASE.replace(*CASES[name][:2]).encode()
    (folder / "garden.yaml").write_bytes(text)
    arguments = ["plan", str(folder / "garden.yaml"), "--out", str(folder / "out")]
    with pytest.raises(SystemExit) as end:
        main([*arguments, "--json"] if as_json else arguments)
    assert end.value.code == 2
    printed = capsys.readouterr()
    assert "Traceback" not in printed.out + printed.err
    if as_json:
        answer = json.loads(printed.out)
        assert answer["exit"] == 2
        assert answer["faults"][0]["file"] == str(folder / "garden.yaml")
    else:
        assert f"{folder / 'garden.yaml'}:" in printed.err
    assert not (folder / "out").exists()
