"""One published value beside what is reckoned here."""

from __future__ import annotations

import math
from dataclasses import dataclass

NEVER = math.inf  # days


@dataclass(frozen=True)
class Row:
    """One published value: bounds within which what is reckoned here must lie, both included.

    ``off``: why it does not, where that is known; empty where it does.
    """

    topic: str
    what: str
    unit: str
    source: str
    low: float
    high: float
    here: float
    off: str = ""

    @property
    def within(self) -> bool:
        return self.low - 1e-9 <= self.here <= self.high + 1e-9
