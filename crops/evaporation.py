"""Reference evapotranspiration ET0 [mm/d] (FAO-56, chapters 3 and 4, cited by equation number)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from crops.radiation import Array, clear_sky

MM_PER_MJ = 0.408  # 1 / latent heat of vaporisation 2.45 MJ/kg, FAO-56 eq. 20
STEFAN_BOLTZMANN = 4.903e-9  # [MJ K-4 m-2 d-1], FAO-56 eq. 39
ALBEDO = 0.23  # reference grass, FAO-56 eq. 38


def hargreaves(tmin: ArrayLike, tmax: ArrayLike, ra: ArrayLike) -> Array:
    """ET0 [mm/d] from temperatures [degC] and Ra [MJ m-2 d-1] (eq. 52)."""
    low, high = np.asarray(tmin, float), np.asarray(tmax, float)
    mean = (low + high) / 2
    span = np.sqrt(np.clip(high - low, 0, None))
    et0: Array = np.clip(0.0023 * (mean + 17.8) * span * MM_PER_MJ * np.asarray(ra, float), 0, None)
    return et0


def saturation_pressure(t: ArrayLike) -> Array:
    """Saturation vapour pressure e0 [kPa] at temperature [degC] (eq. 11)."""
    t = np.asarray(t, float)
    return 0.6108 * np.exp(17.27 * t / (t + 237.3))


def mean_saturation_pressure(tmin: ArrayLike, tmax: ArrayLike) -> Array:
    """Mean of e0 at the day's extremes es [kPa] (eq. 12)."""
    return (saturation_pressure(tmin) + saturation_pressure(tmax)) / 2


def vapour_pressure_slope(t: ArrayLike) -> Array:
    """Slope of the saturation curve [kPa/degC] (eq. 13)."""
    t = np.asarray(t, float)
    return 4098 * saturation_pressure(t) / (t + 237.3) ** 2


def pressure(elevation: ArrayLike) -> Array:
    """Air pressure [kPa] at elevation [m] (eq. 7)."""
    return 101.3 * ((293 - 0.0065 * np.asarray(elevation, float)) / 293) ** 5.26


def psychrometric(elevation: ArrayLike) -> Array:
    """Psychrometric constant [kPa/degC] (eq. 8)."""
    return 0.665e-3 * pressure(elevation)


def vapour_pressure_from_humidity(
    tmin: ArrayLike, tmax: ArrayLike, rhmin: ArrayLike, rhmax: ArrayLike
) -> Array:
    """Actual vapour pressure ea [kPa] from relative humidities [%] (eq. 17)."""
    low = saturation_pressure(tmin) * np.asarray(rhmax, float) / 100
    high = saturation_pressure(tmax) * np.asarray(rhmin, float) / 100
    ea: Array = (low + high) / 2
    return ea


def wind_at_2m(wind: ArrayLike, height: float) -> Array:
    """Wind speed at 2 m [m/s] from one measured at ``height`` [m] (eq. 47)."""
    at_2m: Array = np.asarray(wind, float) * 4.87 / np.log(67.8 * height - 5.42)
    return at_2m


def net_longwave(
    rs: ArrayLike, rso: ArrayLike, ea: ArrayLike, tmin: ArrayLike, tmax: ArrayLike
) -> Array:
    """Net outgoing longwave radiation Rnl [MJ m-2 d-1] (eq. 39).

    Rs/Rso is held to 1 (FAO-56) and to 0.3 (ASCE-EWRI 2005, standardized reference
    evapotranspiration equation, from memory): under heavy cloud eq. 39 would turn its sign.
    """
    t4 = ((np.asarray(tmax, float) + 273.16) ** 4 + (np.asarray(tmin, float) + 273.16) ** 4) / 2
    sun, so = np.broadcast_arrays(np.asarray(rs, float), np.asarray(rso, float))
    cloud = np.clip(np.divide(sun, so, out=np.ones_like(so), where=so > 0), 0.3, 1)
    humid = 0.34 - 0.14 * np.sqrt(np.asarray(ea, float))
    rnl: Array = STEFAN_BOLTZMANN * t4 * humid * (1.35 * cloud - 0.35)
    return rnl


def penman_monteith(
    tmin: ArrayLike,
    tmax: ArrayLike,
    rs: ArrayLike,
    ra: ArrayLike,
    ea: ArrayLike,
    wind: ArrayLike,
    elevation: float,
    soil_heat: ArrayLike = 0.0,
) -> Array:
    """ET0 [mm/d] by Penman-Monteith (eq. 6).

    Parameters
    ----------
    tmin, tmax : day's extremes [degC]; rs, ra : radiation [MJ m-2 d-1]; ea : vapour pressure [kPa];
    wind : at 2 m [m/s]; elevation [m]; soil_heat : G [MJ m-2 d-1].
    """
    low, high = np.asarray(tmin, float), np.asarray(tmax, float)
    mean = (low + high) / 2
    slope, gamma = vapour_pressure_slope(mean), psychrometric(elevation)
    rn = (1 - ALBEDO) * np.asarray(rs, float) - net_longwave(
        rs, clear_sky(ra, elevation), ea, low, high
    )
    u2 = np.asarray(wind, float)
    deficit = mean_saturation_pressure(low, high) - np.asarray(ea, float)
    top = MM_PER_MJ * slope * (rn - np.asarray(soil_heat, float))
    top = top + gamma * 900 / (mean + 273) * u2 * deficit
    et0: Array = np.clip(top / (slope + gamma * (1 + 0.34 * u2)), 0, None)
    return et0
