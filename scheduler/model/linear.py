"""The linear side of a model: its rows as a sparse matrix, and a bound from its relaxation.

The relaxation drops whole numbers and is solved by HiGHS through SciPy. Its bound is not taken
from the solver's word: from the multipliers it hands back a bound is computed that holds whatever
they are (weak duality), as every variable of the model has finite limits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from ortools.sat.python import cp_model
from scipy.optimize import linprog

INFINITE = 1 << 60  # the solver's open ends lie beyond
STEPS = 10_000  # of the solver, at least; a bound of the courtyard takes fewer


@dataclass(frozen=True)
class Rows:
    """``low <= matrix @ x <= high``, ``least <= x <= most``; objective ``cost @ x + offset``."""

    matrix: sparse.csr_matrix
    low: np.ndarray
    high: np.ndarray
    least: np.ndarray
    most: np.ndarray
    cost: np.ndarray
    offset: float

    def holds(self, x: np.ndarray) -> bool:
        """Whether whole-number values [n] keep every row and limit."""
        if (x < self.least).any() or (x > self.most).any():
            return False
        got = self.matrix @ x
        return bool((got >= self.low - 1e-6).all() and (got <= self.high + 1e-6).all())


def rows(model: cp_model.CpModel) -> Rows:
    """The rows of a model made of linear, exactly-one and at-most-one constraints.

    Raises
    ------
    ValueError
        The model holds another kind of constraint.
    """
    proto = model.proto
    n = len(proto.variables)
    least, most = np.empty(n), np.empty(n)
    for i, var in enumerate(proto.variables):
        ends = list(var.domain)
        least[i], most[i] = ends[0], ends[-1]
    count: list[int] = []
    where: list[int] = []
    value: list[int] = []
    low, high = [], []
    for k, constraint in enumerate(proto.constraints):
        if _has(constraint, "linear"):
            terms = constraint.linear
            variables, factors, ends = list(terms.vars), list(terms.coeffs), list(terms.domain)
            a, b = ends[0], ends[-1]
        elif _has(constraint, "exactly_one"):
            variables = list(constraint.exactly_one.literals)
            factors, a, b = [1] * len(variables), 1, 1
        elif _has(constraint, "at_most_one"):
            variables = list(constraint.at_most_one.literals)
            factors, a, b = [1] * len(variables), 0, 1
        else:
            raise ValueError(f"constraint {k} is of a kind with no linear form")
        where += variables
        value += factors
        count.append(len(variables))
        low.append(a if a > -INFINITE else -np.inf)
        high.append(b if b < INFINITE else np.inf)
    ends_at = np.concatenate([[0], np.cumsum(count)])
    matrix = sparse.csr_matrix(
        (np.array(value, float), np.array(where, int), ends_at), shape=(len(count), n)
    )
    matrix.sum_duplicates()
    cost = np.zeros(n)
    goal = proto.objective
    factor = goal.scaling_factor or 1.0
    np.add.at(cost, np.array(list(goal.vars), int), np.array(list(goal.coeffs), float) * factor)
    return Rows(
        matrix,
        np.array(low, float),
        np.array(high, float),
        least,
        most,
        cost,
        float(goal.offset) * factor,
    )


def _has(constraint: object, kind: str) -> bool:
    """Whether a constraint is of a kind; the call differs between solver releases."""
    if hasattr(constraint, "HasField"):
        return bool(constraint.HasField(kind))
    return bool(getattr(constraint, f"has_{kind}")())


@dataclass(frozen=True)
class Relaxed:
    """A bound on the objective, and what each variable would cost beyond it [n]."""

    bound: float
    reduced: np.ndarray

    def whole(self, maximise: bool) -> int:
        """The bound of an objective of whole numbers; a hair covers the rounding of the sums."""
        return whole_bound(self.bound, maximise)


def whole_bound(bound: float, maximise: bool) -> int:
    """A bound of an objective of whole numbers; a hair covers the rounding of sums."""
    slack = 1e-6 * max(1.0, abs(bound))
    return math.floor(bound + slack) if maximise else math.ceil(bound - slack)


def meets(value: float, bound: float) -> bool:
    """Whether a value and a bound are one, but for the hair that `whole_bound` leaves."""
    return abs(value - bound) <= 1e-6 * max(1.0, abs(value))


def relax(model: cp_model.CpModel, maximise: bool, seconds: float | None = None) -> Relaxed | None:
    """Bound of a model's objective without whole numbers; None if the solver did not finish.

    ``seconds`` limits each of its two methods; without it only their steps are limited.
    """
    r = rows(model)
    cost = -r.cost if maximise else r.cost
    equal = r.low == r.high
    free = ~equal
    upper = free & np.isfinite(r.high)
    lower = free & np.isfinite(r.low)
    a_ub = sparse.vstack([r.matrix[upper], -r.matrix[lower]])
    b_ub = np.concatenate([r.high[upper], -r.low[lower]])
    a_eq, b_eq = r.matrix[equal], r.low[equal]
    # Interior point first: far quicker here; the simplex only if that fails. On a garden of one
    # tier and two weeks it was seen to go round for ever: a limit of its steps ends it the same
    # way on every machine.
    steps = max(STEPS, 10 * (len(r.cost) + len(r.low)))
    for method in ("highs-ipm", "highs-ds"):
        got = linprog(
            cost,
            a_ub,
            b_ub,
            a_eq,
            b_eq,
            np.stack([r.least, r.most], axis=1),
            method,
            options={"time_limit": seconds, "maxiter": steps},
        )
        if got.status == 0:
            break
    else:
        return None
    y_eq = np.asarray(got.eqlin.marginals)
    y_ub = np.minimum(np.asarray(got.ineqlin.marginals), 0.0)
    reduced = cost - a_eq.T @ y_eq - a_ub.T @ y_ub
    bound = float(y_eq @ b_eq + y_ub @ b_ub)
    bound += float(np.minimum(reduced * r.least, reduced * r.most).sum())
    if maximise:
        return Relaxed(-bound + r.offset, reduced)
    return Relaxed(bound + r.offset, reduced)
