"""The table for the log: it tells what the files tell, and counts only while they are the same."""

from __future__ import annotations

import json
import os
import shutil
from dataclasses import fields, replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from random import Random

import pytest
from cut_off import lay
from season_case import season_files

from crops.vessel import Vessel
from scheduler.base.faults import BadInput
from scheduler.garden.model import Garden
from scheduler.log.append import append
from scheduler.plans.brief import TABLE_FILE, BriefGarden
from scheduler.plans.folder import (
    CROPS_FILE,
    GARDEN_FILE,
    PLAN_FILE,
    read_plan_dir,
    write_plan_dir,
)
from scheduler.plans.model import Plan

HELD = ("name", "units", "season", "columns", "vessels", "limits", "crops")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The folder of a plan, with the table that was written beside it."""
    place = tmp_path / "season"
    place.mkdir()
    lay(place, season_files())
    (place / "log.csv").unlink(missing_ok=True)
    _, plan = read_plan_dir(place)
    names = [GARDEN_FILE, CROPS_FILE, *(f"inputs/{p.name}" for p in (place / "inputs").iterdir())]
    write_plan_dir(place, plan, {n: (place / n).read_bytes() for n in names})
    return place


def test_it_tells_what_the_files_tell(folder: Path) -> None:
    garden, plan = read_plan_dir(folder)
    short, brief = read_plan_dir(folder, brief=True)
    assert isinstance(short, BriefGarden)
    assert {n for n in vars(short) if n[0] != "_"} == set(HELD)
    for name in HELD:
        assert getattr(short, name) == getattr(garden, name), name
    assert all(b.levels for b in plan.batches)
    assert brief.batches == tuple(replace(b, levels=()) for b in plan.batches)
    told = ("status", "start", "end", "garden", "as_of", "seed", "number", "made")
    assert [getattr(brief, n) for n in told] == [getattr(plan, n) for n in told]


def test_what_it_does_not_hold_is_read_when_asked_for(folder: Path) -> None:
    garden, _ = read_plan_dir(folder)
    short, _ = read_plan_dir(folder, brief=True)
    assert short.site.weather.equals(garden.site.weather)
    for name in {f.name for f in fields(Garden)} - {"site"}:
        assert getattr(short, name) == getattr(garden, name), name
    with pytest.raises(AttributeError):
        _ = short.nothing_of_the_kind


def test_another_plan_meanwhile_is_not_mixed_in(folder: Path) -> None:
    short, _ = read_plan_dir(folder, brief=True)
    os.utime(folder / PLAN_FILE, ns=(0, 0))
    with pytest.raises(BadInput, match="another plan meanwhile"):
        _ = short.site


@pytest.mark.parametrize("name", [PLAN_FILE, GARDEN_FILE, CROPS_FILE, "inputs/climate.csv"])
@pytest.mark.parametrize("how", ["written", "touched", "gone"])
def test_it_counts_only_beside_the_files_it_was_made_from(
    folder: Path, name: str, how: str
) -> None:
    file = folder / name
    if how == "written":  # as long as before, and of the same time but for a nanosecond
        was = file.stat()
        file.write_bytes(b"\0" * was.st_size)
        os.utime(file, ns=(was.st_atime_ns, was.st_mtime_ns + 1))
        with pytest.raises(BadInput):
            _ = read_plan_dir(folder, brief=True)[0].site.weather
        return
    if how == "touched":
        os.utime(file, ns=(0, 0))
        assert not isinstance(read_plan_dir(folder, brief=True)[0], BriefGarden)
        assert isinstance(read_plan_dir(folder, brief=True)[0], BriefGarden)
        return
    file.unlink()
    if name == CROPS_FILE:  # the catalogue stands in for it
        assert not isinstance(read_plan_dir(folder, brief=True)[0], BriefGarden)
        return
    with pytest.raises(BadInput):
        read_plan_dir(folder, brief=True)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"schema": "dryline-log-table-1"}', "\0"])
def test_a_table_that_was_cut_off_is_made_again(folder: Path, text: str) -> None:
    whole = (folder / TABLE_FILE).read_bytes()
    (folder / TABLE_FILE).write_text(text)
    garden, _ = read_plan_dir(folder, brief=True)
    assert not isinstance(garden, BriefGarden)
    assert (folder / TABLE_FILE).read_bytes() == whole


def test_a_table_of_another_version_is_made_again(folder: Path) -> None:
    body = json.loads((folder / TABLE_FILE).read_bytes())
    (folder / TABLE_FILE).write_text(json.dumps({**body, "schema": "dryline-log-table-0"}))
    assert not isinstance(read_plan_dir(folder, brief=True)[0], BriefGarden)


def test_a_file_named_outside_the_folder_is_watched_too(folder: Path, tmp_path: Path) -> None:
    """A grower's own edit of the copied garden.yaml may name a file that lies elsewhere."""
    shutil.copy(folder / "inputs" / "climate.csv", tmp_path / "other.csv")
    text = (folder / GARDEN_FILE).read_text()
    assert "inputs/climate.csv" in text
    (folder / GARDEN_FILE).write_text(text.replace("inputs/climate.csv", "../other.csv"))
    read_plan_dir(folder, brief=True)
    assert isinstance(read_plan_dir(folder, brief=True)[0], BriefGarden)
    (tmp_path / "other.csv").unlink()
    with pytest.raises(BadInput, match=r"other\.csv"):
        read_plan_dir(folder, brief=True)


