"""Writing a log, safely: under a lock, whole or not at all, no line lost."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from crops.names import plain
from crops.units import number
from scheduler.base.faults import BadInput, Fault
from scheduler.base.files import write_atomic
from scheduler.base.texts import shorten
from scheduler.garden.model import Garden
from scheduler.log.amounts import own_unit
from scheduler.log.events import Follower
from scheduler.log.model import COLUMNS, HEADER, OPEN_QUOTE, Entry, Log, read_header, read_log
from scheduler.plans.model import Plan
from scheduler.words.units import Units


def append(
    file: Path, garden: Garden, plan: Plan, row: dict[str, str], today: date
) -> tuple[Entry, tuple[Fault, ...]]:
    """Add a line to a log and return it as read, with the faults of other lines.

    Parameters
    ----------
    file : made with its header if it is not there.
    row : the cells by column name of `log.model.COLUMNS`; those left out stay empty. An amount
        that has no unit and needs one gets the garden's.

    Raises
    ------
    BadInput
        The line is no entry, tells of a day after ``today``, is there already, or cannot be true
        by the plan and the rest of the log; nothing is written then.
    """
    entries, others = append_all(file, garden, plan, [row], today)
    return entries[0], others


def append_all(
    file: Path,
    garden: Garden,
    plan: Plan,
    rows: Sequence[Mapping[str, str]],
    today: date,
    places: Sequence[tuple[str, int]] = (),
) -> tuple[list[Entry], tuple[Fault, ...]]:
    """The same with several lines: all of them, or none.

    Parameters
    ----------
    places : file and line that each row was read from; faults are told there.

    Raises
    ------
    BadInput
        As `append`, every fault of every row.
    """
    with locked(file.with_name(f".{file.name}.lock")):
        old = file.read_bytes() if file.exists() else (HEADER + "\n").encode()
        new, numbers = old, []
        for row in rows:
            new += _line(
                new, {**row, "unit": row.get("unit") or unit_left_out(garden, row)}, str(file)
            )
            numbers.append(_last_line(new))
        log = read_log(new, str(file), garden)
        if open_ := [f for f in log.faults if f.value == OPEN_QUOTE]:
            raise BadInput(open_)  # a spreadsheet would make the new line part of the text
        by_line = {e.line: e for e in log.entries}
        mine = [f for f in log.faults if f.line in numbers]
        mine += _judged(log, [by_line[n] for n in numbers if n in by_line], garden, plan, today)
        told_of = {f.line for f in mine}
        empty = [n for n in numbers if n not in by_line and n not in told_of]
        mine += [Fault(str(file), n, "", "nothing", "a day, and what happened") for n in empty]
        if mine:
            told = dict(zip(numbers, places, strict=False))
            raise BadInput([_at(f, told.get(f.line or 0)) for f in mine])
        write_atomic(file, new)
    others = tuple(f for f in log.faults if f.line not in numbers)
    return [by_line[n] for n in numbers], others


def _at(fault: Fault, place: tuple[str, int] | None) -> Fault:
    """A fault of a line that is not written, where its words were read."""
    file, line = place or (fault.file, None)
    return Fault(file, line, fault.path, fault.value, fault.expected)


def unit_left_out(garden: Garden, row: Mapping[str, str]) -> str:
    """The unit in which the amount of a line is read that names none; empty where it needs none."""
    amount = row.get("amount", "").strip()
    parts = number(amount) or number(amount.replace(",", "."))
    if row.get("unit") or parts is None or parts[1].strip():
        return ""
    return own_unit(row.get("what", "").lower(), Units(garden.units))


def copy_log(source: Path, target: Path) -> Path | None:
    """Copy a log into the folder of a new plan.

    Returns
    -------
    Where the log that stood there is kept, if it told of anything that the copied one does not.
    """
    if source.resolve() == target.resolve():
        return None
    target.parent.mkdir(parents=True, exist_ok=True)
    with locked(target.with_name(f".{target.name}.lock")):
        new = source.read_bytes()
        old = target.read_bytes() if target.exists() else b""
        known = {line.strip() for line in new.splitlines()}
        more = [t for t in old.splitlines() if t.strip(b" ,;\t") and t.strip() not in known]
        aside = _free_name(target) if more else None
        if aside is not None:
            write_atomic(aside, old)
        write_atomic(target, new)
    return aside


def _free_name(target: Path) -> Path:
    number = 1
    while (file := target.with_name(f"{target.stem}-earlier-{number}.csv")).exists():
        number += 1
    return file


def _judged(
    log: Log, entries: Sequence[Entry], garden: Garden, plan: Plan, today: date
) -> list[Fault]:
    """Faults of new entries against the plan and what was logged up to their days."""
    faults, good = [], []
    for entry in entries:
        expected = ""
        if entry.date > today:
            expected = f"a day up to today, {today}"
        elif entry.date > garden.season.end:
            expected = f"a day of the season, which ends {garden.season.end}"
        if expected:
            faults.append(Fault(log.file, entry.line, "date", str(entry.date), expected))
        else:
            good.append(entry)
    if not good:
        return faults
    # An entry is judged as on its own day: what the plan asks for later has not been done by then.
    for day in sorted({e.date for e in good}):
        follower = Follower(garden, plan, log, day, complete=False)
        follower.run()
        lines = {e.line for e in good if e.date == day}
        faults += [f for f in follower.faults if f.line in lines]
    return sorted(faults, key=lambda f: f.line or 0)


def _line(old: bytes, row: dict[str, str], file: str) -> bytes:
    """The new line in the manner of the file: its separator, its line ends, its columns."""
    names, delimiter = read_header(old, file)
    end = "\r\n" if b"\r\n" in old else "\n"
    missing = [n for n in COLUMNS if row.get(n) and n not in names]
    if missing:
        raise BadInput(
            [
                Fault(file, None, n, shorten(row[n]), f"a column {n} in the log's header")
                for n in missing
            ]
        )
    out = io.StringIO()
    cells = [plain(row.get(n, "")) for n in names]
    csv.writer(out, delimiter=delimiter, lineterminator=end).writerow(cells)
    start = "" if not old or old.endswith((b"\n", b"\r")) else end
    return (start + out.getvalue()).encode()


def _last_line(raw: bytes) -> int:
    """Number of the last line that holds anything."""
    text = raw.decode("utf-8-sig", errors="replace").rstrip()
    return text.replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold a lock file for as long as the block lasts; others wait."""
    with open(path, "a+b") as handle:
        try:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX)
        except ImportError:  # no fcntl on this system: one byte of the file is locked instead
            import msvcrt

            msvcrt.locking(handle.fileno(), msvcrt.LK_LOCK, 1)  # type: ignore[attr-defined]
        yield  # closing the file lets go of the lock, also after a crash
