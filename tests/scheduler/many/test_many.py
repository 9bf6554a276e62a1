"""Many gardens on this machine: what is found, faults kept apart, lost processes, stops."""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import signal
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest
from many_case import BALCONY, contents, many_jobs, one_at_a_time, write_garden

import scheduler.search.solve
from scheduler.base.faults import BadInput
from scheduler.cli import main
from scheduler.many.gardens import (
    BAD_INPUT,
    DEFECT,
    LOST,
    NO_PLAN,
    NOT_WRITTEN,
    STOPPED,
    Job,
    Result,
    find_gardens,
    plan_garden,
    prepare,
    write,
)
from scheduler.many.local import run_local
from scheduler.plans.folder import read_plan_dir
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify

QUICK = Settings(time_limit=0.3, workers=1)


def test_gardens_are_found_but_not_their_copies(tmp_path: Path) -> None:
    for folder in ("b", "a/deep", "a", ".hidden", "a/plan"):
        (tmp_path / folder).mkdir(parents=True, exist_ok=True)
        (tmp_path / folder / "garden.yaml").touch()
    (tmp_path / "a" / "plan" / "plan.json").touch()
    (tmp_path / "loop").symlink_to(tmp_path)
    found = [str(p.parent.relative_to(tmp_path)) for p in find_gardens(tmp_path)]
    assert found == ["a/deep", "a", "b"]


def test_faults_stay_with_their_garden(tmp_path: Path) -> None:
    write_garden(tmp_path / "good")
    write_garden(tmp_path / "bad", **{"37.2 degree": "137.2 degree", "3 gal": "three"})
    (tmp_path / "taken" / "plan").mkdir(parents=True)
    (tmp_path / "taken" / "plan" / "letter.txt").touch()
    (tmp_path / "taken" / "garden.yaml").write_text("{}")
    jobs, bad = prepare(tmp_path, None, QUICK)
    assert [j.name for j in jobs] == ["good"]
    assert jobs[0].folder == str(tmp_path / "good" / "plan")
    assert {r.name: r.outcome for r in bad} == {"bad": BAD_INPUT, "taken": BAD_INPUT}
    paths = {f["path"] for r in bad if r.name == "bad" for f in r.faults}
    assert {"site.latitude", "vessels.pail.fill"} <= paths


def test_a_folder_without_gardens_is_bad_input(tmp_path: Path) -> None:
    for folder in (tmp_path, tmp_path / "none", BALCONY / "garden.yaml"):
        with pytest.raises(BadInput):
            prepare(folder, None, QUICK)


