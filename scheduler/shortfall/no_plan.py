"""Where no plan exists: which rules stand against it, and the smallest changes that give one.

Kinds of change are tried step by step (one day less in hand, two, ...) until a plan is found for
the changed garden and checked; the first that is found is the smallest of its kind.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from scheduler.base.faults import NoPlan, OutOfTime
from scheduler.batches.candidates import Candidates, build
from scheduler.garden.model import Garden
from scheduler.garden.season_weather import WeatherOf
from scheduler.garden.weekly import wish
from scheduler.model.build import stands
from scheduler.plans import rules as rules
from scheduler.plans.model import PROVEN, Plan
from scheduler.risk.limit import RiskLimit
from scheduler.schedule.assemble import wish_total
from scheduler.schedule.problem import by_tier
from scheduler.search.solve import make_plan
from scheduler.search.warm_start import by_simple_rules
from scheduler.shortfall import changed_garden, eased_rules
from scheduler.shortfall.reach import against, reach
from scheduler.shortfall.relaxation import Relaxation
from scheduler.shortfall.relaxations import LIGHT, WARMER, without_rule
from scheduler.shortfall.said import lines_of
from scheduler.shortfall.solve_again import Task, linear_bound, solve_again
from scheduler.shortfall.text import reach_text
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify
from scheduler.words.units import share
from scheduler.words.words import Units

MOST_WEEKS = 8  # by which a season is made longer
SECONDS = 20.0  # for finding changes that help
A_TRY = 2.0  # seconds of search, where no rule of thumb finds anything


@dataclass(frozen=True)
class Remedy:
    """A change that gives a plan, and what share of the wish the plan found meets."""

    relaxation: Relaxation
    share: float


def refuse_empty(
    garden: Garden,
    plan: Plan,
    weather: WeatherOf | None = None,
    limit: RiskLimit | None = None,
    stop: threading.Event | None = None,
) -> None:
    """Refuse a plan that gives nothing of what is wished.

    Parameters
    ----------
    limit : the risk that the plan was made within; stop : told to stop, no remedy is sought.

    Raises
    ------
    NoPlan
        It is proven that none gives anything; with the reasons and the smallest changes.
    OutOfTime
        None was found in the time.
    """
    if plan.stages[0].value > 0 or wish_total(garden) <= 0:
        return
    if plan.stages[0].status != PROVEN and not _hopeless(garden, limit):
        raise OutOfTime(
            "no plan was found in the time, nor a proof that there is none; give more time, or ask "
            "dryline windows what can grow"
        )
    raise NoPlan("\n".join(explained(garden, weather, limit=limit, stop=stop)))


def _hopeless(garden: Garden, limit: RiskLimit | None) -> bool:
    """Whether no batch for any wish fits the nursery: then no search is needed to tell."""
    cand = _possible(garden, limit)
    return not len(cand) or _fewest_cells(cand) > garden.nursery.cells


def explained(
    garden: Garden,
    weather: WeatherOf | None = None,
    seconds: float | None = None,
    limit: RiskLimit | None = None,
    stop: threading.Event | None = None,
) -> list[str]:
    """Why no plan exists and what would give one, in lines of at most 79 characters.

    With a risk to plan within, only batches within it count, in the changed gardens too.
    """
    seconds = SECONDS if seconds is None else seconds
    until = time.monotonic() + (0 if stop is not None and stop.is_set() else seconds)
    return [*reasons(garden, limit), *remedy_lines(garden, weather, until, limit)]


def reasons(garden: Garden, limit: RiskLimit | None = None) -> list[str]:
    """Which rules stand against any plan, by how much."""
    cand = _possible(garden, limit)
    if not len(cand):
        out = ["no crop can grow in any tier this season:"]
        stands_against = against(garden, tuple(garden.crops), Units(garden.units))
        for name, text in stands_against.items():
            out += lines_of(f"{name}: {text}", "  ", "      ")
        if len(out) == 1:
            out.append("  there is no work day, no tier or no crop")
        return out
    out = ["no plan gives anything of what is wished:"]
    groups = {group for (group, _), grams in wish(garden).items() if grams > 0}
    able = [r for r in reach(cand) if r.group in groups]
    for r in able:
        if r.grams:
            out += lines_of(reach_text(garden, r), "  ", "      ")
    nowhere = [
        n
        for d in garden.demands
        if d.group in groups
        for n in d.crops
        if not any(n in r.crops for r in able)
    ]
    for name, text in against(garden, nowhere, Units(garden.units)).items():
        out += lines_of(f"{name}: {text}", "  ", "      ")
    need = _fewest_cells(cand)
    if need > garden.nursery.cells:
        out += lines_of(
            f"{rules.NURSERY.name}: every batch that could be picked needs at least {need}; there "
            f"are {garden.nursery.cells}",
            "  ",
            "      ",
        )
    if len(out) == 1:
        out.append("  its rules together leave no room for a single batch")
    return out


def _possible(garden: Garden, limit: RiskLimit | None) -> Candidates:
    """The candidates of a garden, those within the risk if there is one to keep within."""
    cand, _ = build(garden)
    return limit.of(garden).kept_of(cand) if limit is not None and len(cand) else cand


def remedy_lines(
    garden: Garden, weather: WeatherOf | None, until: float, limit: RiskLimit | None = None
) -> list[str]:
    """The smallest change of each kind that gives a plan."""
    found, tried, over = remedies(garden, weather, until, limit)
    if found:
        out = ["the smallest change of each kind that gives a plan (found and checked):"]
        for r in found:
            part = "under 0.1 %" if r.share < 0.001 else share(r.share)
            out += lines_of(f"{r.relaxation.text}: {part} of the wish or more", "  ", "      ")
    elif tried:
        out = lines_of(
            f"no single change of those tried gives a plan: {', '.join(tried)}", "", "  "
        )
    else:
        out = []
    if over:
        out += lines_of("there was no time to try every change", "  ", "  ")
    return out


def remedies(
    garden: Garden, weather: WeatherOf | None, until: float, limit: RiskLimit | None = None
) -> tuple[list[Remedy], list[str], bool]:
    """Changes that give a plan, kinds of change tried, and whether time ran out [monotonic s]."""
    found: list[Remedy] = []
    tried: list[str] = []

    def attempt(r: Relaxation) -> Plan | None:
        return plan_of(r.garden, limit)

    for kind, steps in ladders(garden, weather, limit):
        if time.monotonic() > until:
            return found, tried, True
        got = first_that_works(steps, attempt, until)
        tried.append(kind)
        if got is not None:
            changed, plan = got
            part = plan.stages[0].value / max(wish_total(changed.garden), 1.0)
            found.append(Remedy(changed, part))
    return found, tried, time.monotonic() > until


def first_that_works(
    steps: Iterable[Relaxation], attempt: Callable[[Relaxation], Plan | None], until: float
) -> tuple[Relaxation, Plan] | None:
    """The first change for which a plan is found, with that plan; none once time is over.

    Also for a season under way: ``attempt`` may be any search in the changed garden.
    """
    for changed in steps:
        if time.monotonic() > until:
            return None
        plan = attempt(changed)
        if plan is not None:
            return changed, plan
    return None


def plan_of(garden: Garden, limit: RiskLimit | None = None) -> Plan | None:
    """A plan of a garden that meets some of the wish and keeps every rule, or None.

    By rules of thumb, and if they find nothing by a short search.
    """
    cand = _possible(garden, limit)
    if not len(cand) or _fewest_cells(cand) > garden.nursery.cells:
        return None
    problem = by_tier(cand)
    settings = Settings(time_limit=A_TRY, workers=1)
    for choices in by_simple_rules(problem):
        plan = make_plan(garden, cand, stands(problem, choices), settings)
        if plan.stages[0].value > 0 and verify(garden, plan).ok:
            return plan
    if limit is not None:  # the search below would take what is beyond the risk
        return None
    task = Task(garden, garden, (), settings)
    if linear_bound(task) == 0:
        return None
    solved = solve_again(task)
    return solved.plan if solved.plan is not None and solved.value > 0 else None


def _fewest_cells(cand: Candidates) -> int:
    """The fewest nursery cells that a batch for some wish takes; 0 if nothing is wished."""
    kept = by_tier(cand).row_of
    return int(cand.table["cells"].to_numpy(dtype=int)[kept].min()) if len(kept) else 0


def ladders(
    garden: Garden, weather: WeatherOf | None, limit: RiskLimit | None = None
) -> Iterator[tuple[str, Iterator[Relaxation]]]:
    """Kinds of change, each step by step from the smallest; the quickest to try come first."""
    limits = garden.limits
    cand = _possible(garden, limit)
    lacking = _fewest_cells(cand) - garden.nursery.cells if len(cand) else 0
    if lacking > 0:
        yield "nursery cells", iter([eased_rules.cells(garden, lacking)])
    if limits.dry_margin_days:
        yield (
            "days in hand before dry",
            (eased_rules.margin(garden, n) for n in range(limits.dry_margin_days - 1, -1, -1)),
        )
    if any(t.light < 1 for c in garden.columns for t in c.tiers):
        darkest = min(t.light for c in garden.columns for t in c.tiers)
        yield (
            "light",
            (
                r
                for k in range(1, 11)
                if darkest + (k - 1) * LIGHT < 1
                for r in changed_garden.brighter(garden, round(k * LIGHT, 6), every=True)
            ),
        )
    most = max((t.plants for c in garden.columns for t in c.tiers), default=1)
    if most > 1:
        yield "plants in a tier", (changed_garden.fewer_plants(garden, n) for n in range(1, most))
    yield (
        "larger vessels",
        (changed_garden.larger_vessels(garden, k) for k in (1.25, 1.5, 2.0, 3.0, 4.0)),
    )
    if len(garden.season.work_days) < 7:
        yield (
            "work days",
            iter(
                [
                    *eased_rules.further_work_day(garden),
                    *(r for r in without_rule(garden) if r.rule == rules.WORK_DAYS.name),
                ]
            ),
        )
    if garden.season.picks_apart:
        yield (
            "pick days",
            iter(
                [
                    *eased_rules.further_pick_day(garden),
                    *(r for r in without_rule(garden) if r.rule == rules.PICK_DAYS.name),
                ]
            ),
        )
    if garden.season.away:
        yield "time away", eased_rules.away_given_up(garden)
    for part, name in (("earlier", "an earlier season"), ("later", "a later end")):
        yield (
            name,
            (
                r
                for weeks in range(1, MOST_WEEKS + 1)
                for r in changed_garden.longer(garden, weeks, weather)
                if r.family == part
            ),
        )
    yield (
        "a warmer nursery",
        (r for k in range(1, 4) for r in changed_garden.warmer_nursery(garden, k * WARMER)),
    )
    if any(t.available for c in garden.columns for t in c.tiers):
        yield (
            "tiers all season",
            (r for r in without_rule(garden) if r.rule == rules.AVAILABLE.name),
        )
    yield "other crops", changed_garden.further_crops(garden)