def test_a_folder_that_cannot_be_written_is_read_all_the_same(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    (folder / TABLE_FILE).unlink()
    monkeypatch.setattr("scheduler.plans.folder.write_atomic", full)
    assert read_plan_dir(folder, brief=True)[1].batches
    assert not (folder / TABLE_FILE).exists()


def _rows(plan: Plan, garden: Garden, random: Random, count: int) -> list[dict[str, str]]:
    """Lines that are true, improbable or impossible, of places in the plan more often than not."""
    amounts = {
        "level": ["5 L", "6 cm", "900 L", "2 1/2 in", "", "300 cm"],
        "picked": ["", "2", "40 oz", "1000 kg", "99 plants", "350 g"],
        "transplanted": ["", "3", "99"],
        "sown": ["", "6 cells", "12 seeds", "4 plants"],
        "ec": ["1.8", "1800 uS/cm", "99"],
        "ph": ["6.1", "15"],
    }
    rows = []
    for _ in range(count):
        batch = random.choice(plan.batches)
        what = random.choice(["sown", "transplanted", *["level", "picked"] * 2, "ec", "ph"])
        what = random.choice([what, what, "cleared", "failed"])
        near = {"sown": batch.sow, "transplanted": batch.transplant, "cleared": batch.clear}
        pick = random.choice(batch.picks).date if batch.picks else batch.clear
        day = near.get(what, pick) + timedelta(days=random.choice([0, 0, 0, 1, -1, 4, -9, 40]))
        column, tier = batch.column, str(batch.tier)
        if random.random() < 0.1:
            column, tier = random.choice([("Q", "1"), (column, "9"), ("", "")])
        rows.append(
            {
                "date": str(day),
                "what": what,
                "column": column,
                "tier": tier,
                "crop": random.choice(["", batch.crop, random.choice(list(garden.crops)), "oak"]),
                "amount": random.choice(amounts.get(what, [""])),
                "note": random.choice(["", "root disease", "confirmed"]),
            }
        )
    return rows


@pytest.mark.parametrize("seed", range(3))
def test_a_line_is_judged_by_the_table_as_by_the_files(folder: Path, seed: int) -> None:
    """Two logs of the same folder grow line by line; each line has the same end in both."""
    whole, short = read_plan_dir(folder), read_plan_dir(folder, brief=True)
    assert isinstance(short[0], BriefGarden)
    ends = []
    for row in _rows(whole[1], whole[0], Random(seed), 60):
        said = []
        for name, (garden, plan) in (("a", whole), ("b", short)):
            file = folder.parent / name / "log.csv"
            file.parent.mkdir(exist_ok=True)
            try:
                said.append(str(append(file, garden, plan, row, date(2028, 1, 1))))
            except BadInput as error:
                said.append(error.text().replace(str(file), "log.csv"))
        assert said[0] == said[1], row
        ends.append(said[0].startswith("(Entry"))
    logs = [(folder.parent / name / "log.csv").read_bytes() for name in "ab"]
    assert logs[0] == logs[1]
    assert 10 <= sum(ends) <= 55  # both kinds of end were tried


# numpy is the other way to work it out, and the program's own for whole seasons.
@pytest.mark.parametrize(
    "vessel",
    [
        Vessel("box", "rectangular", (20.0, 31.0), 40.0, 12.0, mass_kg=2.0),
        Vessel("pail", "round", (20.0, 24.0), 25.0, 6.0, 2.0, 1.2),
        Vessel("tub", "round", (30.0, 22.0), 25.0, 6.0, 2.0, 1.2),
        Vessel("pipe", "round", (20.0, 20.0), 25.0, 6.0, 2.0, 1.2),
        Vessel("jar", "table", (0.0, 10.0, 20.0), 20.0, 3.0, 1.0, 0.4, (0.0, 1.5, 3.5)),
    ],
    ids=lambda v: v.name,
)
def test_one_depth_is_what_an_array_of_depths_gives(vessel: Vessel) -> None:
    """But for the last digits of a cube root, which C and numpy round each in its own way."""
    close = partial(pytest.approx, rel=1e-12, abs=1e-12)
    for i in range(-3, 60):
        depth = 0.5 * i
        assert vessel.volume_at(depth) == close(float(vessel.volume(depth)))
        litres = 0.25 * i
        assert vessel.depth_at(litres) == close(float(vessel.depth(litres)))