@pytest.mark.deep
def test_no_plan_and_defects_are_results(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    dark = {"90 %": "1 %", "75 %": "1 %", "60 %": "1 %"}
    write_garden(tmp_path / "in" / "dark", **dark)
    (job,), _ = prepare(tmp_path / "in", None, QUICK)
    result = plan_garden(job)
    assert result.outcome == NO_PLAN
    assert "no crop can grow" in result.message

    write_garden(tmp_path / "few" / "few", **{"cells: 12": "cells: 1"})
    (job,), _ = prepare(tmp_path / "few", None, replace(QUICK, time_limit=60.0))  # it is proven
    result = plan_garden(job)
    assert result.outcome == NO_PLAN
    assert "nursery cells: every batch that could be picked needs at least" in result.message

    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("a slip")

    monkeypatch.setattr(scheduler.search.solve, "solve", fails)
    assert plan_garden(job).outcome == DEFECT


def test_a_full_disk_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (job,) = many_jobs(tmp_path, 1, QUICK)
    result = plan_garden(job)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("scheduler.many.gardens.write_plan_dir", full)
    kept = write(job, result)
    assert kept.outcome == NOT_WRITTEN
    assert "No space left" in kept.message


class Collected:
    """Results of `run_local` on a thread of its own."""

    def __init__(self, jobs: list, count: int) -> None:
        self.results: list[Result] = []
        self.stop = threading.Event()
        self.thread = threading.Thread(
            target=run_local, args=(jobs, count, self.results.append, self.stop)
        )
        self.thread.start()

    def kill_a_process(self) -> int | None:
        """Kill one process of this run, as soon as there is one; None if the run ends first."""
        while self.thread.is_alive():
            for child in multiprocessing.active_children():
                assert child.pid is not None
                try:
                    os.kill(child.pid, signal.SIGKILL)
                except ProcessLookupError:  # it ended by itself in between
                    continue
                return child.pid
            time.sleep(0.01)
        return None


@pytest.mark.deep
def test_in_parallel_and_after_a_loss_the_same_as_one_at_a_time(tmp_path: Path) -> None:
    jobs = many_jobs(tmp_path, 3)
    alone = one_at_a_time(jobs)
    assert len({str(plan["plan.json"]["batches"]) for plan in alone.values()}) > 1
    run = Collected(jobs, 2)
    assert run.kill_a_process() is not None
    run.thread.join()
    assert sorted(r.attempts for r in run.results) == [1, 1, 2]
    assert contents(run.results) == alone


def test_a_garden_that_kills_its_process_is_given_up(tmp_path: Path) -> None:
    run = Collected(many_jobs(tmp_path, 1), 1)
    killed = set()
    while (pid := run.kill_a_process()) is not None:
        killed.add(pid)
    (result,) = run.results
    assert (result.outcome, result.attempts) == (LOST, 3)
    assert len(killed) >= 3


def long_jobs(place: Path, count: int) -> list[Job]:
    """Courtyards, searched for ten minutes each."""
    for i in range(count):
        shutil.copytree(BALCONY.parent / "courtyard", place / "in" / f"site{i}")
    return prepare(place / "in", place / "out", Settings(600.0, gap=0.0, workers=1))[0]


@pytest.mark.deep
def test_a_stop_keeps_what_is_in_hand_and_begins_nothing_else(tmp_path: Path) -> None:
    jobs = long_jobs(tmp_path, 2)
    run = Collected(jobs, 1)
    while not multiprocessing.active_children():
        time.sleep(0.05)
    time.sleep(8.0)  # it is reading or searching by now
    run.stop.set()
    run.thread.join(60)
    assert not run.thread.is_alive()
    by_name = {r.name: r for r in run.results}
    assert by_name["site0"].planned
    assert by_name["site1"].outcome == STOPPED


@pytest.mark.deep
def test_giving_up_leaves_no_process_behind(tmp_path: Path) -> None:
    class Impatient:
        """A second Ctrl-C, some seconds into the search."""

        def __init__(self) -> None:
            self.until = time.monotonic() + 5.0

        def is_set(self) -> bool:
            if time.monotonic() > self.until:
                raise KeyboardInterrupt
            return False

    jobs = long_jobs(tmp_path, 1)
    with pytest.raises(KeyboardInterrupt):
        run_local(jobs, 1, lambda _: None, Impatient())
    assert not multiprocessing.active_children()
    assert not list((tmp_path / "out").rglob("plan.json"))  # nobody waited for its ten minutes


@pytest.mark.deep
def test_from_folder_to_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_garden(tmp_path / "in" / "north")
    write_garden(tmp_path / "in" / "south", ounces=9)
    write_garden(tmp_path / "in" / "wrong", **{"37.2 degree": "nowhere"})
    arguments = [
        "plan-many",
        str(tmp_path / "in"),
        "--out",
        str(tmp_path / "out"),
        "--jobs",
        "2",
        "--time-limit",
        "2",
    ]
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    out, err = capsys.readouterr()
    assert ended.value.code == 1  # one garden has no plan
    assert max(map(len, (out + err).splitlines())) <= 79
    assert "2 of 3 gardens planned." in out
    assert "site.latitude" in out
    for name in ("north", "south"):
        garden, plan = read_plan_dir(tmp_path / "out" / name)
        assert verify(garden, plan).ok
        assert (tmp_path / "out" / name / "calendar.txt").is_file()
    assert not (tmp_path / "out" / "wrong").exists()

    (tmp_path / "in" / "wrong" / "garden.yaml").unlink()
    with pytest.raises(SystemExit) as ended:  # again, over the plans that are there
        main([*arguments, "--json"])
    body = json.loads(capsys.readouterr().out)
    assert ended.value.code == 0
    assert body["planned"] == 2
    assert [g["name"] for g in body["gardens"]] == ["north", "south"]


def test_a_folder_without_gardens_ends_with_2(tmp_path: Path) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["plan-many", str(tmp_path)])
    assert ended.value.code == 2
