"""The variables of a model, and how to ask for sums of them.

A decision is one candidate row in one place. Beside the decisions there are, for each place and
work day ("slot"), how many vessels stand empty, are filled, wait to be cleared, are cleared.
That chain makes "one crop at a time" a flow: each decision appears in two sums, not in one for
each day it stands.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from ortools.sat.python import cp_model

from scheduler.schedule.problem import Problem

Expr = Any  # a sum of variables and numbers; the solver's own union of types is no help here


class Sums:
    """Groups of (variable, coefficient) by a whole-number key, made once from arrays."""

    def __init__(
        self,
        variables: list[cp_model.IntVar],
        keys: np.ndarray,
        which: np.ndarray,
        coefficients: np.ndarray | None = None,
    ) -> None:
        order = np.argsort(keys, kind="stable")
        self._variables = variables
        self._which = which[order].tolist()
        one = np.ones(len(keys), dtype=int) if coefficients is None else coefficients
        self._coefficients = one[order].astype(int).tolist()
        found, first = np.unique(keys[order], return_index=True)
        ends = np.append(first[1:], len(keys))[: len(found)]  # no keys: no groups
        self._span = dict(
            zip(found.tolist(), zip(first.tolist(), ends.tolist(), strict=True), strict=True)
        )

    def keys(self) -> list[int]:
        """The keys, rising."""
        return list(self._span)

    def __getitem__(self, key: int) -> Expr:
        """The sum for ``key``; 0 if nothing has it."""
        span = self._span.get(key)
        if span is None:
            return 0
        a, b = span
        return cp_model.LinearExpr.weighted_sum(
            [self._variables[i] for i in self._which[a:b]], self._coefficients[a:b]
        )


class Variables:
    """All variables of one model.

    Attributes
    ----------
    take : per decision, how many vessels of its place do it [v].
    fill, clear, empty, wait : per place and slot (`grid[p][w]`); ``wait`` and ``clear`` come in a
        light and a heavy kind: what still stands too heavy to lift once it is picked.
    """

    def __init__(self, model: cp_model.CpModel, problem: Problem, access: bool) -> None:
        self.model, self.problem, self.access = model, problem, access
        self.slots = len(problem.days)
        counts = [place.count for place in problem.places]
        # By name of a resource, made by its rule: how much is held, per slot; and where what is in
        # hand takes more than there is, per slot: (held by others, whether there is no room).
        self.held: dict[str, list[cp_model.IntVar]] = {}
        self.crowded: dict[str, list[tuple[cp_model.IntVar, cp_model.IntVar]]] = {}
        self.used: list[tuple[int, cp_model.IntVar]] = []  # (slot, worked on), made by `effort`
        self.take = [self._var(counts[p]) for p in problem.place_of.tolist()]
        self.fill = self._grid(counts)
        self.empty = self._grid(counts)
        if access:
            self.clear = {h: self._grid(counts) for h in (False, True)}
            self.wait = {h: self._grid(counts) for h in (False, True)}
            self.heavy = self._grid(counts)

    def _var(self, top: int) -> cp_model.IntVar:
        # No names: a window is built every second, and names are a tenth of that.
        return self.model.new_bool_var("") if top == 1 else self.model.new_int_var(0, top, "")

    def _grid(self, counts: list[int]) -> list[list[cp_model.IntVar]]:
        return [[self._var(n) for _ in range(self.slots)] for n in counts]

    def key(self, place: np.ndarray, slot: np.ndarray) -> np.ndarray:
        """One number for (place, slot)."""
        key: np.ndarray = place * (self.slots + 1) + slot
        return key

    def sums(
        self,
        slot: np.ndarray,
        mask: np.ndarray | None = None,
        by_place: bool = True,
        coefficients: np.ndarray | None = None,
    ) -> Sums:
        """Sums of decisions by slot (and place)."""
        which = np.arange(len(self.problem)) if mask is None else np.flatnonzero(mask)
        keys = slot[which]
        if by_place:
            keys = self.key(self.problem.place_of[which], keys)
        chosen = None if coefficients is None else coefficients[which]
        return Sums(self.take, keys, which, chosen)

    @property
    def started(self) -> np.ndarray:
        """Decisions whose batch stands in its tier from before the first day planned [v]."""
        return self.problem.started

    def served_service(self, place: int, slot: int) -> Expr:
        """Vessels of a place filled or cleared on a slot: what needs access."""
        total: Expr = self.fill[place][slot]
        return total + self.clear[False][place][slot] + self.clear[True][place][slot]
