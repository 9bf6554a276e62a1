"""How the crops of a wish are mixed: shares, the same kind weeks running (`schedule.mixed`).

    sum of amount[i, k] * take[i] <= most[k] * over[k]    for each sum k
    over[k] + over[l] + ...       <= how many they are - 1    for each row of sums together

most[k] is what sum k can come to at most; over[k] of a row of one is 0.
"""

from __future__ import annotations

from collections.abc import Sequence

from ortools.sat.python import cp_model

from scheduler.model.variables import Variables

Terms = list[tuple[int, int]]  # decision, amount


def build(model: cp_model.CpModel, v: Variables) -> None:
    """Add the rules, where the problem is of a whole season and the wishes have any."""
    found = v.problem.mixed
    if found is None:
        return
    terms: list[Terms] = [[] for _ in range(found.count)]
    for i, row in enumerate(v.problem.row_of.tolist()):
        mine = slice(found.first[row], found.first[row + 1])
        for k, amount in zip(found.which[mine].tolist(), found.amount[mine].tolist(), strict=True):
            terms[k].append((i, amount))
    over: dict[int, cp_model.IntVar] = {}
    for rule in found.together.tolist():
        sums = [k for k in rule if k >= 0]
        if any(all(amount <= 0 for _, amount in terms[k]) for k in sums):
            continue  # never above 0
        if len(sums) == 1:
            model.add(_sum(v, terms[sums[0]]) <= 0)
            continue
        for k in sums:
            if k not in over:
                over[k] = model.new_bool_var("")
                most = sum(max(amount, 0) * _times(v, i) for i, amount in terms[k])
                model.add(_sum(v, terms[k]) <= most * over[k])
        model.add(sum(over[k] for k in sums) <= len(sums) - 1)


def _sum(v: Variables, terms: Terms) -> cp_model.LinearExpr:
    take: Sequence[cp_model.IntVar] = [v.take[i] for i, _ in terms]
    return cp_model.LinearExpr.weighted_sum(take, [amount for _, amount in terms])


def _times(v: Variables, i: int) -> int:
    """How often a decision can be taken."""
    return v.problem.places[int(v.problem.place_of[i])].count
