"""A problem's model put together, and its solutions read back."""

from __future__ import annotations

import logging
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model

from scheduler.model import objective
from scheduler.model.rules import BUILDERS
from scheduler.model.variables import Variables
from scheduler.schedule import assemble
from scheduler.schedule.assemble import Stand
from scheduler.schedule.problem import Choice, Problem

log = logging.getLogger(__name__)


@dataclass
class Built:
    """A model with what is needed to read and steer it."""

    model: cp_model.CpModel
    v: Variables
    produce: objective.Produce


def build_model(problem: Problem, access: bool, only: Collection[str] | None = None) -> Built:
    """The model of a problem: variables, then every rule, then the produce flow.

    ``only`` names the rules of a relaxation, as in `BUILDERS`.
    """
    model = cp_model.CpModel()
    v = Variables(model, problem, access)
    for name, rule in BUILDERS.items():
        if only is None or name in only:
            rule(model, v)
    produce = objective.Produce(model, v)
    log.debug(
        "model: %d decisions, %d variables, %d constraints",
        len(problem),
        len(model.proto.variables),
        len(model.proto.constraints),
    )
    return Built(model, v, produce)


def read_choices(built: Built, values: Sequence[int]) -> list[Choice]:
    """Decisions taken in a solution, each with the day its tier is cleared."""
    v, problem = built.v, built.v.problem
    taken = np.array([values[x.index] for x in v.take], dtype=int)
    last = problem.column("last")
    out: list[Choice] = []
    if not v.access:
        for i in np.flatnonzero(taken).tolist():
            out.extend([Choice(i, int(last[i]))] * int(taken[i]))
        return out
    for p in range(len(problem.places)):
        mine = np.flatnonzero((problem.place_of == p) & (taken > 0))
        mine = mine[np.argsort(last[mine], kind="stable")]
        slots = [
            w
            for w in range(v.slots)
            if values[v.clear[False][p][w].index] + values[v.clear[True][p][w].index]
        ]
        for i, w in zip(mine.tolist(), slots, strict=True):
            out.append(Choice(i, int(problem.days[w])))
    return out


def stands(problem: Problem, choices: Sequence[Choice]) -> list[Stand]:
    """Choices as batches in tiers; pooled ones are spread over the tiers of their kind."""
    if problem.places and not problem.places[0].column:
        return assemble.spread_over_tiers(
            problem.cand, [int(problem.row_of[c.decision]) for c in choices]
        )
    out = []
    for c in choices:
        place = problem.places[int(problem.place_of[c.decision])]
        out.append(Stand(int(problem.row_of[c.decision]), place.column, place.number, c.clear))
    return out
