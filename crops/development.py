"""How fast a batch comes on: daily rates from temperature and light, germination, bolting, mass.

Progress is a plain number: 0 at transplanting, 1 when ready. Sums run over whole days; progress
on the morning of day d is the sum of the rates of the days before it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crops.crop import Crop
from crops.growth import harvest_share as harvest_share
from crops.growth import mass_share as mass_share
from crops.growth import progress_at as progress_at
from crops.radiation import Array
from crops.years import carried_by, lost_at_most

if TYPE_CHECKING:
    import pandas as pd

NDArrayInt = NDArray[np.intp]

# Eight moments of a sine day: where a day crosses the base, the optimum or the maximum, the mean of
# the rates differs from the rate at the mean; between base and optimum the two are the same.
_MOMENTS = np.sin(2 * np.pi * (np.arange(8) + 0.5) / 8)

LOSES_ALL = 6.0  # [K] above what a crop bears, or below it, from which a day brings nothing
COLD_HOURS = 12.0  # [h] day length above which a cold day brings on bolting; own judgement
# A day that is half of what bolts a crop counts by this much. Coriander in 16 h, without heat, had
# flower buds 49 days from sowing (Tomitaka, Karimata & Noguchi 2001, abstract); lettuce bolts in
# constant 25 degC, and stands two weeks of it (Al-Said et al. 2018, Pakistan J. Agric. Sci.
# 55:95-101, abstract). Own fit to those: a quarter.
PARTLY, LONG_HOURS, WARM_MEAN = 0.25, 16.0, 3.0


def temperature_response(t: ArrayLike, base: float, opt: float, high: float) -> Array:
    """Thermal-time response to temperature [0..1]: two lines between three temperatures [degC].

    0 at the base, rising in a line to 1 at the optimum, falling in a line to 0 at the maximum:
    Garcia-Huidobro, Monteith & Squire 1982, Journal of Experimental Botany 33:288-296 (abstract;
    pages from memory), seeds of pearl millet. Currey & Imler 2020 (trade article on university
    trials) give the same line below the optimum for leaf unfolding and fresh mass of leafy greens.
    """
    x = np.asarray(t, float)
    return np.clip(np.minimum((x - base) / (opt - base), (high - x) / (high - opt)), 0.0, 1.0)


def day_response(
    tmin: ArrayLike, tmax: ArrayLike, base: float, opt: float, high: float, power: float = 1.0
) -> Array:
    """Mean response, to a ``power``, over a sine-shaped day between its extremes [degC]."""
    low, top = np.asarray(tmin, float), np.asarray(tmax, float)
    t = (low + top)[..., None] / 2 + (top - low)[..., None] / 2 * _MOMENTS
    response = temperature_response(t, base, opt, high)
    mean: Array = (response if power == 1.0 else response**power).mean(axis=-1)
    return mean


def daily_rate(crop: Crop, weather: pd.DataFrame, light: float) -> Array:
    """Progress per day [1/d], one value per weather row, in a tier with ``light`` [0..1].

    At the reference temperature and target light it is 1/days_to_harvest. Where the frame carries
    years (`crops.years`) it is the mean over them.
    """
    years = carried_by(weather)
    if years is not None:
        rate: Array = years.rate(crop, light)[years.columns(weather.index)]
        return rate
    warm = warmth(crop, weather["tmin"], weather["tmax"])
    return warm * lit(crop, weather["dli"].to_numpy(), light) / crop.days_to_harvest


def warmth(crop: Crop, tmin: ArrayLike, tmax: ArrayLike) -> Array:
    """Growth's response to temperature [-] between daily extremes [degC]; 1 at the reference.

    Mass is flatter in temperature than development is: the response is that of thermal time to
    the power ``t_exponent``. Of a day on which heat or chill does harm a part is lost (`lost`).
    """
    response = day_response(tmin, tmax, crop.t_base, crop.t_opt, crop.t_max, crop.t_exponent)
    at_reference = temperature_response(
        crop.reference_temperature, crop.t_base, crop.t_opt, crop.t_max
    )
    warm: Array = response / at_reference**crop.t_exponent
    return warm * (1 - lost(crop, (np.asarray(tmin, float) + np.asarray(tmax, float)) / 2))


def lost(crop: Crop, tmean: ArrayLike) -> Array:
    """Share of a day's progress [0..1] that is lost to harmful heat or chill.

    Nothing up to `heat_limit` and from `chill_limit` up, all of it `LOSES_ALL` beyond: own
    judgement. Spinach was stopped by a solution 1 K above its limit (abstract, named in
    `crops.survival`), while lettuce still grew, with burnt tips, in air of 28 to 32 degC over cool
    roots (Carotti et al. 2021, abstract). The mean of the air stands for the solution, which is
    seldom cooler. What stands too long in it dies (`crops.survival`).
    """
    t = np.asarray(tmean, float)
    beyond = np.maximum(t - crop.heat_limit, crop.chill_limit - t)
    share: Array = np.clip(beyond / LOSES_ALL, 0.0, 1.0)
    return share


def lit(crop: Crop, dli: ArrayLike, light: float) -> Array:
    """Response to light [-] of a tier with ``light`` [0..1] under ``dli`` [mol m-2 d-1].

    1 at the target; below it a power of the light, above it what more light still adds, which
    goes on with the same slope and saturates at ``light_gain``.
    """
    share = np.maximum(np.asarray(dli, float) * light / crop.dli_target, 0.0)
    out: Array = np.minimum(share, 1.0) ** crop.light_exponent
    if crop.light_gain > 0:
        more = np.maximum(share - 1.0, 0.0) * (crop.light_exponent / crop.light_gain)
        out = out - crop.light_gain * np.expm1(-more)
    return out


def nursery_rate(crop: Crop, tmin: ArrayLike, tmax: ArrayLike) -> Array:
    """Nursery progress per day [1/d]: 1 is a seedling fit to transplant."""
    warmth = day_response(tmin, tmax, crop.t_base, crop.t_opt, crop.t_max)
    at_reference = temperature_response(
        crop.nursery_temperature, crop.t_base, crop.t_opt, crop.t_max
    )
    return warmth / at_reference / crop.nursery_days


def running_sum(rate: Array) -> Array:
    """Sum of the rates before each morning: length n + 1, first value 0."""
    return np.concatenate([[0.0], np.cumsum(rate)])


def first_reach(total: Array, start: ArrayLike, amount: float = 1.0) -> NDArrayInt:
    """First morning on which the running sum has grown by ``amount`` since ``start``.

    Parameters
    ----------
    total : running sum [n + 1]; start : indices [m].

    Returns
    -------
    Indices [m]; n + 1 where the weather ends first.
    """
    first = np.asarray(start)
    # A hair is taken off so that sums of equal parts reach 1 on the day they should.
    first_day: NDArrayInt = np.searchsorted(total, total[first] + amount - 1e-9, side="left")
    return first_day


def emergence_days(crop: Crop, temperature: float) -> float:
    """Days from sowing to emergence [d] at a constant temperature [degC], between table values.

    Outside the table the nearest value holds: the table is never extrapolated.
    """
    t, days = zip(*crop.emergence, strict=True)
    return float(1 / np.interp(temperature, t, 1 / np.asarray(days)))


def weight_share(crop: Crop, progress: ArrayLike) -> Array:
    """Mass of a plant in its tier over its harvest mass [-]; heads go on growing in the hold."""
    return mass_share(progress) if crop.cuts == 1 else harvest_share(progress)


def reached_in(
    crop: Crop, weather: pd.DataFrame, light: float, starts: ArrayLike, amount: float, share: float
) -> NDArrayInt:
    """First morning on which in a ``share`` [0..1] of the years progress has grown by ``amount``.

    Parameters
    ----------
    starts : rows of the frame [m]; light : of the tier [0..1].

    Returns
    -------
    Rows [m]; n + 1 where the weather ends first. Of a frame without years its own course.
    """
    years = carried_by(weather)
    if years is None:
        return first_reach(running_sum(daily_rate(crop, weather, light)), starts, amount)
    each = years.rates(crop, light)[:, years.columns(weather.index)]
    days = np.sort([first_reach(running_sum(rate), starts, amount) for rate in each], axis=0)
    return np.asarray(days[math.ceil(share * len(each) - 1e-9) - 1])


def bolting_day(crop: Crop, weather: pd.DataFrame) -> Array:
    """What each day adds to bolting [0..1], of the frame's own weather; see `bolting_dose`."""
    low, high = (weather[name].to_numpy(float)[None, :] for name in ("tmin", "tmax"))
    day: Array = bolting_dose(crop, low, high, weather["daylength"].to_numpy())[0]
    return day


