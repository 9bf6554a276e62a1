"""What the grower settles on the page, written into the text of garden.yaml; all else stays."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import yaml

from scheduler.base.faults import BadInput
from scheduler.base.yaml_lines import read_document
from scheduler.garden.model import Fixed, Span

FIXED, NEVER = "fixed", "never"


def with_fixed(raw: bytes, one: Fixed) -> bytes:
    """garden.yaml [bytes] with one batch more that is fixed."""
    return _with(raw, FIXED, _told(crop=one.crop, **_where(one), planted_on=one.planted_on))


def without_fixed(raw: bytes, one: Fixed) -> bytes:
    """garden.yaml [bytes] without a batch that is fixed, told on its line."""
    doc = read_document(raw, "")
    wanted: Any = deepcopy(doc.data)
    at = next(i for i in range(len(wanted[FIXED])) if doc.line((FIXED, i)) == one.line)
    del wanted[FIXED][at]
    lines = doc.text.splitlines(keepends=True)
    del lines[one.line - 1]
    if not wanted[FIXED]:
        del wanted[FIXED]
        del lines[doc.line((FIXED,)) - 1]
    return _checked("".join(lines), wanted)


def with_closed(raw: bytes, column: str, tier: int, days: Span) -> bytes:
    """garden.yaml [bytes] with days on which nothing may stand in a tier."""
    told = {"column": column, "tier": tier, "from": days.start, "to": days.end}
    return _with(raw, NEVER, _told(**told))


def _where(one: Fixed) -> dict[str, Any]:
    return {"column": one.column, "tier": one.tier}


def _told(**keys: Any) -> str:
    """A mapping on one line; names are quoted."""
    parts = []
    for key, value in keys.items():
        text = "'" + value.replace("'", "''") + "'" if key == "column" else str(value)
        parts.append(f"{key}: {text}")
    return "{" + ", ".join(parts) + "}"


def _with(raw: bytes, key: str, entry: str) -> bytes:
    """The text with one entry more in the list of a section."""
    doc = read_document(raw, "")
    wanted: Any = deepcopy(doc.data)
    known = wanted.get(key)
    listed = known if isinstance(known, list) else [] if known is None else [known]
    new: Any = read_document(f"it: {entry}".encode(), "").data
    wanted[key] = [*listed, new["it"]]
    lines = doc.text.splitlines(keepends=True)
    if lines and not lines[-1].endswith("\n"):
        lines[-1] += "\n"
    if known is None:
        lines += [f"{key}:\n", f"  - {entry}\n"]
    elif listed:
        last = doc.line((key, len(listed) - 1))
        indent = lines[last - 1].partition("-")[0] if lines[last - 1].lstrip()[:1] == "-" else "  "
        lines.insert(last, f"{indent}- {entry}\n")
    return _checked("".join(lines), wanted)


def _checked(text: str, wanted: Any) -> bytes:
    """The text if it reads as wanted; else all written out, without remarks."""
    try:
        same = read_document(text.encode(), "").data == wanted
    except BadInput:
        same = False
    return (text if same else yaml.safe_dump(wanted, sort_keys=False)).encode()
