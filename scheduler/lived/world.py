"""A garden over its weather years as arrays: all that living a schedule asks but the schedule.

Made once, so that thousands of schedules can be lived in it (`lived.replay`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import astuple, fields
from typing import NamedTuple

import numpy as np

from scheduler.base.weeks import week_of
from scheduler.garden.model import Garden
from scheduler.garden.weekly import eaten_on, season_weeks, weeks_served, wish
from scheduler.lived.doubt import NONE, Doubt
from scheduler.lived.grower import SENSIBLE, Grower
from scheduler.lived.growing import READY, minutes_by_day
from scheduler.lived.laid import FAR, Crops, Skies, crops_over, open_days, skies_of
from scheduler.lived.worth import FLAT, Taste
from scheduler.years.weather_years import WeatherYears

DAY = np.dtype(
    [("week", "i8"), ("next_pick", "i8"), ("work", "?"), ("pick", "?"), ("minutes", "f8")]
)
LEAVES = ("leaf_0", "leaf_1", "leaf_2", "leaf_3", "leaf_4")  # at each of `growth.KNOTS`
WEATHER = np.dtype([(name, "f8") for name in ("tmin", "sun", "air", "hardening")])
CROP = np.dtype(
    [
        *((name, "f8") for name in ("fresh", "interval", "after_cut", "hold", "fades", "per_mm")),
        *((name, "f8") for name in LEAVES),
        *((name, "f8") for name in ("bolt_days", "kills", "kills_hardened")),
        *((name, "i8") for name in ("cuts", "wait", "group")),
    ]
)
TIER = np.dtype(
    [
        *((name, "f8") for name in ("fill", "floor", "mass", "light")),
        *((name, "i8") for name in ("depth", "sky", "bath")),
    ],
)
TASTE = np.dtype([(f.name, "f8") for f in fields(Taste)])
LIMITS = np.dtype(
    [
        *((name, "f8") for name in ("lift", "most_picks", "most_fills", "cells")),
        *((name, "f8") for name in ("least", "per_pick", "per_clear", "per_lift", "per_fill")),
        ("per_sow", "f8"),
        ("turnaround", "i8"),
        ("lone", "i8"),
    ]
)

STAND = np.dtype(
    [
        *((name, "f8") for name in ("base", "bolted_before", "litres", "drank")),
        *((name, "f8") for name in ("good_until", "progress", "bolting")),
        *((name, "i8") for name in ("now", "plants", "taken", "picks", "last_cut", "ripe_on")),
        *((name, "i8") for name in ("dry_on", "free_from", "turn", "since", "over")),
        ("not_before", "i8"),
    ]
)
SEEDLING = np.dtype([(name, "i8") for name in ("sown", "fit", "keeps")])


class World(NamedTuple):
    """A garden over years. Crops, tiers (from top to bottom, column by column) and weeks by number.

    Attributes
    ----------
    days : of `DAY` [days]: week, whether there is work, whether picks, the next day with
        picks, minutes of work [min].
    weather : of `WEATHER` [years, skies, days + 1]; ``hardening`` is a running sum. A sky is the
        weather of tiers that stand in the same places on the same days.
    crops : of `CROP`, as in `lived.laid.Crops`; cut_shares : of the mass, by cut [crops, cuts].
    tiers : of `TIER`; tops : where each column begins, and the end [columns + 1].
    limits : one of `LIMITS`, infinite where there is none; ``lone``: every batch is lived as if
        there were no other, with a kitchen that is never full.
    thirst : [crops, years]; bolting : running sums [skies, crops, years, days + 1].
    harm, harm_of : as in `lived.laid.Crops`.
    fit : first morning on which a seedling sown on a day can be transplanted [crops, years, days].
    growth : running sum of progress [keys, years, days + 1]; key : [crops, tiers].
    open : days on which a tier may hold a batch [tiers, days].
    wish : [g], groups x weeks; weight : of a gram [groups].
    first_week, last_week : in which a pick of a day can be eaten; 0 and -1: in none [crops, days].
    eaten : day at whose end each week's wish is served [groups, weeks]; next_eaten : week whose
        wish is served next, on a day or later, the number of weeks if none [groups, days].
    today : days before it have happened: what is lived begins on it (`lived.now`).
    stands : of `STAND`, what stands that morning, ``now`` the number of a batch in hand
        [years, tiers]; seedlings : of `SEEDLING`, of batches in hand [batches in hand, years];
        stock, met, others : [g] in the kitchen by last week, eaten, and eaten of other kinds than
        the one eaten most, years x groups x weeks; kinds : as ``stock`` by crop, years x crops x
        weeks. Empty where nothing has happened.
    taste : one of `TASTE`: `lived.worth.Taste`.
    """

    days: np.ndarray
    weather: np.ndarray
    crops: np.ndarray
    cut_shares: np.ndarray
    tiers: np.ndarray
    tops: np.ndarray
    limits: np.ndarray
    thirst: np.ndarray
    bolting: np.ndarray
    harm: np.ndarray
    harm_of: np.ndarray
    fit: np.ndarray
    growth: np.ndarray
    key: np.ndarray
    open: np.ndarray
    wish: np.ndarray
    weight: np.ndarray
    first_week: np.ndarray
    last_week: np.ndarray
    eaten: np.ndarray
    next_eaten: np.ndarray
    today: int
    stands: np.ndarray
    seedlings: np.ndarray
    stock: np.ndarray
    met: np.ndarray
    others: np.ndarray
    kinds: np.ndarray
    taste: np.ndarray


def world_of(
    garden: Garden,
    years: WeatherYears,
    doubt: Doubt = NONE,
    seed: int = 0,
    grower: Grower = SENSIBLE,
    taste: Taste = FLAT,
) -> World:
    """The garden with all its crops; ``doubt`` in their numbers is drawn with ``seed``."""
    season, days = garden.season, garden.season.days
    names = tuple(garden.crops)
    tiers = [(column, tier) for column in garden.columns for tier in column.tiers]
    skies = skies_of(garden, years, [tier for _, tier in tiers])
    crops = crops_over(garden, names, skies, doubt, seed)
    lights = list(dict.fromkeys((tier.light, tier.stays) for _, tier in tiers))
    growth = np.zeros((len(names) * len(lights), years.count, years.days + 1))
    for c, name in enumerate(names):
        for k, (light, stays) in enumerate(lights):
            there = skies.years[skies.number[stays]].carried
            rate = there.rates(garden.crops[name], light) * crops.speed[c][:, None]
            np.cumsum(rate, axis=1, out=growth[c * len(lights) + k, :, 1:])
    of_tier = np.array([lights.index((tier.light, tier.stays)) for _, tier in tiers], dtype=int)
    weeks = season_weeks(season)
    at = {week: i for i, week in enumerate(weeks)}
    wished = wish(garden)
    first, last = (np.zeros((len(names), days), dtype=int) for _ in range(2))
    for c, name in enumerate(names):
        for d in range(days):
            life, events = garden.crops[name].storage_life, garden.event_weeks(name)
            served = [at[w] for w in weeks_served(season.date(d), life, events) if w in at]
            first[c, d], last[c, d] = (served[0], served[-1]) if served else (0, -1)
    eaten = eaten_on(garden)
    n, groups = len(names), [d.group for d in garden.demands]
    return World(
        _days(garden, at),
        _weather(skies, crops.hardening),
        _crop_records(crops, n),
        crops.cut_shares[:n],
        _tier_records(garden, skies),
        np.cumsum([0, *(len(column.tiers) for column in garden.columns)]),
        _limit_record(garden, grower),
        crops.thirst[:n],
        # In one piece, whatever the garden: for another layout all is compiled once more.
        np.ascontiguousarray(crops.bolting[:, :n]),
        crops.harm,
        np.ascontiguousarray(crops.harm_of[:, :n]),
        _fit(crops.nursery[:n], days),
        growth,
        np.arange(n)[:, None] * len(lights) + of_tier[None, :],
        open_days(garden, [tier for _, tier in tiers]),
        np.array([[wished.get((g, w), 0) for w in weeks] for g in groups], dtype=float).reshape(
            len(groups), len(weeks)
        ),
        np.array([d.weight for d in garden.demands], dtype=float),
        first,
        last,
        eaten,
        np.array([np.searchsorted(row, np.arange(days)) for row in eaten]).reshape(-1, days),
        0,
        np.zeros((0, 0), dtype=STAND),
        np.zeros((0, 0), dtype=SEEDLING),
        np.zeros((0, 0, 0)),
        np.zeros((0, 0, 0)),
        np.zeros((0, 0, 0)),
        np.zeros((0, 0, 0)),
        np.array([astuple(taste)], dtype=TASTE),
    )


def _days(garden: Garden, week_at: Mapping[str, int]) -> np.ndarray:
    season = garden.season
    out = np.zeros(season.days, dtype=DAY)
    out["week"] = [week_at[week_of(season.date(d))] for d in range(season.days)]
    out["work"] = season.work_mask
    out["pick"] = season.pick_mask
    picks = [*np.flatnonzero(season.pick_mask).tolist(), FAR]
    at = np.searchsorted(picks, np.arange(season.days), side="right")
    out["next_pick"] = np.array(picks)[at]
    out["minutes"] = minutes_by_day(garden)
    return out


def _weather(skies: Skies, hardening: np.ndarray) -> np.ndarray:
    out = np.zeros(np.swapaxes(hardening, 0, 1).shape, dtype=WEATHER)
    for k, years in enumerate(skies.years):
        out["tmin"][:, k, :-1] = years.tmin
        out["sun"][:, k, :-1], out["air"][:, k, :-1] = years.et0 * years.sun, years.et0 * years.air
        out["hardening"][:, k] = hardening[k]
    return out


def _crop_records(crops: Crops, n: int) -> np.ndarray:
    out = np.zeros(n, dtype=CROP)
    for name in ("fresh", "interval", "after_cut", "hold", "fades", "per_mm"):
        out[name] = getattr(crops, name)[:n]
    for name in ("bolt_days", "cuts", "group"):
        out[name] = getattr(crops, name)[:n]
    out["wait"] = crops.wait[:n]
    for k, name in enumerate(LEAVES):
        out[name] = crops.leaves[:n, k]
    out["kills"], out["kills_hardened"] = crops.kills[:n].T
    return out


def _tier_records(garden: Garden, skies: Skies) -> np.ndarray:
    rows: list[tuple[float, ...]] = []
    for column in garden.columns:
        for depth, tier in enumerate(column.tiers):
            v = garden.vessels[tier.vessel]
            sky = skies.number[tier.stays]
            bath = skies.bath[len(rows)]
            rows.append((v.fill_l, v.floor_l, v.mass_kg, tier.light, depth, sky, bath))
    return np.array(rows, dtype=TIER)


def _limit_record(garden: Garden, grower: Grower) -> np.ndarray:
    limits, labour = garden.limits, garden.limits.labour

    def most(limit: float | None, more: float) -> float:
        return np.inf if limit is None else limit + more

    values = {
        "lift": most(limits.lift_kg, 1e-9),
        "most_picks": most(limits.picks_per_day, 0),
        "most_fills": most(limits.fills_per_day, 0),
        "cells": garden.nursery.cells,
        "least": grower.least(garden),
        "turnaround": limits.turnaround_days,
        "lone": 0,
        "per_pick": labour.pick,
        "per_clear": labour.clear,
        "per_lift": labour.lift,
        "per_fill": labour.fill,
        "per_sow": labour.sow,
    }
    return np.array([tuple(values[str(name)] for name in LIMITS.names or ())], dtype=LIMITS)


def _fit(nursery: np.ndarray, days: int) -> np.ndarray:
    """First morning on which seedlings sown on each day are fit [crops, years, days]."""
    crops, years, _ = nursery.shape
    out = np.full((crops, years, days), FAR)
    for c in range(crops):
        for y in range(years):
            total = nursery[c, y]
            found = np.searchsorted(total, total[:days] + READY)
            out[c, y] = np.where(found < len(total), found, FAR)
    return out
