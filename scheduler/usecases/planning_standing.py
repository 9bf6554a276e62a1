"""A season planned from what stands today: as a re-plan, from a first plan of the free tiers.

What stands is a state like that of any day of a season under way, so `replanning` brings it to its
end and plans on from there. It starts from a plan of the tiers as they fall free, made as any
season is planned; what of it does not fit beside what stands is dropped and searched for anew.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.garden.model import Garden, Seedlings, StandingCrop
    from scheduler.log.state import Followed, State
    from scheduler.plans.model import Plan
    from scheduler.replanning.commitments import Commitments
    from scheduler.replanning.outlook import Outlook
    from scheduler.replanning.rebalance import Rebalanced
    from scheduler.risk.limit import RiskLimit
    from scheduler.solvers.cp_sat import Report, Settings
    from scheduler.usecases.choosing import Made
    from scheduler.usecases.promising import YearsOf

FREE_TIERS = 0.35  # share of the time for the first plan, of the tiers as they fall free


@dataclass(frozen=True)
class FromToday:
    """A plan from what stands.

    Attributes
    ----------
    plan : of the whole season; made : the first plan, of the free tiers, None if there is none.
    garden : that it was planned for, with the planning years it was made with.
    years : how many; 0: the mean year.
    """

    plan: Plan
    made: Made | None
    garden: Garden
    years: int
    done: Rebalanced


def plan_from_today(
    garden: Garden,
    years: int,
    settings: Settings,
    file: str,
    known: Callable[[Garden, int], YearsOf],
    report: Report | None = None,
    stop: threading.Event | None = None,
    limit: RiskLimit | None = None,
) -> FromToday:
    """Plan a garden in which something stands.

    Parameters
    ----------
    years : planning years; ``known`` gives the years of a garden. file : its garden.yaml.

    Raises
    ------
    BadInput
        A level that cannot be true of what stands there.
    NoPlan
        What stands cannot be brought to an end within the garden's rules.
    """
    from scheduler.plans.model import PROVEN, Stage
    from scheduler.replanning.rebalance import go_on
    from scheduler.replanning.take_stock import commitments_of
    from scheduler.schedule.stages import CHANGES
    from scheduler.usecases.free_tiers import free_tiers, seedlings_placed
    from scheduler.usecases.surviving import surviving

    began = time.monotonic()
    assert garden.today is not None
    expected = known(garden, years).garden if years else garden
    state = standing_state(expected)
    held = commitments_of(expected, bare_plan(garden), state)
    refuse_levels(expected, state, held, file)
    placed = seedlings_placed(expected, held)
    mine = replace(settings, time_limit=FREE_TIERS * settings.time_limit)
    first = free_tiers(garden, expected, held, placed, years, mine, known, report, stop, limit)
    asked = years
    if first is not None:  # planned for its own number of years, with young heads or without
        years = first.years
        expected = known(garden, years).garden if years else garden
        limits = replace(garden.limits, young=first.garden.limits.young)
        expected = replace(expected, limits=limits)
        state = standing_state(expected)
    state = replace(
        state,
        batches=tuple(
            f if f.batch.id not in placed else replace(f, batch=placed[f.batch.id])
            for f in state.batches
        ),
    )
    before = bare_plan(garden)
    if first is not None:
        from scheduler.log.state import Followed

        before = replace(before, batches=first.plan.batches)
        more = tuple(Followed(b) for b in first.plan.batches)
        state = replace(state, batches=(*state.batches, *more))
    spared = None
    if first is not None and not first.years and asked:  # of the mean year: what lives through all
        of_years = known(garden, asked).garden
        spared = partial(surviving, of_years)
    left = max(settings.time_limit - (time.monotonic() - began), 1.0)
    mine = replace(settings, time_limit=left)
    done = go_on(expected, before, state, mine, 0, 0.0, report, stop, limit, admit=spared)
    # What was to be is nobody's plan yet: nothing has been changed.
    none = Stage(CHANGES, PROVEN, 0.0, 0.0, 0.0)
    stages = tuple(none if s.name == CHANGES else s for s in done.plan.stages)
    plan = replace(done.plan, stages=stages, by_hand={})
    return FromToday(plan, first, expected, years, done)


def of_what_stands(garden: Garden, found: FromToday) -> tuple[str, ...]:
    """What becomes of each standing crop and each sowing, one sentence each."""
    from scheduler.plans.model import FAILED
    from scheduler.words.words import short_date

    batches = {b.id: b for b in found.plan.batches}
    why = found.done.commitments.reasons
    out = []
    for n, one in enumerate(garden.standing, 1):
        name = f"x{n:03d}"
        batch, title = batches.get(name), garden.crops[one.crop].title
        head = f"{one.column} {one.tier}, {title}, since {short_date(one.planted_on)}: "
        if batch is None or batch.state == FAILED or not batch.picks:
            what = "nothing can be picked of it any more"
            if batch is not None:
                what += f"; clear it on {short_date(batch.clear)}"
        else:
            days = " and ".join(short_date(p.date) for p in batch.picks)
            what = f"pick on {days}"
            if any(p.early for p in batch.picks):
                look = found.done.commitments.outlooks.get(name)
                what += f" before it is ripe: {_why_early(look, garden.season.end)}"
        out.append(f"{head}{what}.")
    for n, raised in enumerate(garden.seedlings, len(garden.standing) + 1):
        name = f"x{n:03d}"
        title, batch = garden.crops[raised.crop].title, batches.get(name)
        head = f"Seedlings of {title} ({raised.cells} cells): "
        if batch is None:
            reason = why.get(name, "").replace("its tier is not in the plan", "").strip("; ")
            out.append(f"{head}not planted; {reason or 'no tier can take them'}.")
        else:
            day = short_date(batch.transplant)
            out.append(f"{head}plant in {batch.column} {batch.tier} on {day}.")
    return tuple(out)


def _why_early(look: Outlook | None, end: date) -> str:
    """Why a standing crop is picked before it is ripe."""
    from scheduler.words.words import short_date

    if look is None:
        return "no later day will do"
    dry, bolts = look.dry, look.bolts
    if bolts is not None and bolts <= end and (dry is None or bolts <= dry):
        return f"it bolts by {short_date(bolts)}"
    if dry is not None and (look.first is None or dry <= look.first) and dry <= end:
        return f"its tier is dry by {short_date(dry)}"
    return "it would not be ripe in time"


def bare_plan(garden: Garden) -> Plan:
    """A plan of no batches."""
    from scheduler.plans.model import BEST_FOUND, Plan

    season = garden.season
    return Plan(BEST_FOUND, (), season.start, season.end, (), (), garden=garden.name)


def standing_state(garden: Garden) -> State:
    """The state on the morning of the garden's first day to be planned."""
    from scheduler.log.state import State

    assert garden.today is not None
    batches = [_stands(garden, n, s) for n, s in enumerate(garden.standing, 1)]
    number = len(batches) + 1
    batches += [_raised(garden, n, s) for n, s in enumerate(garden.seedlings, number)]
    return State(garden.today, tuple(batches))


