"""What is handed to the door, checked: every fault at once, as of a file."""

from __future__ import annotations

from datetime import date
from math import isfinite
from typing import TYPE_CHECKING, Any

from scheduler.base.faults import BadInput, Fault
from scheduler.commands.share import MOST_THREADS, cores

if TYPE_CHECKING:
    from scheduler.solvers.cp_sat import Settings


def settings_of(
    faults: list[Fault], time_limit: float, gap: float, seed: int, workers: int, risk: float | None
) -> Settings:
    """Settings of a search; BadInput with these faults and its own, all at once."""
    if not _number(time_limit, 0.1, 86400):
        faults.append(fault("time_limit", time_limit, "seconds, 0.1 to 86400"))
    if not _number(gap, 0, 1):
        faults.append(fault("gap", gap, "a share, 0 to 1"))
    if not whole(seed, 0, 2**31 - 1):
        faults.append(fault("seed", seed, f"a whole number, 0 to {2**31 - 1}"))
    if not whole(workers, 1, MOST_THREADS):
        faults.append(fault("workers", workers, f"a whole number, 1 to {MOST_THREADS}"))
    if risk is not None and not _number(risk, 0, 1):
        faults.append(fault("risk", risk, "a share, 0 to 1, such as 0.05"))
    if faults:
        raise BadInput(faults)
    from scheduler.solvers.cp_sat import Settings

    return Settings(time_limit=time_limit, gap=gap, seed=seed, workers=min(workers, cores()))


def day_of(faults: list[Fault], on: date | str) -> date:
    """The day meant; a fault is added if there is none."""
    try:
        # A time stamp of pandas or datetime is a date too; its day counts.
        return date(on.year, on.month, on.day) if isinstance(on, date) else date.fromisoformat(on)
    except (TypeError, ValueError):
        faults.append(fault("on", on, "a day such as 2027-06-03"))
        return date.min


def _number(value: Any, least: float, most: float) -> bool:
    known = isinstance(value, int | float) and not isinstance(value, bool)
    return known and isfinite(value) and least <= value <= most


def whole(value: Any, least: int, most: int) -> bool:
    """Whether it is a whole number in this range."""
    return _number(value, least, most) and isinstance(value, int)


def fault(name: str, value: Any, expected: str) -> Fault:
    """A fault of a parameter, named like a place in a file."""
    return Fault("parameters", None, name, repr(value)[:40], expected)
