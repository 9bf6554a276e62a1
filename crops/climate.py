"""From a climate table to one row of weather a day.

A table holds either twelve monthly normals (column ``month``) or daily rows (column ``date``),
with ``tmin`` and ``tmax`` [degC] and, where known, ``rs`` (global radiation, MJ m-2 d-1),
``rhmin``/``rhmax`` or ``rh`` [%] and ``wind`` (at 2 m, m/s). With humidity and wind ET0 is
Penman-Monteith's, otherwise Hargreaves'.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from crops import evaporation, radiation, transpiration

if TYPE_CHECKING:
    import pandas as pd

MEASURED = ("tmin", "tmax", "rs", "rhmin", "rhmax", "rh", "wind")


def monthly_to_daily(normals: pd.DataFrame, start: date, end: date) -> pd.DataFrame:
    """Daily rows from monthly normals, straight lines between mid-months, year closing on itself.

    Parameters
    ----------
    normals : twelve rows, column ``month`` (1..12) and any of `MEASURED`.
    start, end : first and last day, both included.

    Raises
    ------
    ValueError
        Unless each month 1..12 is there exactly once.
    """
    import pandas as pd

    table = normals.sort_values("month").reset_index(drop=True)
    if list(table["month"]) != list(range(1, 13)):
        raise ValueError("monthly normals need each month from 1 to 12 exactly once")
    days = pd.date_range(start, end, freq="D")
    month = days.month.to_numpy()
    length = days.days_in_month.to_numpy()
    # Position in months since the middle of January; 15 June is 5.0 whatever the month's length.
    position = (month - 1) + (days.day.to_numpy() - 0.5) / length - 0.5
    knots = np.arange(-1, 14)
    out = pd.DataFrame(index=days)
    for name in MEASURED:
        if name in table:
            value = table[name].to_numpy(float)
            out[name] = np.interp(position, knots, value[knots % 12])
    return out


def weather(
    rows: pd.DataFrame, latitude: float, elevation: float, coastal: bool = False
) -> pd.DataFrame:
    """Complete daily weather.

    Parameters
    ----------
    rows : daily index, columns ``tmin``, ``tmax`` and any other of `MEASURED`.
    latitude : [degree, north positive]; elevation : [m].
    coastal : takes the coastal constant where radiation comes from the temperature range.

    Returns
    -------
    Frame with the same index and ``tmin, tmax, tmean`` [degC], ``ra, rs`` [MJ m-2 d-1],
    ``daylength`` [h], ``et0`` [mm/d], ``dli`` (open sky) [mol m-2 d-1]; ``sun`` and ``air``, what
    radiation and the dryness of the air take from a leaf for each mm of ET0 [-].
    """
    import pandas as pd

    index = pd.DatetimeIndex(rows.index)
    doy = index.dayofyear.to_numpy()
    low, high = rows["tmin"].to_numpy(float), rows["tmax"].to_numpy(float)
    ra = radiation.extraterrestrial(latitude, doy)
    guess = radiation.from_temperature_range(ra, low, high, elevation, coastal)
    rs = guess
    if "rs" in rows:
        measured = rows["rs"].to_numpy(float)
        rs = np.where(np.isnan(measured), guess, measured)
    et0 = evaporation.hargreaves(low, high, ra)
    ea = _vapour_pressure(rows, low, high)
    if "wind" in rows:
        full = evaporation.penman_monteith(
            low, high, rs, ra, ea, rows["wind"].to_numpy(float), elevation
        )
        et0 = np.where(np.isnan(full), et0, full)
    leaf = transpiration.per_et0(low, high, rs, ra, ea, elevation, et0)
    return pd.DataFrame(
        {
            "tmin": low,
            "tmax": high,
            "tmean": (low + high) / 2,
            "ra": ra,
            "rs": rs,
            "daylength": radiation.day_length(latitude, doy),
            "et0": et0,
            "dli": radiation.light_integral(rs),
            "sun": leaf.sun,
            "air": leaf.air,
        },
        index=index,
    )


def _vapour_pressure(
    rows: pd.DataFrame, low: radiation.Array, high: radiation.Array
) -> radiation.Array:
    """Actual vapour pressure [kPa], day by day from the best humidity there is; NaN without any."""
    import pandas as pd

    none = pd.Series(np.nan, index=rows.index)
    least, most, mean = (rows.get(name, none).to_numpy(float) for name in ("rhmin", "rhmax", "rh"))
    from_mean = mean / 100 * evaporation.mean_saturation_pressure(low, high)  # FAO-56 eq. 19
    from_both = evaporation.vapour_pressure_from_humidity(low, high, least, most)
    return np.where(np.isnan(from_both), from_mean, from_both)
