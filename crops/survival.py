"""Cold and heat that kill: on which morning a batch outdoors is dead, in each of many years.

Cold. Plants harden in cold spells and lose it in warm ones (Snyder & de Melo-Abreu 2005, Frost
protection: fundamentals, practice and economics, FAO, volume 1, chapter 4). How hard spinach and
komatsuna were went with the mean minimum of the seven days before (Tamura 2002, Journal of the
Japanese Society for Horticultural Science 71:74-81, abstract). Spinach at 5/2 degC gained most of
it within three days and lost it in as many at 20/17 degC (Freezing tolerance and rapid cold
acclimation of spinach, abstract; authors and year not seen): a week is slow for it, both ways.
So each of the last seven nights outdoors hardens by a seventh: not at all from 8 degC up, in full
from 2 degC down, in a line between (own fit to those abstracts). A seedling comes from the nursery
with nothing of it.

Heat. Roots stand in solution (`crops.solution_heat`): spinach at 33 degC air was stopped by
solution kept at 26 degC or more and recovered at 30/20 degC by day and night, not at 34/20 degC
(deep hydroponic culture, abstract; Journal of the Society of High Technology in Agriculture
10(4):225, authors not seen). A day counts by how far the solution's mean is above the crop's
`heat_limit`; a batch is dead once the days of a fortnight come to more than `DOSE`.

Chill. Plants of tropical origin are harmed far above freezing, below about 12.5 degC (FAO, chapter
4). A day counts by how far the air's mean is below the crop's `chill_limit`, in the same sum.

The dose is own judgement: no published one was found. Two weeks of 27 degC, where that spinach did
not recover, are 28 degC d above 25, two weeks of 26 are 14. Basil keeps 4 to 7 days at 8 to 10 degC
once cut (USDA Agriculture Handbook 66): 14 to 25 degC d below 12.5.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from crops.crop import Crop
from crops.development import NDArrayInt, extremes
from crops.radiation import Array
from crops.years import KILLED, killed_at_most

if TYPE_CHECKING:
    import pandas as pd

NIGHTS = 7  # that count for hardening, those of the nursery with nothing
FORTNIGHT = 14  # days over which heat and chill count together
DOSE = 25.0  # [degC d] above the one limit and below the other that a batch stands within it
NO_HARDENING, FULL_HARDENING = 8.0, 2.0  # minimum of a night [degC]


def hardening(tmin: ArrayLike) -> Array:
    """What one night outdoors with a minimum ``tmin`` [degC] hardens, as a share [0..1]."""
    share = (NO_HARDENING - np.asarray(tmin, float)) / (NO_HARDENING - FULL_HARDENING)
    return np.clip(share, 0.0, 1.0)


def kills_below(crop: Crop, hardened: ArrayLike) -> Array:
    """Temperature of the air [degC] below which a plant dies that is ``hardened`` by a share."""
    gained = crop.kill_hardened - crop.kill_temperature
    return crop.kill_temperature + gained * np.asarray(hardened, float)


def harm(crop: Crop, solution: ArrayLike, tmean: ArrayLike) -> Array:
    """What heat of the solution and chill of the air do on days of such means [degC], in degC d."""
    heat = np.maximum(np.asarray(solution, float) - crop.heat_limit, 0.0)
    return heat + np.maximum(crop.chill_limit - np.asarray(tmean, float), 0.0)


def frozen_from(crop: Crop, tmin: Array, starts: ArrayLike) -> NDArrayInt:
    """First morning on which a batch transplanted on each of ``starts`` is dead of cold.

    Parameters
    ----------
    tmin : minima [degC, years x days]; starts : days [m].

    Returns
    -------
    Days [years, m]; days + 1 where it lives to the end. The minimum of the day of transplanting
    counts, that of the day of a pick comes after it.
    """
    first = np.asarray(starts, dtype=int)
    days = tmin.shape[1]
    sums = np.concatenate([np.zeros((len(tmin), 1)), np.cumsum(hardening(tmin), axis=1)], axis=1)
    # Who has stood for a week is as hard as every other: the next night that kills is a table.
    fatal = np.zeros(tmin.shape, bool)
    if days > NIGHTS:
        week = (sums[:, NIGHTS:days] - sums[:, : days - NIGHTS]) / NIGHTS
        fatal[:, NIGHTS:] = tmin[:, NIGHTS:] < kills_below(crop, week)
    night = next_true(fatal, first + NIGHTS)
    for stood in range(NIGHTS - 1, -1, -1):
        at = np.minimum(first + stood, days - 1)
        hard = (sums[:, at] - sums[:, np.minimum(first, days - 1)]) / NIGHTS
        dies = (tmin[:, at] < kills_below(crop, hard)) & (first + stood < days)
        night = np.where(dies, at, night)
    return night + 1


def harmed_from(over: Array, starts: ArrayLike) -> NDArrayInt:
    """First morning on which a batch transplanted on each of ``starts`` is dead of heat or chill.

    Parameters
    ----------
    over : `harm` of each day [degC d; years x days]; starts : days [m].

    Returns
    -------
    Days [years, m]; days + 1 where it lives to the end.
    """
    first = np.asarray(starts, dtype=int)
    years, days = over.shape
    if not over.any():
        return np.full((years, len(first)), days + 1)
    sums = np.concatenate([np.zeros((years, 1)), np.cumsum(over, axis=1)], axis=1)
    fatal = np.zeros(over.shape, bool)
    last = FORTNIGHT - 1  # days before it that count with a day
    if days > last:
        fatal[:, last:] = sums[:, FORTNIGHT:] - sums[:, : days - last] > DOSE + 1e-9
    day = next_true(fatal, first + last)
    begin = np.minimum(first, days)
    for year in range(years):  # within its first fortnight it is hot enough once and for all
        reach = sums[year, begin] + DOSE + 1e-9
        soon = np.searchsorted(sums[year], reach, side="right") - 1
        day[year] = np.where(soon < first + last, np.minimum(day[year], soon), day[year])
    return day + 1


def next_true(flags: np.ndarray, start: np.ndarray) -> NDArrayInt:
    """First day from each of ``start`` [m] on of which ``flags`` [years, n] is true; n if none."""
    days = flags.shape[1]
    marks = np.full((len(flags), days + 1), days)
    marks[:, :days] = np.where(flags, np.arange(days), days)
    ahead = np.minimum.accumulate(marks[:, ::-1], axis=1)[:, ::-1]
    return np.asarray(ahead[:, np.minimum(start, days)])


def dead_from(crop: Crop, weather: pd.DataFrame, starts: ArrayLike, solution: Array) -> NDArrayInt:
    """First morning on which a batch is dead, in each year that the frame carries [years, m].

    Of a plain frame in one year [1, m]; rows of the frame + 1 where it lives to the end.

    ``solution`` : its mean on each day of the frame [degC; years x days].
    """
    low, high = extremes(weather)
    return killed_from(crop, low, high, starts, solution)


def killed_from(
    crop: Crop, tmin: Array, tmax: Array, starts: ArrayLike, solution: Array
) -> NDArrayInt:
    """The sooner of `frozen_from` and `harmed_from` [years, m], from daily extremes [degC]."""
    frozen = frozen_from(crop, tmin, starts)
    return np.minimum(frozen, harmed_from(harm(crop, solution, (tmin + tmax) / 2), starts))


def alive_until(
    crop: Crop, weather: pd.DataFrame, starts: ArrayLike, solution: Array
) -> NDArrayInt:
    """The last morning on which a batch transplanted on each of ``starts`` [m] is alive.

    In no more than a share `years.most_killed` of the years that the frame carries is it dead.

    ``solution`` : its mean on each day of the frame [degC; years x days].
    """
    ranked = np.sort(dead_from(crop, weather, starts, solution), axis=0)
    most = killed_at_most(weather, len(ranked))
    if most >= len(ranked):
        return np.full(ranked.shape[1], len(weather))
    return np.asarray(ranked[most] - 1)


FROST = 0.0  # [degC]
MONTH = 31  # days over which the warm middle of a season is looked for


def frosts(tmin: Array, share: float = KILLED) -> tuple[int, int]:
    """Last day of frost before the warm part of a season, and the first after it.

    A ``share`` of the years has frost later than the one, as many sooner than the other; of a
    single year they are its own.

    Parameters
    ----------
    tmin : minima of the season [degC, years x days]; share : of the years [0..1].

    Returns
    -------
    Days; -1 if there is no frost before, the number of days if there is none after.
    """
    years, days = tmin.shape
    month = np.convolve(tmin.mean(axis=0), np.ones(MONTH), "same")
    month /= np.convolve(np.ones(days), np.ones(MONTH), "same")[: len(month)]
    warm = int(month[:days].argmax())
    cold, most = tmin < FROST, min(int(share * years + 1e-9), years - 1)
    before = np.where(cold[:, :warm], np.arange(warm), -1).max(axis=1, initial=-1)
    after = np.where(cold[:, warm:], np.arange(warm, days), days).min(axis=1, initial=days)
    return int(np.sort(before)[years - 1 - most]), int(np.sort(after)[most])
