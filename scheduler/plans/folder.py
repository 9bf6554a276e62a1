"""A plan's folder: plan.json and copies of what it was made from, always whole.

Copies of the files that a garden names lie in a folder of their own, ``inputs``, so that none can
take the place of a file that is made. New files are written into a hidden folder inside, opened
again as any command will, and renamed to ``.incoming``: that rename is the moment the new plan
counts. Moving its files into place can be cut off and is simply finished by whoever opens the
folder next. A crash leaves the old plan or the new one, never a mix: that holds for the calendar
and the list of changes too, which are written together with the plan.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from scheduler.base.faults import BadInput, Fault, OwnFault
from scheduler.base.files import sync_folder, write_atomic
from scheduler.base.folder_lock import alone
from scheduler.base.texts import shorten
from scheduler.garden.model import INPUTS, Garden
from scheduler.plans import brief as of_log
from scheduler.plans.model import Plan

PLAN_FILE, GARDEN_FILE, LOG_FILE = "plan.json", "garden.yaml", "log.csv"
CROPS_FILE = "crops-as-planned.yaml"
PAST_FILE = "past-weather.csv"  # what a plan within a risk drew its weather years from
INCOMING = ".incoming"
MAX_BYTES = 1_000_000_000  # a plan of ten thousand columns of three is 280 MB
# What may stand in a folder before its first plan, beside a log: its lock, what crashes left.
_NO_PLAN_YET = (f".{LOG_FILE}.", f"{INCOMING}.")
_TRIES = 20  # to read a folder that is written again and again
_FORGOTTEN = 3600  # a half-written folder older than this [s] is left from a crash


def write_plan_dir(
    folder: str | Path,
    plan: Plan,
    sources: Mapping[str, bytes],
    made: Mapping[str, bytes] | None = None,
) -> None:
    """Write a plan, what it was made from and what was made from it.

    Parameters
    ----------
    folder : made if it is not there; empty, with nothing but a log.csv, or the folder of an
        earlier plan, whose files are replaced. Its log.csv and other files stay.
    sources : file name to content, as `garden_sources` gives them: garden.yaml, and the files it
        names in ``inputs/``.
    made : file name to content: the calendar, the list of changes.

    Raises
    ------
    BadInput
        The folder holds something else than a plan.
    OwnFault
        What would be written does not give the same plan when it is opened: nothing counts.
    OSError
        It could not be written. The folder holds what it held before, unless the new plan counts
        already and only its files could not be moved into place: that is done at the next opening.
    ValueError
        A file's name is no plain file name, or one that the folder uses itself.
    """
    folder = Path(folder)
    made = made or {}
    files = {**sources, **made}
    judged = {*sources, GARDEN_FILE, CROPS_FILE, PLAN_FILE}
    for name in [*sources, *made]:
        plain = name if name in made else name.removeprefix(f"{INPUTS}/")
        own = (PLAN_FILE,) if name in made else (PLAN_FILE, LOG_FILE)  # an empty log may be made
        taken = plain in ("", *own, INPUTS) or plain.startswith(INCOMING)
        if (taken and plain == name) or Path(plain).name != plain or plain in ("", ".."):
            raise ValueError(f"file {name!r}; expected a plain file name of its own")
    if twice := sources.keys() & made.keys():
        raise ValueError(f"file {min(twice)!r}; expected a name for each file")
    refuse_other_folders(folder)
    folder.mkdir(parents=True, exist_ok=True)
    _remove_leftovers(folder)
    incoming = folder / f"{INCOMING}.{os.getpid()}.{time.monotonic_ns()}.part"
    incoming.mkdir()
    try:
        for name, data in {**files, PLAN_FILE: plan.to_json().encode()}.items():
            _write(incoming / name, data, folder / name)
        read = _read_again(incoming, folder, plan)
        held = of_log.table(*read, of_log.marks(incoming, judged))
        _write(incoming / of_log.TABLE_FILE, held, folder / of_log.TABLE_FILE)
        sync_folder(incoming)
        for attempt in range(10):
            _finish(folder)
            try:
                os.rename(incoming, folder / INCOMING)
                break
            except OSError:  # another writer was faster; its plan is finished first
                if attempt == 9 or not (folder / INCOMING).is_dir():
                    raise
        sync_folder(folder)
        _finish(folder)
    finally:
        shutil.rmtree(incoming, ignore_errors=True)


def _read_again(incoming: Path, folder: Path, plan: Plan) -> tuple[Garden, Plan]:
    """Open what is about to count as any command will; OwnFault if it is not the same plan."""
    try:
        read = _read(incoming)
        why = "" if read[1] == plan else "It reads as another plan."
    except BadInput as error:
        why = error.text().replace(str(incoming), str(folder))
    if why:
        raise OwnFault(
            f"{folder}: this plan could not be opened again, so it was not written. "
            f"Please report it. {why}"
        )
    return read


def read_plan_dir(folder: str | Path, brief: bool = False) -> tuple[Garden, Plan]:
    """Garden and plan of a plan's folder, of one plan even while another is written into it.

    ``brief``: as much as a line of the log needs, from the table of `plans.brief` where that
    counts. Batches come without their levels and the plan without stages and what is unmet; what
    else is asked of the garden is read then.

    Raises
    ------
    BadInput
        No folder, no plan in it, or every fault of the plan or of the garden beside it.
    """
    folder = Path(folder)
    for _ in range(_TRIES):
        with alone(folder) as lock:
            _move_in(folder)
            lock.take(share=True)
            if (folder / INCOMING).exists():  # from a writer that came in between
                continue
            before = _mark(folder)
            try:
                found = _read(folder, brief)
            except BadInput:
                if lock.held or _mark(folder) == before:
                    raise
            else:
                if lock.held or (before is not None and _mark(folder) == before):
                    return found
    raise BadInput(
        [
            Fault(
                str(folder),
                None,
                "",
                "written again and again",
                "a plan that does not change while it is read; try again",
            )
        ]
    )


def _mark(folder: Path) -> tuple[int, int] | None:
    """Tells a plan from the next one; None while one is moved in, or if there is none."""
    with suppress(OSError):
        # In this order: a plan moved in between the two looks has another number than the one
        # before; looked at the other way round, the old number would stand for its files.
        if not (folder / INCOMING).exists():
            found = (folder / PLAN_FILE).stat()
            return found.st_ino, found.st_mtime_ns
    return None


def _read(folder: Path, brief: bool = False) -> tuple[Garden, Plan]:
    if brief:
        return _of_table(folder) or _with_table(folder)
    return _read_all(folder)[:2]


def _of_table(folder: Path) -> tuple[Garden, Plan] | None:
    """As much as a line of the log needs, from the table beside the plan; None if there is none."""
    before = _mark(folder)

    def whole() -> Garden:
        garden, _ = read_plan_dir(folder)
        if _mark(folder) != before:  # what is judged would be half of one plan, half of another
            expected = "a plan that stays while a line is judged; try again"
            raise BadInput([Fault(str(folder), None, "", "another plan meanwhile", expected)])
        return garden

    return of_log.read_table(folder, whole)


def _with_table(folder: Path) -> tuple[Garden, Plan]:
    """As much as a line of the log needs, leaving a table for the next one where that can be."""
    own = {GARDEN_FILE, CROPS_FILE, PLAN_FILE}
    early = of_log.marks(folder, own)
    garden, plan, named = _read_all(folder, brief=True)
    now = of_log.marks(folder, own | named)
    if all(now[n] == early[n] for n in own) and all((folder / n).is_file() for n in named):
        with suppress(OSError):  # a folder that is only read, a disk that is full: next time, then
            write_atomic(folder / of_log.TABLE_FILE, of_log.table(garden, plan, now))
    return garden, plan


def _read_all(folder: Path, brief: bool = False) -> tuple[Garden, Plan, set[str]]:
    """Garden and plan from the files themselves, and names of the files that the garden names."""
    from scheduler.garden.file import load_with_files
    from scheduler.garden.reader import planned_crops
    from scheduler.plans.plan_years import expected

    plan = _plan(folder, brief)
    garden, named = load_with_files(folder / GARDEN_FILE, late_weather=brief)
    planned = folder / CROPS_FILE
    if planned.is_file():
        crops = planned_crops(planned.read_bytes(), str(planned))
        garden = replace(garden, crops={**garden.crops, **crops})
    return expected(folder, garden, plan, plan.as_of), plan, named


def crops_source(garden: Garden) -> bytes:
    """The crops a plan was made with, every number and source: one crop file after another.

    A plan stays what it was when the catalogue moves on.
    """
    from crops.catalogue import crop_text

    head = "# The crops as this plan was made with them; change numbers in garden.yaml.\n"
    return (head + "---\n".join(crop_text(c) for c in garden.crops.values())).encode()


def read_plan(folder: str | Path) -> Plan:
    """The plan alone of a plan's folder.

    Raises
    ------
    BadInput
        As `read_plan_dir`, without the garden.
    """
    folder = Path(folder)
    _finish(folder)
    return _plan(folder)


def _plan(folder: Path, brief: bool = False) -> Plan:
    from scheduler.plans.reading import parse_plan  # with what checks it: no log waits for that

    if not folder.is_dir():
        what = "a file" if folder.exists() else "not there"
        raise BadInput([Fault(str(folder), None, "", what, "the folder of a plan")])
    file = folder / PLAN_FILE
    if not file.is_file():
        raise BadInput([Fault(str(file), None, "", "not there", "a plan, as dryline plan writes")])
    if file.stat().st_size > MAX_BYTES:
        size = f"{file.stat().st_size / 1e6:.0f} MB"
        raise BadInput([Fault(str(file), None, "", size, f"at most {MAX_BYTES / 1e6:.0f} MB")])
    return parse_plan(file.read_bytes(), str(file), brief)


def holds_plan(folder: Path) -> bool:
    """Whether a plan stands in a folder; one that was cut off while it was moved in counts."""
    _finish(folder)
    return (folder / PLAN_FILE).is_file()


def refuse_other_folders(folder: Path) -> None:
    """Raise BadInput unless ``folder`` can be written, and is new, empty, or of an earlier plan."""
    there = next(p for p in (folder, *folder.absolute().parents) if p.exists())
    if there.is_dir() and not os.access(there, os.W_OK | os.X_OK):
        expected = "a folder that can be written"
        raise BadInput([Fault(str(there), None, "", "not to be written", expected)])
    if not folder.exists():
        return
    if not folder.is_dir():
        raise BadInput([Fault(str(folder), None, "", "a file", "a folder for the plan")])
    if (folder / INPUTS).exists() and not (folder / INPUTS).is_dir():
        raise BadInput(
            [
                Fault(
                    str(folder / INPUTS),
                    None,
                    "",
                    "a file",
                    "a folder for copies of what the garden names",
                )
            ]
        )
    names = {p.name for p in folder.iterdir()}
    if INCOMING in names or all(n == LOG_FILE or n.startswith(_NO_PLAN_YET) for n in names):
        return
    if PLAN_FILE not in names:
        some = ", ".join(sorted(names)[:3])
        raise BadInput(
            [
                Fault(
                    str(folder),
                    None,
                    "",
                    shorten(f"holds {some}"),
                    "an empty or new folder, or that of an earlier plan",
                )
            ]
        )
    from scheduler.plans.reading import any_json

    try:
        schema = any_json((folder / PLAN_FILE).read_bytes(), str(folder / PLAN_FILE))
        known = isinstance(schema, dict) and str(schema.get("schema")).startswith("dryline-plan-")
    except BadInput:
        known = False
    if not known:
        raise BadInput(
            [
                Fault(
                    str(folder / PLAN_FILE),
                    None,
                    "",
                    "no plan of this program",
                    "another folder for the plan",
                )
            ]
        )


def _finish(folder: Path) -> None:
    """Move the files of a plan that counts already into place, plan.json last."""
    if (folder / INCOMING).is_dir():
        with alone(folder):
            _move_in(folder)


def _move_in(folder: Path) -> None:
    incoming = folder / INCOMING
    if not incoming.is_dir():
        return
    with suppress(FileNotFoundError):  # someone else may be finishing it too
        if (incoming / INPUTS).is_dir():
            (folder / INPUTS).mkdir(exist_ok=True)
            for name in sorted(os.listdir(incoming / INPUTS)):
                with suppress(FileNotFoundError):
                    os.replace(incoming / INPUTS / name, folder / INPUTS / name)
            sync_folder(folder / INPUTS)
            with suppress(FileNotFoundError):
                (incoming / INPUTS).rmdir()
        names = sorted(os.listdir(incoming), key=lambda n: (n == PLAN_FILE, n))
        for name in names:
            with suppress(FileNotFoundError):
                os.replace(incoming / name, folder / name)
        sync_folder(folder)
        try:
            incoming.rmdir()
        except FileNotFoundError:
            return
        except OSError:  # the next plan has taken the empty folder's place meanwhile
            if not os.listdir(incoming):
                raise
            _move_in(folder)


def _remove_leftovers(folder: Path) -> None:
    """Remove what crashes left behind: half-written folders, and files of `write_atomic`."""
    for incoming in folder.glob(".*.part"):
        with suppress(OSError):
            if time.time() - incoming.stat().st_mtime > _FORGOTTEN:
                if incoming.is_dir():
                    shutil.rmtree(incoming)
                else:
                    incoming.unlink()


def _write(path: Path, data: bytes, asked: Path) -> None:
    """Write a file of a hidden folder; an OSError names the file that was ``asked`` for."""
    try:
        path.parent.mkdir(exist_ok=True)
        with open(path, "wb") as handle:
            handle.write(data)
            handle.flush()
            os.fsync(handle.fileno())
    except OSError as error:
        raise OSError(error.errno, error.strerror or str(error), str(asked)) from None
