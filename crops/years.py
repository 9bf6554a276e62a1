"""Expected courses: a batch's development as the mean over many weather years.

Growth is concave in temperature and saturates with light, so that the rate on the mean day
is more than the mean of the rates: real batches come on slower than one on the mean day. A daily
frame that carries `Years` (`carrying`) gives the mean of the years' rates instead of the rate of
the mean day, wherever rates are asked for (`crops.development`).
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from crops import demand
from crops.crop import Crop
from crops.radiation import Array

if TYPE_CHECKING:
    import pandas as pd

    from crops.solution_heat import Bath

SLICE = 250  # years of warmth worked out at once, to hold memory down
KEY = "years"  # under which a frame carries its years
SHARE = "lost"  # and the share of them in which a batch may be lost
KILLS = "killed"  # and the share in which cold or heat may kill it, where that is another one
# Those shares unless told otherwise: to bolting and to a dry tier; to cold and heat. Own judgement.
LOST, KILLED = 0.2, 0.1


class Years:
    """Daily weather of many years.

    Parameters
    ----------
    first : date of the first column.
    tmin, tmax : [degC]; dli : open sky [mol m-2 d-1]; et0 : [mm/d], None if not asked for; each
        [years, days].
    sun, air : what radiation and air take for each mm of ET0 [-, years x days]; None: the usual.
    """

    def __init__(
        self,
        first: date,
        tmin: Array,
        tmax: Array,
        dli: Array,
        et0: Array | None = None,
        sun: Array | None = None,
        air: Array | None = None,
    ) -> None:
        self.first, self.tmin, self.tmax, self.dli, self.et0 = first, tmin, tmax, dli, et0
        self.sun = np.broadcast_to(demand.SUN, tmin.shape) if sun is None else sun
        self.air = np.broadcast_to(demand.AIR, tmin.shape) if air is None else air
        self._warm: dict[tuple[float, ...], Array] = {}
        self._rates: dict[tuple[float, ...], Array] = {}
        self._solutions: dict[Bath, Array] = {}

    def __deepcopy__(self, memo: Any) -> Years:
        """Frames copy what they carry with every slice; years never change."""
        return self

    @property
    def count(self) -> int:
        return int(self.tmin.shape[0])

    def columns(self, index: pd.Index) -> np.ndarray:
        """Where the days of a frame lie in these years; a day past them counts as the last."""
        import pandas as pd

        at = (pd.DatetimeIndex(index) - pd.Timestamp(self.first)).days.to_numpy()
        columns: np.ndarray = np.clip(at, 0, self.tmin.shape[1] - 1)
        return columns

    def taken(self, light: float) -> Array:
        """What leaves in a tier with ``light`` [0..1] lose [mm/d of ET0's scale; years x days]."""
        if self.et0 is None:
            raise ValueError("these years have no ET0")
        lost: Array = self.et0 * demand.light_response(light, self.sun, self.air)
        return lost

    def rates(self, crop: Crop, light: float) -> Array:
        """Progress per day [1/d] in each year [years, days], in a tier with ``light`` [0..1]."""
        from crops import development

        kind = (*_temperatures(crop), crop.reference_temperature)
        if kind not in self._warm:
            parts = [
                development.warmth(crop, self.tmin[i : i + SLICE], self.tmax[i : i + SLICE])
                for i in range(0, self.count, SLICE)
            ]
            self._warm[kind] = np.concatenate(parts)
        return self._warm[kind] * development.lit(crop, self.dli, light) / crop.days_to_harvest

    def solution(self, bath: Bath, lamp: Array) -> Array:
        """Mean of the solution on each day [degC; years, days]; kept.

        ``lamp`` : light that is not the sun's [mol m-2 d-1; days], always the same of these years.
        """
        if bath not in self._solutions:
            sun = np.maximum(self.dli - lamp, 0.0)
            self._solutions[bath] = bath.solution(self.tmin, self.tmax, sun)
        return self._solutions[bath]

    def rate(self, crop: Crop, light: float) -> Array:
        """Mean over the years of each day's progress [1/d], in a tier with ``light`` [0..1]."""
        key = (
            *_temperatures(crop),
            crop.reference_temperature,
            *(crop.dli_target, crop.light_exponent, crop.light_gain, crop.days_to_harvest, light),
        )
        if key not in self._rates:
            self._rates[key] = self.rates(crop, light).mean(axis=0)
        return self._rates[key]


def _temperatures(crop: Crop) -> tuple[float, ...]:
    temperatures = crop.t_base, crop.t_opt, crop.t_max, crop.t_exponent
    return (*temperatures, crop.heat_limit, crop.chill_limit)


def carrying(
    weather: pd.DataFrame, years: Years, lost: float | None = None, killed: float | None = None
) -> pd.DataFrame:
    """The frame with its years, in a share ``lost`` [0..1] of which a batch may be lost.

    None: the usual shares, but ``killed`` for cold and heat where that is given.
    """
    out = weather.copy()
    out.attrs = {**weather.attrs, KEY: years, SHARE: lost, KILLS: killed}
    return out


def plain(weather: pd.DataFrame) -> pd.DataFrame:
    """The frame without its years: to ask what another weather would do."""
    out = weather.copy()
    out.attrs = {k: v for k, v in weather.attrs.items() if k not in (KEY, SHARE, KILLS)}
    return out


def carried_by(weather: pd.DataFrame) -> Years | None:
    """The years that a frame carries, or None: then it stands for itself."""
    found = weather.attrs.get(KEY)
    return found if isinstance(found, Years) else None


def most_lost(weather: pd.DataFrame) -> float:
    """Share of the years that a frame carries in which a batch may bolt or run dry [0..1]."""
    share = weather.attrs.get(SHARE)
    return LOST if share is None else float(share)


def most_killed(weather: pd.DataFrame) -> float:
    """Share of the years that a frame carries in which a batch may be killed [0..1]."""
    for share in (weather.attrs.get(SHARE), weather.attrs.get(KILLS)):
        if share is not None:
            return float(share)
    return KILLED


def lost_at_most(weather: pd.DataFrame, count: int) -> int:
    """In how many of ``count`` years a batch may be lost; the one year of a plain frame is kept."""
    # A hair is added: a fifth of five years is one.
    return int(most_lost(weather) * count + 1e-9) if count > 1 else 0


def killed_at_most(weather: pd.DataFrame, count: int) -> int:
    """In how many of ``count`` years a batch may be killed; in the year of a plain frame never."""
    return int(most_killed(weather) * count + 1e-9) if count > 1 else 0
