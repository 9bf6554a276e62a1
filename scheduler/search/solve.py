"""Plan a season: candidates, a schedule by hand, bounds from a relaxation, stages of improvement.

1. Two schedules are made by rules of thumb, as a grower would: the worst that is ever returned.
2. Alike tiers are pooled, stack access and whole numbers are left out. That is a relaxation of
   the full problem: its bound holds for every plan.
3. Stage by stage (produce, evenness, effort) the schedule is made better: a small garden by one
   model of the whole season, which can prove its answer; a larger one window by window
   (`scheduler.search.improve`), most of which offer only what is cheap in the relaxation
   (`search.priced_window`), and where that is not too large by the whole model when windows bring
   nothing more. Each stage is locked before the next begins, each with its own bound.
4. Where tiers times work days are many what a column does all season is chosen as a whole first
   (`scheduler.search.columns`); in the largest gardens nothing else is done.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from scheduler.base.faults import NoPlan
from scheduler.batches.candidates import Candidates, Windows, build
from scheduler.garden.model import Garden
from scheduler.model import objective
from scheduler.model.build import Built, build_model, read_choices, stands
from scheduler.model.linear import meets
from scheduler.plans.model import BEST_FOUND, PROVEN, WITHIN_GAP, Batch, Plan, Stage
from scheduler.schedule import assemble
from scheduler.schedule import value as worth
from scheduler.schedule.assemble import Stand
from scheduler.schedule.problem import Choice, Problem, pooled
from scheduler.schedule.stages import EFFORT, EVENNESS, PRODUCE, whole_weights
from scheduler.search.by_hand import ByHand
from scheduler.search.columns.stages import NAMES, PATIENCE, plan_columns
from scheduler.search.fixed_first import fixed_alone, most_of
from scheduler.search.goal import ENOUGH, SHARES, Expression, Goal, Incumbent, Worth
from scheduler.search.improve import Improver
from scheduler.search.layouts import (
    access_matters,
    by_tier_size,
    choices_of,
    laid_out,
    worth_of,
)
from scheduler.search.lifting import lifts_least
from scheduler.search.living.first import lived_at_first
from scheduler.search.stage import SMALL, StageSearch
from scheduler.search.tidy import cleared_soon
from scheduler.solvers.cp_sat import (
    CANDIDATES,
    CHECKING,
    SEARCH,
    Load,
    Progress,
    Report,
    Settings,
    versions,
)

log = logging.getLogger(__name__)

LARGE = 200_000  # decisions, tier by tier, beyond which whole columns are planned first
HUGE = 1_500_000  # and beyond which nothing else is done
# Tiers times work days beyond which they are planned first too, where stack access counts: that
# is what windows have to go over, and over so much of it whole columns get sooner.
AREA = 2_500
FIRST = (0.3, 0.5)  # share of the time after which each rule of thumb begins nothing more,
LEAST = 8.0  # and of how long at least [s], as a first plan there must be
COLUMNS = 0.4  # share of the time for whole columns in between
FEW = 2  # tries without gain that end them where columns are few: windows then gain more


@dataclass
class Season:
    """The work of one call of `solve`, kept so that its parts can be looked at.

    ``by_hand`` is the better of the plans that rules of thumb make; None for a large garden, and
    where a batch is fixed or crops are to be mixed.
    ``stands``: the plan's batches as candidates in tiers.
    ``seconds``: how long the candidates and the search took, and to work out the plan's levels and
    dates. ``busy``: that the machine had too little room for it, in a sentence; empty if it had.
    """

    cand: Candidates
    windows: list[Windows]
    plan: Plan
    by_hand: Plan | None
    seconds: dict[str, float] = field(default_factory=dict)
    busy: str = ""
    stands: Sequence[Stand] = ()


@dataclass
class Outcome:
    """What `optimise` found: the choices, and the stages in order."""

    choices: list[Choice]
    stages: list[Stage]


def solve(
    garden: Garden,
    settings: Settings | None = None,
    report: Report | None = None,
    stop: threading.Event | None = None,
    admit: Callable[[Candidates], Candidates] | None = None,
) -> Season:
    """Plan ``garden``'s season.

    Parameters
    ----------
    settings : limits of the search; report : called on progress; stop : ends the search, and the
        best plan so far is returned.
    admit : picks the candidates that may be used, where not all of them may (weather risk).

    Raises
    ------
    NoPlan
        No crop can grow in any tier; the message says why.
    """
    settings = settings or Settings()
    began = time.monotonic()
    load = Load(settings.workers)
    cand, windows = build(garden)
    if not len(cand):
        raise NoPlan(no_candidates_text(garden, windows))
    if admit is not None:
        cand = admit(cand)
    ready = time.monotonic()
    log.info("%d candidates in %.2f s", len(cand), ready - began)
    pool = pooled(cand)
    # Of a very large garden even the rules of thumb take long: half of the time is theirs.
    timed = settings.deterministic is None
    until = [ready + max(settings.time_limit, LEAST) * s if timed else None for s in FIRST]
    both_rules: list[ByHand] = []
    if garden.fixed:  # rules of thumb know no batch that is fixed
        own, access = laid_out(cand, pool)
        alone = fixed_alone(own, access, settings.seed)
        best, by_rule = stands(own, alone), worth_of(own, alone)
    else:
        both_rules = [ByHand(pool, forward=True, until=until[0]), ByHand(pool, until=until[1])]
        values = [worth_of(pool, rule.run()) for rule in both_rules]
        by_rule, hand = max(values), both_rules[values.index(max(values))]
        best = hand.stands
    willed = bool(garden.fixed) or pool.mixed is not None
    if willed and not garden.fixed:  # nor how crops are to be mixed
        own, access = laid_out(cand, pool)
        some = most_of(own, access, choices_of(own, best), settings.seed)
        best, by_rule = stands(own, some), worth_of(own, some)
    total = max(assemble.wish_total(garden), 1.0)
    size = by_tier_size(cand)
    if size > SMALL and not willed:
        best = lived_at_first(cand, best, settings, stop)
    if report is not None:
        report(
            Progress(
                "settled" if willed else "first plan", time.monotonic() - began, by_rule, total
            )
        )
    known: dict[str, float | None] = {}
    large = size > LARGE and not willed  # whole columns know none of it either
    # Whole columns come quickly near to the best, single tiers then nearer: where those are not
    # too many, they get most of the time.
    area = len(pool.days) * sum(kind.count for kind in cand.kinds)
    both = settings.deterministic is None and size <= HUGE
    both = both and not willed and (large or (area > AREA and access_matters(cand)))
    if large or both:
        limited = replace(settings, time_limit=settings.time_limit * COLUMNS) if both else settings
        names = (PRODUCE,) if both else NAMES
        made = plan_columns(
            cand, limited, report, stop, began, status, best, names, PATIENCE if large else FEW
        )
        best, stages = made.stands, made.stages
        known = {s.name: s.bound for s in stages}
    if not large or both:
        # Where nothing tells alike tiers apart they stay pooled: far fewer decisions.
        problem, _ = laid_out(cand, pool)
        found = optimise(
            problem,
            choices_of(problem, best),
            settings,
            report,
            stop,
            began=began,
            known=known,
            seek=not large,
        )
        best, stages = stands(problem, found.choices), found.stages
    seconds = settings.time_limit if settings.deterministic is None else None
    best = cleared_soon(cand, best) if large else lifts_least(pool, best, seconds, stop)
    found_at = time.monotonic()
    plan = make_plan(garden, cand, best, settings, stages)
    simple = not large and not willed
    simple_plan = make_plan(garden, cand, hand.stands, settings) if simple else None
    value = by_rule if simple_plan is None else simple_plan.stages[0].value
    if (
        both_rules and not willed and not any(rule.cut for rule in both_rules)
    ):  # what ran out of time is no rival
        plan = replace(plan, by_hand={"rule": hand.rule, "produce": value, "share": value / total})
    took = {
        CANDIDATES: ready - began,
        SEARCH: found_at - ready,
        CHECKING: time.monotonic() - found_at,
    }
    return Season(cand, windows, plan, simple_plan, took, load.sentence(), best)


def optimise(
    problem: Problem,
    first: Sequence[Choice],
    settings: Settings,
    report: Report | None = None,
    stop: threading.Event | None = None,
    began: float | None = None,
    known: Mapping[str, float | None] | None = None,
    seek: bool = True,
) -> Outcome:
    """Improve a feasible schedule stage by stage.

    Parameters
    ----------
    problem : laid out by tier; first : choices that keep every rule.
    began : when the time limit started to run [s, monotonic clock]; default: now.
    known : bounds by name of the stage, where they were sought already; seek : whether others are.
    """
    began = time.monotonic() if began is None else began
    access = access_matters(problem.cand)
    scale, _ = whole_weights(problem.supply.weights)

    def valued(name: str) -> Worth:
        return lambda made: worth.worth(problem, name, made, access)

    goals = [
        Goal(PRODUCE, lambda b: b.produce.value(), True, scale, worth=valued(PRODUCE)),
        Goal(EVENNESS, lambda b: b.produce.unevenness(b.model), False, worth=valued(EVENNESS)),
        Goal(EFFORT, lambda b: objective.effort(b.model, b.v), False, worth=valued(EFFORT)),
    ]
    improver = Improver(problem, access, settings, stop, some_columns=True)
    choices, stages = list(first), []
    locks: list[tuple[Expression, bool, int]] = []
    checks: list[tuple[Worth, bool, int]] = []
    for goal in goals:
        start = time.monotonic()
        goal = replace(goal, locks=tuple(locks), checks=tuple(checks))
        left = settings.time_limit - (start - began)
        gap = settings.gap if goal.name == PRODUCE else ENOUGH
        search = StageSearch(problem, access, goal, settings, improver, report, stop, gap)
        bound = (known or {}).get(goal.name)
        search.bound, search.seek = None if bound is None else bound * goal.scale, seek
        value = worth.worth(problem, goal.name, choices, access)
        best, bound = search.run(Incumbent(choices, value), left * SHARES[goal.name])
        choices = best.choices
        locks.append((goal.expression, goal.maximise, round(best.value)))
        if goal.worth is not None:
            checks.append((goal.worth, goal.maximise, round(best.value)))
        # Days to sow and to pick on are not all offered: what is best for produce is, but a day
        # with work already may be one of the others. So no bound of the effort is claimed.
        shown = None if bound is None or goal.name == EFFORT else bound / goal.scale
        stages.append(
            Stage(
                goal.name,
                status(best.value / goal.scale, shown, gap),
                best.value / goal.scale,
                shown,
                round(time.monotonic() - start, 3),
            )
        )
    # A later stage may come upon a schedule that is better in an earlier one too.
    final = []
    for goal, stage in zip(goals, stages, strict=True):
        value = worth.worth(problem, goal.name, choices, access) / goal.scale
        gap = settings.gap if goal.name == PRODUCE else ENOUGH
        final.append(replace(stage, value=value, status=status(value, stage.bound, gap)))
    return Outcome(choices, final)


def status(value: float, bound: float | None, gap: float) -> str:
    """The name of an answer with this value and proven bound."""
    if bound is None:
        return BEST_FOUND
    if meets(value, bound):
        return PROVEN
    if abs(value - bound) <= gap * max(abs(value), abs(bound)):
        return WITHIN_GAP
    return BEST_FOUND


def make_plan(
    garden: Garden,
    cand: Candidates,
    made: Sequence[Stand],
    settings: Settings,
    stages: Sequence[Stage] = (),
) -> Plan:
    """A plan, its stage values recomputed from its batches."""
    batches: tuple[Batch, ...] = assemble.batches(cand, made)
    table = assemble.serve(garden, batches)
    values = {
        PRODUCE: assemble.produce_value(garden, table),
        EVENNESS: assemble.evenness_value(table),
        EFFORT: assemble.effort_value(batches),
    }
    known = {s.name: s for s in stages}
    final = []
    for name, value in values.items():
        stage = known.pop(name, None)
        bound = stage.bound if stage else None
        gap = settings.gap if name == PRODUCE else ENOUGH
        final.append(
            Stage(name, status(value, bound, gap), value, bound, stage.seconds if stage else 0.0)
        )
    return Plan(
        status=final[0].status,
        stages=(*final, *known.values()),
        start=garden.season.start,
        end=garden.season.end,
        batches=batches,
        unmet=table.unmet(),
        seed=settings.seed,
        versions=versions(),
        garden=garden.name,
        gap=settings.gap,
    )


def no_candidates_text(garden: Garden, windows: Sequence[Windows]) -> str:
    """Why nothing can grow, in the grower's words: the commonest reason for each crop."""
    lines = ["no crop can grow in any tier this season:"]
    for name in garden.crops:
        reasons = np.concatenate(
            [w.reason for w in windows if w.crop == name] or [np.zeros(0, object)]
        )
        if len(reasons):
            found, count = np.unique(reasons.astype(str), return_counts=True)
            most = count.argmax()
            lines.append(f"  {name}: {found[most]} ({count[most]} of {len(reasons)} days)")
    if len(lines) == 1:
        lines.append("  there is no work day, no tier or no crop")
    return "\n".join(lines)


__all__ = [
    "Built",
    "Outcome",
    "Season",
    "Settings",
    "build_model",
    "make_plan",
    "optimise",
    "read_choices",
    "solve",
]