def bolting_dose(crop: Crop, tmin: Array, tmax: Array, daylength: Array) -> Array:
    """What each day adds to bolting, in days that count in full; a batch stands `Crop.bolts_after`.

    A hot day (a week's mean maximum) counts in full, and so does a long one, or where the crop has
    ``bolt_both`` one that is both. What is less counts `PARTLY`: a day whose week's mean is
    within `WARM_MEAN` [degC] of the hot maximum; with ``bolt_both`` a day that is hot alone, and
    one that is long alone, in a line from ``bolt_daylength`` up to `LONG_HOURS`. Where the crop has
    ``bolt_full_daylength``, a long day counts by how far it is from ``bolt_daylength`` up to there,
    times its warmth, a line from ``t_base`` to ``reference_temperature``: in spinach the rate of
    progress to flowering rises with day length and with temperature (Gonzalez, del Pozo, Cotroneo
    & Pertierra 2004, Agricultura Tecnica 64:331-337, abstract). A cold day counts in full where it
    is longer than `COLD_HOURS`: cold readies such a crop, long days then bring the stalk; the two
    are counted as one here, which is simpler than they are.

    Parameters
    ----------
    tmin, tmax : [degC, years x n]; daylength : [h, n].

    Returns
    -------
    [years, n]
    """
    hot = hot_days(crop, tmax)
    long = np.zeros(hot.shape)
    if crop.bolt_daylength is not None:
        long = np.broadcast_to((daylength > crop.bolt_daylength).astype(float), hot.shape)
        if crop.bolt_full_daylength > crop.bolt_daylength:
            span = crop.bolt_full_daylength - crop.bolt_daylength
            reached = np.clip((daylength - crop.bolt_daylength) / span, 0.0, 1.0)
            warm = ((tmin + tmax) / 2 - crop.t_base) / (crop.reference_temperature - crop.t_base)
            long = reached * np.clip(warm, 0.0, 1.0)
    if crop.bolt_both:
        reach = max(LONG_HOURS - (crop.bolt_daylength or 0.0), 1e-9)
        alone = np.clip((daylength - (crop.bolt_daylength or 0.0)) / reach, 0.0, 1.0)
        dose = np.maximum(hot * long, PARTLY * np.maximum(hot, alone))
    else:
        dose = np.maximum(np.maximum(hot, PARTLY * _warm_means(crop, tmin, tmax)), long)
    cold = ((tmin + tmax) / 2 < crop.bolt_cold) & (daylength > COLD_HOURS)
    return np.maximum(dose, cold)


