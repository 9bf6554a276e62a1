"""Many gardens on a Dask cluster that is already running, told by its address."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
import threading
import time
import uuid
from collections.abc import Sequence
from typing import Any
from urllib.parse import urlsplit

from scheduler.base.faults import DrylineError
from scheduler.many.gardens import DEFECT, Done, Job, Result, Stop, lost, plan_garden, stopped

LISTEN, HANDSHAKE = 2.0, 4.5  # seconds for anything to answer there, and for a scheduler to
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
        from distributed import KilledWorker
    except ImportError:
        raise DrylineError(
            "--cluster needs the optional extra: pip install 'dryline[cluster]'"
        ) from None
    client = _client(address)
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


def _client(address: str) -> Any:
    """A client of the cluster at ``address``; DrylineError where none answers."""
    from distributed import Client

    _refuse_silence(address)

    class Quick(Client):
        """Gives up at once: the library's own would wait for what never began to be closed."""

        def __init__(self, *args: Any, **kwargs: Any) -> None:
            try:
                super().__init__(*args, **kwargs)  # type: ignore[no-untyped-call]
            except BaseException:
                self.status = "closed"
                raise

    made: list[Any] = []

    def shake_hands() -> None:
        with contextlib.suppress(Exception, asyncio.CancelledError):
            made.append(Quick(address, timeout=HANDSHAKE, set_as_default=False))

    logger = logging.getLogger("distributed")
    level = logger.level
    logger.setLevel(logging.CRITICAL)  # it is told below, in one line
    thread = threading.Thread(target=shake_hands, daemon=True)  # what is no scheduler may not end
    thread.start()
    thread.join(HANDSHAKE)
    logger.setLevel(level)
    if made:
        return made[0]
    raise DrylineError(
        f"no cluster answers at {address}: what listens there is no Dask scheduler, "
        "or too busy to answer"
    )


def _refuse_silence(address: str) -> None:
    """Raise DrylineError unless something listens at ``address``.

    The library's own attempt takes long, waits as long again to be closed, and prints on its way.
    """
    scheme, _, place = address.rpartition("://")
    try:
        split = urlsplit(f"//{place}")
        host, port = split.hostname, split.port
    except ValueError:
        host = port = None
    if scheme not in ("", "tcp", "tls") or not host or not port:
        raise DrylineError(
            f"--cluster {address!r}; expected an address such as tcp://127.0.0.1:8786"
        )
    heard: list[str] = []

    def knock() -> None:
        try:
            socket.create_connection((host, port), LISTEN).close()
            heard.append("")
        except OSError as error:
            heard.append(error.strerror or str(error))

    thread = threading.Thread(target=knock, daemon=True)  # looking a name up knows no time limit
    thread.start()
    thread.join(LISTEN)
    why = heard[0] if heard else f"nothing heard in {LISTEN:g} s"
    if why:
        raise DrylineError(f"no cluster answers at {address}: {why}")


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
        return lost(
            job, 1, "the workers planning it were lost again and again, perhaps for want of memory"
        )
    return Result(
        job.name,
        job.folder,
        DEFECT,
        message=f"{type(error).__name__}: {error}; is the same version of this package "
        "installed on the workers?",
    )
