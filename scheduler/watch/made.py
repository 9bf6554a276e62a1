"""The table of forecasts made from weather years, once for each plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Protocol

import numpy as np

from crops import development
from scheduler.batches.candidates import nursery_sum
from scheduler.garden.model import Garden
from scheduler.levels.kind import Kind
from scheduler.lived.doubt import Doubt
from scheduler.lived.laid import Laid, lay_out
from scheduler.lived.water import one_plant
from scheduler.plans.model import CLEARED, FAILED, PLANNED, SOWN, Plan
from scheduler.watch.act import act_levels
from scheduler.watch.forecast import Foretold, Other
from scheduler.words.work_kinds import HARDEN, LEVEL, MOVE, PROTECT, SHADE, SHELTER, SUPPORT
from scheduler.years import CHOOSING
from scheduler.years.expected import without_years
from scheduler.years.purposes import years_for

if TYPE_CHECKING:
    from scheduler.years.weather_years import WeatherYears

Day = date  # `Item` has a property called date

BEYOND = 28  # days after the clearing of a batch up to which its tier is foretold
_WEEK = 7

# Work beside sowing, planting, picking, clearing.
_OTHER = (SHELTER, SUPPORT, MOVE, HARDEN, PROTECT, SHADE)


class Item(Protocol):
    """An item of the calendar, as `outputs.work` makes them."""

    @property
    def date(self) -> Day: ...
    @property
    def kind(self) -> str: ...
    @property
    def column(self) -> str: ...
    @property
    def tier(self) -> int | None: ...
    @property
    def batch(self) -> str: ...
    @property
    def crop(self) -> str: ...
    @property
    def plants(self) -> int: ...
    @property
    def place(self) -> str: ...
    @property
    def until(self) -> Day | None: ...
    @property
    def meters(self) -> bool: ...


def forecasts(garden: Garden, plan: Plan, items: Iterable[Item] = ()) -> Foretold:
    """The table of forecasts of a plan.

    ``items``: the plan's calendar, of which the table keeps what the plan itself does not tell.
    """
    items = list(items)
    starts = {b.id: b.transplant for b in plan.batches}
    days: dict[str, list[int]] = {}
    for w in items:
        if w.kind == LEVEL:
            days.setdefault(w.batch, []).append((w.date - starts[w.batch]).days)
    other = tuple(
        Other(w.date, w.kind, w.column, w.tier, w.batch, w.place or w.crop, w.plants, w.until)
        for w in items
        if w.kind in _OTHER
    )
    table = foretold(garden, plan)
    act = act_levels(garden, plan, table, days)
    checks = {
        batch: dict(zip(wanted, act.get(batch, [None] * len(wanted)), strict=True))
        for batch, wanted in days.items()
    }
    meters = {w.batch: (w.date - starts[w.batch]).days for w in items if w.meters}
    leads = leads_of(garden, plan)
    return replace(table, checks=checks, other=other, leads=leads, meters=meters)


def leads_of(garden: Garden, plan: Plan) -> dict[str, int]:
    """Days before its transplanting by which each batch to come must be sown to be fit for it."""
    out = {}
    sums = {}
    for batch in plan.batches:
        if batch.state not in (PLANNED, SOWN):
            continue
        if batch.crop not in sums:
            sums[batch.crop] = nursery_sum(garden, garden.crops[batch.crop])
        total, day = sums[batch.crop], garden.season.index(batch.transplant)
        early = np.arange(max(day, 0))
        fit = development.first_reach(total, early)  # rising with the day of sowing
        found = int(np.searchsorted(fit, day, side="right"))
        if found:
            out[batch.id] = day - (found - 1)
    return out


def foretold(garden: Garden, plan: Plan, years: WeatherYears | None = None) -> Foretold:
    """What a plan's batches are expected to drink and to grow, and how years differ in it.

    ``years`` : those that plans are chosen with, unless given.
    """
    open_ = [b for b in plan.batches if b.state not in (CLEARED, FAILED)]
    mean = without_years(garden)
    seed = plan.seed if plan.years is None else plan.years.seed
    if not open_:
        return Foretold((), {})
    if years is None:
        years = years_for(mean, CHOOSING, seed, "choose", mean.site.past)
    # What readings have taught is in the log, which is read anew: nothing counts twice. Doubt in
    # the crop's thirst is part of how tiers differ.
    plain = [replace(b, demand_factor=1.0) for b in open_]
    laid = lay_out(mean, plain, years, Doubt(demand=0.0), seed)
    ahead: dict[tuple[int, int], int] = {}
    for i, batch in enumerate(laid.batches):
        start = int(laid.start[i])
        end = garden.season.index(batch.clear) + BEYOND
        ahead[laid.key[i], start] = max(end, ahead.get((laid.key[i], start), 0))
    kinds: list[Kind] = []
    number: dict[tuple[int, int], int] = {}
    batches = {}
    for i, batch in enumerate(laid.batches):
        start = int(laid.start[i])
        if not 0 <= start < years.days:
            continue
        key = (laid.key[i], start)
        if key not in number:
            number[key] = len(kinds)
            kinds.append(_kind(laid, i, ahead[key] - start))
        batches[batch.id] = (number[key], batch.crop, batch.transplant)
    return Foretold(tuple(kinds), batches)


def _kind(laid: Laid, i: int, days: int) -> Kind:
    drinks, progress = one_plant(laid, i)
    days = min(days, drinks.shape[1])
    return kind_of(drinks[:, :days], progress[:, : days + 1])


def kind_of(drinks: np.ndarray, progress: np.ndarray) -> Kind:
    """A kind from what one plant does in each year.

    Level and slope of a year are those that come nearest, by least squares, to what was drunk on
    each day; its pace to the progress. What they leave over is the weather of days and weeks: its
    variance is that of sums over a week, shared out among its days, since days go together. What a
    fit takes from it, and what it adds to the spread of levels and slopes by chance, is set right
    as in random-coefficient regression (Swamy 1970, Econometrica 38:311-323, from memory).

    Parameters
    ----------
    drinks : [L; years, days]; progress : of each morning [-; years, days + 1].
    """
    count, days = drinks.shape
    leaf = np.minimum(progress[:, :-1], 1.0) - 0.5
    level, slope = drinks.mean(axis=0), (drinks * leaf).mean(axis=0)
    growth = progress.mean(axis=0)
    basis = np.array([level, slope])
    ripe = min(int(np.searchsorted(growth, 1.0)) + 1, days + 1)
    own = np.linalg.lstsq(basis.T, drinks.T, rcond=None)[0].T
    pace = progress[:, :ripe] @ growth[:ripe] / max(float(growth[:ripe] @ growth[:ripe]), 1e-12)
    left = drinks - own @ basis
    hat = basis.T @ np.linalg.pinv(basis.T)
    at = np.arange(days)
    weeks = np.abs(at[:, None] - at) <= _WEEK // 2
    freedom = max(count - 1, 1)
    of_week = ((left @ weeks) ** 2).sum(axis=0) / freedom
    noise = of_week / np.maximum(weeks.sum(axis=0) - np.diag(weeks @ hat @ weeks), 1.0)
    off = progress - pace[:, None] * growth
    years = np.zeros((3, 3))
    if count > 1:
        years = np.cov(np.column_stack([own, pace]).T)
        fit = np.linalg.pinv(basis.T)
        years[:2, :2] -= (fit * noise) @ fit.T
        value, vector = np.linalg.eigh(years)
        years = (vector * np.maximum(value, 0.0)) @ vector.T
    return Kind(
        level.tolist(),
        slope.tolist(),
        noise.tolist(),
        growth.tolist(),
        np.sqrt((off**2).sum(axis=0) / freedom).tolist(),
        development.harvest_share(progress).mean(axis=0).tolist(),
        years.tolist(),
    )
