"""What a command that searches nothing says while it takes its time: on a terminal, after 2 s."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

PATIENCE = 2.0  # [s] for which nobody wonders
_BACK, _REST = "\r", "\x1b[K"  # to the line's beginning; nothing from here to its end


@contextmanager
def waiting(what: str) -> Iterator[None]:
    """While the block runs, one moving line that is gone when it ends; elsewhere nothing at all."""
    if not sys.stderr.isatty():
        yield
        return
    done = threading.Event()
    teller = threading.Thread(target=_tell, args=(what, done), daemon=True)
    teller.start()
    try:
        yield
    finally:
        done.set()
        teller.join()


def _tell(what: str, done: threading.Event) -> None:
    began = time.monotonic()
    if done.wait(PATIENCE):
        return
    while True:
        seconds = time.monotonic() - began
        sys.stderr.write(f"{_BACK}{what[:60]}: {seconds:.0f} s{_REST}")
        sys.stderr.flush()
        if done.wait(0.5):
            break
    sys.stderr.write(f"{_BACK}{_REST}")
    sys.stderr.flush()
