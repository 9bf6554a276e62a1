"""The days' work: what a plan asks of the grower, in the order in which it is done.

Everything the calendar prints comes from here, so that text, CSV, ICS, page and print say the same.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace
from datetime import date

from crops.solution.strength import FITS
from scheduler.base.weeks import week_of
from scheduler.garden.model import ONE_DAY, Garden, Season
from scheduler.lived.water import ONE_IN
from scheduler.mix import fills as mix
from scheduler.outputs.item import Work as Work
from scheduler.outputs.on_columns import moving, shelter, work_day_by
from scheduler.outputs.weather_work import weather_items
from scheduler.plans.model import FAILED, Batch, Level, Plan
from scheduler.schedule.masses import Standing
from scheduler.words.work_kinds import CLEAR as CLEAR
from scheduler.words.work_kinds import FILL as FILL
from scheduler.words.work_kinds import HARDEN as HARDEN
from scheduler.words.work_kinds import KINDS as KINDS
from scheduler.words.work_kinds import LEVEL as LEVEL
from scheduler.words.work_kinds import MOVE as MOVE
from scheduler.words.work_kinds import PICK as PICK
from scheduler.words.work_kinds import PROTECT as PROTECT
from scheduler.words.work_kinds import SHADE as SHADE
from scheduler.words.work_kinds import SHELTER as SHELTER
from scheduler.words.work_kinds import SOW as SOW
from scheduler.words.work_kinds import SUPPORT as SUPPORT
from scheduler.words.work_kinds import TRANSPLANT as TRANSPLANT

# Kinds of work, in the order in which they are done on a day. Levels are read first, before
# anything changes; what is cleared makes room for what is filled; sowing waits for clean hands.
_STEP = {LEVEL: 0, SHELTER: 1, PROTECT: 1, SHADE: 1, SUPPORT: 2, PICK: 3, CLEAR: 4, MOVE: 5}
_STEP |= {FILL: 6, TRANSPLANT: 6, HARDEN: 7, SOW: 8}

# Common practice, no source: a level read once a week shows in time whether a tier drinks faster
# than planned; a tier this near its dry date is read on every work day.
SETTLE_DAYS = 5  # after filling, before the first weekly reading says anything
WATCH_DAYS = 5
# A crop that stands four weeks or more has its EC and pH measured with the reading nearest to the
# middle of its time: a quicker one is picked before what is found could still be mended. Common
# practice, no source for the weeks.
METERS_DAYS = 28


def work_items(garden: Garden, plan: Plan) -> tuple[Work, ...]:
    """All work of a plan, by day, in the order in which it is done.

    On one day: levels, shelter, support, picks, then clearing (upper tiers first), moving, filling
    with transplanting (lower tiers first, so that no full vessel is lifted), then sowing.
    """
    standing = Standing(garden, plan)
    weighed = mix.weighed_fills(garden, plan)
    items: list[Work] = []
    readings: dict[tuple[Hashable, ...], list[Level]] = {}  # batches that are alike share them
    for batch in plan.batches:
        whole = [
            *_seedlings(garden, batch),
            *_service(garden, standing, batch, weighed[batch.id]),
            *_picks(batch, plan.as_of, garden.limits.young),
        ]
        # Seedlings that failed before they were transplanted leave no tier to fill or to clear.
        lost = batch.state == FAILED and batch.clear < batch.transplant
        items += [w for w in whole if w.kind == SOW or not lost]
        if batch.state != FAILED:
            key = (id(batch.levels), batch.transplant, _last_pick(batch), batch.dry_date)
            if key not in readings:
                readings[key] = _readings(garden.season, batch)
            items += _levels(batch, readings[key])
            items += _support(garden, standing, batch)
    items += shelter(garden, plan)
    items += weather_items(garden, plan)
    items += [w for w in moving(garden, standing) if plan.as_of is None or w.date >= plan.as_of]
    order = {column.name: i for i, column in enumerate(garden.columns)}
    if garden.today is not None:
        items = _from_today(garden.today, items)
    return tuple(sorted(items, key=lambda w: _in_order(w, order)))


def _from_today(today: date, items: list[Work]) -> list[Work]:
    """Work from that day on, when something stood already, sown and planted before.

    Its supports and covers may be missing: they are asked for on the day itself.
    """
    late = [
        replace(w, date=today)
        for w in items
        if w.date < today
        and (w.kind == SUPPORT or (w.kind == SHELTER and (w.until or today) >= today))
    ]
    return [w for w in items if w.date >= today] + late


def _in_order(work: Work, columns: dict[str, int]) -> tuple[date, int, int, int, int, str]:
    step = _STEP[work.kind]
    tier = work.tier or 0
    if work.kind in (FILL, TRANSPLANT):
        tier = -tier
    place = columns.get(work.column, len(columns))
    return work.date, step, place, tier, KINDS.index(work.kind), f"{work.batch} {work.number:03d}"


def _seedlings(garden: Garden, batch: Batch) -> list[Work]:
    where = (batch.column, batch.tier, batch.id, batch.crop)
    plugs = garden.vessels[garden.tier(batch.column, batch.tier).vessel].plugs
    return [
        Work(
            batch.sow,
            SOW,
            *where,
            plants=batch.plants,
            seeds=batch.seeds,
            cells=batch.cells,
            until=batch.transplant,
        ),
        Work(
            batch.transplant,
            TRANSPLANT,
            *where,
            plants=batch.plants,
            stopped=0 if plugs is None or plugs.holes is None else plugs.holes - batch.plants,
            until=batch.transplant_until,
            dry_date=batch.dry_date,
            one_in=None if batch.chances is None else ONE_IN,
        ),
    ]


def _service(
    garden: Garden, standing: Standing, batch: Batch, weigh: tuple[mix.Weighed, ...]
) -> list[Work]:
    where = (batch.column, batch.tier, batch.id, batch.crop)
    crop = garden.crops[batch.crop]
    vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
    left = batch.levels[-1] if batch.levels else None
    found = mix.solution_of(garden, batch)
    return [
        Work(
            batch.transplant,
            FILL,
            *where,
            litres=batch.fill_litres,
            depth_cm=float(vessel.depth(batch.fill_litres)),
            dip_cm=vessel.dip_at(batch.fill_litres),
            ec=found.fill,
            end_ec=None if found.state == FITS else found.end,
            lost=found.lost,
            ph=(crop.ph_low, crop.ph_high),
            weigh=weigh,
            lift_kg=standing.heaviest_above(batch.column, batch.tier, batch.transplant),
        ),
        Work(
            batch.clear,
            CLEAR,
            *where,
            litres=left.litres if left else None,
            depth_cm=left.depth_cm if left else None,
            lift_kg=standing.heaviest_above(batch.column, batch.tier, batch.clear),
        ),
    ]


def _picks(batch: Batch, as_of: date | None, least: float) -> list[Work]:
    """The picks; ``least`` is the share of its mass from which a head may be picked [0..1]."""
    made, chances = [], batch.chances
    for number, pick in enumerate(batch.picks, start=1):
        item = Work(
            pick.date,
            PICK,
            batch.column,
            batch.tier,
            batch.id,
            batch.crop,
            plants=pick.plants,
            grams=pick.grams,
            number=number,
            count=len(batch.picks),
            age=(pick.date - batch.transplant).days,
            young=least if pick.young else None,
        )
        if as_of is None or pick.date >= as_of:
            item = replace(
                item,
                look_from=pick.look_from,
                first=pick.from_,
                last=pick.to,
                in_years=pick.share,
                bolts=chances.bolted if chances else None,
                dries=chances.dry if chances else None,
                freezes=chances.cold if chances else None,
                overheats=chances.heat if chances else None,
            )
        made.append(item)
    return made


def _last_pick(batch: Batch) -> date:
    return batch.picks[-1].date if batch.picks else batch.clear


def _levels(batch: Batch, readings: Sequence[Level]) -> list[Work]:
    stands = _last_pick(batch) - batch.transplant
    middle = batch.transplant + stands / 2
    meters = min(readings, key=lambda v: abs(v.date - middle), default=None)
    if stands.days < METERS_DAYS:
        meters = None
    return [
        Work(
            level.date,
            LEVEL,
            batch.column,
            batch.tier,
            batch.id,
            batch.crop,
            litres=level.litres,
            depth_cm=level.depth_cm,
            number=number,
            dry_date=batch.dry_date,
            meters=level is meters,
        )
        for number, level in enumerate(readings, start=1)
    ]


def _readings(season: Season, batch: Batch) -> list[Level]:
    """The first work day of each week, and every work day near the dry date."""
    found: list[Level] = []
    read_in: set[str] = set()
    last = _last_pick(batch)
    for level in batch.levels:
        day = level.date
        grown = (day - batch.transplant).days
        if day > last or grown <= 0 or not season.is_work_day(day):
            continue
        near = batch.dry_date is not None and (batch.dry_date - day).days <= WATCH_DAYS
        weekly = grown >= SETTLE_DAYS and week_of(day) not in read_in
        if near or weekly:
            read_in.add(week_of(day))
            found.append(level)
    return found


def _support(garden: Garden, standing: Standing, batch: Batch) -> list[Work]:
    """Support goes on the last work day before the plants reach the mass at which they need it."""
    limit = garden.crops[batch.crop].support_mass
    if limit is None or not batch.picks:
        return []
    n = standing.days_to_mass(batch, limit)
    if n is None or n > (_last_pick(batch) - batch.transplant).days:
        return []
    fit = work_day_by(garden.season, batch.transplant + (n - 1) * ONE_DAY)
    return [
        Work(
            max(fit, batch.transplant),
            SUPPORT,
            batch.column,
            batch.tier,
            batch.id,
            batch.crop,
            plants=batch.plants,
        )
    ]
