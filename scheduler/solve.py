"""Plan a season: candidates, a schedule by hand, the pooled relaxation, the full model, stages.

1. A schedule by rules of thumb is made first: the worst the program ever returns.
2. Alike tiers are pooled and stack access is left out. That is a relaxation of the full problem:
   its bound holds for every plan. Where stack access cannot bite it is the problem itself.
3. The full model, tier by tier, starts from the best schedule known.
4. Stage by stage (produce, evenness, effort), each locked before the next begins.
"""

from __future__ import annotations

import logging
import math
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from importlib.metadata import version

import numpy as np
from ortools.sat.python import cp_model

from scheduler import assemble, objective
from scheduler.assemble import Stand
from scheduler.by_hand import ByHand, Choice
from scheduler.candidates import Candidates, Windows, build
from scheduler.engine import Answer, Progress, Report, Settings, hint_all, run
from scheduler.faults import NoPlan
from scheduler.garden import Garden
from scheduler.hints import complete
from scheduler.plan import BEST_FOUND, PROVEN, WITHIN_GAP, Batch, Plan, Stage
from scheduler.problem import Committed, Problem, by_tier, pooled
from scheduler.rules import BUILDERS
from scheduler.variables import Variables

log = logging.getLogger(__name__)


@dataclass
class Built:
    """A model with what is needed to read and steer it."""

    model: cp_model.CpModel
    v: Variables
    produce: objective.Produce


def build_model(problem: Problem, access: bool) -> Built:
    """The model of a problem: variables, then every rule, then the produce flow."""
    model = cp_model.CpModel()
    v = Variables(model, problem, access)
    for rule in BUILDERS.values():
        rule(model, v)
    produce = objective.Produce(model, v)
    log.info("model: %d decisions, %d variables, %d constraints", len(problem),
             len(model.proto.variables), len(model.proto.constraints))  # fmt: skip
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
            w for w in range(v.slots)
            if values[v.clear[False][p][w].index] + values[v.clear[True][p][w].index]
        ]  # fmt: skip
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


def access_matters(cand: Candidates) -> bool:
    """Whether stack access could forbid anything: a heavy tier above another."""
    garden = cand.garden
    if garden.limits.lift_kg is None or all(len(c.tiers) < 2 for c in garden.columns):
        return False
    table = cand.table
    heavy = (table["heavy_until"] > table["transplant"]).any()
    return bool(heavy) or any(v.mass_kg > garden.limits.lift_kg for v in garden.vessels.values())


@dataclass
class Season:
    """The work of one call of `solve`, kept so that its parts can be looked at."""

    cand: Candidates
    windows: list[Windows]
    plan: Plan
    by_hand: Plan | None = None
    relaxed: Answer | None = None
    log: list[str] = field(default_factory=list)


def solve(
    garden: Garden,
    settings: Settings | None = None,
    report: Report | None = None,
    stop: threading.Event | None = None,
) -> Season:
    """Plan ``garden``'s season.

    Raises
    ------
    NoPlan
        No crop can grow in any tier; the message says why.
    """
    settings = settings or Settings()
    began = time.monotonic()
    cand, windows = build(garden)
    if not len(cand):
        raise NoPlan(no_candidates_text(garden, windows))
    log.info("%d candidates in %.2f s", len(cand), time.monotonic() - began)
    tiers = by_tier(cand)
    hand = ByHand(tiers).run()
    ahead = ByHand(tiers, forward=True).run()
    by_hand_plan = _plan(garden, cand, stands(tiers, hand), settings, [])
    first = _plan(garden, cand, stands(tiers, ahead), settings, [])
    best = ahead if _worth(garden, first) >= _worth(garden, by_hand_plan) else hand
    if report:
        worth = max(_worth(garden, first), _worth(garden, by_hand_plan))
        report(Progress("first plan", time.monotonic() - began, worth,
                        assemble.wish_total(garden)))  # fmt: skip
    solver = _Stages(garden, cand, tiers, best, settings, report, stop, began)
    plan = solver.run()
    total = max(assemble.wish_total(garden), 1.0)
    plan = replace(plan, by_hand={
        "produce": _worth(garden, by_hand_plan), "share": _worth(garden, by_hand_plan) / total,
    })  # fmt: skip
    return Season(cand, windows, plan, by_hand_plan, solver.relaxed)


