"""The same function for many tasks, several at a time in processes of their own, in order."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack
from types import TracebackType
from typing import Any, TypeVar

from scheduler.base.processes import StopFile, process_pool, stop_file

T = TypeVar("T")
R = TypeVar("R")


class Lanes:
    """So many processes; with one lane everything runs in this one.

    ``stop`` is set from outside. Functions are called with a task and something whose ``is_set``
    tells whether to end early.
    """

    def __init__(self, count: int, stop: threading.Event | None = None) -> None:
        self.count, self.stop = count, stop or threading.Event()
        self._pool: ProcessPoolExecutor | None = None
        self._halt: StopFile | None = None
        self._open = ExitStack()

    def __enter__(self) -> Lanes:
        if self.count > 1:
            self._halt = self._open.enter_context(stop_file())
            self._pool = process_pool(self.count)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._pool is not None and self._halt is not None:
            self._halt.set()
            self._pool.shutdown(cancel_futures=True)
        self._open.close()

    def run(
        self, function: Callable[[T, Any], R], tasks: Sequence[T], go_on: Callable[[], bool]
    ) -> Iterator[tuple[int, R]]:
        """Number and result of each task as it is ready; none is begun once ``go_on`` says no."""
        if self._pool is None or self._halt is None:
            for number, task in enumerate(tasks):
                if self.stop.is_set() or not go_on():
                    return
                yield number, function(task, self.stop)
            return
        waiting = iter(enumerate(tasks))
        running: dict[Future[R], int] = {}
        more = True
        while more or running:
            while more and len(running) < self.count:
                following = next(waiting, None) if not self.stop.is_set() and go_on() else None
                more = following is not None
                if following is not None:
                    try:
                        future = self._pool.submit(function, following[1], self._halt)
                    except BrokenProcessPool:
                        return
                    running[future] = following[0]
            if self.stop.is_set():
                self._halt.set()
            done, _ = wait(running, timeout=0.2, return_when=FIRST_COMPLETED)
            for future in done:
                number = running.pop(future)
                try:
                    result = future.result()
                except BrokenProcessPool:  # killed, perhaps for want of memory: it stays untried
                    return
                yield number, result
