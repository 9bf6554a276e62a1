"""Cut off at any write: no line of the log is lost, and the old plan or the new one is there.

Each command that writes is killed (SIGKILL) before each of its writes in turn, and told at each that
the disk is full, read-only or not its own. `tests/bench/kill_nine.py` kills whole processes.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import cut_off
import pytest
from cut_off import DISK_FULL, FORBIDDEN, KILL, READ_ONLY, Cut, Tree, lay, sweep, tree
from season_case import BALCONY, opened, season_files, seen, standing

from scheduler.base import folder_lock
from scheduler.cli import main
from scheduler.many.gardens import Done, Job, Stop, plan_garden
from scheduler.plans import folder as plan_dir
from scheduler.plans.folder import read_plan_dir, write_plan_dir
from scheduler.plans.reading import parse_plan

QUICK = ("--time-limit", "0.3", "--workers", "1")
MEAN = ("--years", "0")  # what is written is the same, and each of some hundred cuts checks it


@pytest.fixture
def made() -> Tree:
    return season_files()


def dryline(*words: object) -> Callable[[], None]:
    return lambda: main([str(w) for w in words])


class World:
    """A folder with a garden, its plan and an older plan, and every command that writes in it."""

    def __init__(self, root: Path, made: Tree) -> None:
        self.root = root
        lay(root / "season", made)
        lay(root / "bare", {n: d for n, d in made.items() if n != "log.csv"})
        lay(root / "next", {**made, "log.csv": made["log.csv"] + b"# only here\n"})
        shutil.copytree(BALCONY.parent, root / "garden")
        remark = "\n# The new one.\n"
        (root / "garden" / "garden.yaml").write_text(BALCONY.read_text() + remark)
        self.batch, self.day = standing(root / "season")

    def _round(self) -> Path:
        file = self.root / "garden" / "round.txt"
        place = f"{self.batch.column} {self.batch.tier}"
        file.write_text(f"{self.day} ripe {place}\n{self.day} note {place} tall\n")
        return file

    def command(self, name: str) -> Callable[[], None]:
        root, season, batch = self.root, self.root / "season", self.batch
        last = (batch.picks[0].date, "picked", batch.column, batch.tier)
        return {
            "plan": dryline(
                "plan", root / "garden" / "garden.yaml", "--out", root / "bare", *QUICK, *MEAN
            ),
            "numbered": dryline("plan", root / "garden" / "garden.yaml", *QUICK, *MEAN),
            "replace": dryline(
                "plan", root / "garden" / "garden.yaml", "--out", season, "--replace", *QUICK, *MEAN
            ),
            "log": dryline("log", season, *last, "--today", batch.clear, "--json"),
            "log-from": dryline("log", season, "--from", self._round(), "--today", batch.clear),
            "log-undo": dryline("log", root / "next", "--undo"),
            "rebalance": dryline(
                "rebalance", season, "--on", self.day, "--out", root / "next", *QUICK
            ),
            "start": dryline("start", root / "begun"),
            "calendar": dryline("calendar", season, "--out", root / "work.txt"),
            "phone": dryline("phone", season, "--out", root / "phone.html"),
            "feed": dryline("calendar", season, "--format", "ics"),
            "climate": dryline(
                "climate", root / "garden" / "climate.csv", "--out", root / "station"
            ),
            "review": dryline("review", season, "--out", root / "learned.yaml"),
            "pictures": dryline("pictures", season, "--format", "svg", "--what", "season"),
            "plan-many": dryline(
                "plan-many", root / "garden", "--jobs", 1, "--work", 0.01, "--json", *MEAN
            ),
        }[name]


def _here(jobs: Sequence[Job], count: int, done: Done, stop: Stop) -> None:
    """In place of other processes, which a fork would share with the run it came from."""
    for job in jobs:
        done(plan_garden(job, stop))


@pytest.fixture
def world(tmp_path: Path, made: Tree, monkeypatch: pytest.MonkeyPatch) -> World:
    monkeypatch.setattr("scheduler.many.local.run_local", _here)
    return World(tmp_path / "world", made)


def inside(files: Tree, folder: str) -> Tree:
    return {n.removeprefix(f"{folder}/"): d for n, d in files.items() if n.startswith(f"{folder}/")}


def without_log(files: Tree) -> Tree:
    return {n: d for n, d in files.items() if not n.startswith("log")}


def sides(cuts: list[Cut], folder: str, old: Tree, place: Path) -> set[bool]:
    """Whether each cut left the new plan; fails if any left neither the old nor the new one."""
    new = seen(inside(cuts[-1].tree, folder))
    assert without_log(new) != without_log(old)
    found = set()
    for cut in cuts:
        raw = inside(cut.tree, folder)
        parse_plan(raw["plan.json"])  # even before anything of ours has looked at the folder
        now = without_log(opened(place, raw))
        assert now in (without_log(old), without_log(new)), cut.event
        found.add(now == without_log(new))
    return found


@pytest.mark.slow
def test_plan_killed_at_any_write(world: World, made: Tree, tmp_path: Path) -> None:
    cuts = sweep(world.command("plan"), world.root)
    assert cuts[-1].code == 0
    assert all(c.code == -9 for c in cuts[:-1])
    assert "half of plan.json" in {c.event for c in cuts}
    assert sides(cuts, "bare", without_log(made), tmp_path / "look") == {False, True}


@pytest.mark.deep
def test_a_plan_with_a_log_is_set_aside_killed_at_any_write(
    world: World, made: Tree, tmp_path: Path
) -> None:
    """The old plan stands with its log, or the new one with an empty log and the old one beside it:
    whole, log and all. What the new plan does not write again may still lie there when cut off."""
    lay(world.root / "season" / "prints", {"levels.svg": b"of the old plan"})
    old = {**made, "prints/levels.svg": b"of the old plan"}
    cuts = sweep(world.command("replace"), world.root)
    assert cuts[-1].code == 0
    new = seen(inside(cuts[-1].tree, "season"))
    found = set()
    for cut in cuts:
        raw = inside(cut.tree, "season")
        parse_plan(raw["plan.json"])
        now = opened(tmp_path / "look", raw)
        aside = inside(now, "before-1")
        here = {n: d for n, d in now.items() if not n.startswith("before-1/")}
        if now["plan.json"] == made["plan.json"]:
            assert here == old, cut.event
            assert aside in ({}, old)
            found.add(False)
        else:
            assert aside == old, cut.event
            assert new.items() <= now.items()
            assert set(now) - set(new) <= set(old)
            assert here["log.csv"].count(b"\n") == 1
            found.add(True)
    assert found == {False, True}
    assert set(new) == {n for n in new if n in made or n.removeprefix("before-1/") in old}


@pytest.mark.deep
def test_rebalance_killed_at_any_write(world: World, made: Tree, tmp_path: Path) -> None:
    old = seen(inside(tree(world.root), "next"))
    cuts = sweep(world.command("rebalance"), world.root)
    assert cuts[-1].code == 0
    assert "kept as log-earlier-1.csv" in cuts[-1].said
    assert sides(cuts, "next", old, tmp_path / "look") == {False, True}
    for cut in cuts:
        assert seen(inside(cut.tree, "season")) == made
        logs = [d for n, d in seen(inside(cut.tree, "next")).items() if n.startswith("log")]
        assert any(b"# only here\n" in d for d in logs), cut.event
        assert all(d in (old["log.csv"], made["log.csv"]) for d in logs), cut.event


@pytest.mark.slow
def test_log_killed_at_any_write(world: World, made: Tree) -> None:
    cuts = sweep(world.command("log"), world.root)
    assert cuts[-1].code == 0
    before, after = made["log.csv"], cuts[-1].tree["season/log.csv"]
    assert after.startswith(before)
    assert after.count(b"\n") == before.count(b"\n") + 1
    assert {c.tree["season/log.csv"] for c in cuts} == {before, after}
    assert all(without_log(seen(inside(c.tree, "season"))) == without_log(made) for c in cuts)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "folder", "more"), [("log-from", "season", 2), ("log-undo", "next", 0)]
)
def test_several_lines_and_a_struck_one_killed_at_any_write(
    world: World, made: Tree, name: str, folder: str, more: int
) -> None:
    """All lines or none; and what is struck out still stands in the file."""
    run = world.command(name)
    before = tree(world.root)[f"{folder}/log.csv"]
    cuts = sweep(run, world.root)
    assert cuts[-1].code == 0
    after = cuts[-1].tree[f"{folder}/log.csv"]
    assert after.count(b"\n") == before.count(b"\n") + more
    assert {c.tree[f"{folder}/log.csv"] for c in cuts} == {before, after}


@pytest.mark.deep
@pytest.mark.parametrize(("locks", "pause"), [(True, 0.0), (False, 0.02)])
def test_a_reader_meets_one_plan_or_the_other_and_no_mix(
    made: Tree, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, locks: bool, pause: float
) -> None:
    """While a process writes two plans into a folder in turn, another reads.

    Without locks a reader finds no moment between plans that follow at once, so they pause.
    """
    if not locks:
        monkeypatch.setattr(folder_lock, "fcntl", None)
    folder = lay(tmp_path / "season", made)
    garden, plan = read_plan_dir(folder)
    files = {n: made[n] for n in made if n not in ("plan.json", "log.csv")}
    names = ("one", "other")  # the garden's name goes with the plan's seed
    renamed = [
        re.sub(rb"(?m)^name:.*$", b"name: " + n.encode(), files["garden.yaml"]) for n in names
    ]
    child = os.fork()
    if child == 0:
        try:
            while True:
                for seed, text in enumerate(renamed):
                    write_plan_dir(folder, replace(plan, seed=seed), {**files, "garden.yaml": text})
                    time.sleep(pause)
        finally:
            os._exit(1)
    seen_names = set()
    try:
        while read_plan_dir(folder)[0].name == garden.name:
            pass
        for _ in range(60):
            now, its = read_plan_dir(folder)
            assert now.name == names[its.seed]
            seen_names.add(now.name)
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
    assert seen_names == set(names)


@pytest.mark.slow
def test_a_plan_moved_in_while_a_reader_checks(
    made: Tree, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Read half-way through a move that ends between the reader's last two looks, unlocked."""
    monkeypatch.setattr(folder_lock, "fcntl", None)
    folder = lay(tmp_path / "season", made)
    _, plan = read_plan_dir(folder)
    incoming, there = folder / plan_dir.INCOMING, folder / "plan.json"
    read, look, moves = plan_dir._read, Path.stat, []

    def half_way(place: Path, brief: bool = False) -> object:
        found = read(place, brief)
        if not moves:
            moves.append("begun")
            lay(incoming, {"plan.json": replace(plan, seed=plan.seed + 1).to_json().encode()})
        return found

    def moved_meanwhile(path: Path, **how: bool) -> os.stat_result:
        seen = look(path, **how)
        if path == there and incoming.is_dir():
            os.replace(incoming / "plan.json", there)
            incoming.rmdir()
        return seen

    monkeypatch.setattr(plan_dir, "_read", half_way)
    monkeypatch.setattr(Path, "stat", moved_meanwhile)
    assert read_plan_dir(folder)[1].seed == plan.seed + 1


