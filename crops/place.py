"""Where a column stands, and what that makes of a day: light, temperature, evaporation, rain.

Figures of `KINDS` are common practice, no source; a grower who measures writes own ones. A day is
that of the open sky; a place under it changes it, a room has its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from crops import demand, evaporation, radiation, transpiration
from crops.radiation import Array

VENT = 25.0  # [degC] from which a frame is opened, fleece taken off: common practice, no source
# Energy of a mole of photons from 400 to 700 nm [MJ/mol]: 4.57 micromol/J of daylight (McCree 1972,
# Agricultural Meteorology 10:443-453; from memory), within 10 % for white lamps.
MJ_PER_MOL = 1 / 4.57
STILL_AIR = 0.5  # [m/s] least wind for ET0: FAO-56, chapter 4, "minimum data requirements"
REACHED = 0.8  # share of a lamp's photons that falls on the plants; common practice, no source


@dataclass(frozen=True)
class Lamp:
    """A lamp over a column, or over the nursery.

    Attributes
    ----------
    watts : what it draws [W]; efficacy : photons for it [micromol/J]; hours : of light a day [h].
    area : on which the light falls [m2]; price : of energy, in the grower's money a kWh.
    """

    watts: float
    efficacy: float
    hours: float
    area: float
    price: float = 0.0

    @property
    def flux(self) -> float:
        """Photons on the plants [micromol m-2 s-1]."""
        return self.watts * self.efficacy * REACHED / self.area

    @property
    def dli(self) -> float:
        """Daily light integral below it [mol m-2 d-1]."""
        return self.flux * self.hours * 3600 / 1e6

    @property
    def kwh(self) -> float:
        """Energy it takes on a day [kWh]."""
        return self.watts * self.hours / 1000


class Day(NamedTuple):
    """Weather of days: [degC], [degC], [mol m-2 d-1], [mm/d]; arrays whose last axis is the day.

    ``sun``, ``air``: what radiation and the dryness of the air take for each mm of ET0 [-].
    """

    tmin: Array
    tmax: Array
    dli: Array
    et0: Array
    sun: Array = np.asarray(demand.SUN)
    air: Array = np.asarray(demand.AIR)

    def whole(self) -> Day:
        """The same, ``sun`` and ``air`` told for every day."""
        shape = self.tmin.shape
        return self._replace(
            sun=np.broadcast_to(self.sun, shape), air=np.broadcast_to(self.air, shape)
        )


@dataclass(frozen=True)
class Place:
    """A place in which columns can stand.

    Attributes
    ----------
    name : the grower's name for it; kind : of `KINDS`.
    light : share of the open sky's light that reaches it [0..1].
    night, day : by how much minimum and maximum are higher there [degC]; the maximum up to `VENT`.
    evaporation : share of the open air's ET0 [-].
    rain : whether rain falls into it.
    temperature : of a room [degC], day and night; None: outdoors.
    humidity : of a room's air [0..1]; lamp : over a column; None: none.
    """

    name: str
    kind: str = "open"
    light: float = 1.0
    night: float = 0.0
    day: float = 0.0
    evaporation: float = 1.0
    rain: bool = True
    temperature: float | None = None
    humidity: float = 0.5
    lamp: Lamp | None = None

    def of(self, open_air: Day, elevation: float) -> Day:
        """What days of the open air are in this place; elevation [m]."""
        dli = open_air.dli * self.light + (self.lamp.dli if self.lamp else 0.0)
        if self.temperature is not None:
            same = np.full_like(open_air.tmin, self.temperature)
            return self._room(same, dli, open_air.dli, elevation)
        high = open_air.tmax
        warmed = np.maximum(high, np.minimum(high + self.day, VENT))
        low = np.minimum(open_air.tmin + self.night, warmed)
        return Day(low, warmed, dli, open_air.et0 * self.evaporation, open_air.sun, open_air.air)

    def daylength(self, hours: ArrayLike) -> Array:
        """Hours of light [h] where the sky has ``hours``: the longer of daylight and lamp."""
        natural = np.asarray(hours, float) if self.light > 0 else np.zeros(np.shape(hours))
        hours_lit: Array = np.maximum(natural, self.lamp.hours if self.lamp else 0.0)
        return hours_lit

    def _room(self, same: Array, dli: Array, sky: Array, elevation: float) -> Day:
        """Days of a room. ET0 [mm/d] is FAO-56 eq. 6 in still air, walls as warm as the air."""
        assert self.temperature is not None
        t = float(self.temperature)
        lamp = 0.0 if self.lamp is None else self.lamp.dli * MJ_PER_MOL
        rs = np.asarray(sky, float) * self.light / radiation.light_integral(1.0) + lamp
        slope, gamma = evaporation.vapour_pressure_slope(t), evaporation.psychrometric(elevation)
        deficit = evaporation.saturation_pressure(t) * (1 - self.humidity)
        top = evaporation.MM_PER_MJ * slope * (1 - evaporation.ALBEDO) * rs
        top = top + gamma * 900 / (t + 273) * STILL_AIR * deficit
        et0: Array = np.asarray(top / (slope + gamma * (1 + 0.34 * STILL_AIR)))
        leaf = transpiration.leaf_parts(t, (1 - evaporation.ALBEDO) * rs, deficit, elevation)
        over = np.maximum(et0, transpiration.LEAST_ET0)
        return Day(same, same, dli, et0, leaf.sun / over, leaf.air / over)


OPEN = Place("open")
# By kind, what a place is like unless the grower says otherwise.
KINDS: dict[str, Place] = {
    "open": OPEN,
    "eaves": Place("eaves", "eaves", light=0.7, night=1.0, evaporation=0.8, rain=False),
    "shade": Place("shade", "shade", light=0.5, evaporation=0.65),
    "fleece": Place("fleece", "fleece", light=0.85, night=2.0, day=2.0, evaporation=0.8),
    "frame": Place("frame", "frame", 0.8, 3.0, 5.0, 0.7, rain=False),
    "indoors": Place("indoors", "indoors", 0.0, rain=False, temperature=18.0),
}
