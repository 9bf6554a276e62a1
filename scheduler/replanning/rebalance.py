"""Plan again from what really happened."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from scheduler.base.faults import NoPlan
from scheduler.batches.courses import NEVER
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.log.amounts import PICKED
from scheduler.log.model import Log
from scheduler.log.state import DISEASE_REST_DAYS, State, state_on
from scheduler.plans.model import FAILED, PLANNED, SOWN, Batch, Pick, Plan, Stage
from scheduler.replanning.baseline import Kept, Taken, go_on_as_planned
from scheduler.replanning.best_way import best_way
from scheduler.replanning.commitments import Commitments
from scheduler.replanning.diff import Diff, diff
from scheduler.replanning.layout import is_kept
from scheduler.replanning.measured import course_of
from scheduler.replanning.remarks import remarks
from scheduler.replanning.replaced import MOVED_DAYS
from scheduler.replanning.search import Found, search
from scheduler.replanning.slip import died, slipping
from scheduler.replanning.take_stock import commitments_of
from scheduler.replanning.ways_on import finished
from scheduler.schedule import assemble
from scheduler.schedule.stages import CHANGES, EFFORT, EVENNESS, PRODUCE
from scheduler.search.goal import ENOUGH
from scheduler.search.solve import status
from scheduler.solvers.cp_sat import Report, Settings, versions

if TYPE_CHECKING:
    from scheduler.batches.candidates import Candidates
    from scheduler.replanning.by_living import Ahead
    from scheduler.risk.limit import RiskLimit

# Shares of the time: for the courses to expect, and at least for living what was found for them.
SEARCHING, LEAST_LIVING = 0.4, 0.4
CHANGE_GRAMS = 25.0  # what one change must bring at least; the grower's number


@dataclass(frozen=True)
class Rebalanced:
    """The outcome.

    Attributes
    ----------
    plan : from the day on; state : on that day; diff : against the plan before.
    remarks : what was assumed, corrected, refused; what must be decided soon.
    searched : False where everything could go on as planned.
    stay : in the years ahead the old plan without what is lost, let slip, brings as much.
    """

    plan: Plan
    state: State
    diff: Diff
    commitments: Commitments
    remarks: tuple[str, ...]
    searched: bool
    stay: bool = False


def rebalance(
    garden: Garden,
    plan: Plan,
    log: Log,
    on: date,
    settings: Settings | None = None,
    freeze: int = 0,
    change_grams: float = CHANGE_GRAMS,
    complete: bool = False,
    rest_days: int = DISEASE_REST_DAYS,
    report: Report | None = None,
    stop: threading.Event | None = None,
    risk: RiskLimit | None = None,
    ahead: Ahead | None = None,
    anyway: bool = False,
) -> Rebalanced:
    """Plan again from the morning of ``on``.

    Parameters
    ----------
    garden : with the weather as it is known now.
    freeze : days from ``on`` in which nothing planned changes, unless it cannot be done.
    change_grams : weighted grams one change must bring, times 1 to 4 by nearness.
    complete : the log tells everything; see `scheduler.log.state`.
    risk : of running dry, within which to plant; None: the weather as expected.
    ahead : the years ahead. What was found is made better by living it in them; of that, of what
        it began with, and of the plan as far as it goes on and shifted the one that brings most is
        kept, each change at its price. None: what the search found for the courses to expect.
    anyway : search even where all can go on as planned.

    Raises
    ------
    BadInput
        ``on`` outside the season, or entries that cannot be.
    NoPlan
        What stands cannot be brought to an end within the garden's rules.
    """
    began = time.monotonic()
    state = state_on(garden, plan, log, on, complete, rest_days)
    # Picks of the day itself that are logged are facts as well: the plan begins after them.
    picked = any(e.what == PICKED and e.date == on for e in log.entries)
    return go_on(
        garden,
        plan,
        state,
        settings or Settings(time_limit=10.0),
        freeze,
        change_grams,
        report,
        stop,
        risk,
        tell=complete,
        as_of=on + ONE_DAY if picked else on,
        began=began,
        ahead=ahead,
        anyway=anyway,
    )


def go_on(
    garden: Garden,
    plan: Plan,
    state: State,
    settings: Settings,
    freeze: int = 0,
    change_grams: float = CHANGE_GRAMS,
    report: Report | None = None,
    stop: threading.Event | None = None,
    risk: RiskLimit | None = None,
    tell: bool = False,
    as_of: date | None = None,
    began: float | None = None,
    admit: Callable[[Candidates], Candidates] | None = None,
    ahead: Ahead | None = None,
    anyway: bool = False,
) -> Rebalanced:
    """Plan again from a state; see `rebalance`.

    ``tell``: the log was complete; ``as_of``: day from which on nothing has happened yet, the
    state's own unless given; ``admit`` leaves out of what could
    be planted; ``began``: when the time limit started to run [s, monotonic clock].
    """
    began = time.monotonic() if began is None else began
    commitments = commitments_of(garden, plan, state, freeze, risk=risk, admit=admit)
    kept = go_on_as_planned(commitments)
    as_planned = (
        not anyway
        and not died(plan, state)
        and kept.whole
        and not commitments.gone
        and all(is_kept(item, kept.taken.get(n)) for n, item in enumerate(commitments.items))
    )
    stay = False
    if as_planned:
        found = Found(dict(kept.taken))
    else:
        try:
            part = settings.time_limit * (1.0 if ahead is None else SEARCHING)
            mine = replace(settings, time_limit=part)
            found = search(commitments, kept, mine, change_grams, report, stop, began)
        except NoPlan:  # more is due than can be done: what grows may be given up as well
            commitments = commitments_of(
                garden, plan, state, freeze, last_resort=True, risk=risk, admit=admit
            )
            kept = go_on_as_planned(commitments)
            more = replace(settings, time_limit=2 * settings.time_limit)
            found = search(commitments, kept, more, change_grams, report, stop, began)

        def batches(way: Found) -> tuple[Batch, ...]:
            return _batches(garden, plan, commitments, way)

        def moved(way: Found) -> dict[int, str]:
            return _moved(commitments, way)

        left = settings.time_limit - (time.monotonic() - began)
        mine = replace(settings, time_limit=max(left, LEAST_LIVING * settings.time_limit))
        found, stay = best_way(
            commitments,
            kept,
            found,
            batches,
            moved,
            slipping(state, commitments),
            mine,
            change_grams,
            ahead,
            report,
            stop,
        )
    made = _batches(garden, plan, commitments, found)
    reasons = _reasons(commitments, kept, found)
    changed = _changed(commitments, found)
    new = _plan(garden, plan, made, found, settings, as_of or state.on, as_planned, changed)
    new = replace(new, risk=None if risk is None else risk.taken)
    return Rebalanced(
        new,
        state,
        diff(garden, plan, new, reasons),
        commitments,
        tuple(remarks(commitments, state, tell, () if as_planned else made)),
        not as_planned,
        stay,
    )


def _changed(commitments: Commitments, found: Found) -> int:
    """What is changed of what the grower knows: the nearer, the more."""
    return sum(
        item.weight
        for n, item in enumerate(commitments.items)
        if not is_kept(item, found.taken.get(n))
    )


def made_of(
    garden: Garden, plan: Plan, commitments: Commitments, found: Found | Kept
) -> tuple[Batch, ...]:
    """The batches of a season that is gone on with as found, or as ``kept`` by who only drops."""
    if isinstance(found, Kept):
        mine = {n: t for n, t in found.taken.items() if t.option.row >= commitments.free}
        found = Found(mine, [t for n, t in found.taken.items() if n not in mine])
    return _batches(garden, plan, commitments, found)


def _batches(
    garden: Garden, plan: Plan, commitments: Commitments, found: Found
) -> tuple[Batch, ...]:
    known = {b.id: b for b in plan.batches}
    out = []
    for batch in commitments.ended:
        old = known.get(batch.id)
        if old is None or replace(batch, state=old.state) != old:
            batch = _past(garden, batch)
        out.append(batch)
    for taken in found.taken.values():
        row = taken.option.row
        clear = garden.season.date(taken.clear)
        variant = commitments.variants.get(row)
        if variant is not None:
            made = finished(garden, variant.batch, clear)
        else:
            sown = commitments.seedling_of[row]
            made = replace(
                batch_of_row(commitments, taken, sown.id, SOWN),
                sow=sown.sow,
                seeds=sown.seeds,
                cells=sown.cells,
            )
        out.append(_as_known(made, known.get(made.id)))
    numbers = [int(b.id[1:]) for b in plan.batches if b.id[:1] == "b" and b.id[1:].isdigit()]
    free = max(numbers, default=0)
    order = commitments.cand.table["transplant"].to_numpy()
    moved = _moved(commitments, found)
    for n, taken in sorted(
        enumerate(found.new), key=lambda pair: (order[pair[1].option.row], pair[1].option.place)
    ):
        name = moved.get(n)
        if name is None:
            free += 1
            name = f"b{free:03d}"
        out.append(_as_known(batch_of_row(commitments, taken, name, PLANNED), known.get(name)))
    place = {b.id: i for i, b in enumerate(plan.batches)}
    if all(b.id in place for b in out) and len(out) == len(place):
        return tuple(sorted(out, key=lambda b: place[b.id]))
    return tuple(sorted(out, key=lambda b: (b.transplant, b.column, b.tier, b.id)))


def _moved(commitments: Commitments, found: Found) -> dict[int, str]:
    """Which of the new batches are batches of the plan on other days: number to id.

    The same crop in the same tier, nothing of it sown; the nearest days go together.
    """
    table, season = commitments.cand.table, commitments.garden.season
    crop, start = table["crop"].to_numpy(), table["transplant"].to_numpy()
    old = [item.batch for n, item in enumerate(commitments.items) if n not in found.taken]
    old = [b for b in [*old, *commitments.gone] if b.state == PLANNED]
    near = sorted(
        (days, n, b.id)
        for n, taken in enumerate(found.new)
        for b in old
        if taken.option.place == (b.column, b.tier)
        and commitments.cand.crop_names[crop[taken.option.row]] == b.crop
        and (days := abs(int(start[taken.option.row]) - season.index(b.transplant))) <= MOVED_DAYS
    )
    out: dict[int, str] = {}
    for _days, n, name in near:
        if n not in out and name not in out.values():
            out[n] = name
    return out


def _as_known(made: Batch, old: Batch | None) -> Batch:
    """A batch that goes on unchanged keeps its levels to the last digit."""
    if old is None or len(made.levels) != len(old.levels):
        return made
    same = replace(old, state=made.state, levels=made.levels)  # what is known of its solution stays
    if (
        replace(
            made,
            fill_ec=same.fill_ec,
            harvest_ec=same.harvest_ec,
            harvest_ec_spread=same.harvest_ec_spread,
        )
        != same
    ):
        return made
    near = all(
        a.date == b.date
        and abs(a.litres - b.litres) < 0.002
        and abs(a.depth_cm - b.depth_cm) < 0.02
        for a, b in zip(made.levels, old.levels, strict=True)
    )
    return replace(old, state=made.state) if near else made


def _past(garden: Garden, batch: Batch) -> Batch:
    """A batch that is over and went otherwise than planned: its course as far as it is known."""
    if batch.state == FAILED:
        return replace(batch, levels=tuple(v for v in batch.levels if v.date <= batch.clear))
    return finished(garden, batch, batch.clear)


def batch_of_row(commitments: Commitments, taken: Taken, name: str, state: str) -> Batch:
    """A batch from a candidate row in a tier."""
    cand, garden, row = commitments.cand, commitments.garden, taken.option.row
    season = garden.season
    values = cand.table.iloc[row]
    crop = garden.crops[cand.crop_names[int(values["crop"])]]
    column, number = taken.option.place
    picks = tuple(
        Pick(season.date(int(d)), int(n), int(g))
        for d, n, g in zip(
            cand.pick_day[row], cand.pick_plants[row], cand.pick_grams[row], strict=True
        )
        if d < NEVER
    )
    cells = int(values["cells"])
    batch = Batch(
        name,
        crop.name,
        column,
        number,
        garden.tier(column, number).plants,
        cells * crop.seeds_per_cell,
        cells,
        season.date(int(values["sow"])),
        season.date(int(values["transplant"])),
        picks,
        picks[-1].date,
        0.0,
        None,
        None,
        state,
    )
    return finished(garden, young_named(garden, batch), season.date(taken.clear))


def young_named(garden: Garden, batch: Batch) -> Batch:
    """The batch with heads that are picked before they are ready said to be young."""
    if garden.crops[batch.crop].cuts > 1:
        return batch
    ready, season = course_of(garden, batch).ready_index, garden.season
    return replace(
        batch,
        picks=tuple(
            replace(p, young=ready is None or season.index(p.date) < ready) for p in batch.picks
        ),
    )


def _plan(
    garden: Garden,
    old: Plan,
    made: Sequence[Batch],
    found: Found,
    settings: Settings,
    on: date,
    as_planned: bool,
    changed: int,
) -> Plan:
    table = assemble.serve(garden, made)
    values = {
        PRODUCE: assemble.produce_value(garden, table),
        EVENNESS: assemble.evenness_value(table),
        EFFORT: assemble.effort_value(made),
    }
    known = {s.name: s for s in old.stages}
    stages: list[Stage] = []
    for name, value in values.items():
        same = known.get(name)
        if as_planned and same is not None and abs(same.value - value) < 1e-6:
            stages.append(same)
            continue
        bound: float | None = None if as_planned else getattr(found.bounds, name, None)
        first = name == PRODUCE
        if bound is not None:  # what the model does not see may be for the better
            bound = max(bound, value) if first else min(bound, value)
        seconds, gap = (round(found.seconds, 3), settings.gap) if first else (0.0, ENOUGH)
        stages.append(Stage(name, status(value, bound, gap), value, bound, seconds))
    fewest = 0.0 if not changed else found.bounds.changes
    stages.append(Stage(CHANGES, status(changed, fewest, ENOUGH), float(changed), fewest, 0.0))
    return Plan(
        status=stages[0].status,
        stages=tuple(stages),
        start=garden.season.start,
        end=garden.season.end,
        batches=tuple(made),
        unmet=table.unmet(),
        seed=settings.seed,
        versions=versions(),
        by_hand=old.by_hand,
        garden=garden.name,
        as_of=on,
        gap=old.gap if as_planned else settings.gap,
    )


def _reasons(commitments: Commitments, kept: Kept, found: Found) -> dict[str, str]:
    """Why each batch that changes does, as far as something forced it."""
    out = dict(commitments.reasons)
    for n, why in kept.dropped.items():
        if n not in found.taken or not is_kept(commitments.items[n], found.taken[n]):
            out.setdefault(commitments.items[n].batch.id, why)
    return out
