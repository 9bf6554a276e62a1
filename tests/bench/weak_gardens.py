"""Gardens where a limit binds hard, as instance files: ``python tests/bench/weak_gardens.py``.

Each is the courtyard of 26 weeks with one thing changed, or twenty columns on the coast; where a
search is far from its bound there, it is told in `weak.md` (`weak_bench.py`). All are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from itertools import product

from tests.bench.write_gardens import CROPS, LARGE, OUT, text

NAMES = (
    "nursery-14",
    "two-absences",
    "lift-8",
    "weekend",
    "seven-days",
    "long-storage",
    "small-wishes",
    "twenty-26",
    "twenty-52",
)


def courtyard() -> str:
    return (OUT / "courtyard-26.yaml").read_text(encoding="utf-8")


def put(old: str, new: str) -> Callable[[str], str]:
    def change(made: str) -> str:
        if old not in made:
            raise ValueError(f"the courtyard has no {old!r} any more")
        return made.replace(old, new, 1)

    return change


AWAY = "    - {from: 2027-08-06, to: 2027-08-15}   # the kitchen is shut for ten days"
TWELVE = "\n".join(
    f"    - {{from: {first}, to: {first + timedelta(days=11)}}}"
    for first in (date(2027, 6, 21), date(2027, 8, 2))
)
STORED = ("leaf_lettuce", "butterhead", "romaine", "pak_choi", "mizuna", "arugula", "spinach")
KEEPS = "  overrides:\n" + "".join(f"    {c}: {{storage_life: 28 day}}\n" for c in STORED)
CHANGES: dict[str, Callable[[str], str]] = {
    "nursery-14": put("cells: 48", "cells: 14"),
    "two-absences": put(AWAY, TWELVE),
    "lift-8": put("lift: 16 kg", "lift: 8 kg"),
    "weekend": put("[mon, wed, fri]", "[sat, sun]"),
    "seven-days": put("[mon, wed, fri]", "[mon, tue, wed, thu, fri, sat, sun]"),
    "long-storage": put("  overrides:\n", KEEPS),
}


def long_storage(made: str) -> str:
    """The courtyard has a line for spinach among its overrides: both in one."""
    made = CHANGES["long-storage"](made)
    slow = "    spinach: {slow_to_bolt: true}"
    made = made.replace("    spinach: {storage_life: 28 day}\n", "", 1)
    return made.replace(slow, "    spinach: {slow_to_bolt: true, storage_life: 28 day}", 1)


def small_wishes() -> str:
    """Four columns; each of ten crops is wished for by itself, less than a batch of it a week."""
    made = courtyard()
    head, rest = made.split("demand:\n", 1)
    tail = rest[rest.index("limits:\n") :]
    head = head[: head.index("  # Two beside")] + head[head.index("nursery:") :]
    crops = CROPS[:10]
    wishes = "".join(
        f"  - {{group: {c}, crops: [{c}], per_week: 110 g, from: 2027-06-07, to: 2027-10-10}}\n"
        for c in crops
    )
    which = tail.index("  which:")
    listed = "  which:\n" + "".join(f"    - {c}\n" for c in crops)
    after = tail[tail.index("  overrides:") :]
    return head + "demand:\n" + wishes + "\n" + tail[:which] + listed + after


def twenty(weeks: int) -> str:
    """Twenty columns of five: two vessels, three exposures."""

    def columns() -> list[tuple[str, int, tuple[int, ...], tuple[float, ...]]]:
        light = {
            "open": (1.0, 0.85, 0.7, 0.6, 0.5),
            "east": (0.9, 0.75, 0.65, 0.55, 0.45),
            "wall": (0.8, 0.7, 0.55, 0.5, 0.4),
        }
        mixes = list(product((18, 11), light.items()))
        return [
            (f"{size}L {name} ", n, (size,) * 5, share)
            for (size, (name, share)), n in zip(mixes, (4, 3, 3, 4, 3, 3), strict=True)
        ]

    LARGE["twenty"] = (columns, "[mon, wed, fri]", "A school's twenty columns")
    try:
        return text("twenty", weeks)
    finally:
        del LARGE["twenty"]


def made(name: str) -> str:
    """garden.yaml of one of `NAMES`."""
    if name == "small-wishes":
        out = small_wishes()
    elif name.startswith("twenty-"):
        return twenty(int(name.split("-")[1]))
    elif name == "long-storage":
        out = long_storage(courtyard())
    else:
        out = CHANGES[name](courtyard())
    out = out.replace("tests/bench/write_gardens.py", "tests/bench/weak_gardens.py", 1)
    return out.replace("name: courtyard-26\n", f"name: {name}\n", 1)


def main() -> None:
    """Write all."""
    for name in NAMES:
        (OUT / f"weak-{name}.yaml").write_text(made(name), encoding="utf-8")


if __name__ == "__main__":
    main()
