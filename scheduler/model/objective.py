"""The stages (`scheduler.schedule.stages`) as expressions of a model's variables."""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from scheduler.batches.courses import NEVER
from scheduler.model.variables import Expr, Sums, Variables
from scheduler.schedule.effort import lifts
from scheduler.schedule.stages import whole_weights


class Produce:
    """Variables of the produce flow: each pick class serves the weeks it keeps for.

    Attributes
    ----------
    served : per group and week [g]; flow : per pick class and week [g].
    picked : per pick class, all grams picked [g] (an expression).
    shorts : (grams short, half the wish [g], served) of each week, once `unevenness` is asked.
    """

    def __init__(self, model: cp_model.CpModel, v: Variables) -> None:
        supply = v.problem.supply
        self.supply = supply
        picked = Sums(v.take, supply.week_class, supply.decision, supply.grams)
        flows: dict[tuple[int, int], list[cp_model.IntVar]] = {}
        self.flow: dict[tuple[int, int], cp_model.IntVar] = {}
        self.picked: Expr = 0
        self.shorts: list[tuple[cp_model.IntVar, int, cp_model.IntVar]] = []
        for k, (group, first, last) in enumerate(supply.classes):
            out = []
            for week in range(first, last + 1):
                top = int(supply.wish[group, week])
                if top > 0:
                    flow = model.new_int_var(0, top, f"flow{k},{week}")
                    self.flow[k, week] = flow
                    out.append(flow)
                    flows.setdefault((group, week), []).append(flow)
            total = picked[k] + int(supply.given[k])
            if out:
                model.add(sum(out) <= total)
            self.picked = self.picked + total
        self.served: dict[tuple[int, int], cp_model.IntVar] = {}
        for (group, week), parts in flows.items():
            served = model.new_int_var(0, int(supply.wish[group, week]), f"served{group},{week}")
            model.add(served == sum(parts))
            self.served[group, week] = served

    def value(self) -> Expr:
        """Stage 1: weighted grams met, times the scale of `whole_weights`."""
        _, weights = whole_weights(self.supply.weights)
        return sum(weights[group] * served for (group, _), served in self.served.items())

    def unevenness(self, model: cp_model.CpModel) -> Expr:
        """Stage 2: grams picked in vain, and grams short below half of each weekly wish."""
        total = self.picked - sum(self.served.values())
        groups, weeks = np.nonzero(self.supply.wish)
        for group, week in zip(groups.tolist(), weeks.tolist(), strict=True):
            half = int(self.supply.wish[group, week]) // 2
            served = self.served.get((group, week))
            if served is None:  # nothing can be picked for that week
                total = total + half
                continue
            short = model.new_int_var(0, half, f"short{group},{week}")
            model.add(short >= half - served)
            self.shorts.append((short, half, served))
            total = total + short
        return total


def effort(model: cp_model.CpModel, v: Variables) -> Expr:
    """Stage 3: fills + vessels lifted + work days used."""
    problem = v.problem
    fills = sum(var for row in v.fill for var in row)
    lifted: Expr = 0
    for p, above in enumerate(problem.above.tolist()):
        if not above:
            continue
        if v.access:
            lifted = lifted + lifts(above, sum(v.served_service(p, w) for w in range(v.slots)))
        else:  # cleared as often as filled
            lifted = lifted + lifts(above) * sum(v.fill[p])
    days = problem.cand.pick_day[problem.row_of]
    which, event = np.nonzero(days < NEVER)
    slots = np.concatenate([problem.slot(days[which, event]), problem.slot(problem.column("sow"))])
    who = np.concatenate([which, np.arange(len(problem))])
    work = Sums(v.take, slots, who)
    used_days: Expr = 0
    most = sum(place.count for place in problem.places) * 8
    for w in range(v.slots):
        used = model.new_bool_var(f"used{w}")
        v.used.append((w, used))
        # In one sum: OR-Tools 9.14 cannot add a sum of variables to a weighted one.
        parts = [work[w], *(row[w] for row in v.fill)]
        if v.access:
            parts += [v.clear[h][p][w] for h in (False, True) for p in range(len(problem.places))]
        model.add(cp_model.LinearExpr.sum(parts) <= most * used)
        if problem.used is not None and problem.used.works[w]:
            model.add(used == 1)
        used_days = used_days + used
    elsewhere = 0 if problem.used is None else problem.used.effort
    return fills + lifted + used_days + elsewhere
