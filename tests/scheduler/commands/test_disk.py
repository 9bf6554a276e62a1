"""Disks that are really full, files that may not grow, folders that really cannot be written."""

from __future__ import annotations

import json
import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from cut_off import Tree, lay, tree
from season_case import BALCONY, opened, season_files, seen, standing

from scheduler.cli import main
from scheduler.many import gardens as many
from scheduler.plans.folder import INCOMING, PLAN_FILE, holds_plan, refuse_other_folders

ROOT = Path(__file__).parents[3]


# As a grower's Python writes, whatever is set where the tests run; the empty word unsets it.
BUFFERED = {**os.environ, "PYTHONUNBUFFERED": ""}


def dryline(*words: object, most: int | None = None, to: str | None = None) -> tuple[int, str, str]:
    """A process: exit code, output, errors. ``most``: bytes a file may have; ``to``: its output."""

    def before() -> None:
        if most is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    out = os.open(to, os.O_WRONLY) if to else subprocess.PIPE
    done = subprocess.run(
        [sys.executable, "-m", "scheduler", *map(str, words)],
        cwd=ROOT,
        stdout=out,
        stderr=subprocess.PIPE,
        preexec_fn=before,
        timeout=120,
        check=False,
        env=BUFFERED,
    )
    said = done.stderr.decode()
    assert "Traceback" not in said, said
    assert "Exception ignored" not in said, said
    return done.returncode, (done.stdout or b"").decode(), said


@pytest.fixture
def made() -> Tree:
    return season_files()


@pytest.mark.deep
def test_files_that_may_not_grow(made: Tree, tmp_path: Path) -> None:
    season = lay(tmp_path / "season", made)
    quick = ("--time-limit", 0.3, "--workers", 1, "--years", 0)
    most = len(made[PLAN_FILE]) // 2
    code, _, said = dryline("plan", BALCONY, "--out", season, "--replace", *quick, most=most)
    assert code == 2
    assert said.splitlines()[-1].startswith(f"{season}/")
    assert "/." not in said  # no hidden file is told of
    assert said.splitlines()[-1].endswith(": File too large")
    assert seen(tree(season)) == made
    batch, _ = standing(season)
    day, most = batch.picks[0].date, len(made["log.csv"]) + 10
    words = ("log", season, day, "picked", batch.column, batch.tier, "--today", day)
    code, out, _ = dryline(*words, "--json", most=most)
    assert code == 2
    assert json.loads(out)["message"] == f"{season / 'log.csv'}: File too large"
    assert seen(tree(season)) == made
    assert dryline(*words)[0] == 0


def fill(disk: Path) -> None:
    with open(disk / "filler", "ab") as handle:
        handle.write(b"x" * (os.statvfs(disk).f_bavail * 4096 - 8192))


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of its own, with 400 kB."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", str(place)]
    if shutil.which("mount") is None or subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("mounting a small disk needs rights that are not there")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


@pytest.mark.deep
def test_a_full_disk_and_one_that_is_read_only(
    made: Tree, small_disk: Path, tmp_path: Path
) -> None:
    season = lay(small_disk / "season", made)
    fill(small_disk)
    code, _, said = dryline(
        "plan", BALCONY, "--out", season, "--replace", "--time-limit", 0.3, "--years", 0
    )
    assert code == 2
    assert "No space left on device" in said
    assert seen(tree(season)) == made
    assert opened(tmp_path / "look", made) == made
    shutil.rmtree(season)
    fill(small_disk)
    code, _, said = dryline(
        "plan", BALCONY, "--out", season, "--replace", "--time-limit", 0.3, "--years", 0
    )
    assert code == 2
    assert not list(season.iterdir())  # nothing that the next try would stumble over
    (small_disk / "filler").unlink()
    assert (
        dryline("plan", BALCONY, "--out", season, "--replace", "--time-limit", 0.3, "--years", 0)[0]
        == 0
    )

    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    code, _, said = dryline("plan", BALCONY, "--out", small_disk / "new", "--time-limit", 60)
    assert code == 2
    assert f"{small_disk}: not to be written" in said
    batch, _ = standing(season)
    code, _, said = dryline(
        "log",
        season,
        batch.transplant,
        "ec",
        batch.column,
        batch.tier,
        "1.5 mS/cm",
        "--today",
        batch.clear,
    )
    assert (code, "Read-only file system" in said) == (2, True)
    for words in (["verify"], ["calendar"], ["mix"]):  # what only reads works there
        assert dryline(*words, season)[0] == 0


def test_the_search_does_not_begin_for_a_folder_that_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("scheduler.search.solve.solve", lambda *_: pytest.fail("searched"))
    monkeypatch.setattr(os, "access", lambda path, _: Path(path) != tmp_path)
    with pytest.raises(SystemExit) as end:
        main(["plan", str(BALCONY), "--out", str(tmp_path / "a" / "b")])
    assert end.value.code == 2
    assert f"{tmp_path}: not to be written" in capsys.readouterr().err
    refuse_other_folders(tmp_path.parent / "another")


@pytest.mark.deep
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize(
    "words",
    [
        ("crops",),
        ("crops", "--json"),
        ("verify", "nowhere", "--json"),
        ("verify", "nowhere"),
    ],
)
def test_output_that_cannot_be_written(words: tuple[str, ...]) -> None:
    code, _, said = dryline(*words, to="/dev/full")
    assert code == 2
    assert ("No space left on device" if words[0] == "crops" else "not there") in said


def test_a_reader_that_has_seen_enough() -> None:
    """As of ``dryline crops | head -1``: nothing is said. (1 is click's code for a closed pipe.)"""
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "scheduler", "crops"],
        cwd=ROOT,
        stdout=write,
        stderr=subprocess.PIPE,
        timeout=120,
        check=False,
        env=BUFFERED,
    )
    os.close(write)
    assert done.stderr == b""
    assert done.returncode in (0, 1)


@pytest.mark.slow
def test_a_device_is_written_to_and_not_replaced(made: Tree, tmp_path: Path) -> None:
    season = lay(tmp_path / "season", made)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with subprocess.Popen(["cat", str(pipe)], stdout=subprocess.PIPE) as reader:
        try:
            assert dryline("calendar", season, "--out", pipe)[0] == 0
            assert reader.communicate(timeout=10)[0] == made["calendar.txt"]
        finally:
            reader.kill()
    assert pipe.is_fifo()


def test_a_plan_cut_off_while_it_was_moved_in_is_one(made: Tree, tmp_path: Path) -> None:
    lay(tmp_path / "plans" / "a", {"garden.yaml": made["garden.yaml"]})
    lay(
        tmp_path / "plans" / "a" / INCOMING, {k: made[k] for k in (PLAN_FILE, "inputs/climate.csv")}
    )
    lay(tmp_path / "plans" / "b", {"garden.yaml": made["garden.yaml"]})
    assert many.find_gardens(tmp_path / "plans") == [tmp_path / "plans" / "b" / "garden.yaml"]
    assert holds_plan(tmp_path / "plans" / "a")
    assert not holds_plan(tmp_path / "plans" / "b")
