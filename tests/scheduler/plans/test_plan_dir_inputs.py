"""Copies of a garden's files lie apart from what is made, and what is written opens again."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from draws import some_now
from test_plan_dir_crops import empty_plan

from scheduler.base.faults import OwnFault
from scheduler.cli import main
from scheduler.garden.file import garden_sources, load_garden, write_sources
from scheduler.outputs.files import calendar_files
from scheduler.plans import folder as plan_dir
from scheduler.plans.folder import CROPS_FILE, crops_source, read_plan_dir, write_plan_dir
from scheduler.plans.reading import parse_plan

HERE = Path(__file__).parents[1] / "malformed"
BALCONY = Path(__file__).parents[3] / "examples" / "balcony"

# Every name that a plan's folder uses, hidden ones too, and the catalogue's own.
TAKEN = [
    "weeks.csv",
    "batches.csv",
    "calendar.csv",
    "calendar.txt",
    "crops-as-planned.yaml",
    "past-weather.csv",
    "plan.json",
    "log.csv",
    "garden.yaml",
    "changes.json",
    "inputs",
    ".incoming",
    ".incoming.1.2.part",
    "WEEKS.CSV",
    "Plan.JSON",
]


def garden_with(folder: Path, climate: str, crop: str, learned: str) -> Path:
    """base.yaml with its climate table, crop file and learned numbers under these names."""
    for part in ("weather", "crops", "taught"):
        (folder / part).mkdir(parents=True, exist_ok=True)
    shutil.copy(HERE / "climate.csv", folder / "weather" / climate)
    shutil.copy(HERE / "tatsoi.yaml", folder / "crops" / crop)
    (folder / "taught" / learned).write_text(
        "kale:\n  days_to_harvest: {value: 41 day, source: learned from one finished crop}\n"
    )
    text = (HERE / "base.yaml").read_text()
    text = text.replace("climate: climate.csv", f"climate: weather/{climate}")
    text = text.replace(
        "files: [tatsoi.yaml]", f"files: [crops/{crop}]\n  learned: taught/{learned}"
    )
    (folder / "garden.yaml").write_text(text)
    return folder / "garden.yaml"


@pytest.mark.parametrize(("name", "which"), some_now((n, w) for n in TAKEN for w in range(3)))
def test_a_file_named_like_one_of_the_folders_own(tmp_path: Path, name: str, which: int) -> None:
    names = ["climate.csv", "tatsoi.yaml", "learned.yaml"]
    names[which] = name
    path = garden_with(tmp_path / "mine", *names)
    garden = load_garden(path)
    plan = empty_plan(garden)
    sources = {**garden_sources(path), CROPS_FILE: crops_source(garden)}
    folder = tmp_path / "plan"
    for _ in range(2):  # again over the first one
        write_plan_dir(folder, plan, sources, calendar_files(garden, plan))
        back, made = read_plan_dir(folder)
        assert made == plan
        assert back.site.weather.equals(garden.site.weather)
        assert dict(back.crops) == dict(garden.crops)
    given = {
        p: (tmp_path / "mine" / p / n).read_bytes()
        for p, n in zip(("weather", "crops", "taught"), names, strict=True)
    }
    assert {p.read_bytes() for p in (folder / "inputs").iterdir()} == set(given.values())
    # A copy of the copy, as a rebalance writes it, changes nothing.
    assert garden_sources(folder / "garden.yaml") == {
        n: d for n, d in sources.items() if n != CROPS_FILE
    }


def test_names_that_differ_by_capitals_alone_do_not_meet(tmp_path: Path) -> None:
    path = garden_with(tmp_path, "one.yaml", "One.yaml", "ONE.yaml")
    copies = [n.lower() for n in garden_sources(path)]
    assert len(set(copies)) == 4


@pytest.mark.slow
def test_the_command_opens_what_it_wrote(tmp_path: Path) -> None:
    """`plan`, then `verify` and `rebalance` of its folder, with a climate table named weeks.csv."""
    garden = tmp_path / "garden"
    garden.mkdir()
    shutil.copy(BALCONY / "climate.csv", garden / "weeks.csv")
    text = (BALCONY / "garden.yaml").read_text()
    assert text.count("climate: climate.csv") == 1
    (garden / "garden.yaml").write_text(text.replace("climate.csv", "weeks.csv"))
    quick = ["--time-limit", "0.3", "--workers", "1"]

    def ends(*words: object) -> int:
        with pytest.raises(SystemExit) as end:
            main([str(w) for w in words])
        return int(end.value.code or 0)

    assert ends("plan", garden / "garden.yaml", "--out", tmp_path / "season", *quick) == 0
    assert ends("verify", tmp_path / "season") == 0
    (tmp_path / "season" / "log.csv").write_text("date,what,column,tier\n")
    day = read_plan_dir(tmp_path / "season")[1].start
    assert (
        ends("rebalance", tmp_path / "season", "--on", day, "--out", tmp_path / "next", *quick) == 0
    )
    assert ends("verify", tmp_path / "next") == 0
    weeks = (tmp_path / "next" / "weeks.csv").read_bytes()
    assert weeks != (garden / "weeks.csv").read_bytes()


def test_a_folder_of_before_is_read_and_written_anew(tmp_path: Path) -> None:
    """Copies lay beside plan.json once."""
    old = tmp_path / "old"
    shutil.copytree(BALCONY, old)
    garden = load_garden(old / "garden.yaml")
    plan = empty_plan(garden)
    (old / "plan.json").write_text(plan.to_json())
    (old / CROPS_FILE).write_bytes(crops_source(garden))
    back, made = read_plan_dir(old)
    assert (made, dict(back.crops)) == (plan, dict(garden.crops))
    write_plan_dir(tmp_path / "new", made, garden_sources(old / "garden.yaml"))
    assert read_plan_dir(tmp_path / "new")[0].site.weather.equals(garden.site.weather)
    write_plan_dir(old, made, garden_sources(old / "garden.yaml"))
    assert read_plan_dir(old)[0].site.weather.equals(garden.site.weather)


def test_what_cannot_be_opened_again_is_not_written(tmp_path: Path) -> None:
    """The plan before stays, and nothing of the new one is left."""
    garden = load_garden(BALCONY / "garden.yaml")
    sources, plan = garden_sources(BALCONY / "garden.yaml"), empty_plan(garden)
    folder = tmp_path / "plan"
    write_plan_dir(folder, plan, sources)
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    spoilt = [
        {**sources, "inputs/climate.csv": b"weeks,of,another,file\n"},
        {**sources, CROPS_FILE: b"\xff\xfe"},
        {n: d for n, d in sources.items() if n != "garden.yaml"},
    ]
    for files in spoilt:
        with pytest.raises(OwnFault) as caught:
            write_plan_dir(folder, plan, files)
        assert ".part" not in caught.value.text()
        assert {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == before
        assert not [p for p in folder.iterdir() if p.name.startswith(".incoming")]


def test_a_file_where_the_copies_go_is_left_alone(tmp_path: Path) -> None:
    garden = load_garden(BALCONY / "garden.yaml")
    write_plan_dir(tmp_path, empty_plan(garden), {"garden.yaml": garden_text(tmp_path.parent)})
    (tmp_path / "inputs").write_text("mine")
    with pytest.raises(plan_dir.BadInput, match="inputs"):
        write_plan_dir(tmp_path, empty_plan(garden), garden_sources(BALCONY / "garden.yaml"))
    assert (tmp_path / "inputs").read_text() == "mine"


def garden_text(folder: Path) -> bytes:
    """A garden that names its climate table by its whole path."""
    where = json.dumps(str(BALCONY / "climate.csv"))
    return (BALCONY / "garden.yaml").read_text().replace("climate.csv", where).encode()


def test_one_name_for_an_input_and_an_output_is_refused(tmp_path: Path) -> None:
    garden = load_garden(BALCONY / "garden.yaml")
    sources = garden_sources(BALCONY / "garden.yaml")
    with pytest.raises(ValueError, match="a name for each"):
        write_plan_dir(tmp_path, empty_plan(garden), sources, {"garden.yaml": b""})
    write_sources(tmp_path, sources)
    assert load_garden(tmp_path / "garden.yaml").season == garden.season


def test_bytes_that_are_no_text_among_the_crops_are_named(tmp_path: Path) -> None:
    garden = load_garden(BALCONY / "garden.yaml")
    sources = {**garden_sources(BALCONY / "garden.yaml"), CROPS_FILE: crops_source(garden)}
    write_plan_dir(tmp_path, empty_plan(garden), sources)
    raw = crops_source(garden)
    at = raw.index(b"\n", len(raw) // 2)
    (tmp_path / CROPS_FILE).write_bytes(raw[:at] + b" \xe4" + raw[at:])
    with pytest.raises(plan_dir.BadInput) as caught:
        read_plan_dir(tmp_path)
    (fault,) = caught.value.faults
    assert (fault.file, fault.line) == (str(tmp_path / CROPS_FILE), raw[:at].count(b"\n") + 1)


def test_every_spoilt_crop_is_told_at_once(tmp_path: Path) -> None:
    garden = load_garden(BALCONY / "garden.yaml")
    sources = {**garden_sources(BALCONY / "garden.yaml"), CROPS_FILE: crops_source(garden)}
    write_plan_dir(tmp_path, empty_plan(garden), sources)
    text = crops_source(garden).decode().replace("germination:", "germinatoin:")
    (tmp_path / CROPS_FILE).write_text(text)
    with pytest.raises(plan_dir.BadInput) as caught:
        read_plan_dir(tmp_path)
    lines = [n for n, t in enumerate(text.splitlines(), 1) if t.strip() == "germinatoin:"]
    assert len(lines) > 2
    assert set(lines) <= {f.line for f in caught.value.faults}


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("garden", "my\x1b[2J"),
        ("id", "b\u202e1"),
        ("crop", "kale\n\x07"),
    ],
)
def test_texts_of_a_plan_that_steer_are_refused(field: str, text: str) -> None:
    from verify_case import good_plan

    body = json.loads(good_plan().to_json())
    (body if field == "garden" else body["batches"][1])[field] = text
    with pytest.raises(plan_dir.BadInput, match="control or direction") as caught:
        parse_plan(json.dumps(body).encode())
    assert caught.value.faults[0].path.endswith(field)


@pytest.mark.parametrize(("dry", "sound"), [("2201-04-30", True), ("2202-01-01", False)])
def test_a_season_up_to_2200_can_be_read_again(dry: str, sound: bool) -> None:
    """A garden may end on 2200-12-31; weather, levels and dry dates go on for 120 days."""
    from verify_case import good_plan

    body = json.loads(good_plan().to_json())
    body["batches"][0]["dry_date"] = dry
    if sound:
        parse_plan(json.dumps(body).encode())
    else:
        with pytest.raises(plan_dir.BadInput, match="1900 to 2201"):
            parse_plan(json.dumps(body).encode())
