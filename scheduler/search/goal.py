"""What a stage of the search wants, as an expression of a model and as arithmetic."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from scheduler.model.build import Built
from scheduler.model.variables import Expr
from scheduler.schedule.problem import Choice
from scheduler.schedule.stages import EFFORT, EVENNESS, PRODUCE

# Share of the time that is left given to each stage; the first gets most of it.
SHARES = {PRODUCE: 0.75, EVENNESS: 0.5, EFFORT: 0.9}
ENOUGH = 0.01  # gap at which the later stages are good enough

Expression = Callable[[Built], Expr]
Worth = Callable[[Sequence[Choice]], float]


@dataclass(frozen=True)
class Goal:
    """What a stage wants.

    Attributes
    ----------
    name : of the stage; expression : of the objective, built anew in each small model.
    maximise : the most or the least of it; scale : divides values for the eye.
    locks : (expression, value) of the stages before, which may not get worse: at least the value
        where ``maximise`` was true for that stage, at most otherwise.
    worth : the objective's value for a schedule, without a model; None: only a model can tell.
    checks : the locks in the same way; as many as there are locks, where ``worth`` is given.
    """

    name: str
    expression: Expression
    maximise: bool
    scale: float = 1.0
    locks: tuple[tuple[Expression, bool, int], ...] = ()
    worth: Worth | None = None
    checks: tuple[tuple[Worth, bool, int], ...] = ()

    def better(self, new: float, old: float) -> bool:
        """Whether one value is better than another."""
        return new > old if self.maximise else new < old

    def reached(self, value: float, target: float | None) -> bool:
        """Whether a value is as good as ``target``; never without one."""
        return target is not None and not self.better(target, value)

    def keeps_checks(self, choices: Sequence[Choice]) -> bool:
        """Whether a schedule is no worse in the stages before."""
        return all(
            worth(choices) >= value if maximised else worth(choices) <= value
            for worth, maximised, value in self.checks
        )


@dataclass
class Incumbent:
    """The best schedule so far and its value."""

    choices: list[Choice]
    value: float


def lock(model: cp_model.CpModel, expression: Expr, maximised: bool, value: int) -> None:
    """Let an earlier stage get no worse; where nothing could be wished it is a plain number."""
    if not isinstance(expression, int):
        model.add(expression >= value if maximised else expression <= value)


def aim(built: Built, goal: Goal) -> None:
    """Give a model a goal's locks and its objective."""
    for expression, maximised, value in goal.locks:
        lock(built.model, expression(built), maximised, value)
    wanted = goal.expression(built)
    if goal.maximise:
        built.model.maximize(wanted)
    else:
        built.model.minimize(wanted)
