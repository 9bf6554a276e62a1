"""What a crop leaves of its solution: EC at harvest by mass balance, what two readings say.

Nothing is added after filling, so what is left is what was filled less what was taken up. A crop
takes up a roughly fixed mass of nutrients per gram it grows; in dry air it drinks more for that
gram and takes less out of each litre (method of Langenfeld et al. 2022, Sustainability 14:10204).
It also takes up more where more is offered (`crops.solution.strength`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from crops.crop import Crop
from crops.radiation import Array
from crops.solution.conductivity import METHOD_SHARE, equivalents
from crops.solution.salts import Composition, nitrogen
from crops.solution.strength import OFFERED, ending

# Water per fresh mass at which the catalogue's uptake per litre holds [mL/g]: what tissue holds per
# kilogram is the uptake times this. Barbosa et al. 2015, Int J Environ Res Public Health
# 12:6879-6891, hydroponic lettuce 20 +/- 3.8 L/kg.
REFERENCE_USE = 20.0
# How far the uptake of one crop lies from the catalogue's, as a standard deviation on the log
# scale: common practice, no source. Two published sets for lettuce (188 and 135 mg/L N) differ by
# 0.33.
UPTAKE_SD = 0.3
_CATIONS = ("K", "Ca", "Mg")
_S_PER_N = 1 / 15  # tissue sulfur 0.3 %, nitrogen 4.5 % of dry mass: from memory
NINETY = 1.6449  # standard normal quantile of a 90 % interval


class ExpectedEC(NamedTuple):
    """EC at harvest [mS/cm] and half its 90 % interval."""

    ec: float
    spread: float


def strength(composition: Composition) -> float:
    """EC [mS/cm] by the cations, as USDA Handbook 60 has it: sum of meq/L over 10."""
    return sum(equivalents(composition)[0].values()) / 10


def drawn(crop: Crop, mL_per_g: ArrayLike = REFERENCE_USE) -> Array:
    """Salts that the harvest holds, per litre drunk for it [mS/cm by its K, Ca and Mg].

    EC goes with the cations, as in USDA Handbook 60: figures of cations and anions come from
    different hands and do not balance, those of the cations alone need not.
    """
    held = strength({"K": crop.uptake_k, "Ca": crop.uptake_ca, "Mg": crop.uptake_mg})
    return np.asarray(held * REFERENCE_USE / np.asarray(mL_per_g, float))


def uptake(
    crop: Crop, mL_per_g: float | None = None, offered: float | None = None
) -> dict[str, float]:
    """Taken up per litre drunk [mg/L]: N, P, K, Ca, Mg, S.

    Parameters
    ----------
    mL_per_g : water this crop drinks per gram of harvest. None: as at the reference.
    offered : strength of the fill [mS/cm by its K, Ca and Mg]; None: as much as it holds.
    """
    share = 1.0 if mL_per_g is None else REFERENCE_USE / mL_per_g
    held = float(drawn(crop, REFERENCE_USE if mL_per_g is None else mL_per_g))
    if offered is not None and held > 0:
        share *= (offered / held) ** OFFERED
    found = {
        "N": crop.uptake_n,
        "P": crop.uptake_p,
        "K": crop.uptake_k,
        "Ca": crop.uptake_ca,
        "Mg": crop.uptake_mg,
        "S": crop.uptake_n * _S_PER_N,
    }
    return {e: v * share for e, v in found.items()}


def used_up(
    crop: Crop, start: Composition, left: float, mL_per_g: float | None = None
) -> tuple[str, ...]:
    """Elements of a fill that are gone before harvest; roots take others in their place.

    Parameters
    ----------
    start : the fill [mg/L by names of `salts.ELEMENTS`]; left : share of it left at harvest [-].
    mL_per_g : water drunk per gram of harvest; see `uptake`.
    """
    offered = strength({e: start.get(e, 0.0) for e in _CATIONS})
    taken = uptake(crop, mL_per_g, offered)
    have = {e: nitrogen(start) if e == "N" else start.get(e, 0.0) for e in taken}
    return tuple(e for e, v in taken.items() if 0 < have[e] < v * (1 - left))


def expected_ec(
    crop: Crop,
    fill_ec: float,
    left: float,
    mL_per_g: float | None = None,
    own: float = 0.0,
    uptake_sd: float = UPTAKE_SD,
) -> ExpectedEC:
    """EC of what is left in a tier, with its doubt.

    Parameters
    ----------
    fill_ec : of the fill [mS/cm], of which ``own`` is the water's and stays.
    left : share of the fill left at the last pick [-].
    mL_per_g : water drunk per gram of harvest; None: the reference.
    uptake_sd : doubt in the uptake, standard deviation on the log scale.

    Raises
    ------
    ValueError
        Nothing left, or more than was filled.
    """
    if not 0 < left <= 1 + 1e-9:
        raise ValueError(f"{left:g} of the fill left; expected above 0 and at most 1")
    held = drawn(crop, REFERENCE_USE if mL_per_g is None else mL_per_g)
    # A doubt in what is taken is one in what tissue holds, which works only by its root.
    doubts = np.exp(np.array([0.0, 1.0, -1.0]) * uptake_sd / (1 - OFFERED))
    middle, low, high = (float(e) for e in ending(fill_ec, min(left, 1.0), held * doubts, own))
    # Half the step from one deviation below to one above, and the doubt of EC from composition.
    sd = math.hypot((high - low) / 2, METHOD_SHARE / NINETY * middle)
    return ExpectedEC(middle, NINETY * sd)


# What two readings say.

WEAK, RIGHT, STRONG = "weak", "right", "strong"
# A difference of a tenth between fill and uptake is worth acting on, half of it is not: common
# practice, no source. One crop's advice never moves the fill by more than the step.
LEAST_CHANGE, MOST_CHANGE = 0.05, 0.15
METER_SD = 0.02  # repeatability of one meter, standard deviation: common practice, no source
LEVEL_SD_SHARE = 0.035  # 8 mm in 24 cm, standard deviation: common practice, no source


@dataclass(frozen=True)
class Verdict:
    """What fill and rest say about the strength.

    Attributes
    ----------
    uptake_ec : strength of what the crop took per litre drunk [mS/cm]; sd : its standard deviation.
    change : uptake over fill, less 1 [-]; change_sd : its standard deviation.
    conclusion : `WEAK`, `RIGHT` or `STRONG`, said of the fill.
    next_ec : strength for the next fill of this crop in the same season [mS/cm].
    """

    uptake_ec: float
    sd: float
    change: float
    change_sd: float
    conclusion: str
    next_ec: float

    @property
    def interval(self) -> tuple[float, float]:
        """90 % interval of the change [-]."""
        return self.change - NINETY * self.change_sd, self.change + NINETY * self.change_sd


def judge(
    fill_l: float,
    fill_ec: float,
    left_l: float,
    left_ec: float,
    left_sd_l: float | None = None,
    meter_sd: float = METER_SD,
) -> Verdict:
    """Whether a fill was too weak or too strong, from what was left of it.

    EC is taken as proportional to salts. The fill was right if the crop took them up at the
    strength they were given: uptake = (fill x EC - left x EC) / drunk. A difference counts when it
    is above `LEAST_CHANGE` and outside its own 90 % interval.

    Parameters
    ----------
    fill_l, left_l : [L]; fill_ec, left_ec : [mS/cm].
    left_sd_l : standard deviation of the level left [L]; None: 3.5 % of the fill.
    meter_sd : repeatability of the meter [-]; an error of its scale cancels in the change.

    Raises
    ------
    ValueError
        Nothing filled or drunk, or strengths that cannot be.
    """
    if not 0 <= left_l < fill_l or fill_ec <= 0 or left_ec < 0:
        raise ValueError(
            f"{left_l:g} L at {left_ec:g} left of {fill_l:g} L at {fill_ec:g} mS/cm; "
            "expected less left than filled, and strengths above 0"
        )
    drunk = fill_l - left_l
    up = (fill_l * fill_ec - left_l * left_ec) / drunk
    sd_l = LEVEL_SD_SHARE * fill_l if left_sd_l is None else left_sd_l
    by_level = (up - left_ec) / drunk * sd_l
    by_fill = fill_l / drunk * fill_ec * meter_sd
    by_rest = left_l / drunk * left_ec * meter_sd
    sd = math.sqrt(by_level**2 + by_fill**2 + by_rest**2)
    change = up / fill_ec - 1
    # In the ratio the fill's own reading works only through what was left.
    ratio_sd = math.sqrt(by_level**2 + 2 * by_rest**2) / fill_ec
    sure = abs(change) > max(LEAST_CHANGE, NINETY * ratio_sd)
    conclusion = RIGHT if not sure else WEAK if change > 0 else STRONG
    step = 0.0 if conclusion == RIGHT else max(-MOST_CHANGE, min(change, MOST_CHANGE))
    return Verdict(up, sd, change, ratio_sd, conclusion, fill_ec * (1 + step))
