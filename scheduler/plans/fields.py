"""Fields of plan.json that no type of `plans.model` has: taken out as it is read, and named."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from scheduler.plans.model import (
    OUTSIDE,
    Batch,
    Chances,
    Level,
    Lifted,
    Pick,
    Plan,
    Promise,
    RiskTaken,
    Shortfall,
    Stage,
    TwoKinds,
    YearsTaken,
)

_INSIDE = {"start", "end", "unknown"}  # stand elsewhere in plan.json, or not at all
_TOP = frozenset({"schema", "season", *(f.name for f in fields(Plan))} - _INSIDE)
_KNOWN = {
    kind: frozenset(OUTSIDE.get(f.name, f.name) for f in fields(kind))
    for kind in (
        Stage,
        Batch,
        Pick,
        Level,
        Shortfall,
        RiskTaken,
        Lifted,
        YearsTaken,
        Promise,
        TwoKinds,
        Chances,
    )
}


def drop_unknown(body: dict[str, Any]) -> tuple[str, ...]:
    """Take the fields that no type here has out of a plan's data; their paths."""
    out: dict[str, None] = {}

    def look(raw: Any, known: frozenset[str], where: str) -> None:
        if isinstance(raw, dict) and not raw.keys() <= known:
            for name in raw.keys() - known:
                del raw[name]
                out[where + name] = None

    def each(raw: Any, name: str) -> list[Any]:
        rows = raw.get(name) if isinstance(raw, dict) else None
        return rows if isinstance(rows, list) else []

    look(body, _TOP, "")
    look(body.get("season"), frozenset({"start", "end"}), "season.")
    look(body.get("risk"), _KNOWN[RiskTaken], "risk.")
    look(body.get("lifted"), _KNOWN[Lifted], "lifted.")
    look(body.get("years"), _KNOWN[YearsTaken], "years.")
    look(body.get("promise"), _KNOWN[Promise], "promise.")
    for kinds in each(body.get("promise"), "two_kinds"):
        look(kinds, _KNOWN[TwoKinds], "promise.two_kinds.")
    for stage in each(body, "stages"):
        look(stage, _KNOWN[Stage], "stages.")
    for short in each(body, "unmet"):
        look(short, _KNOWN[Shortfall], "unmet.")
    for batch in each(body, "batches"):
        look(batch, _KNOWN[Batch], "batches.")
        if isinstance(batch, dict):
            look(batch.get("chances"), _KNOWN[Chances], "batches.chances.")
        for pick in each(batch, "picks"):
            look(pick, _KNOWN[Pick], "batches.picks.")
        for level in each(batch, "levels"):
            look(level, _KNOWN[Level], "batches.levels.")
    return tuple(sorted(out))
