"""kill -9 of whole processes at random moments of plan, log and rebalance; run by hand.

    python tests/bench/kill_nine.py [kills] [seed]

Half of the kills come at any moment of the process's life, half at a random moment after the first
file of the write has shown up in the folder. After each one the folder is looked at as it lies
there, then opened, and must be the old plan or the new one with every file belonging to it; the log
must hold every line whose command had ended, and no line that nobody wrote. Ends with a table; any
other outcome stops the run with what was found. `tests/scheduler/commands/test_cut_off.py` does the same
without chance: at every write, of a process that is forked and not started.
"""

from __future__ import annotations

import os
import platform
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "scheduler")]

from cut_off import Tree, lay, tree  # noqa: E402

from scheduler.log.model import HEADER, read_log_file  # noqa: E402
from scheduler.outputs import calendar_files  # noqa: E402
from scheduler.plans.folder import read_plan, read_plan_dir  # noqa: E402
from scheduler.plans.reading import parse_plan  # noqa: E402
from scheduler.verify import verify  # noqa: E402

BALCONY = ROOT / "examples" / "balcony"
QUICK = ("--time-limit", "0.3", "--workers", "1")
COMMANDS = ("plan", "log", "rebalance")
TODAY = "2029-12-31"


class Half(AssertionError):
    """Something was lost or half there."""


@dataclass
class Run:
    """The folders under fire, and what came of it."""

    root: Path
    dice: random.Random
    told: list[str] = field(default_factory=list)  # lines of the log whose command ended well
    tried: set[str] = field(default_factory=set)  # every line that was to be written
    counts: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    life: dict[str, float] = field(default_factory=dict)  # seconds of a whole process
    write: dict[str, float] = field(default_factory=dict)  # seconds from the first file on

    @property
    def folders(self) -> dict[str, Path]:
        return {
            "plan": self.root / "season",
            "log": self.root / "logged",
            "rebalance": self.root / "next",
        }


def dryline(*words: object) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "scheduler", *map(str, words)],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def begin(root: Path, dice: random.Random) -> Run:
    run = Run(root, dice)
    shutil.copytree(BALCONY, root / "garden")
    made = dryline("plan", root / "garden" / "garden.yaml", "--out", root / "season", *QUICK)
    assert made.wait(300) == 0
    (root / "season" / "log.csv").write_text(f"{HEADER}\n# begun\n")
    for name in ("logged", "source", "next"):
        shutil.copytree(root / "season", root / name)
    return run


def entries(folder: Path) -> Iterator[tuple[str, ...]]:
    """Words of `dryline log` that can all be true, each a line of its own."""
    for batch in read_plan(folder).batches:
        day = batch.transplant + timedelta(days=1)
        while day < batch.picks[0].date:
            for what, amount in (("ec", "1.5 mS/cm"), ("ph", "6.1")):
                yield day.isoformat(), what, batch.column, str(batch.tier), amount
            day += timedelta(days=1)


def started(run: Run, what: str, number: int, line: tuple[str, ...]) -> subprocess.Popen[bytes]:
    if what == "plan":
        remark = f"\n# Round {number}.\n"
        (run.root / "garden" / "garden.yaml").write_text(
            (BALCONY / "garden.yaml").read_text() + remark
        )
        return dryline(
            "plan",
            run.root / "garden" / "garden.yaml",
            "--out",
            run.root / "season",
            "--seed",
            number,
            *QUICK,
        )
    if what == "log":
        run.tried.add(",".join(line[:4]))
        return dryline("log", run.root / "logged", *line, "--today", TODAY)
    day = read_plan(run.root / "source").start + timedelta(days=20 + number % 40)
    return dryline(
        "rebalance",
        run.root / "source",
        "--on",
        day,
        "--out",
        run.root / "next",
        "--seed",
        number,
        *QUICK,
    )


def underway(folder: Path) -> set[str]:
    """Names that stand in a folder only while something is written, or was cut off."""
    return {n for n in os.listdir(folder) if n.endswith(".part") or n == ".incoming"}


def wait_for_writing(process: subprocess.Popen[bytes], folder: Path, before: set[str]) -> bool:
    """Until a file of a write shows up; False if the process ended before."""
    while process.poll() is None:
        if underway(folder) - before:
            return True
    return False


def measured(run: Run, what: str, line: tuple[str, ...]) -> None:
    """One undisturbed run: how long it lives and how long it writes."""
    began = time.monotonic()
    folder = run.folders[what]
    main_file = folder / ("log.csv" if what == "log" else "plan.json")
    old = main_file.stat().st_ino
    process = started(run, what, 0, line)
    wait_for_writing(process, folder, set())
    wrote = time.monotonic()
    while main_file.stat().st_ino == old or underway(folder):
        pass
    run.write[what] = max(time.monotonic() - wrote, 0.002)
    assert process.wait(300) == 0
    run.life[what] = time.monotonic() - began
    if what == "log":
        run.told.append(",".join(line[:4]))


