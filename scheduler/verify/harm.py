"""What cold, chill and warm solution do to a batch, day by day. Plain loops, no shortcuts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta

from crops.crop import Crop
from crops.vessel import Vessel
from scheduler.garden.model import Tier

SLACK, TINY = 1e-6, 1e-9
SUN = {"dark": 0.9, "grey": 0.6, "white": 0.3}  # of its light that a wall turns into heat


def solution(
    low: Sequence[float],
    high: Sequence[float],
    light: Sequence[float],
    tier: Tier,
    vessel: Vessel,
    first: date,
) -> list[float]:
    """Mean of the solution on each day [degC] of a year from ``first`` on.

    ``low``, ``high`` : of the air [degC]; ``light`` : where the tier stands [mol m-2 d-1].
    """
    litres = max(vessel.fill_l, 0.1)
    # 5 V^(2/3) m2 of wall at 10 W m-2 K-1, 4186 J a litre and degree.
    wall = 5.0 * (litres / 1000) ** (2 / 3)
    keeps = math.exp(-86400 * 10.0 * wall / (litres * 4186))
    out: list[float] = []
    for d in range(len(low)):
        day = first + timedelta(days=d)
        lamps = [s.place.lamp.dli for s in tier.stays if s.place.lamp and s.start <= day <= s.end]
        sun = max(light[d] - sum(lamps), 0.0) * tier.light
        watts = sun / 2.018 * 1e6 / 86400  # 2.018 mol of photons a MJ
        around = (low[d] + high[d]) / 2 + SUN[vessel.wall] * 0.4 * watts / 17.0
        out.append(around if not out else keeps * out[-1] + (1 - keeps) * around)
    return out


def dies(
    crop: Crop,
    low: Sequence[float],
    high: Sequence[float],
    warm: Sequence[float],
    start: int,
    day: int,
) -> bool:
    """Whether ``day`` kills what was transplanted on day ``start``; ``warm`` is its solution."""
    return frozen(crop, low, start, day) or worn(crop, low, high, warm, start, day)


def frozen(crop: Crop, low: Sequence[float], start: int, day: int) -> bool:
    """Whether the night is colder than it bears, by how the week before has hardened it."""
    hard = 0.0
    for night in range(max(start, day - 7), day):  # from 8 degC down to 2 a seventh each
        hard += min(max((8.0 - float(low[night])) / 6.0, 0.0), 1.0) / 7.0
    bears = (1.0 - hard) * crop.kill_temperature + hard * crop.kill_hardened
    return float(low[day]) < bears - TINY


def worn(
    crop: Crop,
    low: Sequence[float],
    high: Sequence[float],
    warm: Sequence[float],
    start: int,
    day: int,
) -> bool:
    """Whether warm solution and chilly air have come to too much within a fortnight."""
    sum_ = 0.0
    for d in range(max(start, day - 13), day + 1):
        sum_ += max(float(warm[d]) - crop.heat_limit, 0.0)
        sum_ += max(crop.chill_limit - float(low[d] + high[d]) / 2, 0.0)
    return sum_ > 25.0 + SLACK
