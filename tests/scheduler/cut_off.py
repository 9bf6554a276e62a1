"""A command cut off at each of its writes in turn: killed, or told that the disk is full.

`sweep` runs the command once, in a process of its own, up to the moment before it first changes
anything in a folder. From there it goes on again and again, each time in a fork: in the first its
first write does not happen, in the next its second, and so on until one gets through. A write is
what changes a file system (opening to write, making, renaming or removing a name, half of the bytes
of a file, fsync), as Python's audit events tell of it; nothing in the program knows of this.
"""

from __future__ import annotations

import builtins
import errno
import io
import os
import pickle
import shutil
import signal
import sys
import tempfile
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

KILL = 0  # in place of an errno: SIGKILL
DISK_FULL, READ_ONLY, FORBIDDEN = errno.ENOSPC, errno.EROFS, errno.EACCES
Tree = dict[str, bytes]

_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT
_CHANGES = {
    "os.mkdir": 0,
    "os.rename": 0,
    "os.remove": 0,
    "os.rmdir": 0,
    "os.chmod": 0,
    "os.truncate": 0,
    "os.link": 0,
    "os.symlink": 0,
}
_REMOVES = ("os.remove", "os.rmdir")  # these work on a full disk
_MOST = 400  # writes of one command


@dataclass(frozen=True)
class Cut:
    """What one cut left.

    Attributes
    ----------
    number, event : which write did not happen; ``event`` is empty for the run that got through.
    code : exit code; minus the signal's number if killed.
    said : standard output and error.
    tree : the folder's files, as they lie there.
    """

    number: int
    event: str
    code: int
    said: str
    tree: Tree


def tree(root: Path) -> Tree:
    """The files below a folder: relative name to content."""
    return {str(p.relative_to(root)): p.read_bytes() for p in root.rglob("*") if p.is_file()}


def lay(root: Path, files: Tree) -> Path:
    """Make a folder hold just these files."""
    for child in root.iterdir() if root.exists() else ():
        shutil.rmtree(child) if child.is_dir() else child.unlink()
    for name, data in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(data)
    return root


def sweep(work: Callable[[], Any], root: Path, fault: int = KILL) -> list[Cut]:
    """Cut ``work`` off at each write below ``root``; the last of the list got through.

    With an errno as fault that write fails and so does every later one: a full disk stays full.
    """
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        pid = os.fork()
        if pid == 0:
            try:
                _Sweeper(work, root.resolve(), fault, place).run()
            except BaseException:
                traceback.print_exc()
            finally:
                os._exit(99)
        _, status = os.waitpid(pid, 0)
        file = place / "cuts"
        if os.waitstatus_to_exitcode(status) != 0:
            said = (place / "said").read_text() if (place / "said").exists() else ""
            raise AssertionError(f"the command never wrote; it said: {said}")
        return pickle.loads(file.read_bytes())


class _Sweeper:
    def __init__(self, work: Callable[[], Any], root: Path, fault: int, place: Path) -> None:
        self.work, self.root, self.fault, self.place = work, str(root), fault, place
        self.quiet = True  # what happens now is ours
        self.forked = False
        self.left = 0
        self.event = ""

    def run(self) -> None:
        sys.stdout.flush()
        sys.stderr.flush()
        os.chdir("/")
        self.output = os.open(self.place / "said", os.O_RDWR | os.O_CREAT)
        os.dup2(self.output, 1)
        os.dup2(self.output, 2)
        sys.stdout = io.TextIOWrapper(io.FileIO(1, "w", closefd=False), line_buffering=True)
        sys.stderr = io.TextIOWrapper(io.FileIO(2, "w", closefd=False), line_buffering=True)
        self._watch()
        self.quiet = False
        code = 0
        try:
            self.work()
        except SystemExit as end:
            code = int(end.code or 0)
        except BaseException:
            traceback.print_exc()
            code = 98
        self.quiet = True
        sys.stdout.flush()
        os._exit(code if self.forked else 97)

    def _watch(self) -> None:
        sys.addaudithook(self._hook)
        fsync, real_open = os.fsync, io.open

        def synced(handle: int) -> None:
            self._happens("fsync", "")
            fsync(handle)

        def opened(file: Any, mode: str = "r", *args: Any, **kinds: Any) -> Any:
            handle = real_open(file, mode, *args, **kinds)
            mine = not self.quiet and isinstance(file, str | os.PathLike) and self._inside(file)
            return _Torn(handle, self, os.fspath(file)) if mine and mode == "wb" else handle

        os.fsync = synced
        builtins.open = io.open = opened  # type: ignore[assignment]

    def _inside(self, path: Any) -> bool:
        return isinstance(path, str | os.PathLike) and os.path.abspath(path).startswith(self.root)

    def _hook(self, event: str, args: tuple[Any, ...]) -> None:
        if self.quiet:
            return
        if event == "open":
            if isinstance(args[2], int) and args[2] & _WRITING and self._inside(args[0]):
                self._happens("open", args[0])
        elif event in _CHANGES and self._inside(args[0]):
            self._happens(event, args[0])

    def _happens(self, event: str, path: Any) -> None:
        if self.quiet:
            return
        if not self.forked:
            self._fan_out()
        self.left -= 1
        if self.left > 0 or (self.left < 0 and not self.fault):
            return
        if self.left == 0:
            self.quiet = True
            (self.place / "event").write_text(f"{event} {Path(path).name if path else ''}".strip())
            if self.fault == KILL:
                os.kill(os.getpid(), signal.SIGKILL)
            self.quiet = False
        if not (self.fault == DISK_FULL and event in _REMOVES):
            raise OSError(self.fault, os.strerror(self.fault), path or None)

    def _fan_out(self) -> None:
        """At the first write: fork for each write in turn; only the forks come back."""
        self.quiet = True
        root = Path(self.root)
        there = root.exists()
        before = tree(root) if there else {}
        cuts = []
        for number in range(1, _MOST):
            if there:
                lay(root, before)
            else:
                shutil.rmtree(root, ignore_errors=True)
            (self.place / "event").write_text("")
            os.ftruncate(self.output, 0)
            os.lseek(self.output, 0, os.SEEK_SET)
            pid = os.fork()
            if pid == 0:
                self.forked, self.left, self.quiet = True, number, False
                return
            _, status = os.waitpid(pid, 0)
            event = (self.place / "event").read_text()
            said = (self.place / "said").read_text(errors="replace")
            cuts.append(
                Cut(
                    number,
                    event,
                    os.waitstatus_to_exitcode(status),
                    said,
                    tree(root) if root.exists() else {},
                )
            )
            if not event:
                break
        (self.place / "cuts").write_bytes(pickle.dumps(cuts))
        os._exit(0)


class _Torn:
    """A file whose bytes are written in two halves, with a moment to be cut off between them."""

    def __init__(self, handle: Any, sweeper: _Sweeper, path: str) -> None:
        self._handle, self._sweeper, self._path = handle, sweeper, path

    def __getattr__(self, name: str) -> Any:
        return getattr(self._handle, name)

    def __enter__(self) -> _Torn:
        return self

    def __exit__(self, *_: object) -> None:
        self._handle.close()

    def write(self, data: bytes) -> int:
        self._handle.write(data[: len(data) // 2])
        self._handle.flush()
        self._sweeper._happens("half of", self._path)
        return int(self._handle.write(data[len(data) // 2 :])) + len(data) // 2
