"""Sun and sky: day length, extraterrestrial and global radiation, daily light integral.

Equations are those of FAO Irrigation and Drainage Paper 56 (Allen, Pereira, Raes & Smith 1998,
chapter 3), cited by number. All functions take scalars or arrays and follow NumPy broadcasting.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

SOLAR_CONSTANT = 0.0820  # [MJ m-2 min-1], FAO-56 eq. 21
# [mol PAR per MJ global]: 0.007265 mol/Wh, Faust & Logan 2018, HortScience 53:1250-1257
MOL_PER_MJ = 2.018

Array = NDArray[np.float64]


def inverse_distance(day_of_year: ArrayLike) -> Array:
    """Inverse relative distance Earth-Sun [-] (eq. 23)."""
    return np.asarray(1 + 0.033 * np.cos(2 * np.pi / 365 * np.asarray(day_of_year, float)))


def declination(day_of_year: ArrayLike) -> Array:
    """Solar declination [rad] (eq. 24)."""
    return np.asarray(0.409 * np.sin(2 * np.pi / 365 * np.asarray(day_of_year, float) - 1.39))


def sunset_angle(latitude: ArrayLike, day_of_year: ArrayLike) -> Array:
    """Sunset hour angle [rad] (eq. 25), held to [0, pi] beyond the polar circles.

    Parameters: latitude [degree, north positive], day of the year [1..366].
    """
    phi = np.radians(np.asarray(latitude, float))
    angle: Array = np.arccos(np.clip(-np.tan(phi) * np.tan(declination(day_of_year)), -1.0, 1.0))
    return angle


def day_length(latitude: ArrayLike, day_of_year: ArrayLike) -> Array:
    """Daylight hours N [h] (eq. 34)."""
    return 24 / np.pi * sunset_angle(latitude, day_of_year)


def extraterrestrial(latitude: ArrayLike, day_of_year: ArrayLike) -> Array:
    """Extraterrestrial radiation Ra [MJ m-2 d-1] (eq. 21)."""
    phi = np.radians(np.asarray(latitude, float))
    delta = declination(day_of_year)
    ws = sunset_angle(latitude, day_of_year)
    angle = ws * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(ws)
    ra: Array = 24 * 60 / np.pi * SOLAR_CONSTANT * inverse_distance(day_of_year) * angle
    return ra


def clear_sky(ra: ArrayLike, elevation: float) -> Array:
    """Clear-sky radiation Rso [MJ m-2 d-1] (eq. 37), elevation [m]."""
    return (0.75 + 2e-5 * elevation) * np.asarray(ra, float)


def from_sunshine(ra: ArrayLike, hours: ArrayLike, possible: ArrayLike) -> Array:
    """Global radiation Rs [MJ m-2 d-1] from sunshine hours [h] (eq. 35, a = 0.25, b = 0.50)."""
    share = np.asarray(hours, float) / np.asarray(possible, float)
    rs: Array = (0.25 + 0.50 * share) * np.asarray(ra)
    return rs


def from_temperature_range(
    ra: ArrayLike, tmin: ArrayLike, tmax: ArrayLike, elevation: float, coastal: bool = False
) -> Array:
    """Global radiation Rs [MJ m-2 d-1] from the daily temperature range [degC] (eq. 50).

    kRs is 0.16 inland and 0.19 on the coast; Rs never exceeds clear-sky radiation.
    """
    krs = 0.19 if coastal else 0.16
    span = np.clip(np.asarray(tmax, float) - np.asarray(tmin, float), 0, None)
    rs: Array = np.minimum(krs * np.sqrt(span) * np.asarray(ra, float), clear_sky(ra, elevation))
    return rs


def light_integral(rs: ArrayLike, share: ArrayLike = 1.0) -> Array:
    """Daily light integral DLI [mol m-2 d-1] of a tier with ``share`` [0..1] of the open sky."""
    dli: Array = MOL_PER_MJ * np.asarray(rs, float) * np.asarray(share, float)
    return dli
