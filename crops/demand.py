"""How much solution a plant drinks in a day."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from crops.crop import Crop
from crops.radiation import Array

# Part of the demand that stays in full shade (drying power of the air). Common practice, no source;
# FAO-56 Penman-Monteith gives 0.2 to 0.4 for the aerodynamic part in temperate summers.
SHADE_SHARE = 0.3


def light_response(light: ArrayLike) -> Array:
    """Share of the open-sky demand [0..1] in a tier with ``light`` [0..1]."""
    return SHADE_SHARE + (1 - SHADE_SHARE) * np.asarray(light, float)


def stage_share(crop: Crop, progress: ArrayLike) -> Array:
    """Share of the peak demand at a progress: initial, rising, full, late (FAO-56 fig. 34 shape).

    Where ``stage_late`` is 1 it never falls with progress, so that of two tiers on the same days
    the darker one always drinks less and never dries first.
    """
    x = np.asarray(progress, float)
    rising = np.interp(x, [crop.stage_start, crop.stage_full], [crop.stage_initial, 1.0])
    # A hair under 1 is ready too, so that sums of equal parts are ready on the day they should.
    return np.where(x >= 1 - 1e-9, crop.stage_late, rising)


def plant_demand(crop: Crop, et0: ArrayLike, light: ArrayLike, progress: ArrayLike) -> Array:
    """Solution drunk by one plant [mL/d] at ET0 [mm/d], light [0..1], progress [0..1]."""
    weather = np.asarray(et0, float) / crop.demand_et0
    return crop.peak_demand * stage_share(crop, progress) * weather * light_response(light)
