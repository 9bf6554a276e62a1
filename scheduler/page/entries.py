"""What was typed into a form, on its way to the log: written down, or refused with the reason.

Nothing typed is lost: what is refused comes back as it was typed, to be mended and sent again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from scheduler.base.faults import BadInput, Fault
from scheduler.garden.model import Garden
from scheduler.log.amounts import CM, GRAMS, LITRES, MM, amount_text
from scheduler.log.append import append
from scheduler.log.model import Entry
from scheduler.page.book import Book
from scheduler.words.fault_text import fault_text
from scheduler.words.words import Shown, Units, _

FIELDS = ("date", "what", "place", "crop", "amount", "unit", "note")
MOST = 500  # entries in one form
LONGEST = 300  # letters in one field


@dataclass(frozen=True)
class Slip:
    """One entry as it was typed; ``place`` is ``place_value``'s; ``why`` it was refused."""

    date: str = ""
    what: str = ""
    place: str = ""
    crop: str = ""
    amount: str = ""
    unit: str = ""
    note: str = ""
    why: tuple[str, ...] = ()


def place_value(garden: Garden, column: str, tier: int | None) -> str:
    """A tier, or with None the whole column, as a form sends it; numbers, as names may be any."""
    for i, c in enumerate(garden.columns):
        if c.name == column:
            return f"{i}-{tier or ''}"
    return ""


def slips(form: Any) -> tuple[Slip, ...]:
    """The entries of a form: fields of one name each, repeated entry by entry.

    Entries marked ``need`` whose amount is blank were not meant. ``why``, chosen from a list, is
    put before the note.
    """
    columns = {name: form.getlist(name) for name in (*FIELDS, "need", "reason")}
    count = min(max(len(v) for v in columns.values()), MOST)
    out = []
    for i in range(count):
        cell: dict[str, Any] = {
            k: (v[i] if i < len(v) else "").strip()[:LONGEST] for k, v in columns.items()
        }
        if cell.pop("need") and not cell["amount"]:
            continue
        reason = cell.pop("reason")
        cell["note"] = ", ".join(t for t in (reason, cell["note"]) if t)
        out.append(Slip(**cell))
    return tuple(out)


def write(book: Book, entries: Iterable[Slip]) -> tuple[list[Entry], list[Slip]]:
    """Append each entry to the log by itself: those written, and those refused with the reason."""
    season, today = book.season(), book.today()
    written, refused = [], []
    for slip in entries:
        try:
            row = row_of(season.garden, slip)
            entry, _others = append(book.log_file, season.garden, season.plan, row, today)
            written.append(entry)
        except BadInput as error:
            refused.append(replace(slip, why=tuple(reason(f) for f in error.faults)))
    return written, refused


def row_of(garden: Garden, slip: Slip) -> dict[str, str]:
    """The cells of a log line.

    Raises
    ------
    BadInput
        A place that the garden does not have.
    """
    column = tier = ""
    if slip.place:
        found = re.fullmatch(r"(\d{1,5})-(\d{0,4})", slip.place)
        if not found or int(found[1]) >= len(garden.columns):
            raise BadInput([Fault("", None, "tier", slip.place, "a tier of the garden")])
        column, tier = garden.columns[int(found[1])].name, found[2]
    return {
        "date": slip.date,
        "what": slip.what,
        "column": column,
        "tier": tier,
        "crop": slip.crop,
        "amount": slip.amount,
        "unit": slip.unit,
        "note": slip.note,
    }


def reason(fault: Fault) -> str:
    return fault_text(Fault("", None, fault.path, fault.value, fault.expected)).removeprefix(": ")


def entry_text(entry: Entry, units: Units) -> str:
    """An entry's amount in the grower's units."""
    if entry.of:
        return _("{n} of {of}").format(n=f"{Shown(entry.amount or 0):g}", of=entry.of)
    if entry.amount is None or entry.unit in (CM, LITRES, GRAMS, MM):
        return amount_text(entry.amount, entry.unit, units)
    return f"{Shown(entry.amount):g} {_(entry.unit) if entry.unit else ''}".strip()


def standing_entries(
    entries: Sequence[Entry], wanted: Mapping[str, str]
) -> dict[tuple[Any, ...], list[Entry]]:
    """Entries by (day, kind of work, column, tier), for the kinds in ``wanted`` (work to log)."""
    by_what = {what: kind for kind, what in wanted.items()}
    out: dict[tuple[Any, ...], list[Entry]] = {}
    for e in entries:
        kind = by_what.get(e.what)
        if kind:
            out.setdefault((e.date, kind, e.column, e.tier), []).append(e)
    return out
