"""Many gardens on a real Dask cluster of two workers on this machine, one of them killed."""

from __future__ import annotations

import gc
import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from many_case import contents, many_jobs, one_at_a_time

from scheduler.base.faults import DrylineError
from scheduler.cli import main
from scheduler.many import cluster as many_cluster
from scheduler.many.cluster import run_cluster
from scheduler.many.gardens import LOST, Result

distributed = pytest.importorskip("distributed")

ROOT = Path(__file__).parents[3]
HERE = ["--host", "127.0.0.1", "--no-dashboard"]


class Cluster:
    """A scheduler and two workers, each a process of its own with one thread and no guard."""

    def __init__(self, place: Path) -> None:
        self.place, file = place, place / "scheduler.json"
        self.scheduler = self._start("scheduler", "--port", "0", "--scheduler-file", str(file))
        self.workers = [
            self._start(
                "worker",
                "--scheduler-file",
                str(file),
                "--name",
                f"w{i}",
                "--no-nanny",
                "--nthreads",
                "1",
                "--local-directory",
                str(place),
            )
            for i in range(2)
        ]
        self.client = distributed.Client(scheduler_file=str(file), timeout=60, set_as_default=False)
        self.client.wait_for_workers(2, timeout=60)
        self.address = self.client.scheduler.address
        assert self.address.startswith("tcp://127.0.0.1:")

    def _start(self, what: str, *arguments: str) -> subprocess.Popen[bytes]:
        module = f"distributed.cli.dask_{what}"
        env = {**os.environ, "PYTHONPATH": str(ROOT)}
        log = (self.place / f"{what}.log").open("ab")
        with log:
            return subprocess.Popen(
                [sys.executable, "-m", module, *HERE, *arguments],
                env=env,
                stdout=log,
                stderr=log,
                cwd=self.place,
            )

    def busy(self, name: str) -> tuple[str, ...]:
        """Keys of what the worker of this name is at."""
        info = self.client.scheduler_info(n_workers=-1)["workers"]
        address = next((a for a, w in info.items() if w["name"] == name), "")
        return tuple(self.client.processing().get(address, ()))

    def close(self) -> None:
        self.client.close()
        for process in (*self.workers, self.scheduler):
            process.kill()
            process.wait()


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Cluster]:
    place = tmp_path / "cluster"
    place.mkdir()
    made = Cluster(place)
    yield made
    made.close()


@pytest.mark.deep
def test_a_worker_killed_mid_run_changes_nothing(cluster: Cluster, tmp_path: Path) -> None:
    jobs = many_jobs(tmp_path, 4)
    results: list[Result] = []
    run = threading.Thread(
        target=run_cluster, args=(cluster.address, jobs, results.append, threading.Event())
    )
    run.start()
    while not (cluster.busy("w0") and cluster.busy("w1")):
        assert run.is_alive()
        time.sleep(0.1)
    at_hand = cluster.busy("w0")
    cluster.workers[0].kill()
    cluster.workers[0].wait()
    assert at_hand
    assert len(results) < 4  # killed in the middle
    run.join()
    assert len(cluster.client.nthreads()) == 1
    assert sorted(r.name for r in results) == [j.name for j in jobs]
    assert all(r.planned for r in results), [r.message for r in results]
    assert contents(results) == one_at_a_time(jobs)


@pytest.mark.slow
def test_without_workers_the_rest_is_given_up(cluster: Cluster, tmp_path: Path) -> None:
    for worker in cluster.workers:
        worker.kill()
        worker.wait()
    results: list[Result] = []
    run_cluster(cluster.address, many_jobs(tmp_path, 2), results.append, threading.Event(), 3.0)
    assert [r.outcome for r in results] == [LOST, LOST]


@pytest.mark.deep
def test_the_command_on_a_cluster(
    cluster: Cluster, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    many_jobs(tmp_path, 2)
    with pytest.raises(SystemExit) as ended:
        main(
            [
                "plan-many",
                str(tmp_path / "in"),
                "--out",
                str(tmp_path / "out"),
                "--cluster",
                cluster.address,
                "--work",
                "0.05",
                "--years",
                "0",
            ]
        )
    assert ended.value.code == 0
    assert "2 of 2 gardens planned." in capsys.readouterr().out
    assert (tmp_path / "out" / "site1" / "plan.json").is_file()


@pytest.mark.parametrize(
    "address",
    [
        "nonsense",
        "tcp://127.0.0.1",
        "foo://127.0.0.1:8786",
        "tcp://127.0.0.1:port",
        "",
        "tcp://:8786",
        "tcp://127.0.0.1:9",
        "127.0.0.1:9",
        "tcp://no-such-host.invalid:8786",
    ],
)
def test_where_nobody_answers_the_cluster_library_is_not_asked(
    address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(distributed, "Client", lambda *_, **__: pytest.fail("asked"))
    with pytest.raises(DrylineError, match="no cluster answers|expected an address"):
        run_cluster(address, many_jobs(tmp_path, 1), print, threading.Event())


def test_what_listens_and_says_nothing_is_given_up_without_a_word_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(many_cluster, "HANDSHAKE", 0.3)  # the library alone waits for minutes
    with socket.create_server(("127.0.0.1", 0)) as silent:
        address = f"tcp://127.0.0.1:{silent.getsockname()[1]}"
        with pytest.raises(DrylineError, match="no Dask scheduler"):
            run_cluster(address, many_jobs(tmp_path, 1), print, threading.Event())
        gc.collect()
    assert capfd.readouterr() == ("", "")


def test_a_wrong_address_ends_in_five_seconds() -> None:
    assert many_cluster.HANDSHAKE < 5
    assert many_cluster.LISTEN < 5
