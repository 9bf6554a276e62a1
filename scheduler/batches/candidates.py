"""Candidates: every batch that could stand in some kind of tier, all physics decided.

A candidate is (crop, kind of tier, sow day, transplanting day, picks). Dry tiers, darkness and
bolting are settled here and cost the solver no constraint.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from crops import development
from crops.crop import Crop
from crops.years import most_lost
from scheduler.batches import fixed, patterns, rules, young
from scheduler.batches.courses import NEVER, Course, course
from scheduler.batches.judging import Asked, judge
from scheduler.batches.open_days import available_until, never_until
from scheduler.batches.patterns import MOST_PICKS
from scheduler.batches.rules import Grown, Picks
from scheduler.batches.thirst import thirst_in
from scheduler.garden.kinds import Kind, tier_kinds
from scheduler.garden.model import Garden
from scheduler.garden.placed import weather_at

if TYPE_CHECKING:
    import pandas as pd

# Why a transplanting day does not work, in the order in which it is found.
OK = "ok"
NO_SEEDLING = "no seedling"  # no sow day gives a seedling of the right age
NOT_AVAILABLE = "tier not available"
RESTS = "family rests"
FORBIDDEN = "never there"  # the grower will not have it
LATE = "not ready in the season"
NO_DAY = "no work day in the hold"
DARK = "too dark"
BOLTS = "bolts"
KILLED = "killed by cold or heat"
DRY = "dry before ready"
DRY_YEARS = "dry in too many years"  # before its last pick
SALTY = "too salty"  # no fill of the crop's range keeps salt from costing too much

_CODE = {rules.LIGHT.name: DARK, rules.DRY.name: DRY, rules.BOLTING.name: BOLTS}
_CODE[rules.SURVIVAL.name] = KILLED


@dataclass(frozen=True)
class Candidates:
    """All candidates of a garden, one row each; day numbers count from the season's first day.

    Attributes
    ----------
    garden, kinds : what they were made from.
    table : columns ``crop`` (place in ``crop_names``), ``kind`` (place in ``kinds``),
        ``sow``, ``transplant``, ``first``, ``last`` (picks), ``dry`` (`NEVER` if unseen),
        ``cells``, ``heavy_until`` (first day after transplanting on which the tier may be lifted),
        ``heavy_after`` (still too heavy once picked), ``grams`` (in all).
    pick_day, pick_plants, pick_grams : [n, MOST_PICKS], `NEVER` and 0 where there is no pick.
    crop_names : crops in the order of the column ``crop``.
    """

    garden: Garden
    kinds: tuple[Kind, ...]
    table: pd.DataFrame
    pick_day: np.ndarray
    pick_plants: np.ndarray
    pick_grams: np.ndarray
    crop_names: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.table)

    def at(self, name: str, row: int) -> int:
        """One value of the table."""
        return int(self.table[name].to_numpy()[row])


@dataclass(frozen=True)
class Windows:
    """Why each transplanting day works or not, for one crop in one kind of tier [m].

    ``sow`` is `NEVER` where no seedling can be had; ``amount`` is the figure behind the reason:
    the share lost for `SALTY`, of dry years for `DRY_YEARS`, DLI for `DARK`, day index of running
    dry for `DRY`, ready index for `LATE` and `BOLTS`, the morning of too many deaths for `KILLED`.
    The rest is what a reason is explained with, day by day whatever the reason: ``dry``, the day
    the tier runs dry if nothing is picked; ``light``, the mean DLI up to ready; ``until``, the last
    day the tier is to be had (-1: not to be had); ``grown``, what the rules about one batch ask, if
    nothing is picked before. A reason that is none of those above is the name of such a rule.
    """

    crop: str
    kind: int
    starts: np.ndarray
    sow: np.ndarray
    ready: np.ndarray
    reason: np.ndarray
    amount: np.ndarray
    dry: np.ndarray
    light: np.ndarray
    until: np.ndarray
    grown: Grown


def build(garden: Garden, first_day: int = 0) -> tuple[Candidates, list[Windows]]:
    """Every candidate of ``garden`` that transplants on or after day ``first_day``.

    Returns
    -------
    The candidates, and for each crop and kind of tier the reasons day by day.
    """
    import pandas as pd

    kinds = tier_kinds(garden)
    names = tuple(garden.crops)
    starts = np.flatnonzero(garden.season.work_mask)
    starts = starts[starts >= first_day]
    frames: list[pd.DataFrame] = []
    picks: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
    windows: list[Windows] = []
    for c, name in enumerate(names):
        crop = garden.crops[name]
        sow = sow_days(garden, crop, starts, first_day)
        courses: dict[Hashable, Course] = {}
        for k, kind in enumerate(kinds):
            tier = kind.tier
            # The same light and plants drink alike whatever the vessel: computed once.
            key = tier.light, tier.plants, tier.stays
            base = courses.get(key)
            if base is None:
                base = courses[key] = course(garden, crop, tier, starts)
            this = Course(garden, crop, tier, starts, base.ready, base.drunk, base.growth)
            window, rows = candidate_rows(this, sow, c, k)
            windows.append(window)
            for frame, days, plants, grams in rows:
                frames.append(frame)
                picks.append((days, plants, grams))
    if frames:
        table = pd.concat(frames, ignore_index=True)
        day, plants, grams = (np.concatenate([p[i] for p in picks]) for i in range(3))
        room = fixed.leave_room(garden, kinds, names, table, day)
        table = table[room].reset_index(drop=True)
        day, plants, grams = day[room], plants[room], grams[room]
    else:
        table = pd.DataFrame(columns=_COLUMNS, dtype=int)
        day, plants, grams = (np.zeros((0, MOST_PICKS), int) for _ in range(3))
    return Candidates(garden, kinds, table, day, plants, grams, names), windows


_COLUMNS = [
    "crop",
    "kind",
    "sow",
    "transplant",
    "first",
    "last",
    "dry",
    "cells",
    "heavy_until",
    "heavy_after",
    "grams",
]


def nursery_sum(garden: Garden, crop: Crop) -> np.ndarray:
    """Running sum of nursery progress of ``crop`` [days of weather + 1]."""
    weather = garden.site.weather
    if garden.nursery.temperature is None:
        low, high = weather["tmin"].to_numpy(), weather["tmax"].to_numpy()
    else:
        low = high = np.full(len(weather), garden.nursery.temperature)
    return development.running_sum(development.nursery_rate(crop, low, high))


def sow_days(garden: Garden, crop: Crop, starts: np.ndarray, first_day: int = 0) -> np.ndarray:
    """The latest work day on which to sow for each transplanting day [m]; `NEVER` if none.

    The seedling must be fit on the day and must not have waited longer than the crop allows.
    """
    total = nursery_sum(garden, crop)
    out = np.full(len(starts), NEVER)
    work = np.flatnonzero(garden.season.work_mask)
    work = work[work >= first_day]
    if not len(work):
        return out
    fit = development.first_reach(total, work)  # rising with the sow day
    for i, start in enumerate(starts):  # one step a work day, not a candidate
        at = int(np.searchsorted(fit, start, side="right")) - 1
        if at >= 0 and work[at] < start and fit[at] + int(crop.nursery_wait) >= start:
            out[i] = work[at]
    return out


def candidate_rows(
    this: Course, sow: np.ndarray, c: int, k: int
) -> tuple[Windows, list[tuple[pd.DataFrame, np.ndarray, np.ndarray, np.ndarray]]]:
    """Reasons and candidates of one crop (number ``c``) in one kind of tier (``k``).

    ``sow`` are the sow days of the course's starts [m]. The rows, if any, are a table without its
    place in the whole, and days, plants and grams of the picks.
    """
    garden, crop, tier, starts, ready = this.garden, this.crop, this.tier, this.starts, this.ready
    season = garden.season
    hold = int(crop.hold)
    m = len(starts)
    reason = np.full(m, OK, dtype=object)
    amount = np.zeros(m)

    def refuse(where: np.ndarray, why: str, figure: np.ndarray | float = 0.0) -> None:
        new = where & (reason == OK)
        amount[new] = np.broadcast_to(figure, (m,))[new]
        reason[new] = why

    refuse(sow >= NEVER, NO_SEEDLING)
    until = available_until(garden, tier, starts)
    refuse(until < 0, NOT_AVAILABLE)
    for rest in tier.rests:
        if rest.family == crop.family:
            refuse(starts <= season.index(rest.until), RESTS, season.index(rest.until))
    again, before = never_until(garden, crop.name, tier, starts)
    refuse(again >= 0, FORBIDDEN, again)
    until = np.minimum(until, before)
    least = young.least_share(garden, crop)
    first = (
        ready
        if least is None
        else np.minimum(ready, young.first_day(garden, crop, tier, starts, least))
    )
    refuse(first > season.days - 1, LATE, ready)

    none = np.full((m, 1), NEVER)
    whole = this.first_at_or_below(this.litres(this.tier_drunk(none, none)), this.vessel.floor_l)
    dry_alone = np.where(whole < NEVER, starts + whole, NEVER)
    bolted = rules.bolted_from(garden, crop, tier, starts)
    killed = rules.killed_from(garden, crop, tier, starts)
    light = rules.light_sum(garden, tier)
    margin = garden.limits.dry_margin_days
    grown = Grown(crop, margin, starts, ready, dry_alone, bolted, light, young=first, killed=killed)
    if garden.limits.lift_kg is not None:
        grown = replace(grown, most_kg=garden.limits.lift_kg)
    # Picked on the first day on which it may be, and on the one on which it is ready.
    soonest, when_ready = (
        Picks(np.clip(day, starts, len(light) - 1)[:, None]) for day in (first, ready)
    )
    bright, mean_light = rules.LIGHT.ok(grown, when_ready)
    refuse(~rules.SURVIVAL.ok(grown, soonest)[0], KILLED, killed)
    refuse(~rules.BOLTING.ok(grown, soonest)[0], BOLTS, ready)

    last_day = np.minimum.reduce([bolted - 1, killed - 1, until, np.full(m, season.days - 1)])
    if crop.cuts == 1:
        offered = patterns.head_patterns(
            season,
            crop,
            tier.plants,
            ready,
            np.minimum(ready + hold, last_day),
            lambda days: rules.mean_light(grown, days) >= crop.dli_min,
            patterns.picks_can_bind(garden),
            garden.limits.lift_kg is not None,
            garden.event_weeks(crop.name),
        )
        if least is not None:
            upto = np.minimum(ready - 1, last_day)
            offered += young.patterns(
                season, crop, tier.plants, first, upto, garden.event_weeks(crop.name)
            )
    else:
        offered = patterns.cut_patterns(season, crop, tier.plants, ready, hold)
    offered += fixed.told_patterns(garden, crop, k, starts)
    found = np.zeros(m, bool)
    # To salt, to drought in years, over the patterns that nothing else forbids.
    least_lost, least_dry, least_kg = (np.full(m, np.inf) for _ in range(3))
    thirst = thirst_in(weather_at(garden, tier), crop, tier.light)
    ask = Asked(
        this,
        bolted,
        killed,
        first,
        light,
        None if thirst is None else thirst.after(starts),
        most_lost(garden.site.weather),
    )
    cells = development.cells_to_sow(crop, tier.plants)
    tables: dict[int, np.ndarray] = {}
    picks: dict[int, tuple[np.ndarray, np.ndarray, np.ndarray]] = {}
    # The day from which a vessel is light, by pattern; not before it is cleared: `NEVER`.
    light_from = np.full((len(offered), m), -1)
    for number, at, judged in judge(ask, offered, reason == OK, last_day, light_from):
        days, plants = offered[number].days, offered[number].plants
        good, figures, grams = judged.good, judged.figures, judged.grams
        least_dry[at] = np.minimum(least_dry[at], np.where(good, judged.dry_share, np.inf))
        good &= judged.lasts
        least_kg[at] = np.minimum(least_kg[at], np.where(good, judged.kg, np.inf))
        good &= judged.carried
        least_lost[at] = np.minimum(least_lost[at], np.where(good, judged.lost, np.inf))
        good &= judged.sweet
        heavy_until = np.minimum(figures["heavy_until"], figures["last"])
        heavy_until = np.where(figures["heavy_after"], NEVER, heavy_until)
        heavier = offered[number].heavier
        if heavier is not None:
            good &= heavy_until < light_from[heavier, at]
        if not good.any():
            continue
        pick = at[good]
        found[pick] = True
        light_from[number, pick] = heavy_until[good]
        known = {"crop": c, "kind": k, "sow": sow[pick], "cells": cells}
        table = np.empty((len(pick), len(_COLUMNS)), dtype=int)
        for i, name in enumerate(_COLUMNS):
            table[:, i] = known[name] if name in known else figures[name][good]
        tables[number] = table
        picks[number] = wide(days[pick], NEVER), wide(plants[pick], 0), wide(grams[good], 0)
    # A reason is named only where no pattern was found, so that it never refuses a good one.
    refuse(~found & (least_lost < np.inf), SALTY, least_lost)
    refuse(~found & (least_kg < np.inf) & (least_kg > grown.most_kg), rules.MOVED.name, least_kg)
    refuse(~found & (least_dry < np.inf), DRY_YEARS, least_dry)
    refuse(~found & ~bright, DARK, mean_light)
    for rule in (rules.DRY, *(r for r in rules.RULES if r is not rules.LIGHT)):
        ok, figure = rule.ok(grown, soonest)
        refuse(~found & ~ok, _CODE.get(rule.name, rule.name), figure)
    refuse(~found, NO_DAY)
    window = Windows(
        crop.name, k, starts, sow, ready, reason, amount, dry_alone, mean_light, until, grown
    )
    if not tables:
        return window, []
    import pandas as pd

    inorder = sorted(tables)  # as they were offered
    frame = pd.DataFrame(np.concatenate([tables[n] for n in inorder]), columns=_COLUMNS)
    day, plants, grams = (np.concatenate([picks[n][i] for n in inorder]) for i in range(3))
    return window, [(frame, day, plants, grams)]


def wide(values: np.ndarray, fill: int) -> np.ndarray:
    """``values`` [m, e] padded to `MOST_PICKS` columns."""
    out = np.full((len(values), MOST_PICKS), fill)
    out[:, : values.shape[1]] = values
    return out
