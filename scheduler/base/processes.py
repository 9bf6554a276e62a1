"""Work in processes of its own: how these are begun, and how they are told to stop."""

from __future__ import annotations

import signal
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.context import SpawnContext, SpawnProcess
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class StopFile:
    """A stop that other processes see: it is set once the file is there."""

    path: str

    def is_set(self) -> bool:
        return Path(self.path).exists()

    def set(self) -> None:
        Path(self.path).touch()


@contextmanager
def stop_file() -> Iterator[StopFile]:
    """A stop that is not set yet; it must be set before this is left, or nobody hears of it."""
    with tempfile.TemporaryDirectory() as place:
        yield StopFile(str(Path(place) / "stop"))


def process_pool(count: int) -> ProcessPoolExecutor:
    """So many processes; spawned, not forked: threads and a solver's state are not carried over."""
    return ProcessPoolExecutor(count, _Context(), _deaf)


_WHERE = ("__file__", "__spec__")  # what a new process finds the caller's script by


class _Process(SpawnProcess):
    """A process that does not run the caller's script again: what it is given to do is ours.

    Otherwise a script of a few lines, with no guard around them, would begin anew in each.
    """

    @staticmethod
    def _Popen(process_obj: BaseProcess) -> Any:
        main = sys.modules["__main__"]
        known = vars(main)
        kept: dict[str, Any] = {name: known[name] for name in _WHERE if name in known}
        known.update(dict.fromkeys(kept))
        try:
            return SpawnProcess._Popen(process_obj)
        finally:
            known.update(kept)


class _Context(SpawnContext):
    Process = _Process


def _deaf() -> None:
    """Ctrl-C reaches every process of a terminal; the stop is told by `StopFile` instead."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
