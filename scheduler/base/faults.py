"""Faults the user can mend, each with its place; one class per what the user can do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Fault:
    """One fault in the input.

    Attributes
    ----------
    file : file name as the user gave it; line : 1-based, or None where no line can be named.
    path : place inside the file, such as ``columns[0].tiers[2].vessel``.
    value : what stands there, shortened; expected : what was expected.
    """

    file: str
    line: int | None
    path: str
    value: str
    expected: str

    def text(self) -> str:
        place = self.file + (f":{self.line}" if self.line is not None else "")
        where = f" {self.path}:" if self.path else ""
        got = f" {self.value};" if self.value else ""
        return f"{place}:{where}{got} expected {self.expected}"


class DrylineError(Exception):
    """Base of all errors with a message for the user."""

    exit_code = 2

    def text(self) -> str:
        return str(self)

    def as_dict(self) -> dict[str, Any]:
        return {"error": type(self).__name__, "message": self.text(), "exit": self.exit_code}


class BadInput(DrylineError):
    """Input to mend: carries every fault found."""

    exit_code = 2

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__(self.text())

    def text(self) -> str:
        count = len(self.faults)
        head = f"{count} fault{'s' if count != 1 else ''} in the input:"
        return "\n".join([head, *("  " + f.text() for f in self.faults)])

    def as_dict(self) -> dict[str, Any]:
        return {**super().as_dict(), "faults": [asdict(f) for f in self.faults]}


class NoPlan(DrylineError):
    """No plan exists; the message says why."""

    exit_code = 3


class OutOfTime(DrylineError):
    """Time ran out before a first plan."""

    exit_code = 4


class OwnFault(DrylineError):
    """A plan of ours breaks a rule or cannot be opened again: nothing is written.

    The grower is asked to report it.
    """

    exit_code = 1
