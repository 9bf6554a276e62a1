"""Many gardens on a Dask cluster that is already running, told by its address."""

from __future__ import annotations

import contextlib
import time
import uuid
from collections.abc import Sequence
from typing import Any

from scheduler.faults import DrylineError
from scheduler.many import DEFECT, Done, Job, Result, Stop, lost, plan_garden, stopped

PATIENCE = 60.0  # seconds without any worker after which the rest is given up


def run_cluster(
    address: str, jobs: Sequence[Job], done: Done, stop: Stop, patience: float = PATIENCE
) -> None:
    """Plan ``jobs`` on the cluster whose scheduler listens at ``address``.

    Workers need this package in the same version, and no shared disk. A garden whose worker is
    lost is begun again on another (the cluster's own setting ``allowed-failures``, 3 unless
    changed, says how often). ``done`` is called with each result from the calling thread.

    Raises
    ------
    DrylineError
        The extra is not installed, or nothing answers at the address.
    """
    try:
        from distributed import Client, KilledWorker
    except ImportError:
        raise DrylineError(
            "--cluster needs the optional extra: pip install 'dryline[cluster]'"
        ) from None
    try:
        client = Client(address, timeout=10, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise DrylineError(f"no cluster answers at {address}: {error}") from None
    with contextlib.closing(client):
        run = uuid.uuid4().hex[:8]  # keys of this run; a cluster may serve several at a time
        open_ = {
            client.submit(plan_garden, job, key=f"garden-{run}-{i}", pure=False): job
            for i, job in enumerate(jobs)
        }
        seen = looked = time.monotonic()
        while open_:
            for future in [f for f in open_ if f.done() or f.status == "lost"]:
                done(_result(future, open_.pop(future), KilledWorker))
            now = time.monotonic()
            if stop.is_set():
                client.cancel(list(open_))
                for job in open_.values():
                    done(stopped(job))
                return
            if now - looked > 1.0:
                looked = now
                seen = now if _workers(client) else seen
            if now - seen > patience:
                client.cancel(list(open_))
                for job in open_.values():
                    done(lost(job, 1, f"no worker answered for {patience:.0f} s"))
                return
            time.sleep(0.1)


def _workers(client: Any) -> int:
    """How many workers the cluster has; 0 if its scheduler does not answer."""
    try:
        return len(client.nthreads())
    except (OSError, TimeoutError):
        return 0


def _result(future: Any, job: Job, killed: type[Exception]) -> Result:
    if future.status == "finished":
        got: Result = future.result()
        return got
    if future.status != "error":
        return lost(job, 1, f"the cluster gave it up ({future.status})")
    error = future.exception()
    if isinstance(error, killed):
        return lost(job, 1, "the workers planning it were lost again and again, perhaps for want "
                    "of memory")  # fmt: skip
    return Result(job.name, job.folder, DEFECT,
                  message=f"{type(error).__name__}: {error}; is the same version of this package "
                  "installed on the workers?")  # fmt: skip