def one(run: Run, what: str, aimed: bool, number: int, line: tuple[str, ...]) -> None:
    folder = run.folders[what]
    before = {name: tree(run.root / name) for name in ("season", "next", "source")}
    there = underway(folder)
    process = started(run, what, number, line)
    if not aimed:
        with_chance = run.dice.uniform(0, run.life[what])
        try:
            process.wait(with_chance)
        except subprocess.TimeoutExpired:
            pass
    elif wait_for_writing(process, folder, there):
        end = time.monotonic() + run.dice.uniform(0, 1.2 * run.write[what])
        while time.monotonic() < end:
            pass
    process.kill()
    code = process.wait(60)
    left = tree(folder)
    midway = bool(underway(folder) - there)
    if what == "log":
        if code == 0:
            run.told.append(",".join(line[:4]))
        new = check_log(run, code)
    else:
        new = check_plan(run, what, number, before["season" if what == "plan" else "next"], left)
        if tree(run.root / "source") != before["source"]:
            raise Half("the folder that was only read has changed")
    moment = "ended before" if code == 0 else "amid files" if midway else "between"
    run.counts[what, "aimed at writing" if aimed else "any moment", moment] += 1
    run.counts[what, "found", "the new" if new else "the old"] += 1


def check_log(run: Run, code: int) -> bool:
    file = run.root / "logged" / "log.csv"
    log = read_log_file(file)
    found = [",".join((str(e.date), e.what, e.column, str(e.tier))) for e in log.entries]
    if log.faults or sorted(found) != sorted(set(found)):
        raise Half(f"the log has faults or doubled lines: {log.faults}")
    if not set(run.told) <= set(found) or "# begun" not in file.read_text():
        raise Half(f"lines lost: {set(run.told) - set(found)}")
    if not set(found) <= run.tried | set(run.told):
        raise Half("lines that nobody wrote")
    grown = len(found) > len(run.told)
    run.told = found  # what is there now must stay
    return grown or code == 0


def check_plan(run: Run, what: str, number: int, old: Tree, left: Tree) -> bool:
    parse_plan(left["plan.json"])  # as it lies there
    place = lay(run.root / "look", left)
    garden, plan = read_plan_dir(place)
    now = {n: d for n, d in tree(place).items() if not n.startswith(".")}
    was = {n: d for n, d in old.items() if not n.startswith(".")}
    lay(run.folders[what], now)  # the next round begins with a folder that was opened
    if now["plan.json"] == was["plan.json"]:
        if {**now, "log.csv": b""} != {**was, "log.csv": b""}:
            raise Half(f"{what}: the old plan with files of the new one")
        return False
    if not verify(garden, plan).ok or plan.seed != number:
        raise Half(f"{what}: a plan that does not hold")
    made = calendar_files(garden, plan)
    if any(now[name] != data for name, data in made.items()):
        raise Half(f"{what}: the new plan with an old calendar")
    remark = f"# Round {number}.".encode()
    if what == "plan" and remark not in now["garden.yaml"]:
        raise Half("the new plan with the old garden")
    if what == "rebalance" and str(plan.as_of).encode() not in now["changes.json"]:
        raise Half("the new plan with an old list of changes")
    if b"# begun" not in now["log.csv"]:
        raise Half("the log is lost")
    return True


def main() -> None:
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    dice = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    with tempfile.TemporaryDirectory() as name:
        run = begin(Path(name), dice)
        lines = entries(run.root / "logged")
        for what in COMMANDS:
            measured(run, what, next(lines))
        began = time.monotonic()
        for number in range(1, kills + 1):
            what, aimed = COMMANDS[number % 3], number % 2 == 0
            one(run, what, aimed, number, next(lines))
            if number % 20 == 0:
                print(f"{number} kills, {time.monotonic() - began:.0f} s", flush=True)
    print(
        f"{kills} kills on {date.today()}, {platform.machine()}, {os.cpu_count()} processors, "
        f"Python {platform.python_version()}: nothing lost, nothing half"
    )
    for what in COMMANDS:
        print(f"{what}: lives {run.life[what]:.1f} s, writes for {1000 * run.write[what]:.0f} ms")
    for key, count in sorted(run.counts.items()):
        print(f"{count:5}  " + ", ".join(key))


if __name__ == "__main__":
    main()
