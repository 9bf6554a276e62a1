"""Which decisions most windows should offer: those that the relaxation's prices would take.

Of thousands of batches that a season offers a good plan takes a hundred. The relaxation tells for
each what taking it would cost (its reduced cost), stack access left out. A window that offers only
the cheapest tenth is settled in a fraction of the time, so that it may be longer; every tenth
window still offers all, as what is cheap in the relaxation is not always enough.

Where all that is wished can be had, prices are 0 and tell nothing; so holding a tier is given a
small price of its own, by the day.
"""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from scheduler.model.build import Built
from scheduler.model.linear import relax
from scheduler.model.reduced import loose, pooled_alike
from scheduler.schedule.problem import Problem
from scheduler.search.goal import Expression
from scheduler.search.window import days_held

CHEAP_EACH = 125  # candidates for each kind of tier
DAYS = 10  # of holding a tier that weigh as much as the smallest gain


def cheap_decisions(problem: Problem, produce: Expression, seconds: float) -> np.ndarray | None:
    """Decisions that are cheap in the relaxation of stage ``produce`` [v, bool].

    None where they would be no small part of all, or the relaxation is not solved in ``seconds``
    (each of two methods).
    """
    most = CHEAP_EACH * len({place.kind for place in problem.places})
    if len(np.unique(problem.row_of)) <= 2 * most:
        return None

    def aim(built: Built) -> None:
        held = days_held(built.v.problem).tolist()
        stay = cp_model.LinearExpr.weighted_sum(built.v.take, held)
        built.model.maximize(produce(built) * DAYS - stay)

    built = loose(pooled_alike(problem), aim)
    got = relax(built.model, maximise=True, seconds=seconds)
    if got is None:
        return None
    dear = np.full(len(problem.cand), np.inf)
    np.minimum.at(dear, built.v.problem.row_of, got.reduced[[x.index for x in built.v.take]])
    cheap = np.zeros(len(dear), dtype=bool)
    cheap[np.argsort(dear, kind="stable")[:most]] = True
    decisions: np.ndarray = cheap[problem.row_of]
    return decisions
