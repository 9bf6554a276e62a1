"""Writing a file so that nothing is ever half of it."""

from __future__ import annotations

import os
import stat
import time
from contextlib import suppress
from pathlib import Path


def write_atomic(path: Path, text: str | bytes) -> None:
    """Write a file so that a crash leaves the old or the new one, never half of it.

    A link stays a link; what it leads to is written. An earlier file keeps its access rights. What
    is no file, such as /dev/stdout, is written to as it is.

    Raises
    ------
    OSError
        Nothing was written; it names ``path``.
    """
    data = text.encode() if isinstance(text, str) else text
    if path.exists() and not path.is_file() and not path.is_dir():
        path.write_bytes(data)
        return
    path = Path(os.path.realpath(path))
    temporary = path.with_name(f".{path.name}.{os.getpid()}.{time.monotonic_ns()}.part")
    try:
        try:
            with open(temporary, "wb") as handle:
                handle.write(data)
                handle.flush()
                os.fsync(handle.fileno())
            with suppress(OSError):  # no earlier file, or a file system without such rights
                os.chmod(temporary, stat.S_IMODE(os.stat(path).st_mode))
            os.replace(temporary, path)
        finally:
            with suppress(OSError):  # the fault that led here is the one to tell
                temporary.unlink(missing_ok=True)
    except OSError as error:  # of the file that was asked for, not of one nobody knows
        raise OSError(error.errno, error.strerror or str(error), str(path)) from None
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Make renames in a folder last through a loss of power, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