def _stands(garden: Garden, number: int, one: StandingCrop) -> Followed:
    from crops import development
    from scheduler.log.state import Followed
    from scheduler.log.tracks import Reading
    from scheduler.plans.model import GROWING, Batch

    assert garden.today is not None
    crop, tier = garden.crops[one.crop], garden.tier(one.column, one.tier)
    cells = development.cells_to_sow(crop, one.plants)
    batch = Batch(
        f"x{number:03d}",
        one.crop,
        one.column,
        one.tier,
        one.plants,
        cells * crop.seeds_per_cell,
        cells,
        one.sown_on,
        one.planted_on,
        (),
        garden.today,
        round(garden.vessels[tier.vessel].fill_l, 3),
        None,
        None,
        GROWING,
    )
    readings = () if one.level is None else (Reading(garden.today, one.level, one.line),)
    return Followed(batch, readings=readings)


def _raised(garden: Garden, number: int, one: Seedlings) -> Followed:
    from scheduler.batches.seedlings import seedling_days
    from scheduler.log.state import Followed
    from scheduler.plans.model import SOWN, Batch

    crop = garden.crops[one.crop]
    fit, last = seedling_days(garden, one.crop, one.sown_on)
    when = fit or one.sown_on + timedelta(days=round(crop.nursery_days))
    seeds = one.cells * crop.seeds_per_cell
    batch = Batch(
        f"x{number:03d}",
        one.crop,
        "",
        0,
        1,
        seeds,
        one.cells,
        one.sown_on,
        when,
        (),
        when,
        0.0,
        None,
        None,
        SOWN,
    )
    return Followed(batch, fit=fit, last_transplant=last)


def refuse_levels(garden: Garden, state: State, held: Commitments, file: str) -> None:
    """Raise BadInput for each level that cannot be true of what stands in its tier."""
    from scheduler.base.faults import BadInput, Fault
    from scheduler.replanning.measured import believed
    from scheduler.words.words import Units

    units = Units(garden.units)
    faults = []
    for n, one in enumerate(garden.standing):
        found = held.anchors.get(f"x{n + 1:03d}")
        if found is None or not found.refused or one.level is None:
            continue
        _, why = found.refused[-1]
        path, line = f"standing[{n}].level", one.line or None
        vessel = garden.vessels[garden.tier(one.column, one.tier).vessel]
        low, high = (
            f"{units.volume_text(x)} ({units.depth_text(vessel.depth_at(x))} deep)"
            for x in believed(garden, state.batches[n], state.on)
        )
        can = f"{low} to {high} in {one.column} {one.tier}, as it was planted {one.planted_on}"
        told = units.volume_text(one.level)
        faults.append(Fault(file, line, path, told, f"{can}; as told, {why}"))
    if faults:
        raise BadInput(faults)
