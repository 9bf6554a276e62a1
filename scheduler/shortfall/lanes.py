"""The same function for many tasks, several at a time in processes of their own, in order."""

from __future__ import annotations

import multiprocessing
import signal
import tempfile
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, TypeVar

T = TypeVar("T")
R = TypeVar("R")


@dataclass(frozen=True)
class StopFile:
    """A stop that other processes see: it is set once the file is there."""

    path: str

    def is_set(self) -> bool:
        return Path(self.path).exists()


class Lanes:
    """So many processes; with one lane everything runs in this one.

    ``stop`` is set from outside. Functions are called with a task and something whose ``is_set``
    tells whether to end early.
    """

    def __init__(self, count: int, stop: threading.Event | None = None) -> None:
        self.count, self.stop = count, stop or threading.Event()
        self._pool: ProcessPoolExecutor | None = None
        self._place: tempfile.TemporaryDirectory[str] | None = None

    def __enter__(self) -> Lanes:
        if self.count > 1:
            self._place = tempfile.TemporaryDirectory()
            self._pool = ProcessPoolExecutor(  # spawned: no state of the solver is carried over
                self.count, multiprocessing.get_context("spawn"), _deaf
            )
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._pool is not None and self._place is not None:
            self._halt.touch()
            self._pool.shutdown(cancel_futures=True)
            self._place.cleanup()

    @property
    def _halt(self) -> Path:
        assert self._place is not None
        return Path(self._place.name) / "stop"

    def run(
        self, function: Callable[[T, Any], R], tasks: Sequence[T], go_on: Callable[[], bool]
    ) -> Iterator[tuple[int, R]]:
        """Number and result of each task as it is ready; none is begun once ``go_on`` says no."""
        if self._pool is None:
            for number, task in enumerate(tasks):
                if self.stop.is_set() or not go_on():
                    return
                yield number, function(task, self.stop)
            return
        waiting = iter(enumerate(tasks))
        running: dict[Future[R], int] = {}
        halt = StopFile(str(self._halt))
        more = True
        while more or running:
            while more and len(running) < self.count:
                following = next(waiting, None) if not self.stop.is_set() and go_on() else None
                more = following is not None
                if following is not None:
                    try:
                        future = self._pool.submit(function, following[1], halt)
                    except BrokenProcessPool:
                        return
                    running[future] = following[0]
            if self.stop.is_set():
                self._halt.touch()
            done, _ = wait(running, timeout=0.2, return_when=FIRST_COMPLETED)
            for future in done:
                number = running.pop(future)
                try:
                    result = future.result()
                except BrokenProcessPool:  # killed, perhaps for want of memory: it stays untried
                    return
                yield number, result


def _deaf() -> None:
    """Ctrl-C reaches every process of a terminal; the stop is told by `StopFile` instead."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
