"""Rules that batches keep or break together: tiers, nursery, the day's work, stacks."""

from __future__ import annotations

from datetime import date, timedelta

from scheduler.plans.rules import FILLS, LIFT, MINUTES, NURSERY, OCCUPANCY, PICKS
from scheduler.verify.case import Case, Standing, minutes_there
from scheduler.verify.course import TINY

MOST_NAMES = 30  # of batches in one sentence


def check(case: Case) -> None:
    """Check every tier and every day."""
    _one_at_a_time(case)
    _nursery(case)
    _days(case)
    _minutes(case)
    _lifts(case)


def _one_at_a_time(case: Case) -> None:
    turnaround = timedelta(days=case.garden.limits.turnaround_days)
    for standing in case.by_tier.values():
        before = standing[0]  # of those so far, the one that stays longest
        for s in standing[1:]:
            free = before.batch.clear + turnaround
            if s.batch.transplant >= free or s.planted:
                case.kept(OCCUPANCY, int(not s.planted))
            else:
                case.check(
                    OCCUPANCY,
                    False,
                    f"{s.name}: transplanted {s.batch.transplant}; {before.batch.id} is "
                    f"cleared {before.batch.clear}, so the tier is free from {free}",
                    (free - s.batch.transplant).days,
                    [before.batch.id, s.batch.id, s.place],
                    "days",
                )
            if s.batch.clear >= before.batch.clear:
                before = s


def _nursery(case: Case) -> None:
    """Cells in use on each day; a day on which nothing planned stands there is history."""
    season, room = case.garden.season, case.garden.nursery.cells
    used: dict[date, int] = {}
    planned: set[date] = set()
    alike: dict[tuple[date, date, bool], int] = {}  # cells by first day, day after the last, sown
    for s in case.standing:
        span = (s.batch.sow, s.batch.transplant, s.sown)
        alike[span] = alike.get(span, 0) + s.batch.cells
    for (sow, transplant, sown), cells in alike.items():
        day = max(sow, season.start)
        while day < min(transplant, season.end + timedelta(days=1)):
            used[day] = used.get(day, 0) + cells
            if not sown:
                planned.add(day)
            day += timedelta(days=1)
    for day in sorted(planned):
        if used[day] <= room:
            case.kept(NURSERY)
            continue
        who = [s for s in case.standing if s.batch.sow <= day < s.batch.transplant]
        case.check(
            NURSERY,
            False,
            f"{day}: {used[day]} cells in use of {room} ({_ids(who)})",
            used[day] - room,
            [*(s.batch.id for s in who), day],
            "cells",
        )


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
            if len(who) <= most:
                case.kept(rule)
                continue
            case.check(
                rule,
                False,
                f"{day}: {len(who)} {words}; at most {most} ({_ids(who)})",
                len(who) - most,
                [*(s.batch.id for s in who), day],
                "batches",
            )


def _minutes(case: Case) -> None:
    """Sowing, filling, picking and clearing of a day, and a lift for each vessel above."""
    limits, labour = case.garden.limits, case.garden.limits.labour
    if limits.minutes_per_day is None and not limits.helpers:
        return
    days: dict[date, list[tuple[Standing, str, float]]] = {}
    for s in case.standing:
        b, lifts = s.batch, labour.lift * (s.batch.tier - 1)
        days.setdefault(b.sow, []).append((s, "sow", labour.sow * b.cells))
        days.setdefault(b.transplant, []).append((s, "transplant", labour.fill + lifts))
        days.setdefault(b.clear, []).append((s, "clear", labour.clear + lifts))
        for p in b.picks:
            days.setdefault(p.date, []).append((s, "pick", labour.pick * p.plants))
    for day in sorted(days):
        if all(s.is_fact(event, day) for s, event, _ in days[day]):
            continue
        spent = sum(took for _, _, took in days[day])
        most = minutes_there(case.garden, day)
        if most is None or spent <= most + TINY:
            case.kept(MINUTES)
            continue
        who = list({id(s): s for s, _, _ in days[day]}.values())
        case.check(
            MINUTES,
            False,
            f"{day}: {spent:.0f} minutes of work; at most {most:.0f} ({_ids(who)})",
            spent - most,
            [*(s.batch.id for s in who), day],
            "minutes",
        )


def _lifts(case: Case) -> None:
    """Each filling and each clearing lifts every vessel above, one at a time."""
    limit = case.garden.limits.lift_kg
    if limit is None:
        return
    columns, show = {c.name: c for c in case.garden.columns}, case.units.exact_text
    for s in case.standing:
        for event, day in (("transplant", s.batch.transplant), ("clear", s.batch.clear)):
            if s.is_fact(event, day):
                continue
            work = "filled" if event == "transplant" else "cleared"
            for tier in columns[s.batch.column].tiers[: s.batch.tier - 1]:
                above = _standing_on(case, s.batch.column, tier.number, day)
                if above is None:
                    kg = case.garden.vessels[tier.vessel].mass_kg
                else:
                    kg = _mass(case, above, day)
                if kg <= limit + TINY:
                    case.kept(LIFT)
                    continue
                place = f"{s.batch.column} {tier.number}"
                who = "the empty vessel" if above is None else above.name
                ids = [s.batch.id] if above is None else [s.batch.id, above.batch.id]
                case.check(
                    LIFT,
                    False,
                    f"{s.name}: {work} on {day} under {place}: {who} weighs "
                    f"{show(kg, 'kg')}; at most {show(limit, 'kg')}",
                    kg - limit,
                    [*ids, place, day],
                    "kg",
                )


def lifted(case: Case) -> tuple[float, int, float]:
    """What fillings and clearings to come lift: kilograms in all, vessels, the heaviest."""
    kg, vessels, heaviest = 0.0, 0, 0.0
    columns = {c.name: c for c in case.garden.columns}
    for s in case.standing:
        for event, day in (("transplant", s.batch.transplant), ("clear", s.batch.clear)):
            if s.is_fact(event, day):
                continue
            for tier in columns[s.batch.column].tiers[: s.batch.tier - 1]:
                above = _standing_on(case, s.batch.column, tier.number, day)
                mass = case.garden.vessels[tier.vessel].mass_kg
                if above is not None:
                    mass = _mass(case, above, day)
                kg, vessels, heaviest = kg + mass, vessels + 1, max(heaviest, mass)
    return kg, vessels, heaviest


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
    """Names for a sentence; all of them are in the witnesses."""
    names = ", ".join(s.batch.id for s in who[:MOST_NAMES])
    return f"{names} and {len(who) - MOST_NAMES} more" if len(who) > MOST_NAMES else names
