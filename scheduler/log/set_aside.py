"""A plan that is replaced goes to ``before-N`` in its folder, with its log and all made from it.

What is set aside is copied whole first; the new plan and an empty log then count in one moment
(`plan_dir.write_plan_dir`), and only what the copy holds is taken out of the folder. A crash leaves
the old plan with its log or the new one, and nothing is ever lost.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path

from scheduler.base.faults import BadInput, Fault
from scheduler.base.files import sync_folder
from scheduler.log.append import locked
from scheduler.log.model import HEADER
from scheduler.plans.folder import (
    INCOMING,
    LOG_FILE,
    PLAN_FILE,
    holds_plan,
    read_plan,
    write_plan_dir,
)
from scheduler.plans.model import Plan

BEFORE = "before-"
EARLIER = "earlier"  # where the page keeps the plans that it replaced


def refuse_logged(folder: Path) -> None:
    """Raise BadInput if a plan stands in ``folder`` of which a log tells something."""
    if not folder.is_dir() or not holds_plan(folder) or not _has_lines(folder / LOG_FILE):
        return
    raise BadInput(
        [
            Fault(
                str(folder / LOG_FILE),
                None,
                "",
                "tells what was done by the plan in this folder",
                "another folder, or --replace, which moves that plan with its log to "
                f"{_free(folder).name}; dryline rebalance goes on from it",
            )
        ]
    )


def next_number(folder: Path) -> int:
    """Number of the next plan in a folder: 1 for the first."""
    if not folder.is_dir() or not holds_plan(folder):
        return 1
    with suppress(BadInput):
        return max(read_plan(folder).number, 1) + 1
    return 2  # of an earlier version, which cannot be read any more


def replace_plan(
    folder: Path, plan: Plan, sources: Mapping[str, bytes], made: Mapping[str, bytes]
) -> Path:
    """Write a plan in place of another, which is set aside; where that is.

    Raises
    ------
    BadInput, OSError
        As `write_plan_dir`; the folder holds what it held before.
    """
    with locked(folder / f".{LOG_FILE}.lock"):  # no line may come in between
        old = (folder / PLAN_FILE).read_bytes()
        kept = list(_files(folder))
        aside = _copied(folder, kept)
        try:
            write_plan_dir(folder, plan, sources, {**made, LOG_FILE: f"{HEADER}\n".encode()})
        except BaseException:
            same = (folder / PLAN_FILE).read_bytes() == old
            if same and not (folder / INCOMING).exists():
                shutil.rmtree(aside, ignore_errors=True)
            raise
        new = {*sources, *made, PLAN_FILE, LOG_FILE}
        for name in kept:
            if name not in new:
                (folder / name).unlink(missing_ok=True)
        for name in {str(Path(n).parent) for n in kept} - {"."}:
            with suppress(OSError):  # not empty
                (folder / name).rmdir()
    return aside


def _has_lines(log: Path) -> bool:
    """Whether a log holds more than its header."""
    if not log.is_file():
        return False
    lines = [line.strip(b" ,;\t\r") for line in log.read_bytes().split(b"\n")]
    return sum(1 for line in lines if line and not line.startswith(b"#")) > 1


def _free(folder: Path) -> Path:
    number = 1
    while (place := folder / f"{BEFORE}{number}").exists():
        number += 1
    return place


def _files(folder: Path, below: str = "") -> Iterator[str]:
    """Files of a plan by their path in its folder, but for hidden ones and earlier plans."""
    for path in sorted((folder / below).iterdir()):
        name = f"{below}{path.name}"
        if path.name.startswith(".") or name.startswith(BEFORE) or name == EARLIER:
            continue
        if path.is_dir() and not path.is_symlink():
            yield from _files(folder, f"{name}/")
        elif path.is_file():
            yield name


def _copied(folder: Path, names: list[str]) -> Path:
    """A copy of files in a folder of its own, whole or not at all."""
    place = _free(folder)
    temporary = folder / f".{place.name}.{os.getpid()}.{time.monotonic_ns()}.part"
    try:
        for name in names:
            target = temporary / name
            target.parent.mkdir(parents=True, exist_ok=True)
            with open(target, "wb") as handle:
                handle.write((folder / name).read_bytes())
                handle.flush()
                os.fsync(handle.fileno())
        sync_folder(temporary)
        os.rename(temporary, place)
    except OSError as error:  # of the folder that was asked for, not of a hidden one
        raise OSError(error.errno, error.strerror or str(error), str(place)) from None
    finally:
        shutil.rmtree(temporary, ignore_errors=True)
    sync_folder(folder)
    return place
