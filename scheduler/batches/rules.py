"""The rules about one batch by itself, each said once: candidates, reasons, re-planning, outlooks.

A rule takes batches of one crop in one kind of tier and the days of their picks, and tells which
keep it, with the figure that a reason is explained with. `RULES` lists them: what is added there
holds in every candidate, in what a re-plan goes on with, in what is foretold of a growing batch and
in the reasons of sowing windows. `scheduler.verify.batch_rules` says each once more in its own
words.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from crops import development, survival
from crops.crop import Crop
from crops.solution import balance, strength
from crops.vessel import Vessel
from crops.years import LOST
from scheduler.batches.courses import NEVER
from scheduler.garden.baths import solution_at
from scheduler.garden.model import Garden, Tier
from scheduler.garden.placed import moving_days, weather_at
from scheduler.plans import rules as names


@dataclass(frozen=True)
class Grown:
    """Batches of one crop in one kind of tier, as far as the rules ask; days are indices.

    One entry a batch [n], or a single one for a batch of which many ways to pick are looked at.

    Attributes
    ----------
    margin : days that must be left before it is dry.
    start : day of transplanting [n]; ready : first morning on which it is ready [n].
    dry : first morning on which the tier is dry, as if the last pick were not made [n].
    bolted : first morning from which it counts as bolted [n].
    light : running sum of the DLI in the tier [days of weather + 1].
    lost : share of the crop that salt costs [n]; None: not asked.
    young : first morning on which heads may be picked, be they not ready [n]; None: once ready.
    drying : share of the weather years in which it is dry before its last pick [n]; None: not
        asked. most_lost : in how many of them a batch may be lost, as a share [0..1].
    killed : first morning from which it counts as killed by cold or heat [n]; None: not asked.
    moved : the heaviest it is on a day on which its column is moved [kg, n]; None: not asked.
        most_kg : that may be lifted [kg].

    `NEVER` where a day is not seen while there is weather.
    """

    crop: Crop
    margin: int
    start: np.ndarray
    ready: np.ndarray
    dry: np.ndarray
    bolted: np.ndarray
    light: np.ndarray
    lost: np.ndarray | None = None
    young: np.ndarray | None = None
    drying: np.ndarray | None = None
    most_lost: float = LOST
    killed: np.ndarray | None = None
    moved: np.ndarray | None = None
    most_kg: float = np.inf

    def one(self, i: int) -> Grown:
        """Batch ``i`` alone."""
        cut: dict[str, Any] = {
            name: None if values is None else values[i : i + 1]
            for name in (
                *("start", "ready", "dry", "bolted", "lost", "young", "drying", "killed"),
                "moved",
            )
            for values in (getattr(self, name),)
        }
        return replace(self, **cut)


@dataclass(frozen=True)
class Picks:
    """Days of picks [n, e]; ``judged``: which must be ripe, all but those made or picked early."""

    days: np.ndarray
    judged: np.ndarray | None = None

    @property
    def last(self) -> np.ndarray:
        """Day of the last pick [n]."""
        last: np.ndarray = self.days[:, -1]
        return last


Ok = Callable[[Grown, Picks], tuple[np.ndarray, np.ndarray]]


@dataclass(frozen=True)
class BatchRule:
    """``ok`` tells which batches keep the rule [n], and its figure [n].

    ``growing``: asked of a batch that grows already too, as something can still be done about it.
    """

    name: str
    ok: Ok
    growing: bool


def ripe(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """Each pick is on one of the days on which it is good; the first pick's first such day."""
    first, last = good_days(g, picks.days)
    if g.young is not None and g.crop.cuts == 1:
        first = np.minimum(first, g.young[:, None])
    good = np.asarray((picks.days >= first) & (picks.days <= last))
    if picks.judged is not None:
        good |= ~picks.judged
    return np.asarray(good.all(axis=1)), first[:, 0]


