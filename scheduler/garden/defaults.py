"""What a grower would otherwise tell each command: defaults.yaml beside the garden."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from scheduler.base.faults import BadInput, Fault
from scheduler.base.yaml_lines import read_document

DEFAULTS = "defaults.yaml"
_TEXTS = {"units": ("metric", "us"), "paper": ("a4", "letter")}
_KEYS = ("units", "language", "paper", "workers")


def read_defaults(file: Path) -> dict[str, Any]:
    """``units``, ``language``, ``paper``, ``workers``, as far as they are told.

    Raises
    ------
    BadInput
        Every fault, with its line.
    """
    doc = read_document(file.read_bytes(), str(file))
    faults: list[Fault] = list(doc.faults)
    data = {} if doc.data is None else doc.data
    if not isinstance(data, dict):
        raise BadInput([*faults, doc.fault((), data, f"some of {', '.join(_KEYS)}")])
    for key, value in data.items():
        wrong = _wrong(key, value)
        if wrong:
            faults.append(doc.fault((key,), value, wrong))
    if faults:
        raise BadInput(faults)
    return dict(data)


def _wrong(key: Any, value: Any) -> str:
    """What is expected in place of a value; empty for one that is right."""
    if key in _TEXTS:
        return "" if value in _TEXTS[key] else " or ".join(_TEXTS[key])
    if key == "language":
        from scheduler.words.language import languages

        known = languages()
        return "" if value in known else f"a language there is: {', '.join(known)}"
    if key == "workers":
        right = isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 256
        return "" if right else "a whole number from 1 to 256"
    return f"one of the keys {', '.join(_KEYS)}"
