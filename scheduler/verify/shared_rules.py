"""Rules that batches keep or break together: tiers, nursery, the day's work, stacks."""

from __future__ import annotations

from datetime import date, timedelta

from scheduler.rules_list import FILLS, LIFT, NURSERY, OCCUPANCY, PICKS
from scheduler.verify.case import Case, Standing
from scheduler.verify.course import TINY


def check(case: Case) -> None:
    """Check every tier and every day."""
    _one_at_a_time(case)
    _nursery(case)
    _days(case)
    _lifts(case)


def _one_at_a_time(case: Case) -> None:
    turnaround = timedelta(days=case.garden.limits.turnaround_days)
    for standing in case.by_tier.values():
        before = standing[0]  # of those so far, the one that stays longest
        for s in standing[1:]:
            free = before.batch.clear + turnaround
            if not s.planted:
                case.check(OCCUPANCY, s.batch.transplant >= free,
                           f"{s.name}: transplanted {s.batch.transplant}; {before.batch.id} is "
                           f"cleared {before.batch.clear}, so the tier is free from {free}",
                           (free - s.batch.transplant).days,
                           [before.batch.id, s.batch.id, s.place], "days")  # fmt: skip
            if s.batch.clear >= before.batch.clear:
                before = s


def _nursery(case: Case) -> None:
    """Cells in use on each day; a day on which nothing planned stands there is history."""
    season, room = case.garden.season, case.garden.nursery.cells
    used: dict[date, list[Standing]] = {}
    for s in case.standing:
        day = max(s.batch.sow, season.start)
        while day < min(s.batch.transplant, season.end + timedelta(days=1)):
            used.setdefault(day, []).append(s)
            day += timedelta(days=1)
    for day in sorted(used):
        if all(s.sown for s in used[day]):
            continue
        cells = sum(s.batch.cells for s in used[day])
        case.check(NURSERY, cells <= room,
                   f"{day}: {cells} cells in use of {room} ({_ids(used[day])})",
                   cells - room, [*(s.batch.id for s in used[day]), day], "cells")  # fmt: skip


def _days(case: Case) -> None:
    limits = case.garden.limits
    fills: dict[date, list[Standing]] = {}
    picks: dict[date, list[Standing]] = {}
    for s in case.standing:
        fills.setdefault(s.batch.transplant, []).append(s)
        for day in {p.date for p in s.batch.picks}:
            picks.setdefault(day, []).append(s)
    for rule, event, most, work, words in (
        (FILLS, "transplant", limits.fills_per_day, fills, "vessels filled"),
        (PICKS, "pick", limits.picks_per_day, picks, "batches picked from"),
    ):
        if most is None:
            continue
        for day in sorted(work):
            who = work[day]
            if all(s.is_fact(event, day) for s in who):
                continue
            case.check(rule, len(who) <= most,
                       f"{day}: {len(who)} {words}; at most {most} ({_ids(who)})",
                       len(who) - most, [*(s.batch.id for s in who), day], "batches")  # fmt: skip


def _lifts(case: Case) -> None:
    """Each filling and each clearing lifts every vessel above, one at a time."""
    limit = case.garden.limits.lift_kg
    if limit is None:
        return
    columns = {c.name: c for c in case.garden.columns}
    for s in case.standing:
        for event, day in (("transplant", s.batch.transplant), ("clear", s.batch.clear)):
            if s.is_fact(event, day):
                continue
            work = "filled" if event == "transplant" else "cleared"
            for tier in columns[s.batch.column].tiers[: s.batch.tier - 1]:
                place = f"{s.batch.column} {tier.number}"
                above = _standing_on(case, s.batch.column, tier.number, day)
                if above is None:
                    kg, who = case.garden.vessels[tier.vessel].mass_kg, "the empty vessel"
                else:
                    kg, who = _mass(case, above, day), above.name
                ids = [s.batch.id] if above is None else [s.batch.id, above.batch.id]
                case.check(LIFT, kg <= limit + TINY,
                           f"{s.name}: {work} on {day} under {place}: {who} weighs {kg:.2f} kg; "
                           f"at most {limit:g} kg", kg - limit, [*ids, place, day],
                           "kg")  # fmt: skip


def _standing_on(case: Case, column: str, number: int, day: date) -> Standing | None:
    """The batch that weighs on ``day``; on its own days of filling and clearing it does not."""
    for s in case.by_tier.get((column, number), ()):
        if s.batch.transplant < day < s.batch.clear:
            return s
    return None


def _mass(case: Case, s: Standing, day: date) -> float:
    if s.course is None:
        return s.vessel.full_kg  # outside the weather: as heavy as it can be
    kg = s.course.kg
    return kg[min(case.physics.index(day) - s.course.start, len(kg) - 1)]


def _ids(who: list[Standing]) -> str:
    return ", ".join(s.batch.id for s in who)
