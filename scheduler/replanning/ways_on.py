"""Ways to go on with a batch that is begun or planned, as rows beside the free candidates.

`why_not` says what rules a batch out from now on; `ways_to_go_on` gives each way to pick it, with
its masses and days.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from crops.level import BatchCourse
from crops.years import most_lost
from scheduler.batches import rules
from scheduler.batches.courses import NEVER
from scheduler.batches.patterns import MOST_PICKS
from scheduler.batches.rules import BatchRule, Grown, Picks
from scheduler.batches.seedlings import seedling_days
from scheduler.batches.thirst import dry_share, thirst_in, usable_ml
from scheduler.batches.young import least_share
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.garden.placed import weather_at
from scheduler.plans.model import FAILED, GROWING, PLANNED, SOWN, Batch, Level, Pick
from scheduler.replanning.measured import course_of
from scheduler.replanning.outlook import Outlook, grown_of, mass_share_on
from scheduler.words.language import _
from scheduler.words.words import Shown

YOUNG_DAYS = 3  # on which a growing head may be picked young
MOST_WAYS = 24  # ways to pick one growing batch that are offered to the solver


@dataclass(frozen=True)
class Variant:
    """One way a batch could go on: its picks so far (``done`` of them), then those ahead."""

    batch: Batch
    done: int = 0


@dataclass(frozen=True)
class Row:
    """A variant as a row of the candidate table, with the days, plants, grams of its picks."""

    values: dict[str, int]
    days: list[int]
    plants: list[int]
    grams: list[int]


def row_of(garden: Garden, variant: Variant, crop: int, kind: int, on: date) -> Row:
    """The row of a variant; only picks from ``on`` on count, a batch begun stands from the start.

    A failed batch has no picks ahead: its tier waits to be cleared from ``batch.clear`` on.
    """
    batch, season, limits = variant.batch, garden.season, garden.limits
    tier = garden.tier(batch.column, batch.tier)
    vessel = garden.vessels[tier.vessel]
    start, today = season.index(batch.transplant), season.index(on)
    ahead = batch.picks[variant.done :]
    if batch.state == FAILED:
        last = season.index(batch.clear)
    else:
        last = season.index(batch.picks[-1].date)
    heavy_until, heavy_after, dry = start, 0, NEVER
    course = course_of(garden, batch)
    if course.dry_index is not None:
        dry = course.dry_index
    if limits.lift_kg is not None:  # what leaked from a failed tier is not known: as if nothing
        mass = vessel.mass_kg + course.litres + course.plants * course.plant_grams / 1000
        h = last - start
        heavy = mass[1 : h + 1] > limits.lift_kg + 1e-9
        if heavy.any():
            heavy_until = start + 1 + int(np.flatnonzero(heavy)[-1]) + 1
        heavy_after = int(mass[min(h, len(mass) - 1)] > limits.lift_kg + 1e-9)
    begun, sown = batch.state in (GROWING, FAILED), season.index(batch.sow)
    values = {
        "crop": crop,
        "kind": kind,
        "sow": min(sown, today - 1) if batch.state == SOWN else sown,
        "transplant": min(start, today - 1) if begun else start,
        "first": season.index(ahead[0].date) if ahead else last,
        "last": last,
        "dry": dry,
        "cells": batch.cells,
        "heavy_until": heavy_until,
        "heavy_after": heavy_after,
        "grams": sum(p.grams for p in ahead),
    }
    picks = ahead[:MOST_PICKS]
    return Row(
        values,
        [season.index(p.date) for p in picks],
        [p.plants for p in picks],
        [p.grams for p in picks],
    )


def why_not(garden: Garden, variant: Variant, on: date) -> str:
    """Why a batch cannot go on as its dates say; empty if it can.

    Everything that concerns the batch by itself is looked at, with the weather and the demand
    factor as they are now: work days, seedlings, ripeness, water, bolting, light, its tier.
    """
    batch, season = variant.batch, garden.season
    crop, tier = garden.crops[batch.crop], garden.tier(batch.column, batch.tier)
    ahead = batch.picks[variant.done :]
    days = [p.date for p in ahead]
    if batch.state == PLANNED:
        days.append(batch.sow)
    if batch.state in (PLANNED, SOWN):
        days.append(batch.transplant)
        if batch.plants != tier.plants:
            return _("{column} {tier} takes {plants} plants").format(
                column=batch.column, tier=batch.tier, plants=tier.plants
            )
        fit, waits = seedling_days(garden, batch.crop, batch.sow)
        if fit is None or waits is None or not fit <= batch.transplant <= waits:
            return _("seedlings are fit from {fit} to {waits}").format(
                fit=fit or "no day", waits=waits or "no day"
            )
        for rest in tier.rests:
            if rest.family == crop.family and batch.transplant <= rest.until:
                return _("{family} rest in {column} {tier} until {until}").format(
                    family=crop.family, column=batch.column, tier=batch.tier, until=rest.until
                )
        stands_until = batch.picks[-1].date if batch.picks else batch.transplant
        for never in tier.never:
            within = batch.transplant <= never.end and never.start <= stands_until
            if batch.crop in never.crops and within:
                return _("{crop} may never stand in {column} {tier} then").format(
                    crop=crop.title, column=batch.column, tier=batch.tier
                )
    made = [p.date for p in batch.picks[: variant.done]]
    if made and days and days[0] <= made[-1]:
        return _("was picked on {made} already").format(made=made[-1])
    late = [d for d in days if d < on]
    if late:
        return _("was due on {late}").format(late=min(late))
    if not all(season.is_work_day(d) for d in days):
        return _("falls on a day without work")
    if not all(p.early or season.is_pick_day(p.date) for p in ahead):
        return _("would be picked on a day that is not for picking")
    if tier.available and not any(
        span.start <= batch.transplant and batch.clear <= span.end for span in tier.available
    ):
        return _("{column} {tier} may not be used then").format(
            column=batch.column, tier=batch.tier
        )
    return _why_not_picked(garden, variant, course_of(garden, batch))


def _why_not_picked(garden: Garden, variant: Variant, course: BatchCourse) -> str:
    batch, season, done = variant.batch, garden.season, variant.done
    crop, tier = garden.crops[batch.crop], garden.tier(batch.column, batch.tier)
    ahead = batch.picks[done:]
    if not ahead:
        return ""
    last = ahead[-1].date
    total = sum(p.plants for p in batch.picks)
    if crop.cuts == 1 and total != batch.plants:
        return _("{total} of {plants} plants are picked").format(total=total, plants=batch.plants)
    if course.ready_index is None:
        return _("is not ready in the season")
    grown = grown_of(garden, batch, course)
    growing = batch.state not in (PLANNED, SOWN)
    if not growing:
        left = np.atleast_1d(course.litres[season.index(last) - season.index(batch.transplant)])
        grams = np.array([sum(p.grams for p in batch.picks)])
        vessel = garden.vessels[tier.vessel]
        kg = vessel.mass_kg + course.litres + course.plants * course.plant_grams / 1000
        after = np.array([season.index(last) - season.index(batch.transplant)])
        grown = replace(
            grown,
            lost=rules.salt_lost(garden, crop, vessel, left, grams),
            drying=_drying(garden, batch),
            most_lost=most_lost(garden.site.weather),
            killed=rules.killed_from(garden, crop, tier, grown.start),
            moved=rules.heaviest_moved(garden, tier, grown.start, after, kg[None, :]),
            most_kg=math.inf if garden.limits.lift_kg is None else garden.limits.lift_kg,
        )
    for p in ahead:
        if p.young and mass_share_on(garden, batch, p.date) < garden.limits.young:
            return _("is too young on {date}").format(date=p.date)
    judged = [k >= done and not (p.early or p.young) for k, p in enumerate(batch.picks)]
    picks = Picks(
        np.array([[season.index(p.date) for p in batch.picks]]), np.array([judged], dtype=bool)
    )
    for rule in rules.RULES:
        if growing and not rule.growing:
            continue
        ok, figure = rule.ok(grown, picks)
        if not ok[0]:
            return _breaks(garden, batch, rule, grown, picks, float(figure[0]))
    return ""


def _drying(garden: Garden, batch: Batch) -> np.ndarray | None:
    """Share of the weather years in which a batch not begun is dry before its last pick [1]."""
    crop, tier = garden.crops[batch.crop], garden.tier(batch.column, batch.tier)
    thirst = thirst_in(weather_at(garden, tier), crop, tier.light)
    if thirst is None:
        return None
    vessel, index = garden.vessels[tier.vessel], garden.season.index
    return dry_share(
        thirst.after(np.array([index(batch.transplant)])),
        np.array([0]),
        np.array([[index(p.date) for p in batch.picks]]),
        np.array([[p.plants for p in batch.picks]]),
        batch.plants,
        usable_ml(vessel) / batch.demand_factor,
    )


def _breaks(
    garden: Garden, batch: Batch, rule: BatchRule, grown: Grown, picks: Picks, figure: float
) -> str:
    """What stands against a batch that breaks a rule, by the rule's figure."""
    season, last = garden.season, batch.picks[-1].date
    if rule is rules.RIPE:
        first, end = rules.good_days(grown, picks.days)
        off = (picks.days < first) | (picks.days > end)
        k = int(np.flatnonzero(off & np.asarray(picks.judged))[0])
        day, since = batch.picks[k].date, season.date(int(first[0, k]))
        if day < since:
            return _("is ready on {since}, not on {day}").format(since=since, day=day)
        return _("is past its hold on {day}, ready since {since}").format(day=day, since=since)
    if rule is rules.DRY:
        return _("would be dry on {figure}, too soon for a pick on {last}").format(
            figure=season.date(int(figure)), last=last
        )
    if rule is rules.DRY_YEARS:
        return _("would be dry before its last pick in {figure:.0f} % of the years").format(
            figure=Shown(100 * figure)
        )
    if rule is rules.SURVIVAL:
        return _("would be killed by cold or heat by {figure} in too many years").format(
            figure=season.date(int(figure))
        )
    if rule is rules.MOVED:
        return _("would weigh {figure:.1f} kg when its column is moved: too heavy to lift").format(
            figure=Shown(figure)
        )
    if rule is rules.BOLTING:
        return _("would bolt by {figure}").format(figure=season.date(int(figure)))
    if rule is rules.LIGHT:
        return _("gets {figure:.1f} mol/m2 a day, {dli_min:g} are needed").format(
            figure=Shown(figure), dli_min=Shown(grown.crop.dli_min)
        )
    if rule is rules.SALT:
        return _("would lose {figure:.0f} % of the crop to salt").format(figure=Shown(100 * figure))
    return _("breaks a rule: {name}").format(name=rule.name)


