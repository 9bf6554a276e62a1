"""Entries that were written down elsewhere, put into the log: none twice, none lost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from scheduler.base.faults import BadInput, Fault
from scheduler.garden.model import Garden
from scheduler.log.append import append_all
from scheduler.log.model import HEADER, Entry, read_log, read_log_file
from scheduler.plans.model import Plan


@dataclass
class Merged:
    """What became of entries: written; known: how many were there already; refused, with why."""

    written: list[Entry] = field(default_factory=list)
    known: int = 0
    refused: list[Fault] = field(default_factory=list)


def merge(
    file: Path,
    garden: Garden,
    plan: Plan,
    rows: Sequence[Mapping[str, str]],
    places: Sequence[tuple[str, int]],
    today: date,
) -> Merged:
    """Append each row by itself, by day, so that one that cannot be true keeps no other out.

    A row is there already where the log has an entry that tells the same event with the same
    amount. One that tells it with another amount is refused, for only the grower knows which holds.

    Parameters
    ----------
    rows : cells as for `append`; places : file and line that each was read from.
    """
    done = Merged()
    order = sorted(range(len(rows)), key=lambda i: (rows[i].get("date", ""), i))
    for i in order:
        row, place = rows[i], places[i]
        before = _entries(file, garden)
        try:
            entry = _read_alone(garden, row, file)
            if entry is not None and any(_same(entry, e) for e in before):
                done.known += 1
                continue
            made, _others = append_all(file, garden, plan, [row], today, [place])
            done.written += made
        except BadInput as error:
            done.refused += [Fault(*place, f.path, f.value, f.expected) for f in error.faults]
    return done


def _entries(file: Path, garden: Garden) -> tuple[Entry, ...]:
    return read_log_file(file, garden).entries if file.exists() else ()


def _read_alone(garden: Garden, row: Mapping[str, str], file: Path) -> Entry | None:
    """A row as the log would read it; None where it is no entry."""
    import csv
    import io

    from scheduler.log.append import unit_left_out

    cells = {**row, "unit": row.get("unit") or unit_left_out(garden, row)}
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(cells.get(name, "") for name in HEADER.split(","))
    found = read_log(f"{HEADER}\n{out.getvalue()}".encode(), str(file), garden)
    return found.entries[0] if found.entries else None


def _same(one: Entry, other: Entry) -> bool:
    close = one.amount == other.amount or (
        one.amount is not None
        and other.amount is not None
        and abs(one.amount - other.amount) <= 1e-6 * max(1.0, abs(one.amount))
    )
    return one.key == other.key and one.unit == other.unit and close
