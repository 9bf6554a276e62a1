"""What a day takes from a leaf: through the radiation it takes up, and through the air's dryness.

The energy balance of a leaf, Penman-Monteith (FAO-56 eq. 3, with resistances of a leaf in place of
those of a field of grass):

    E = (slope Rn + rho cp deficit / rb) / (slope + gamma (1 + rs / rb)) / latent heat

as Stanghellini and Baille have it for greenhouse crops (Katsoulas & Stanghellini 2019, Agronomy
9(7):392, abstract: all models of greenhouse transpiration rest on Penman-Monteith). The first term
is the radiation's, the second the air's. Both are scaled by one number, so that together they are
ET0 on an open-air summer day; a crop's ``peak_demand`` was set at one. Where the table has no
humidity, the air is as moist as two degrees below its minimum temperature would make it: FAO-56
eq. 48 with what chapter 3 takes off in dry places, taken everywhere, the safe side for dry dates.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from crops import evaporation
from crops.radiation import Array, clear_sky

# Resistance to vapour of the air at a leaf, and of its stomata [s/m]: from memory, heads and plugs
# in light wind outdoors, well watered.
LEAF_AIR, STOMATA = 60.0, 150.0
# Stomata open less in the cool, as photosynthesis slows: conductance is a product of responses, one
# of them to temperature (Jarvis 1976, Phil. Trans. R. Soc. B 273:593-610, from memory). The line
# from here [degC] to 0 degC, and how far they stay open, are own judgement.
WARM, LEAST_OPEN = 18.0, 0.25
HEAT = 1.013e-3  # of air [MJ kg-1 K-1], FAO-56 eq. 8
SECONDS = 86400.0
# An open-air summer day [degC, degC, MJ m-2 d-1, MJ m-2 d-1, -]; its ET0 is 5.5 mm in wind of
# 2 m/s (FAO-56 eq. 6), which a test holds.
SUMMER = (15.0, 29.0, 25.0, 41.5, 0.55)
SUMMER_ET0 = 5.5
# How far below the minimum air that is not told is saturated [K]: FAO-56 has 2 to 3 in dry places.
DEW = 2.0
LEAST_ET0 = 0.2  # [mm/d] below which the parts are not told apart


class Parts(NamedTuple):
    """What radiation and the dryness of the air take from a leaf [mm/d of ET0's scale]."""

    sun: Array
    air: Array


def per_et0(
    tmin: ArrayLike,
    tmax: ArrayLike,
    rs: ArrayLike,
    ra: ArrayLike,
    ea: ArrayLike,
    elevation: float,
    et0: ArrayLike,
) -> Parts:
    """What radiation and air take for each mm of a day's ET0 [-].

    Parameters
    ----------
    tmin, tmax : [degC]; rs, ra : radiation [MJ m-2 d-1]; ea : vapour pressure [kPa], NaN where it
        is not known; elevation : [m]; et0 : [mm/d].
    """
    low, high = np.asarray(tmin, float), np.asarray(tmax, float)
    pressure = np.asarray(ea, float)
    pressure = np.where(np.isnan(pressure), evaporation.saturation_pressure(low - DEW), pressure)
    lost = evaporation.net_longwave(rs, clear_sky(ra, elevation), pressure, low, high)
    rn = (1 - evaporation.ALBEDO) * np.asarray(rs, float) - lost
    deficit = evaporation.mean_saturation_pressure(low, high) - pressure
    parts = leaf_parts((low + high) / 2, rn, deficit, elevation)
    over = np.maximum(np.asarray(et0, float), LEAST_ET0)
    return Parts(parts.sun / over, parts.air / over)


def leaf_parts(tmean: ArrayLike, rn: ArrayLike, deficit: ArrayLike, elevation: float) -> Parts:
    """The parts at a mean temperature [degC], net radiation [MJ m-2 d-1] and deficit [kPa]."""
    sun, air = _leaf(tmean, rn, deficit, elevation)
    return Parts(sun * _SCALE, air * _SCALE)


def _leaf(
    tmean: ArrayLike, rn: ArrayLike, deficit: ArrayLike, elevation: float
) -> tuple[Array, Array]:
    mean = np.asarray(tmean, float)
    slope, gamma = evaporation.vapour_pressure_slope(mean), evaporation.psychrometric(elevation)
    stomata = STOMATA / np.clip(mean / WARM, LEAST_OPEN, 1.0)
    below = slope + gamma * (1 + stomata / LEAF_AIR)
    # Of air: pressure over the gas constant and the virtual temperature, FAO-56 eq. 3-5 [kg/m3].
    density = evaporation.pressure(elevation) / (1.01 * (mean + 273) * 0.287)
    dry = SECONDS * density * HEAT * np.maximum(np.asarray(deficit, float), 0.0) / LEAF_AIR
    sun: Array = evaporation.MM_PER_MJ * slope * np.maximum(np.asarray(rn, float), 0.0) / below
    air: Array = evaporation.MM_PER_MJ * dry / below
    return sun, air


def _summer_scale() -> float:
    low, high, rs, ra, humid = SUMMER
    es = evaporation.mean_saturation_pressure(low, high)
    lost = evaporation.net_longwave(rs, clear_sky(ra, 0.0), humid * es, low, high)
    rn = (1 - evaporation.ALBEDO) * rs - lost
    sun, air = _leaf((low + high) / 2, rn, (1 - humid) * es, 0.0)
    return float(SUMMER_ET0 / (sun + air))


_SCALE = _summer_scale()