WRITES = [
    "plan",
    "numbered",
    "replace",
    "log",
    "log-from",
    "rebalance",
    "start",
    "calendar",
    "phone",
    "feed",
    "climate",
    "review",
    "pictures",
    "plan-many",
]
SAYS = {
    DISK_FULL: "No space left on device",
    READ_ONLY: "Read-only file system",
    FORBIDDEN: "Permission denied",
}


def _case(name: str, fault: int) -> Any:
    """Those that search anew take half a minute each."""
    long = name in ("numbered", "replace", "rebalance", "plan-many") or (name, fault) == (
        "plan",
        READ_ONLY,
    )
    return pytest.param(name, fault, marks=[pytest.mark.deep] if long else [])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "fault"),
    [
        *[_case(name, DISK_FULL) for name in WRITES],
        *[_case(name, READ_ONLY) for name in ("plan", "replace", "log", "calendar", "start")],
        *[_case(name, FORBIDDEN) for name in ("rebalance", "log", "review", "plan-many")],
    ],
)
def test_a_folder_that_cannot_be_written(
    world: World, made: Tree, tmp_path: Path, name: str, fault: int
) -> None:
    old = tree(world.root)
    cuts = sweep(world.command(name), world.root, fault)
    assert cuts[-1].code == 0
    refused = [c for c in cuts if c.code]
    assert len(refused) >= 3
    for cut in refused:
        assert cut.code == (1 if name == "plan-many" else 2), cut
        assert SAYS[fault] in cut.said, cut
        assert "Traceback" not in cut.said, cut.said
    for cut in cuts:
        for folder in ("season", "bare", "next"):
            was, now = inside(old, folder), inside(cut.tree, folder)
            look = opened(tmp_path / "look", now)
            whole = [seen(was), seen(inside(cuts[-1].tree, folder))]
            assert without_log(look) in [without_log(w) for w in whole], cut.event
            logs = b"".join(d for n, d in look.items() if Path(n).name.startswith("log"))
            assert all(line in logs for line in was.get("log.csv", b"").splitlines())
        assert inside(cut.tree, "garden").items() >= inside(old, "garden").items()
        if fault == DISK_FULL:  # where removing works, a refused write leaves nothing behind
            assert not [n for n in cut.tree if ".part" in n], cut


def test_the_sweep_itself_sees_a_torn_file(tmp_path: Path) -> None:
    """A writer without any care is caught."""
    file = lay(tmp_path / "root", {"a": b"old!"}) / "a"

    def careless() -> None:
        with open(file, "wb") as handle:
            handle.write(b"new!")

    cuts = sweep(careless, tmp_path / "root", KILL)
    assert [c.tree["a"] for c in cuts] == [b"old!", b"ne", b"new!"]
    assert [c.event for c in cuts] == ["open a", "half of a", ""]
    assert cut_off.tree(tmp_path / "root") == {"a": b"new!"}
