"""Reading the climate table: twelve monthly normals, or daily rows, with every fault by line.

A column may name its unit in brackets, ``tmin [degF]``; without one it is ``[degC]`` for
temperatures, ``[MJ/m^2/day]`` for radiation, ``[%]`` for humidity, ``[m/s]`` for wind. Lines that
begin with ``#`` are remarks.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator
from datetime import date, timedelta
from difflib import get_close_matches
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from crops.climate import MEASURED, monthly_to_daily
from crops.units import UnitFault, quantity
from scheduler.base.faults import BadInput, Fault
from scheduler.base.yaml_lines import decode, shorten

if TYPE_CHECKING:
    import pandas as pd

MAX_BYTES = 5_000_000
MOST_COLUMNS = 100  # of which all but nine would be unknown
FIRST_YEAR, LAST_YEAR = 1900, 2201  # as for a season, and what follows it
MOST_FAULTS = 50  # of one table; a thousand lines of the same fault help nobody
AFTER_SEASON = timedelta(days=120)  # weather past the season, so that dry dates can be seen

# Column: unit, lowest and highest plausible value. Plausibility only: common practice, no source.
_COLUMNS = {
    "tmin": ("degC", -60.0, 50.0),
    "tmax": ("degC", -60.0, 60.0),
    "rs": ("MJ/m^2/day", 0.0, 45.0),
    "rh": ("%", 1.0, 100.0),
    "rhmin": ("%", 1.0, 100.0),
    "rhmax": ("%", 1.0, 100.0),
    "wind": ("m/s", 0.0, 40.0),
}
_HEAD = re.compile(r"\s*(\w+)\s*(?:[\[(]\s*([^\])]*?)\s*[\])])?\s*")


class _Table:
    """Rows of the file and the faults found on the way."""

    def __init__(self, text: str, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []
        self.rows: list[tuple[int, dict[str, float], int | date]] = []
        self.key = ""
        self._columns: list[tuple[str, str]] = []
        self._comma = False
        try:
            self._read(text)
        except csv.Error as error:
            self.fault(None, "", str(error), "a table with commas between its columns")

    def fault(self, line: int | None, column: str, value: object, expected: str) -> None:
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(Fault(self.file, line, column, shorten(value), expected))

    def _read(self, text: str) -> None:
        head, lines = None, _lines(text)
        for number, line in lines:
            if head is None:
                head = line
                self._comma = ";" in line  # spreadsheets of many countries: ; and decimal comma
                if not self._header(number, self._cells(line)):
                    return
                continue
            self._row(number, self._cells(line))
        if head is None:
            self.fault(1, "", "an empty file", "a header with month or date, tmin, tmax")
        elif not self.rows and not self.faults:
            self.fault(1, "", "no rows", "twelve months, or one row a day")

    def _cells(self, line: str) -> list[str]:
        delimiter = ";" if self._comma else ","
        return [c.strip() for c in next(csv.reader(io.StringIO(line), delimiter=delimiter), [])]

    def _header(self, line: int, cells: list[str]) -> bool:
        known = ("month", "date", *MEASURED)
        if len(cells) > MOST_COLUMNS:
            self.fault(line, "", f"{len(cells)} columns", f"some of {', '.join(known)}")
            return False
        for cell in cells:
            match = _HEAD.fullmatch(cell)
            name, unit = (match[1].lower(), match[2]) if match else ("", None)
            if name not in known:
                near = get_close_matches(name, known, 1, 0.7)
                expected = (
                    f"{near[0]} (did you mean that?)" if near else f"one of {', '.join(known)}"
                )
                self.fault(line, "", cell or "a column without a name", expected)
                name = ""
            elif name in [c for c, _ in self._columns]:
                self.fault(line, name, "given twice", "each column once")
            elif unit and not _unit_fits(name, unit):
                fits = _COLUMNS[name][0] if name in _COLUMNS else "no unit"
                self.fault(line, name, unit, f"a unit that converts to {fits}")
            self._columns.append((name, unit or ""))
        names = {c for c, _ in self._columns}
        keys = sorted(names & {"month", "date"})
        if len(keys) != 1:
            found = " and ".join(keys) or "neither"
            self.fault(line, "", found, "a column month, or a column date")
        for name in ("tmin", "tmax"):
            if name not in names:
                self.fault(line, name, "missing", f"a column {name}")
        self.key = keys[0] if len(keys) == 1 else ""
        return not self.faults

    def _row(self, line: int, cells: list[str]) -> None:
        if len(cells) != len(self._columns):
            self.fault(line, "", f"{len(cells)} values", f"{len(self._columns)}, as in the header")
            return
        key: int | date | None = None
        values: dict[str, float] = {}
        for (name, unit), cell in zip(self._columns, cells, strict=True):
            if name == self.key:
                key = self._key(line, cell)
            else:
                value = self._value(line, name, unit, cell)
                if value is not None:
                    values[name] = value
        for low, high in (("tmin", "tmax"), ("rhmin", "rhmax")):
            if low in values and high in values and values[low] > values[high]:
                self.fault(line, low, f"{values[low]:g}", f"at most {high}, {values[high]:g}")
        if key is not None:
            self.rows.append((line, values, key))

    def _key(self, line: int, cell: str) -> int | date | None:
        try:
            if self.key == "month":
                month = int(cell)
                if 1 <= month <= 12:
                    return month
            elif re.fullmatch(r"\d{4}-\d{2}-\d{2}", cell):
                day = date.fromisoformat(cell)
                if FIRST_YEAR <= day.year <= LAST_YEAR:
                    return day
        except ValueError:
            pass
        wanted = f"a day written as 2027-04-12, in the years {FIRST_YEAR} to {LAST_YEAR}"
        if self.key == "month":
            wanted = "a month, 1 to 12"
        self.fault(line, self.key, cell or "nothing", wanted)
        return None

    def _value(self, line: int, name: str, unit: str, cell: str) -> float | None:
        own, low, high = _COLUMNS[name]
        if not cell and name not in ("tmin", "tmax"):
            return math.nan  # not measured that day: estimated
        text = cell.replace(",", ".") if self._comma else cell
        try:
            number = float(text)
            value = _converted(number, unit, own) if unit else number
        except (ValueError, UnitFault, OverflowError):
            value = math.nan
        if not low <= value <= high:
            shown = f" (in {unit}: {cell})" if unit and unit != own and cell else ""
            self.fault(line, name, cell or "nothing", f"{low:g} to {high:g} {own}{shown}")
            return None
        return value


def _lines(text: str) -> Iterator[tuple[int, str]]:
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip(" ,;\t") and not line.lstrip().startswith("#"):
            yield number, line


def _unit_fits(name: str, unit: str) -> bool:
    if name not in _COLUMNS:
        return False
    try:
        return len(unit) <= 20 and math.isfinite(_converted(1.0, unit, _COLUMNS[name][0]))
    except (UnitFault, OverflowError):
        return False


def _converted(number: float, unit: str, own: str) -> float:
    if unit in (own, "°C" if own == "degC" else own):
        return number
    if not re.fullmatch(r"[A-Za-zµ°%][A-Za-z0-9µ°%/^ *²]*", unit) or "**" in unit:
        raise UnitFault(f"{unit!r} is no unit")
    return quantity(f"{number!r} {unit}", own)


def read_climate(text: str, file: str) -> tuple[pd.DataFrame | None, list[Fault]]:
    """The table as a frame, and every fault in it.

    Returns
    -------
    Monthly: columns ``month`` and any of `crops.climate.MEASURED`; daily: the same with a daily
    index. None where there are faults.
    """
    import pandas as pd

    table = _Table(text, file)
    if table.key and table.rows:
        _check_keys(table)
    if table.faults:
        return None, table.faults
    frame = pd.DataFrame([values for _, values, _ in table.rows])
    if table.key == "month":
        frame.insert(0, "month", [key for _, _, key in table.rows])
    else:
        frame.index = pd.DatetimeIndex([pd.Timestamp(k) for _, _, k in table.rows])
        frame = frame.sort_index()
    return frame, []


def read_daily_file(path: str | Path) -> pd.DataFrame:
    """The daily climate table in a file.

    Raises
    ------
    BadInput
        Not there, too large, every fault of the table, or monthly.
    """
    file = Path(path)
    if not file.is_file():
        raise BadInput([Fault(str(path), None, "", "not there", "a daily climate table")])
    if file.stat().st_size > MAX_BYTES:
        most = f"at most {MAX_BYTES / 1e6:g} MB"
        raise BadInput([Fault(str(path), None, "", "too large", most)])
    rows, faults = read_climate(decode(file.read_bytes(), str(path), MAX_BYTES), str(path))
    if rows is None:
        raise BadInput(faults)
    if "month" in rows:
        raise BadInput([Fault(str(path), 1, "month", "monthly rows", "a column date, daily rows")])
    return rows


def _check_keys(table: _Table) -> None:
    """Doubled rows, missing months, and gaps between days."""
    seen: dict[int | date, int] = {}
    for line, _, key in table.rows:
        if key in seen:
            table.fault(line, table.key, key, f"each {table.key} once; also on line {seen[key]}")
        seen.setdefault(key, line)
    if table.key == "month":
        missing = [month for month in range(1, 13) if month not in seen]
        if missing and not any(f.path == "month" for f in table.faults):
            named = f"month{'s' * (len(missing) > 1)} {', '.join(map(str, missing))}"
            table.fault(1, "month", f"{named} missing", "each month from 1 to 12")
        return
    days = sorted(d for d in seen if isinstance(d, date))
    for before, after in pairwise(days):
        gap = (after - before).days - 1
        if gap:
            first = before + timedelta(days=1)
            table.fault(seen[after], "date", f"{gap} days missing from {first}", "every day")


def unused(frame: pd.DataFrame) -> list[str]:
    """Remarks on columns that stand there but cannot be used without others."""
    humid = "rh" in frame or {"rhmin", "rhmax"} <= set(frame.columns)
    if "wind" in frame and not humid:
        return [
            "wind is not used without humidity (rh, or rhmin and rhmax): demand is estimated "
            "from temperatures"
        ]
    if "wind" not in frame and {"rh", "rhmin", "rhmax"} & set(frame.columns):
        return ["humidity is not used without wind: demand is estimated from temperatures"]
    return []


def daily_rows(frame: pd.DataFrame, start: date, end: date) -> tuple[pd.DataFrame | None, str]:
    """Daily rows from ``start`` to 120 days past ``end``, as far as the table goes.

    Returns
    -------
    The rows, or None and what is missing.
    """
    if "month" in frame:
        return monthly_to_daily(frame, start, end + AFTER_SEASON), ""
    first, last = frame.index[0].date(), frame.index[-1].date()
    if first > start or last < end:
        return None, f"rows from {first} to {last}"
    return frame.loc[str(start) : str(end + AFTER_SEASON)], ""
