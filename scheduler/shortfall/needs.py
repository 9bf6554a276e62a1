"""On which days, and by how much, a plan of a changed garden needs the change."""

from __future__ import annotations

from datetime import date
from typing import Any

from scheduler.garden.model import Garden
from scheduler.plans.model import Plan
from scheduler.shortfall.relaxation import Relaxation
from scheduler.verify import verify


def needed(garden: Garden, change: Relaxation, plan: Plan) -> dict[str, Any]:
    """Fields of `answer.Tried`: days on which ``garden`` forbids it, how often, by how much."""
    against = [b for b in verify(garden, plan).broken if b.rule == change.rule]
    days = {d for b in against for d in map(_date, b.witnesses) if d is not None}
    return {
        "dates": tuple(sorted(days)),
        "times": len(against),
        "amount": max((b.amount for b in against), default=0.0),
    }


def _date(witness: str) -> date | None:
    try:
        return date.fromisoformat(witness)
    except ValueError:
        return None
