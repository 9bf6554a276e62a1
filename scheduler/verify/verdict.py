"""What a check says: which rules are broken, by how much, and by whom."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from scheduler.plans.model import Shortfall
from scheduler.plans.rules import RULES


@dataclass(frozen=True)
class Broken:
    """One broken rule.

    Attributes
    ----------
    rule : its name in `scheduler.plans.rules`.
    amount : by how much, in ``unit``; 1 without a unit where there is nothing to measure.
    witnesses : the batches' ids, then tiers (``column 1``) and dates (ISO 8601) it happens at.
    message : the same in a sentence.
    """

    rule: str
    amount: float
    witnesses: tuple[str, ...]
    message: str
    unit: str = ""


@dataclass(frozen=True)
class Verdict:
    """The outcome of a check.

    Attributes
    ----------
    broken : everything found, in the order of the list of rules.
    checked : how many checks were made, by rule.
    values : ``produce``, ``evenness`` and ``effort``, computed again.
    unmet : wishes not met, computed again.
    met : share of all wishes met, by the garden's weights, computed again; None without a wish.
    weighted : whether those weights differ.
    """

    broken: tuple[Broken, ...]
    checked: Mapping[str, int]
    values: Mapping[str, float]
    unmet: tuple[Shortfall, ...]
    met: float | None = None
    weighted: bool = False

    @property
    def ok(self) -> bool:
        return not self.broken

    def as_dict(self) -> dict[str, Any]:
        """The verdict as plain data, for JSON."""
        bad = {b.rule for b in self.broken}
        return {
            "ok": self.ok,
            "rules": [
                {
                    "rule": r.name,
                    "meaning": r.meaning,
                    "checked": self.checked.get(r.name, 0),
                    "counted": r.counted,
                    "holds": r.name not in bad,
                }
                for r in RULES
            ],
            "broken": [asdict(b) for b in self.broken],
            "values": dict(self.values),
            "wish_met": self.met,
            "unmet": [asdict(u) for u in self.unmet],
        }
