"""Where a town lies, from the table of time zones: some 400 towns of the world, in public domain.

``zone.tab`` of the time zone database of IANA names one town for each zone with its latitude. It is
found in the package tzdata or where the system keeps its zones; without either no town is known.
"""

from __future__ import annotations

import re
import zoneinfo
from contextlib import suppress
from difflib import get_close_matches
from functools import lru_cache
from importlib import resources
from pathlib import Path

_POINT = re.compile(r"([+-])(\d{2})(\d{2})(\d{2})?[+-]\d+")


@lru_cache
def towns() -> dict[str, float]:
    """Latitude [degree] of each town by its name in small letters; empty where no table is."""
    found: dict[str, float] = {}
    for line in _text().splitlines():
        cells = line.split("\t")
        match = _POINT.fullmatch(cells[1]) if len(cells) > 2 else None
        if match is None:
            continue
        sign, degrees, minutes, seconds = match.groups()
        latitude = int(degrees) + int(minutes) / 60 + int(seconds or 0) / 3600
        name = cells[2].rpartition("/")[2].replace("_", " ").lower()
        found[name] = round(latitude if sign == "+" else -latitude, 2)
    return found


def near(name: str) -> list[str]:
    """Towns whose name is much like it."""
    return [n.title() for n in get_close_matches(name.lower(), list(towns()), 3, 0.7)]


def _text() -> str:
    with suppress(ModuleNotFoundError, OSError):
        return (resources.files("tzdata") / "zoneinfo" / "zone.tab").read_text("utf-8")
    for folder in zoneinfo.TZPATH:
        with suppress(OSError):
            return (Path(folder) / "zone.tab").read_text("utf-8")
    return ""