def _warm_means(crop: Crop, tmin: Array, tmax: Array) -> Array:
    """Days whose mean is near the maximum that is hot for a crop; none where heat does nothing."""
    if crop.bolt_heat is None:
        return np.zeros(tmax.shape, bool)
    return np.asarray(_week_mean((tmin + tmax) / 2) > crop.bolt_heat - WARM_MEAN)


def hot_days(crop: Crop, tmax: Array) -> NDArrayInt:
    """Days that are hot for a crop, by a week's mean of ``tmax`` [degC], in each of [years, n]."""
    if crop.bolt_heat is None:
        return np.zeros(tmax.shape, bool)
    return np.asarray(_week_mean(tmax) > crop.bolt_heat)


def _week_mean(values: Array) -> Array:
    """Mean of each day and the six before it [years, n]."""
    import pandas as pd

    week: Array = pd.DataFrame(values.T).rolling(7, min_periods=1).mean().to_numpy().T
    return week


def hot_in_years(crop: Crop, weather: pd.DataFrame) -> NDArrayInt:
    """`hot_days` of each year that the frame carries [years, n]; of a plain frame in one [1, n]."""
    years = carried_by(weather)
    if years is None:
        return hot_days(crop, weather["tmax"].to_numpy()[None, :])
    return hot_days(crop, years.tmax)[:, years.columns(weather.index)]


def bolting_days(crop: Crop, weather: pd.DataFrame) -> Array:
    """`bolting_dose` of each year that the frame carries [years, n]; of a plain frame in one."""
    low, high = extremes(weather)
    return bolting_dose(crop, low, high, weather["daylength"].to_numpy())


def extremes(weather: pd.DataFrame) -> tuple[Array, Array]:
    """Daily minima and maxima [degC] of the years that a frame carries [years, n], or its own."""
    years = carried_by(weather)
    if years is None:
        low, high = (weather[name].to_numpy(float)[None, :] for name in ("tmin", "tmax"))
        return low, high
    columns = years.columns(weather.index)
    return years.tmin[:, columns], years.tmax[:, columns]


def good_until(crop: Crop, weather: pd.DataFrame, starts: ArrayLike) -> NDArrayInt:
    """The last morning on which a batch transplanted on each of ``starts`` [m] has not bolted.

    In no more than a share `years.most_lost` of the years that the frame carries has it bolted
    sooner.
    """
    first = np.asarray(starts)
    last = []
    for bolting in bolting_days(crop, weather):
        count = running_sum(bolting)
        last.append(
            np.searchsorted(count, count[first] + crop.bolts_after + 1e-9, side="right") - 1
        )
    ranked = np.sort(np.stack(last), axis=0)
    return np.asarray(ranked[lost_at_most(weather, len(last))])


CONFIDENCE = 0.95  # chance of enough seedlings: common practice, no source


def cells_to_sow(crop: Crop, plants: int) -> int:
    """Nursery cells to sow so that with 95 % chance at least ``plants`` of them give a plug.

    The smallest n with P(Binomial(n, p) >= plants) >= 0.95, where p is the chance that at least
    one of the seeds in a cell comes up.
    """
    p = 1 - (1 - crop.germination) ** crop.seeds_per_cell
    if plants <= 0 or p == 1:
        return max(plants, 0)
    # n cells are enough if the last plug that is needed comes up in one of them: the chance that it
    # does so in cell n, as a logarithm, since of thousands of plugs it is too small for a float.
    n, chance = plants, plants * math.log(p)
    total = math.exp(chance)
    while total < CONFIDENCE:
        n += 1
        chance += math.log((1 - p) * (n - 1) / (n - plants))
        total += math.exp(chance)
    return n