def good_days(g: Grown, days: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """First and last day on which each pick of ``days`` is good, by those before it [n, e].

    Heads, and the first cut, from ready to the end of the hold; each later cut from when it has
    grown back to as many days after.
    """
    first = np.broadcast_to(g.ready[:, None], days.shape).copy()
    if g.crop.cuts > 1:
        first[:, 1:] = days[:, :-1] + round(g.crop.cut_interval)
    return first, first + int(g.crop.hold)


def dry_margin(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """The tier would be dry no sooner than the margin after the last pick; when it is dry."""
    return g.dry - g.margin >= picks.last, g.dry


def lasting(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """It lasts to its last pick in enough of the weather years; the share in which it is dry."""
    drying = np.zeros(len(g.start)) if g.drying is None else g.drying
    # A hair is added: a fifth of five years is one.
    return drying <= g.most_lost + 1e-9, drying


def unbolted(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """It has not bolted on the day of the last pick; the day it has."""
    return picks.last < g.bolted, g.bolted


def alive(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """It is alive on the day of the last pick in enough years; the day from which it is not."""
    killed = np.full(len(g.start), NEVER) if g.killed is None else g.killed
    return picks.last < killed, killed


def lit(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """Mean DLI from transplanting to the last pick is enough; that mean [mol m-2 d-1]."""
    mean = mean_light(g, picks.last[:, None])[:, 0]
    return mean >= g.crop.dli_min, mean


def mean_light(g: Grown, days: np.ndarray) -> np.ndarray:
    """Mean DLI from each start to each of its ``days``, both counted [n, days]."""
    end = np.minimum(days + 1, len(g.light) - 1)
    mean: np.ndarray = (g.light[end] - g.light[g.start][:, None]) / (days + 1 - g.start[:, None])
    return mean


def sweet(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """Salt costs it little; the share it costs [0..1]."""
    lost = np.zeros(len(g.start)) if g.lost is None else g.lost
    return lost <= strength.MOST_LOST, lost


def movable(g: Grown, picks: Picks) -> tuple[np.ndarray, np.ndarray]:
    """It is light enough whenever its column is moved; the heaviest that it is then [kg]."""
    moved = np.zeros(len(g.start)) if g.moved is None else g.moved
    return moved <= g.most_kg + 1e-9, moved


RIPE = BatchRule(names.RIPE.name, ripe, True)
DRY = BatchRule(names.DRY.name, dry_margin, True)
BOLTING = BatchRule(names.BOLTING.name, unbolted, True)
LIGHT = BatchRule(names.LIGHT.name, lit, False)
DRY_YEARS = BatchRule(names.DRY_YEARS.name, lasting, False)
SURVIVAL = BatchRule(names.SURVIVAL.name, alive, False)
MOVED = BatchRule(names.MOVED.name, movable, False)
SALT = BatchRule(names.SALT.name, sweet, False)

# In the order in which they are named where several stand against a batch.
RULES: tuple[BatchRule, ...] = (RIPE, SURVIVAL, BOLTING, DRY, DRY_YEARS, LIGHT, MOVED, SALT)


def keeps(
    g: Grown, picks: Picks, growing: bool = False, but: tuple[BatchRule, ...] = ()
) -> np.ndarray:
    """Which batches keep every rule [n]; ``growing``: only those asked of growing batches."""
    out = np.ones(len(picks.days), dtype=bool)
    for rule in RULES:
        if rule not in but and (rule.growing or not growing):
            out &= rule.ok(g, picks)[0]
    return out


def bolted_from(garden: Garden, crop: Crop, tier: Tier, starts: np.ndarray) -> np.ndarray:
    """First morning on which batches have stood more bolting days than their crop can [n]."""
    weather = weather_at(garden, tier)
    last = development.good_until(crop, weather, starts)
    return np.where(last < len(weather), last + 1, NEVER)


def killed_from(garden: Garden, crop: Crop, tier: Tier, starts: np.ndarray) -> np.ndarray:
    """First morning on which cold or heat have killed batches in more years than may be [n]."""
    weather = weather_at(garden, tier)
    last = survival.alive_until(crop, weather, starts, solution_at(garden, tier))
    return np.where(last < len(weather), last + 1, NEVER)


def light_sum(garden: Garden, tier: Tier) -> np.ndarray:
    """Running sum of the DLI in a tier [days + 1]."""
    return development.running_sum(weather_at(garden, tier)["dli"].to_numpy() * tier.light)


def heaviest_moved(
    garden: Garden, tier: Tier, starts: np.ndarray, last: np.ndarray, kg: np.ndarray
) -> np.ndarray | None:
    """The heaviest that batches are on a day on which their column is moved [kg, n].

    None where the column stays, or anything may be lifted. After its last pick, day ``last`` [n]
    after its start, a vessel may wait to be cleared with what is left in it; ``kg`` is its mass on
    each morning after the start, that day's picks made [n, days].
    """
    if garden.limits.lift_kg is None or not tier.stays:
        return None
    out = np.zeros(len(starts))
    rows = np.arange(len(starts))
    for day in moving_days(tier, garden):
        after = garden.season.index(day) - starts
        at = np.clip(np.minimum(after, last), 0, kg.shape[1] - 1)
        out = np.where(after > 0, np.maximum(out, kg[rows, at]), out)
    return out


def salt_lost(
    garden: Garden, crop: Crop, vessel: Vessel, end: np.ndarray, grams: np.ndarray
) -> np.ndarray:
    """Share of the yield that salt costs where ``end`` [L] is left at the last pick [m]."""
    per_gram = (vessel.fill_l - end) * 1000 / np.maximum(grams, 1)
    held = balance.drawn(crop, np.maximum(per_gram, 1e-6))
    return strength.choose(crop, end / vessel.fill_l, held, garden.solution.source).lost
