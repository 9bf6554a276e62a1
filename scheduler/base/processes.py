"""Work in processes of its own: how these are begun, and how they are told to stop."""

from __future__ import annotations

import multiprocessing
import signal
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path


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
    return ProcessPoolExecutor(count, multiprocessing.get_context("spawn"), _deaf)


def _deaf() -> None:
    """Ctrl-C reaches every process of a terminal; the stop is told by `StopFile` instead."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
