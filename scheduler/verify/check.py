"""The whole check."""

from __future__ import annotations

from scheduler.garden.model import Garden
from scheduler.plans.model import Plan
from scheduler.plans.rules import RULES
from scheduler.verify import (
    batch_rules,
    claims,
    fields,
    moving,
    produce,
    promise,
    salt,
    shared_rules,
    spans,
    standing,
    water,
    will,
)
from scheduler.verify.case import Case
from scheduler.verify.verdict import Verdict


def verify(garden: Garden, plan: Plan) -> Verdict:
    """Check a plan against its garden: every rule, and every figure the plan states.

    Batches that are cleared or have failed are facts: their dates, ripeness, water and figures are
    not judged, but they hold their tier and count in what is planned around them.
    """
    case = Case(garden, plan)
    batch_rules.check(case)
    will.check(case)
    salt.check(case)
    moving.check(case)
    shared_rules.check(case)
    got = produce.outcome(case)
    values = produce.values(case, got)
    standing.check(case)
    claims.check(case, values, got.unmet)
    fields.check(case)
    promise.check(case)
    spans.check(case)
    water.check(case)
    weights = {d.group: d.weight for d in garden.demands}
    wished = {group: weights[group] for (group, _), grams in got.wish.items() if grams}
    total = sum(weights[group] * grams for (group, _), grams in got.wish.items())
    met = values["produce"] / total if total else None
    fields.by_rule(case, total, values["produce"])
    order = {r.name: i for i, r in enumerate(RULES)}
    found = sorted(case.found, key=lambda b: order[b.rule])
    return Verdict(
        tuple(found), dict(case.checked), values, got.unmet, met, len(set(wished.values())) > 1
    )
