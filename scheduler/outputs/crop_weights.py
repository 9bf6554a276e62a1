"""What a number of a crop weighs on the plan of an example garden, as measured once.

``scheduler/data/crop_weights.csv`` is written by ``tests/bench/weights.py``, which says how it is
measured: by how many points of the wish the most that could be met moves.
"""

from __future__ import annotations

import csv
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

FILE = Path(__file__).parents[1] / "data" / "crop_weights.csv"


class Weight(NamedTuple):
    """One number moved down and up by ``change`` (as printed): points won or lost.

    ``value`` : what it was when it was measured, in the key's own unit. A side is None where the
    number could not be moved so far.
    """

    value: float
    change: str
    down: float | None
    up: float | None


class Weights(NamedTuple):
    """All of them, and when they were measured in which garden."""

    of: dict[tuple[str, str], Weight]
    garden: str
    commit: str
    date: str


@lru_cache(maxsize=1)
def weights() -> Weights:
    """The committed table."""
    first, *lines = FILE.read_text("utf-8").splitlines()
    words = first.removeprefix("#").split()
    told = dict(zip(words[::2], words[1::2], strict=False))
    of = {
        (row["crop"], row["key"]): Weight(
            float(row["value"]), row["change"], _points(row["down"]), _points(row["up"])
        )
        for row in csv.DictReader(lines)
    }
    return Weights(of, told["garden"], told["commit"], told["date"])


def _points(text: str) -> float | None:
    return float(text) if text else None


def of(crop: str, key: str, value: object) -> Weight | None:
    """The weight of a number of a crop that still is what it was when it was measured."""
    found = weights().of.get((crop, key))
    if found is None or not isinstance(value, int | float):
        return None
    return found if abs(found.value - value) <= 1e-4 * max(1.0, abs(found.value)) else None
