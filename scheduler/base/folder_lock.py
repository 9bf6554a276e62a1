"""One at a time in a plan's folder: whoever moves files into place, against all who read them.

The folder itself is locked, so that nothing is left in it and a folder that cannot be written can
be read. Systems without such locks get none; readers then look twice (`plan_dir.read_plan_dir`).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

try:
    import fcntl
except ImportError:  # no such locks on this system
    fcntl = None  # type: ignore[assignment]


class Lock:
    """A hold on a folder; ``held`` tells whether it is one."""

    def __init__(self, handle: int) -> None:
        self._handle = handle
        self.held = False

    def take(self, share: bool = False) -> None:
        """Wait for it. From alone to shared, somebody may have moved files in between."""
        self.held = False
        if self._handle >= 0 and fcntl is not None:
            with suppress(OSError):  # a file system without locks
                fcntl.flock(self._handle, fcntl.LOCK_SH if share else fcntl.LOCK_EX)
                self.held = True


@contextmanager
def alone(folder: Path) -> Iterator[Lock]:
    """Wait until nobody else reads or moves files in ``folder``, if it is there, and hold it."""
    handle = -1
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
    try:
        lock = Lock(handle)
        lock.take()
        yield lock
    finally:
        if handle >= 0:
            os.close(handle)
