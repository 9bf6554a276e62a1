"""What a place makes of a day, against sums by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from crops.place import KINDS, Day, Lamp, Place

# 60 W at 2.5 micromol/J give 150 micromol/s, of which 80 % fall on 0.5 m2: 240 micromol m-2 s-1.
LAMP = Lamp(60.0, 2.5, 14.0, 0.5, 0.30)


def day(tmin: float = 4.0, tmax: float = 12.0, dli: float = 20.0, et0: float = 2.0) -> Day:
    return Day(*(np.array([float(x)]) for x in (tmin, tmax, dli, et0)))


def test_light_and_energy_of_a_lamp_by_hand() -> None:
    """240 micromol m-2 s-1 for 14 h (50,400 s) are 12.096 mol; 60 W for 14 h are 0.84 kWh."""
    assert LAMP.flux == pytest.approx(240)
    assert LAMP.dli == pytest.approx(240e-6 * 50_400) == pytest.approx(12.096)
    assert LAMP.kwh == pytest.approx(0.84)
    # 100 micromol m-2 s-1 for 16 h are 5.76 mol, the sum that growers' tables print.
    assert Lamp(100 / 2 / 0.8, 2.0, 16.0, 1.0).dli == pytest.approx(5.76)


@pytest.mark.parametrize(
    ("kind", "tmin", "tmax", "dli", "et0", "rain"),
    [
        ("open", 4, 12, 20, 2, True),
        ("eaves", 5, 12, 14, 1.6, False),
        ("shade", 4, 12, 10, 1.3, True),
        ("fleece", 6, 14, 17, 1.6, True),
        ("frame", 7, 17, 16, 1.4, False),
    ],
)
def test_places_outdoors(
    kind: str, tmin: float, tmax: float, dli: float, et0: float, rain: bool
) -> None:
    place = KINDS[kind]
    assert [float(x[0]) for x in place.of(day(), 0.0)[:4]] == pytest.approx([tmin, tmax, dli, et0])
    assert place.rain is rain
    assert place.daylength(10.0) == 10.0


def test_a_frame_is_opened_at_25_degrees() -> None:
    frame = KINDS["frame"]
    assert float(frame.of(day(15, 21), 0.0).tmax[0]) == 25  # not 26
    assert float(frame.of(day(15, 31), 0.0).tmax[0]) == 31  # as hot as the air, no hotter
    # A night is never warmer than its day.
    assert float(frame.of(day(27, 28), 0.0).tmin[0]) == 28


def room(**changes: object) -> Place:
    return replace(KINDS["indoors"], temperature=20.0, **changes)  # type: ignore[arg-type]


def test_a_room_has_its_own_temperature_light_and_hours() -> None:
    lit = room(lamp=LAMP, light=0.1)
    there = lit.of(day(-20, -10), 0.0)
    assert (there.tmin[0], there.tmax[0]) == (20, 20)
    assert there.dli[0] == pytest.approx(2 + 12.096)
    assert lit.daylength(6.0) == 14  # the lamp's
    assert lit.daylength(18.0) == 18  # the window's
    assert room(lamp=LAMP).daylength(18.0) == 14  # no window
    assert room(light=0.5).daylength(9.0) == 9


def test_evaporation_of_a_room_by_hand() -> None:
    """FAO-56 eq. 6 at 20 degC, 0 m, 50 %, 0.5 m/s, and 14 mol of a lamp.

    e0 = 0.6108 exp(17.27 x 20 / 257.3) = 2.338 kPa; slope 4098 x 2.338 / 257.3^2 = 0.14474;
    gamma 0.665e-3 x 101.3 = 0.067365; Rn 0.77 x 14 / 4.57 = 2.3589 MJ.
    (0.408 x 0.14474 x 2.3589 + 0.067365 x 900 / 293 x 0.5 x 1.169) / (0.14474 + 0.067365 x 1.17)
    = (0.13930 + 0.12095) / 0.22356 = 1.164 mm.
    """
    lamp = Lamp(14e6 / (14 * 3600) / 2.5 / 0.8, 2.5, 14.0, 1.0)
    assert lamp.dli == pytest.approx(14)
    et0 = room(lamp=lamp).of(day(), 0.0).et0[0]
    assert et0 == pytest.approx(1.164, abs=0.002)
    # Damp air and less light take less; nothing of the weather outside counts.
    assert room(lamp=lamp, humidity=0.8).of(day(), 0.0).et0[0] < et0
    assert room(lamp=LAMP).of(day(), 0.0).et0[0] < et0
    assert room(lamp=lamp).of(day(30, 40, 50, 9), 0.0).et0[0] == et0
