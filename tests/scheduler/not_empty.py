"""A test that looks at each of what it found must have found some."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

Thing = TypeVar("Thing")


def some(things: Iterable[Thing], least: int = 1) -> list[Thing]:
    """The things, at least so many: a loop over none would say yes to everything."""
    found = list(things)
    assert len(found) >= least, f"{len(found)} found to look at, not {least}"
    return found
