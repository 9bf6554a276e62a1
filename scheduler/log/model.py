"""The log: what really happened, one line an event, in a table that any spreadsheet can keep.

``date,what,column,tier,crop,amount,unit,note``. Read with every fault at once; appended to one
line at a time. Whether an entry fits the plan (a pick from an empty tier) is judged in
`scheduler.log.state`.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path

from crops.names import plain, same_crop, same_name
from crops.units import number
from scheduler.base.faults import BadInput, Fault
from scheduler.base.texts import decode, shorten
from scheduler.garden.model import Garden
from scheduler.log.amounts import (
    EXPECTED,
    LEVEL,
    LITRES,
    NEEDS_AMOUNT,
    NEEDS_NOTE,
    NOTE,
    OF_COLUMN,
    OF_GARDEN,
    OF_SEEDLINGS,
    PEST,
    PICKED,
    RAIN,
    WHATS,
    kept,
    of_how_many,
    own_unit,
)
from scheduler.words.units import Units

COLUMNS = ("date", "what", "column", "tier", "crop", "amount", "unit", "note")
HEADER = ",".join(COLUMNS)
MAX_BYTES = 20_000_000
MOST_FAULTS = 200  # of one log; more help nobody
OPEN_QUOTE = "a quote that is never closed"
_MOST_LINES = 20  # that a text in quotes may run over
_DAY = re.compile(r"\d{1,4}[./-]\d{1,2}[./-]\d{1,4}")
_RULER_CM, _JUG_L = 0.16, 0.051  # half of what is printed last: 1/8 in, 0.1 L


@dataclass(frozen=True)
class Entry:
    """One line of the log.

    Attributes
    ----------
    line : in the file; 0 for a line not yet written.
    tier : None for the whole column (``failed``) or where none is needed.
    amount : in ``unit``: L, cm, mm, g, plants, cells, seeds, mS/cm, or "" for pH; None: not given.
    of : of how many (``9 of 12``); 0: not said.
    """

    line: int
    date: date
    what: str
    column: str = ""
    tier: int | None = None
    crop: str = ""
    amount: float | None = None
    unit: str = ""
    note: str = ""
    of: int = 0

    @property
    def key(self) -> tuple[object, ...]:
        """Equal for two lines that tell the same event; a pick may be counted and weighed."""
        unit: object = self.unit if self.what == PICKED else self.of
        unit = self.note if self.what in (NOTE, PEST) else unit
        return self.date, self.what, self.column, self.tier, self.crop, unit


@dataclass(frozen=True)
class Log:
    """What was read: good entries by date and line, faults, and places with a faulty line.

    ``unsure`` holds (column, tier) of faulty lines, as far as they could be read: what is said of
    those tiers elsewhere cannot be judged.
    """

    file: str
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...] = ()
    unsure: frozenset[tuple[str, int | None]] = frozenset()


def read_log_file(path: str | Path, garden: Garden | None = None) -> Log:
    """The log in a file; see `read_log`.

    Raises
    ------
    BadInput
        No such file, too large, or no text.
    """
    file = Path(path)
    if not file.is_file():
        what = "a folder" if file.is_dir() else "not there"
        raise BadInput([Fault(str(path), None, "", what, f"a log, with the header {HEADER}")])
    if file.stat().st_size > MAX_BYTES:
        size = f"{file.stat().st_size / 1e6:.0f} MB"
        raise BadInput([Fault(str(path), None, "", size, f"at most {MAX_BYTES / 1e6:g} MB")])
    return read_log(file.read_bytes(), str(path), garden)


def read_log(raw: bytes, file: str, garden: Garden | None = None) -> Log:
    """Read a log: commas, semicolons or tabs, a byte-order mark, quotes, blank lines, remarks (#).

    Parameters
    ----------
    garden : where given, columns, tiers and crops must be its own, and levels below the fill.

    Raises
    ------
    BadInput
        Too large, or no UTF-8.
    """
    return _Reader(decode(raw, file, MAX_BYTES), file, garden).read()


def read_header(raw: bytes, file: str) -> tuple[list[str], str]:
    """Names of a log's columns, as they stand in it, and what separates them.

    Raises
    ------
    BadInput
        Too large, no UTF-8, or every fault of the header.
    """
    reader = _Reader(decode(raw, file, MAX_BYTES), file, None)
    names = next((reader._header(line, cells) for line, cells, _ in reader.rows()), None)
    if names is None:
        raise BadInput(reader.faults or [_no_header(file)])
    return names, reader.delimiter


def _no_header(file: str) -> Fault:
    return Fault(file, 1, "", "an empty file", f"the header {HEADER}")


class _Reader:
    """Lines to entries, and the faults on the way."""

    def __init__(self, text: str, file: str, garden: Garden | None) -> None:
        self.text, self.file, self.garden = text, file, garden
        self.faults: list[Fault] = []
        self.found = 0  # faults, those too many to be told among them
        self.unsure: set[tuple[str, int | None]] = set()
        head = next((t for t in text.splitlines() if t.strip(" ,;\t") and t[0] != "#"), "")
        self.delimiter = max(",;\t", key=head.count)
        self.decimal_comma = self.delimiter == ";"
        self.columns = {same_name(c.name): c for c in garden.columns} if garden else {}
        crops = garden.crops.values() if garden else ()
        self.crops = {same_crop(c.title): c.name for c in crops} | {c.name: c.name for c in crops}
        self.units = None if garden is None else Units(garden.units)

    def fault(self, line: int | None, path: str, value: object, expected: str) -> None:
        self.found += 1
        if len(self.faults) < MOST_FAULTS:
            shown = shorten(value) if value not in ("", None) else "nothing"
            self.faults.append(Fault(self.file, line, path, shown, expected))

    def read(self) -> Log:
        entries: list[Entry] = []
        names: list[str] | None = None
        seen: dict[tuple[object, ...], int] = {}
        for line, cells, whole in self.rows():
            if names is None:
                names = self._header(line, cells)
                if names is None:
                    break
                continue
            if not whole:
                self._unsure(dict(zip(names, cells, strict=False)))
                continue
            if len(cells) > len(names) and any(cells[len(names) :]):
                self.fault(
                    line,
                    "",
                    f"{len(cells)} values",
                    f"at most {len(names)}, as in the "
                    "header; a text with a comma in it needs quotes",
                )
                continue
            row = dict(zip(names, cells, strict=False))
            entry = self._entry(line, {name: row.get(name, "") for name in COLUMNS})
            if entry is None:
                continue
            key = entry.key
            if key in seen:
                self.found += 1
                if len(self.faults) < MOST_FAULTS:
                    expected = f"each event once; also on line {seen[key]}"
                    self.faults.append(Fault(self.file, line, "", shorten(short(entry)), expected))
                continue
            seen[key] = line
            entries.append(entry)
        if names is None and not self.faults:
            self.faults.append(_no_header(self.file))
        entries.sort(key=lambda e: (e.date, e.line))
        return Log(self.file, tuple(entries), tuple(self.faults), frozenset(self.unsure))

    def _unsure(self, row: dict[str, str]) -> None:
        """Note the place of a line that cannot be read, as far as it can be seen."""
        tier, column = row.get("tier", ""), row.get("column", "")
        found = self.columns.get(same_name(column))
        self.unsure.add((found.name if found else column, int(tier) if tier.isdecimal() else None))

    def rows(self) -> Iterator[tuple[int, list[str], bool]]:
        """(line, cells, whether sound) of every row that is not blank and no remark.

        A quote that is not closed takes no line but its own: those after it are read as they stand.
        """
        lines = list(io.StringIO(self.text, newline=""))
        at = 0
        while at < len(lines):
            first, text = at, lines[at]
            at += 1
            if text.lstrip().startswith("#"):
                continue
            cells: list[str] | None = text.rstrip("\r\n").split(self.delimiter)
            if '"' in text:
                cells, at = self._quoted(lines, first)
            whole = cells is not None
            if cells is None:
                self.fault(
                    first + 1,
                    "",
                    OPEN_QUOTE,
                    "a text in quotes to end where its cell ends, with quotes inside it doubled",
                )
                cells = text.rstrip("\r\n").split(self.delimiter)
            cells = [plain(c) for c in cells]
            if any(cells) and not cells[0].startswith("#"):
                yield first + 1, cells, whole

    def _quoted(self, lines: list[str], first: int) -> tuple[list[str] | None, int]:
        """Cells of a row with quotes, None if they do not close, and where the next row begins."""
        text = ""
        for at in range(first, min(first + _MOST_LINES, len(lines))):
            if at > first and self._tells(lines[at]):
                break  # a row of its own, not the rest of a text
            text += lines[at]
            if (cells := self._cells(text)) is not None:
                return cells, at + 1
            if self._cells(text.rstrip("\r\n") + '"') is None:
                break  # closed, but something stands behind it
        return None, first + 1

    def _cells(self, text: str) -> list[str] | None:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=self.delimiter, strict=True)
        try:
            return next(reader, [])
        except csv.Error:
            return None

    def _tells(self, text: str) -> bool:
        """Whether a line, taken by itself, tells of an event."""
        cells = {c.strip(' "\r\n').lower() for c in text.split(self.delimiter)}
        return bool(cells & set(WHATS)) and any(_DAY.match(c) for c in cells)

    def _header(self, line: int, cells: list[str]) -> list[str] | None:
        names = [c.lower() for c in cells]
        while names and not names[-1]:
            names.pop()
        before = self.found
        if not {"date", "what"} & set(names) and set(names) & set(WHATS):
            self.fault(line, "", ",".join(cells), f"the header {HEADER} above the first entry")
            return None
        for name in names:
            if name not in COLUMNS:
                near = get_close_matches(name, COLUMNS, 1)
                hint = f"{near[0]} (did you mean that?)" if near else f"the header {HEADER}"
                self.fault(line, "", name, hint)
            elif names.count(name) > 1:
                self.fault(line, name, "given twice", "each column once")
        for name in ("date", "what"):
            if name not in names:
                self.fault(line, name, "missing", f"the header {HEADER}")
        return names if self.found == before else None

    def _entry(self, line: int, row: dict[str, str]) -> Entry | None:
        before = self.found
        day = self._date(line, row["date"])
        what = row["what"].lower()
        if what not in WHATS:
            near = get_close_matches(what, WHATS, 1)
            hint = f"{near[0]} (did you mean that?)" if near else f"one of {', '.join(WHATS)}"
            self.fault(line, "what", row["what"], hint)
            what = ""
        column, tier = self._place(line, what, row)
        crop = self._crop(line, row["crop"])
        amount, unit, of = None, "", 0
        if what:
            text, of, right = of_how_many(what, row["amount"])
            if not right:
                self.fault(line, "amount", row["amount"], EXPECTED[what])
            amount, unit = self._amount(line, what, text, row["unit"])
        if what == RAIN and unit == LITRES and tier is None:
            self.fault(line, "tier", "", "the tier into which so much rain got")
        if what in NEEDS_NOTE and not row["note"]:
            self.fault(line, "note", "", NEEDS_NOTE[what])
        if what == LEVEL and amount is not None and self.found == before:
            written = f"{row['amount']} {row['unit']}".strip()
            amount = self._check_level(line, column, tier, amount, unit, written)
        if self.found > before:
            self.unsure.add((column, tier))
            return None
        assert day is not None
        return Entry(line, day, what, column, tier, crop, amount, unit, row["note"], of)

    def _date(self, line: int, text: str) -> date | None:
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            try:
                return date.fromisoformat(text)
            except ValueError:
                self.fault(line, "date", text, "a day of the calendar, written as 2027-06-03")
                return None
        expected = "a day written as 2027-06-03"
        if _DAY.fullmatch(text):
            expected += " (year, month, day; other orders can be read two ways)"
        elif re.fullmatch(r"\d{5}(\.\d+)?", text):
            expected += "; this is a spreadsheet's day number, format the cell as text"
        elif text[:10].count("-") == 2 and len(text) > 10:
            expected += ", without a time"
        self.fault(line, "date", text, expected)
        return None

    def _place(self, line: int, what: str, row: dict[str, str]) -> tuple[str, int | None]:
        """Column and tier; which of them must be there depends on what happened."""
        column, text = row["column"], row["tier"]
        tier: int | None = None
        if text:
            if re.fullmatch(r"[1-9]\d{0,3}(\.0*)?", text):
                tier = int(text.split(".")[0])
            else:
                self.fault(line, "tier", text, "a tier's number, 1 at the top")
                return column, None
        free = what in OF_SEEDLINGS and bool(row["crop"])  # seedlings have no tier yet
        if not column and (text or not (free or what in OF_GARDEN)) and what:
            self.fault(line, "column", "", "a column's name")
        if column and tier is None and what not in OF_COLUMN and what:
            self.fault(line, "tier", "", "a tier's number, 1 at the top")
        if self.garden is None or not column:
            return column, tier
        found = self.columns.get(same_name(column))
        if found is None:
            names = [c.name for c in self.garden.columns]
            self.fault(line, "column", column, f"one of {shorten(', '.join(names), 60)}")
        elif tier is not None and tier > len(found.tiers):
            self.fault(line, "tier", text, f"1 to {len(found.tiers)}, the tiers of {found.name}")
        return found.name if found else column, tier

    def _crop(self, line: int, text: str) -> str:
        if not text:
            return ""
        name = same_crop(text)
        if self.garden is None:
            return name
        if name not in self.crops:
            near = get_close_matches(name, self.garden.crops, 1)
            known = shorten(", ".join(self.garden.crops), 80)
            self.fault(
                line, "crop", text, f"{near[0]} (did you mean that?)" if near else f"one of {known}"
            )
        return self.crops.get(name, name)

    def _amount(self, line: int, what: str, text: str, unit: str) -> tuple[float | None, str]:
        """Amount and the unit it is kept in."""
        if not text:
            if what in NEEDS_AMOUNT:
                self.fault(line, "amount", "", EXPECTED[what])
            return None, ""
        parts = number(text.replace(",", ".") if self.decimal_comma else text)
        value, named = (parts[0], parts[1].strip()) if parts else (math.nan, "")
        shown = text if named or not unit else f"{text} {unit}"
        if named and unit and named.lower() != unit.lower():
            self.fault(line, "amount", f"{text}, {unit}", f"one unit; {EXPECTED[what]}")
            return None, ""
        unit = unit or named or own_unit(what, self.units)
        got = kept(what, value, unit) if math.isfinite(value) else None
        if got is None or not 0 <= got[0] < 1e7:
            self.fault(line, "amount", shown, EXPECTED[what])
            return None, ""
        return got

    def _check_level(
        self, line: int, column: str, tier: int | None, amount: float, unit: str, written: str
    ) -> float:
        """A level, at most the fill: what a ruler or a jug shows of a full vessel may be above."""
        if self.garden is None or self.units is None or tier is None:
            return amount
        vessel = self.garden.vessels[self.garden.tier(column, tier).vessel]
        full = vessel.fill_l if unit == LITRES else vessel.depth_at(vessel.fill_l)
        if amount > full + (_JUG_L if unit == LITRES else _RULER_CM):
            fill = self.units.volume_text(vessel.fill_l)
            deep = self.units.depth_text(vessel.depth_at(vessel.fill_l))
            most = f"at most the fill of {column} {tier}: {fill}, {deep} deep"
            self.fault(line, "amount", written, most)
        return min(amount, full)


def short(entry: Entry) -> str:
    """An entry in a few words."""
    place = f"{entry.column} {entry.tier or ''}".strip()
    return " ".join(p for p in (str(entry.date), entry.what, place, entry.crop) if p)
