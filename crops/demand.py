"""How much solution a plant drinks in a day: what the day takes from a leaf, times its leaves.

A day takes so much through its radiation, which a tier gets only the share of that is its light,
and so much through the dryness of its air, which every tier gets (`crops.transpiration`).
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from crops.crop import Crop
from crops.growth import AREAS, KNOTS
from crops.radiation import Array

if TYPE_CHECKING:
    import pandas as pd

# What radiation and air take for each mm of ET0, where the weather does not tell: 0.3 of it stays
# in full shade. Common practice, no source; FAO-56 Penman-Monteith gives 0.2 to 0.4 for the
# aerodynamic part in temperate summers.
SUN, AIR = 0.7, 0.3


def light_response(light: ArrayLike, sun: ArrayLike = SUN, air: ArrayLike = AIR) -> Array:
    """What a leaf loses for each mm of ET0 [-] in a tier with ``light`` [0..1].

    ``sun``, ``air``: what radiation and the dryness of the air take of it under the open sky [-].
    """
    lost: Array = np.asarray(air, float) + np.asarray(sun, float) * np.asarray(light, float)
    return lost


def taken(weather: pd.DataFrame) -> tuple[Array, Array, Array]:
    """ET0 [mm/d], and ``sun`` and ``air`` [-], of each day of a frame."""
    et0 = weather["et0"].to_numpy(float)
    sun, air = (
        weather[name].to_numpy(float) if name in weather else np.full(len(et0), usual)
        for name, usual in (("sun", SUN), ("air", AIR))
    )
    return et0, sun, air


def mean_stage(crop: Crop) -> float:
    """Mean of the crop's coefficients from transplanting to ready (FAO-56 fig. 34) [0..1].

    With ``peak_demand`` it says how much is drunk by harvest; when, the leaves say.
    """
    rise = (1 + crop.stage_initial) / 2 * (crop.stage_full - crop.stage_start)
    return crop.stage_initial * crop.stage_start + rise + 1 - crop.stage_full


@lru_cache(maxsize=256)
def leaf_shares(crop: Crop) -> tuple[float, ...]:
    """What a plant drinks at the progress of each of `growth.KNOTS`, over ``peak_demand`` [-].

    It begins at ``stage_initial`` of what it is when ready, grows with the leaf area, and is by
    harvest in all what the crop's stages make it: of a crop whose ``stage_initial`` is 1 it is
    the same all the time. A crop cut again has no more leaves than at its first cut.
    """
    grown = (AREAS - AREAS[0]) / (1 - AREAS[0])
    curve = crop.stage_initial + (1 - crop.stage_initial) * grown
    ripe = KNOTS.index(1.0) + 1
    mean = np.trapezoid(curve[:ripe], KNOTS[:ripe])
    if crop.cuts > 1:
        curve = np.minimum(curve, 1.0)
    return tuple((curve * mean_stage(crop) / mean).tolist())


def leaf_share(crop: Crop, progress: ArrayLike) -> Array:
    """What a plant drinks at a progress over ``peak_demand`` [-]; heads rise on in the hold.

    It never falls with progress, so that of two tiers on the same days the darker one always
    drinks less and never dries first.
    """
    share: Array = np.interp(np.asarray(progress, float), KNOTS, leaf_shares(crop))
    return share


def plant_demand(
    crop: Crop,
    et0: ArrayLike,
    light: ArrayLike,
    progress: ArrayLike,
    sun: ArrayLike = SUN,
    air: ArrayLike = AIR,
) -> Array:
    """Solution drunk by one plant [mL/d] at ET0 [mm/d], light [0..1] and progress [-].

    ``sun``, ``air``: as in `light_response`.
    """
    weather = np.asarray(et0, float) / crop.demand_et0 * light_response(light, sun, air)
    return crop.peak_demand * leaf_share(crop, progress) * weather
