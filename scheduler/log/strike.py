"""Striking out a line of the log, as one would with a pencil: it stays legible, but tells nothing.

A line that begins with # is a remark to every reader of the log.
"""

from __future__ import annotations

import csv
from pathlib import Path

from scheduler.base.faults import BadInput, Fault
from scheduler.base.files import write_atomic
from scheduler.base.texts import decode
from scheduler.log.append import locked
from scheduler.log.model import MAX_BYTES

MARK = "# struck out: "


def line_text(file: Path, number: int) -> str:
    """Line ``number`` of a file, from 1, without its end; empty if there is none."""
    text = file.read_bytes().decode("utf-8-sig", errors="replace") if file.exists() else ""
    lines = _lines(text)
    return lines[number - 1].rstrip("\r\n") if 0 < number <= len(lines) else ""


def strike(file: Path, number: int, seen: str) -> None:
    """Strike out line ``number``, from 1, if it still reads as it was ``seen``.

    Raises
    ------
    BadInput
        The line has changed, is no entry, or is one entry with the line after it; or the log is no
        text.
    """
    with locked(file.with_name(f".{file.name}.lock")):
        raw = file.read_bytes() if file.exists() else b""
        lines = _lines(decode(raw, str(file), MAX_BYTES))
        now = lines[number - 1].rstrip("\r\n") if 0 < number <= len(lines) else ""
        head = next((n for n, t in enumerate(lines, 1) if t.strip() and t[0] != "#"), 0)
        if not now.strip() or now != seen or now.startswith("#") or number <= head:
            raise BadInput(
                [
                    Fault(
                        str(file),
                        number,
                        "",
                        "changed since you saw it",
                        "the entry you saw; look at the log again",
                    )
                ]
            )
        if now.count('"') % 2 or not next(csv.reader([now]), []):
            raise BadInput(
                [
                    Fault(
                        str(file),
                        number,
                        "",
                        "one entry on several lines",
                        "one line; mend it in a spreadsheet",
                    )
                ]
            )
        lines[number - 1] = MARK + lines[number - 1]
        write_atomic(file, "".join(lines).encode())


def strike_last(file: Path) -> str:
    """Strike out the entry that stands last in a log; the line as it read.

    Raises
    ------
    BadInput
        There is none, or it is one entry on several lines.
    """
    text = decode(file.read_bytes() if file.exists() else b"", str(file), MAX_BYTES)
    lines = [t.rstrip("\r\n") for t in _lines(text)]
    told = [n for n, t in enumerate(lines, 1) if t.strip(" ,;\t") and not t.startswith("#")]
    if len(told) < 2:  # the first is the header
        raise BadInput([Fault(str(file), None, "", "no entry", "an entry to strike out")])
    strike(file, told[-1], lines[told[-1] - 1])
    return lines[told[-1] - 1]


def _lines(text: str) -> list[str]:
    """Lines with their ends, counted as the reader of the log counts them."""
    out, start = [], 0
    while start < len(text):
        ends = [p for p in (text.find("\n", start), text.find("\r", start)) if p >= 0]
        end = min(ends, default=len(text) - 1)
        end += text[end : end + 2] == "\r\n"
        out.append(text[start : end + 1])
        start = end + 1
    return out