def ways_to_go_on(garden: Garden, variant: Variant, look: Outlook) -> list[Variant]:
    """Ways to pick what is left of a growing batch: when ripe, or early where it must be."""
    batch, done = variant.batch, variant.done
    made = batch.picks[:done]
    crop = garden.crops[batch.crop]
    left = batch.plants - sum(p.plants for p in made)
    found: list[tuple[Pick, ...]] = []
    if not look.days:
        return _early_ways(garden, variant, look)
    if crop.cuts > 1:
        for day in look.days:
            found.extend(_cuts(garden, batch, made, day, look))
    else:
        days = (*_young_days(garden, variant, look), *look.days)
        for i, day in enumerate(days):
            found.append((_heads(garden, batch, day, left, look),))
            for later in days[i + 1 :] if left > 1 else ():
                for one in sorted({left // 2, (left + 1) // 2}):
                    found.append(
                        (
                            _heads(garden, batch, day, one, look),
                            _heads(garden, batch, later, left - one, look),
                        )
                    )
    out = []
    for picks in found:
        way = replace(batch, picks=(*made, *picks), clear=max(batch.clear, picks[-1].date))
        if not _why_not_picked(garden, Variant(way, done), course_of(garden, way)):
            out.append(Variant(way, done))
    return _spread(out)


def _spread(ways: list[Variant]) -> list[Variant]:
    """At most `MOST_WAYS` of them, evenly chosen."""
    step = max(1, -(-len(ways) // MOST_WAYS))
    return ways[::step]


def _young_days(garden: Garden, variant: Variant, look: Outlook) -> list[date]:
    """The last work days before it is ripe on which it is large enough to be picked young."""
    batch, made = variant.batch, variant.batch.picks[: variant.done]
    least = least_share(garden, garden.crops[batch.crop])
    if least is None:
        return []
    out: list[date] = []
    day = look.days[0] - ONE_DAY
    first = max(look.on, *(p.date + ONE_DAY for p in made[-1:]), batch.transplant + ONE_DAY)
    while day >= first and len(out) < YOUNG_DAYS:
        if mass_share_on(garden, batch, day) < least:
            break
        if garden.season.is_pick_day(day):
            out.insert(0, day)
        day -= ONE_DAY
    return out


def _heads(garden: Garden, batch: Batch, day: date, plants: int, look: Outlook) -> Pick:
    young = day < look.days[0]
    share = mass_share_on(garden, batch, day) if young else 1.0
    mass = garden.crops[batch.crop].fresh_mass
    return Pick(day, plants, round(plants * mass * share), young=young)


def _cuts(
    garden: Garden, batch: Batch, made: Sequence[Pick], first: date, look: Outlook
) -> list[tuple[Pick, ...]]:
    """The next cut on ``first``, and each later one as soon as it has grown back."""
    crop = garden.crops[batch.crop]
    out: list[tuple[Pick, ...]] = []
    picks: list[Pick] = []
    day: date | None = first
    for k in range(len(made), crop.cuts):
        if day is None:
            break
        grams = round(batch.plants * crop.fresh_mass * crop.cut_shares[k])
        picks.append(Pick(day, batch.plants, grams))
        out.append(tuple(picks))
        grown = day + timedelta(days=round(crop.cut_interval))
        day = next(
            (
                d
                for d in (grown + n * ONE_DAY for n in range(int(crop.hold) + 1))
                if garden.season.is_pick_day(d)
            ),
            None,
        )
    return out


def _early_ways(garden: Garden, variant: Variant, look: Outlook) -> list[Variant]:
    """Picking all that is left before the tier is dry, on the day of the named choice or before.

    The first way is the one with the most mass. Past its hold it can be picked on the day itself,
    not once it has bolted or its tier is dry.
    """
    batch, done = variant.batch, variant.done
    choice = next((c for c in look.choices if c.grams), None)
    if (
        choice is None
        or (look.bolts is not None and look.bolts <= choice.date)
        or (look.dry is not None and look.dry < choice.date)
        or (done and garden.crops[batch.crop].cuts > 1)
    ):
        return []
    made = batch.picks[:done]
    crop = garden.crops[batch.crop]
    left = batch.plants if crop.cuts > 1 else batch.plants - sum(p.plants for p in made)
    share = crop.cut_shares[0] if crop.cuts > 1 else 1.0
    out = []
    day = choice.date
    while day >= look.on:
        if garden.season.is_work_day(day):
            grams = round(left * crop.fresh_mass * share * mass_share_on(garden, batch, day))
            picks = (*made, Pick(day, left, grams, early=True))
            out.append(Variant(replace(batch, picks=picks, clear=max(batch.clear, day)), done))
        day -= ONE_DAY
    return out


def finished(garden: Garden, batch: Batch, clear: date) -> Batch:
    """The batch with its clearing day, and levels, dry date and margin computed afresh."""
    season = garden.season
    batch = replace(batch, clear=clear)
    course = course_of(garden, batch)
    start = season.index(batch.transplant)
    if batch.state == FAILED:
        return replace(batch, levels=tuple(v for v in batch.levels if v.date <= clear))
    last = season.index(batch.picks[-1].date) if batch.picks else season.index(clear)
    dry = course.dry_index
    levels = tuple(
        Level(
            season.date(day),
            round(float(course.litres[min(day, last) - start]), 3),
            round(float(course.depth_cm[min(day, last) - start]), 2),
        )
        for day in range(start, season.index(clear) + 1)
    )
    vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
    return replace(
        batch,
        levels=levels,
        fill_litres=round(vessel.fill_l, 3),
        dry_date=None if dry is None else season.date(dry),
        margin_days=None if dry is None or not batch.picks else dry - last,
    )
