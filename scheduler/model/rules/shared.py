"""What all batches share: never more of a resource than there is, work day by work day.

What is only used on its day:    sum of uses on w <= left[w]
What is held from day to day:    held[w] = held[w-1] + begun[w] - over[w],   0 <= held[w] <= left[w]

Uses change on work days only, so those are the only days to look at. What is in hand when planning
begins takes what it takes, be it more than there is; nothing is begun beside it until there is room
again. Where tiers are pooled the day of a clearing is not known: what it takes is left out there,
and a lift counts as from the highest of the alike tiers, so that the model stays a relaxation.
"""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from scheduler.model.variables import Expr, Sums, Variables
from scheduler.schedule.resources import Resource


def build(model: cp_model.CpModel, v: Variables) -> None:
    """Add the rule for every resource of the problem."""
    for resource in v.problem.resources:
        left = v.problem.left(resource)
        if resource.held:
            _held(model, v, resource, left)
        else:
            _on_the_day(model, v, resource, left)


def _on_the_day(
    model: cp_model.CpModel, v: Variables, resource: Resource, left: np.ndarray
) -> None:
    uses = _begun(v, resource)
    for w in range(v.slots) if resource.services else uses.keys():
        if w < v.slots:
            # As one sum: OR-Tools 9.14 does not add two of some kinds.
            both = cp_model.LinearExpr.sum([uses[w], _services(v, resource, w)])
            model.add(both <= int(left[w]))


def _services(v: Variables, resource: Resource, w: int) -> Expr:
    """What fillings, and clearings where their day is known, take on a slot."""
    total: Expr = 0
    if not resource.services:
        return total
    for p, above in enumerate(v.problem.above.tolist()):
        total = total + int(resource.filling(above)) * v.fill[p][w]
        if v.access and resource.clears:
            cleared = v.clear[False][p][w] + v.clear[True][p][w]
            total = total + int(resource.clearing(above)) * cleared
    return total


def _held(model: cp_model.CpModel, v: Variables, resource: Resource, left: np.ndarray) -> None:
    begun, over = _begun(v, resource), _over(v, resource)
    there = np.zeros(len(v.problem), dtype=int)
    there[resource.which[resource.begun]] = resource.amount[resource.begun]
    already = sum(int(there[group[0]]) for group in v.problem.committed)
    levels = v.held.setdefault(resource.name, [])
    before: Expr = 0
    for w in range(v.slots):
        now = model.new_int_var(0, max(int(left[w]), already, 0), f"{resource.name}{w}")
        levels.append(now)
        model.add(now == before + begun[w] - over[w])
        before = now
    if already > int(left.min(initial=resource.limit)):
        _crowded(model, v, resource, left)


def _crowded(model: cp_model.CpModel, v: Variables, resource: Resource, left: np.ndarray) -> None:
    """While what is in hand takes more than there is, nothing else is held beside it."""
    fresh = ~resource.begun
    begun, over = _begun(v, resource, fresh), _over(v, resource, fresh)
    most = resource.limit
    now_most = most + int(resource.amount[resource.begun].sum(initial=0))
    pairs = v.crowded.setdefault(resource.name, [])
    before: Expr = 0
    for w, now in enumerate(v.held[resource.name]):
        others = model.new_int_var(0, most, f"others{w}")
        model.add(others == before + begun[w] - over[w])
        full = model.new_bool_var(f"full{w}")
        model.add(now <= max(int(left[w]), 0) + now_most * full)  # linear: a bound relies on it
        model.add(others <= most * (1 - full))
        pairs.append((others, full))
        before = others


def _begun(v: Variables, resource: Resource, mask: np.ndarray | None = None) -> Sums:
    """Sums of uses by the slot on which they begin."""
    return _by_slot(v, resource, resource.first, mask)


def _over(v: Variables, resource: Resource, mask: np.ndarray | None = None) -> Sums:
    """Sums of uses by the slot on which they are over."""
    return _by_slot(v, resource, resource.last, mask)


def _by_slot(v: Variables, r: Resource, slot: np.ndarray, mask: np.ndarray | None) -> Sums:
    mine = slice(None) if mask is None else mask
    return Sums(v.take, slot[mine], r.which[mine], r.amount[mine])
