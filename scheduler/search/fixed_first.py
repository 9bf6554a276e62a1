"""What a search begins with where the grower has settled something that no rule of thumb knows.

Of what is fixed the fixed batches alone, if they can all be; where crops are to be mixed, the most
of a schedule by a rule of thumb that keeps that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from ortools.sat.python import cp_model

from scheduler.base.faults import NoPlan
from scheduler.batches.candidates import Candidates
from scheduler.batches.fixed import fixed_rows
from scheduler.garden.model import Fixed, Garden
from scheduler.model.build import build_model, read_choices
from scheduler.model.rules import BUILDERS
from scheduler.schedule.problem import Choice, Problem
from scheduler.solvers.cp_sat import Settings, run
from scheduler.words.language import _
from scheduler.words.words import short_date

MIXED = "how crops are mixed"
MOST = 12  # fixed batches left out one by one, to say which are too many


class CannotFix(NoPlan):
    """What is fixed cannot be."""


SECONDS = 30.0  # a model of so few batches is solved in a moment


def fixed_alone(problem: Problem, access: bool, seed: int = 0) -> list[Choice]:
    """A schedule of the problem's fixed batches and nothing else.

    Raises
    ------
    NoPlan
        One cannot be planted as told, or they cannot all be, with the reason.
    """
    _refuse_impossible(problem.cand)
    offered = sorted(i for group in problem.committed for i in group)
    small = problem.restricted(np.array(offered, dtype=int))
    rules = [name for name in BUILDERS if name != MIXED]
    built = build_model(small, access, rules)
    answer = run(built.model, "fixed", Settings(workers=1, seed=seed), SECONDS, quick=True)
    if answer.found and problem.mixed is not None:  # alone they may be too much of one crop
        offered, built = list(range(len(problem))), build_model(problem, access)
        answer = run(built.model, "fixed", Settings(workers=1, seed=seed), SECONDS)
    if answer.status == cp_model.INFEASIBLE:
        raise CannotFix(_together(small, access))
    if not answer.found:
        raise CannotFix(_("No schedule of the fixed batches was found in time."))
    return [Choice(offered[c.decision], c.clear) for c in read_choices(built, answer.values)]


def most_of(problem: Problem, access: bool, made: Sequence[Choice], seed: int = 0) -> list[Choice]:
    """The part of a schedule that meets most and keeps every rule of the problem.

    None of it, if nothing better is found in time: a plan of nothing mixes no crops wrongly.
    """
    offered = np.unique(np.array([c.decision for c in made], dtype=int))
    if not len(offered):
        return []
    built = build_model(problem.restricted(offered), access)
    built.model.maximize(built.produce.value())
    answer = run(built.model, "mixed", Settings(workers=1, seed=seed), SECONDS / 3, quick=True)
    if not answer.found:
        return []
    return [Choice(int(offered[c.decision]), c.clear) for c in read_choices(built, answer.values)]


def _refuse_impossible(cand: Candidates) -> None:
    """Raise where a fixed batch has no row: by itself it breaks a rule."""
    bad = [one for one, rows in fixed_rows(cand) if not len(rows)]
    if bad:
        lines = [_("These fixed batches cannot be:")]
        lines += [f"  {fixed_text(cand.garden, one)}" for one in bad]
        raise CannotFix("\n".join(lines))


def _together(problem: Problem, access: bool) -> str:
    """That fixed batches cannot all be: the rule against it, and which one could make way."""
    garden = problem.cand.garden
    lines = [_("The fixed batches cannot all be.")]
    names = list(BUILDERS)
    said = {
        "what all share": _("cells of the nursery, or what can be done on a day, are too few"),
        MIXED: _("how the crops of a wish are to be mixed"),
        "lift limit": _("a vessel above one of them is too heavy to lift when it is filled"),
    }
    against = [
        text
        for name, text in said.items()
        if _feasible(problem, access, [n for n in names if n != name])
    ]
    if against:
        lines.append(_("What stands against it: {why}.").format(why=_(" or ").join(against)))
    spared = []
    for n, one in enumerate(garden.fixed[:MOST]):
        left = tuple(g for k, g in enumerate(problem.committed) if k != n)
        rows = np.array(sorted(i for g in left for i in g), dtype=int)
        if _feasible(replace(problem, committed=left).restricted(rows), access, names):
            spared.append(fixed_text(garden, one))
    if spared:
        lines.append(_("With one of these left out the others can be:"))
        lines += [f"  {text}" for text in spared]
    return "\n".join(lines)


def _feasible(problem: Problem, access: bool, rules: list[str]) -> bool:
    model = build_model(problem, access, rules).model
    return run(model, "fixed", Settings(workers=1), SECONDS / 10, quick=True).found


def fixed_text(garden: Garden, one: Fixed) -> str:
    """``Leaf lettuce in A 2, planted 7 Jun``."""
    return _("{crop} in {column} {tier}, planted {day}").format(
        crop=garden.crops[one.crop].title,
        column=one.column,
        tier=one.tier,
        day=short_date(one.planted_on),
    )