class _Stages:
    """The stages of one solve."""

    def __init__(
        self, garden: Garden, cand: Candidates, tiers: Problem, first: list[Choice],
        settings: Settings, report: Report | None, stop: threading.Event | None, began: float,
    ) -> None:  # fmt: skip
        self.garden, self.cand, self.tiers = garden, cand, tiers
        self.first, self.settings, self.report, self.stop = first, settings, report, stop
        self.began = began
        self.relaxed: Answer | None = None
        self.ceiling = assemble.wish_total(garden) * objective.WEIGHT_SCALE
        self.stages: list[Stage] = []

    def left(self) -> float:
        return self.settings.time_limit - (time.monotonic() - self.began)

    def run(self) -> Plan:
        access = access_matters(self.cand)
        if access:
            pool = build_model(pooled(self.cand), access=False)
            pool.model.maximize(pool.produce.value())
            share = self.left() * 0.25
            self.relaxed = self._solve(pool, "relaxed", share, self.settings.gap / 4)
            if self.relaxed.bound is not None:
                self.ceiling = min(self.ceiling, self.relaxed.bound)
            problem, choices = self.tiers, self.first
        else:
            problem = pooled(self.cand)
            choices = None
        built = build_model(problem, access)
        if choices is not None:
            hint_all(built.model, complete(built, choices))
        return self._stages(built)

    def _solve(
        self, built: Built, stage: str, seconds: float, gap: float
    ) -> Answer:
        return run(built.model, stage, self.settings, seconds, self.report, gap=gap,
                   stop=self.stop)  # fmt: skip

    def _stages(self, built: Built) -> Plan:
        model, settings = built.model, self.settings
        expression = built.produce.value()
        model.maximize(expression)
        goal = self.ceiling * (1 - settings.gap)
        answer = run(model, objective.PRODUCE, settings, self.left() * 0.75, self.report,
                     goal=lambda value: value >= goal, gap=settings.gap, stop=self.stop)  # fmt: skip
        if not answer.found:
            raise NoPlan("no plan found")
        assert answer.bound is not None
        assert answer.value is not None
        values = answer.values
        bound = min(self.ceiling, answer.bound)
        self._record(objective.PRODUCE, answer.value / 10, bound / 10, answer.seconds)
        model.add(expression >= math.ceil(answer.value - 0.5))
        for name, least in (
            (objective.EVENNESS, built.produce.unevenness(model)),
            (objective.EFFORT, objective.effort(model, built.v)),
        ):
            if self.left() < 0.5 or (self.stop is not None and self.stop.is_set()):
                break
            model.minimize(least)
            hint_all(model, values)
            share = self.left() * (0.5 if name == objective.EVENNESS else 0.9)
            later = run(model, name, settings, share, self.report, gap=0.01, stop=self.stop)
            if not later.found:
                break
            values = later.values
            assert later.value is not None
            self._record(name, later.value, later.bound, later.seconds)
            model.add(least <= math.floor(later.value + 0.5))
        made = stands(built.v.problem, read_choices(built, values))
        return _plan(self.garden, self.cand, made, settings, self.stages)

    def _record(self, name: str, value: float, bound: float | None, seconds: float) -> None:
        self.stages.append(Stage(name, _status(value, bound, self.settings.gap), value, bound,
                                 round(seconds, 3)))  # fmt: skip


def _status(value: float, bound: float | None, gap: float) -> str:
    if bound is None:
        return BEST_FOUND
    if abs(value - bound) < 1e-6 * max(1.0, abs(value)) or abs(value - bound) < 0.05:
        return PROVEN
    if abs(value - bound) <= gap * max(abs(value), abs(bound)):
        return WITHIN_GAP
    return BEST_FOUND


def _worth(garden: Garden, plan: Plan) -> float:
    return assemble.produce_value(garden, assemble.serve(garden, plan.batches))


def _plan(
    garden: Garden, cand: Candidates, made: list[Stand], settings: Settings, stages: list[Stage]
) -> Plan:
    """A plan, its stage values recomputed from its batches."""
    batches: tuple[Batch, ...] = assemble.batches(cand, made)
    table = assemble.serve(garden, batches)
    values = {
        objective.PRODUCE: assemble.produce_value(garden, table),
        objective.EVENNESS: assemble.evenness_value(table),
        objective.EFFORT: assemble.effort_value(batches),
    }
    known = {s.name: s for s in stages}
    final = []
    for name, value in values.items():
        stage = known.get(name)
        bound = stage.bound if stage else None
        final.append(Stage(name, _status(value, bound, settings.gap), value, bound,
                           stage.seconds if stage else 0.0))  # fmt: skip
    return Plan(
        status=final[0].status, stages=tuple(final), start=garden.season.start,
        end=garden.season.end, batches=batches, unmet=table.unmet(), seed=settings.seed,
        versions={name: version(name) for name in ("ortools", "numpy", "pandas")},
        garden=garden.name,
    )  # fmt: skip


def no_candidates_text(garden: Garden, windows: list[Windows]) -> str:
    """Why nothing can grow, in the grower's words: the commonest reason for each crop."""
    lines = ["no crop can grow in any tier this season:"]
    for name in garden.crops:
        reasons = np.concatenate(
            [w.reason for w in windows if w.crop == name] or [np.zeros(0, object)]
        )
        if len(reasons):
            found, count = np.unique(reasons.astype(str), return_counts=True)
            lines.append(f"  {name}: {found[count.argmax()]} ({count.max()} of {len(reasons)} days)")
    if len(lines) == 1:
        lines.append("  there is no work day, no tier or no crop")
    return "\n".join(lines)


__all__ = ["Committed", "Season", "Settings", "solve"]
