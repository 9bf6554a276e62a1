"""How strong a fill should be, how strong it is at the end, and what too much salt costs.

One reservoir, filled once. The crop takes `taken` out of each litre it drinks; the rest stays, and
so does all of the sodium that came with the water. Everything works on arrays alike. EC is taken
as proportional to salts.

What salt costs is the response of Maas & Hoffman 1977 (Journal of the Irrigation and Drainage
Division 103:115-134; tables of Maas 1990, US Salinity Laboratory, and of FAO Irrigation and
Drainage Paper 29): none up to a threshold, then a fixed share of the yield for each mS/cm. Their EC
is that of a saturated soil extract, half as strong as the water that the roots stood in (FAO 29,
from memory). Lettuce bears out the half: its threshold of 1.3 mS/cm in the extract is 2.6 in
solution, and lettuce fed with nutrient solution loses fresh mass above 2.6 mS/cm (Andriolo et al.
2005, Horticultura Brasileira 23:931-934, abstract).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from crops.crop import Crop
from crops.radiation import Array

# Two thirds of the way, on the log scale, from what tissue holds to what is offered: plants take
# up more where there is more. Common practice, no source; by tissue alone (the other end) a tank of
# lettuce at 1.5 mS/cm would treble its strength in an ordinary summer, where growers of still tanks
# find it to hold or to rise by half.
OFFERED = 2 / 3
EXTRACT = 0.5  # EC of a saturated soil extract over that of the soil water
MOST_LOST = 0.1  # a batch that would lose more to salt is not planned: own judgement
# At the end a solution may be stronger or weaker than a fill should be: common practice, no source.
END_HIGH, END_LOW = 1.5, 0.5
STEP = 0.1  # [mS/cm] fills differ by what a grower's meter shows: own judgement
ROOM = 0.3  # [mS/cm] that fertilizer must be able to add to the water: own judgement

FITS, SALTY, STARVED = 0, 1, 2


@dataclass(frozen=True)
class Source:
    """What the source water brings: its EC, and the part of it that no crop takes up [mS/cm]."""

    ec: float = 0.0
    own: float = 0.0


@dataclass(frozen=True)
class Chosen:
    """Strengths chosen for fills [m].

    Attributes
    ----------
    fill, end : EC of the fill, and at the last pick [mS/cm].
    lost : share of the yield lost to salt [0..1].
    state : `FITS`, or why no strength of the crop's range does: `SALTY` or `STARVED` at its end.
    """

    fill: Array
    end: Array
    lost: Array
    state: NDArray[np.intp]


def end_limits(crop: Crop) -> tuple[float, float]:
    """EC at harvest [mS/cm] below which a crop has starved, above which it is too salty."""
    return END_LOW * crop.ec_low, END_HIGH * crop.ec_high


def taken(useful: ArrayLike, drawn: ArrayLike) -> Array:
    """Taken out of a litre drunk [mS/cm] where ``useful`` is offered and tissue holds ``drawn``."""
    offered = np.clip(np.asarray(useful, float), 0, None)
    up: Array = offered**OFFERED * np.asarray(drawn, float) ** (1 - OFFERED)
    return up


def ending(fill: ArrayLike, left: ArrayLike, drawn: ArrayLike, own: ArrayLike = 0.0) -> Array:
    """EC of what is left [mS/cm].

    Parameters
    ----------
    fill : [mS/cm], of which ``own`` is the water's and stays.
    left : share of the fill that is left, above 0 [-].
    drawn : salts in the harvest per litre drunk for it [mS/cm]; see `crops.solution.balance.drawn`.
    """
    full, rest = np.asarray(fill, float), np.asarray(left, float)
    useful = full - np.asarray(own, float)
    kept = np.clip(useful - taken(useful, drawn) * (1 - rest), 0, None)
    ec: Array = (kept + np.asarray(own, float)) / rest
    return ec


def average(fill: ArrayLike, left: ArrayLike, drawn: ArrayLike, own: ArrayLike = 0.0) -> Array:
    """Mean EC of the solution over the litres drunk [mS/cm]; what roots stood in while they drank.

    With v litres left of a litre the EC is u + (fill - u) / v, u what is taken; its mean from 1
    down to ``left`` is u + (fill - u) ln(1 / left) / (1 - left). Nothing below 0.
    """
    full = np.asarray(fill, float)
    rest = np.clip(np.asarray(left, float), 1e-6, 1 - 1e-9)
    up = taken(full - np.asarray(own, float), drawn)
    ec: Array = np.clip(up + (full - up) * np.log(1 / rest) / (1 - rest), 0, None)
    return ec


def lost(crop: Crop, ec: ArrayLike) -> Array:
    """Share of the yield lost where the solution has an EC [mS/cm] in the mean."""
    over = EXTRACT * np.asarray(ec, float) - crop.salt_threshold
    return np.clip(crop.salt_slope * over, 0, 1)


def offers(crop: Crop, water: Source) -> Array:
    """Strengths that a fill may have, nearest to the middle of the crop's range first [g]."""
    count = int(np.floor((crop.ec_high - crop.ec_low) / STEP + 1e-9))
    steps = np.round(crop.ec_low + STEP * np.arange(count + 1), 4)
    steps = np.unique([*steps, crop.ec_high])
    good = steps[steps >= water.ec + ROOM - 1e-9]
    steps = good if len(good) else steps[-1:]
    return steps[np.argsort(np.abs(steps - (crop.ec_low + crop.ec_high) / 2), kind="stable")]


def choose(crop: Crop, left: ArrayLike, drawn: ArrayLike, water: Source | None = None) -> Chosen:
    """The strength of each fill.

    The nearest to the middle of the crop's range of which both ends stay in its band; where none
    does, the weakest against salt, the strongest against hunger.

    Parameters
    ----------
    left : share of the fill left at the last pick [m]; drawn : as for `ending` [m].
    """
    water = water or Source()
    rest = np.clip(np.atleast_1d(np.asarray(left, float)), 1e-6, 1.0)[:, None]
    drawn = np.broadcast_to(np.asarray(drawn, float), rest.shape[:1])[:, None]
    fills = offers(crop, water)
    ends = ending(fills, rest, drawn, water.own)
    costs = lost(crop, average(fills, rest, drawn, water.own))
    low, high = end_limits(crop)
    salty, weak = (ends > high + 1e-9) | (costs > MOST_LOST), ends < low - 1e-9
    fits = ~salty & ~weak
    last_resort = np.where(salty.any(axis=1), fills.argmin(), fills.argmax())
    pick = np.where(fits.any(axis=1), fits.argmax(axis=1), last_resort)
    rows = np.arange(len(pick))
    state = np.where(fits[rows, pick], FITS, np.where(salty[rows, pick], SALTY, STARVED))
    return Chosen(fills[pick], ends[rows, pick], costs[rows, pick], state)
