"""A table of prices and of what is in stock, as any spreadsheet keeps it.

``what,packet,unit,price,have``: a crop's seeds or a fertilizer by its name; a packet holds so many
seeds, or grams; ``have`` is what stands on the shelf, nothing where it is left empty.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from crops.names import same_crop, same_name
from crops.units import number
from scheduler.base.faults import BadInput, Fault
from scheduler.base.texts import decode, shorten
from scheduler.garden.fields import measure
from scheduler.garden.model import Garden

COLUMNS = ("what", "packet", "unit", "price", "have")
NEEDED = COLUMNS[:3]
SEEDS = "seeds"
MAX_BYTES = 1_000_000
MOST = 1e9


@dataclass(frozen=True)
class Price:
    """A packet's content and what is in stock, in seeds or ``unit`` (g, mL); price, None: not told.

    ``line`` : of the table.
    """

    packet: float
    unit: str
    price: float | None = None
    have: float = 0.0
    line: int = 0


def read_prices(path: str | Path, garden: Garden, acids: tuple[str, ...] = ()) -> dict[str, Price]:
    """Prices by name of the crop, fertilizer or acid.

    Raises
    ------
    BadInput
        Not there, or every fault of the table.
    """
    file = Path(path)
    if not file.is_file():
        head = ",".join(COLUMNS)
        raise BadInput([Fault(str(path), None, "", "not there", f"a table of prices: {head}")])
    text = decode(file.read_bytes(), str(path), MAX_BYTES)
    known = {same_crop(n): n for n in garden.crops}
    known |= {same_crop(c.title): n for n, c in garden.crops.items()}
    salts = {same_name(s.name): s.name for s in garden.solution.salts}
    salts |= {same_name(a): a for a in acids}
    return _Reader(text, str(path), known, salts).read()


class _Reader:
    def __init__(
        self, text: str, file: str, crops: Mapping[str, str], salts: Mapping[str, str]
    ) -> None:
        self.text, self.file, self.crops, self.salts = text, file, crops, salts
        self.faults: list[Fault] = []
        self.found: dict[str, Price] = {}

    def read(self) -> dict[str, Price]:
        lines = [
            (n, line)
            for n, line in enumerate(self.text.splitlines(), 1)
            if line.strip() and not line.startswith("#")
        ]
        if not lines:
            self._fault(1, "", "an empty file", ",".join(COLUMNS))
            raise BadInput(self.faults)
        comma = ";" if ";" in lines[0][1] else ","
        head = [c.strip().lower() for c in self._cells(lines[0][1], comma)]
        for name in NEEDED:
            if name not in head:
                self._fault(lines[0][0], name, "missing", f"a column {name}")
        for name in head:
            if name not in COLUMNS:
                self._fault(lines[0][0], "", name, f"columns {', '.join(COLUMNS)}")
        if not self.faults:
            for number_, line in lines[1:]:
                cells = self._cells(line, comma)
                if len(cells) != len(head):
                    self._fault(number_, "", f"{len(cells)} values", f"{len(head)}, as in the head")
                    continue
                self._row(number_, dict(zip(head, cells, strict=True)), comma == ";")
        if self.faults:
            raise BadInput(self.faults[:200])
        return self.found

    def _cells(self, line: str, comma: str) -> list[str]:
        try:
            return [c.strip() for c in next(csv.reader(io.StringIO(line), delimiter=comma), [])]
        except csv.Error:  # a letter that no table has; too few values are told
            return []

    def _row(self, line: int, row: dict[str, str], decimal_comma: bool) -> None:
        what, unit = row["what"], row["unit"]
        crop, salt = self.crops.get(same_crop(what)), self.salts.get(same_name(what))
        name = crop or salt
        if name is None:
            known = sorted({*self.crops.values(), *self.salts.values()})
            near = get_close_matches(what.lower(), known, 2, 0.6)
            hint = f"{' or '.join(near)} (did you mean that?)" if near else ", ".join(known[:12])
            self._fault(line, "what", what, f"a crop or fertilizer of the garden: {hint}")
            return
        if name in self.found:
            first = self.found[name].line
            self._fault(line, "what", what, f"each once; also on line {first}")
            return
        own, factor = self._unit(line, unit, bool(crop))
        packet = self._number(line, row, "packet", decimal_comma, least=1e-6)
        price = self._number(line, row, "price", decimal_comma) if row.get("price") else None
        have = self._number(line, row, "have", decimal_comma) if row.get("have") else 0.0
        if packet is None or have is None or not own:
            return
        self.found[name] = Price(packet * factor, own, price, have * factor, line)

    def _unit(self, line: int, unit: str, seeds: bool) -> tuple[str, float]:
        """The unit kept, and how many of it one is; '' with a fault."""
        if seeds:
            if unit.lower() in ("seed", SEEDS):
                return SEEDS, 1.0
            self._fault(line, "unit", unit, SEEDS)
            return "", 1.0
        grams, litres = measure(f"1 {unit}", "g"), measure(f"1 {unit}", "litre")
        if grams is not None:
            return "g", grams
        if litres is not None:
            return "mL", 1000 * litres
        self._fault(line, "unit", unit, "a mass or volume, such as g, kg, lb, mL")
        return "", 1.0

    def _number(
        self, line: int, row: dict[str, str], key: str, decimal_comma: bool, least: float = 0.0
    ) -> float | None:
        text = row[key].replace(",", ".") if decimal_comma else row[key]
        parts = number(text)
        value = parts[0] if parts and not parts[1].strip() else math.nan
        if not least <= value <= MOST:
            self._fault(line, key, row[key], "a number, 0 or more" if not least else "above 0")
            return None
        return float(value)

    def _fault(self, line: int, column: str, value: str, expected: str) -> None:
        self.faults.append(Fault(self.file, line, column, shorten(value) or "nothing", expected))
