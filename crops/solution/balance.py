"""What a crop leaves of its solution: EC at harvest by mass balance, what two readings say, pH.

Nothing is added after filling, so what is left is what was filled less what was taken up. A crop
takes up a roughly fixed mass of nutrients per gram it grows; in dry air it drinks more for that
gram and takes less out of each litre (method of Langenfeld et al. 2022, Sustainability 14:10204).
It also takes up more where more is offered.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from crops.crop import Crop
from crops.solution.conductivity import conductivity, equivalents
from crops.solution.formula import ATOMIC_WEIGHTS
from crops.solution.salts import NITROGEN, Composition, nitrogen

# Water per fresh mass at which the catalogue's uptake per litre is taken to hold [mL/g]: Barbosa
# et al. 2015, Int J Environ Res Public Health 12:6879-6891, hydroponic lettuce 20 +/- 3.8 L/kg.
REFERENCE_USE = 20.0
# How far the uptake of one crop lies from the catalogue's, as a standard deviation on the log
# scale: common practice, no source. Two published sets for lettuce (188 and 135 mg/L N) differ by
# 0.33.
UPTAKE_SD = 0.3
# Half way, on the log scale, between what the catalogue says and what is offered: common practice,
# no source. Lettuce that drinks 11 to 20 mL/g grows well at 1.5 mS/cm, with an EC that falls
# slowly, where its published uptake alone (1.8 mS/cm) would leave nothing.
OFFERED = 0.5
# Milligrams to one milliequivalent, by what plants take up of each charge.
_CATIONS = {
    "K": ATOMIC_WEIGHTS["K"], "Ca": ATOMIC_WEIGHTS["Ca"] / 2, "Mg": ATOMIC_WEIGHTS["Mg"] / 2,
}  # fmt: skip
_ANIONS = {"N": ATOMIC_WEIGHTS["N"], "P": ATOMIC_WEIGHTS["P"], "S": ATOMIC_WEIGHTS["S"] / 2}
_S_PER_N = 1 / 15  # tissue sulfur 0.3 %, nitrogen 4.5 % of dry mass: from memory
NINETY = 1.6449  # standard normal quantile of a 90 % interval


class ExpectedEC(NamedTuple):
    """EC at harvest [mS/cm], half its 90 % interval, and elements used up before harvest."""

    ec: float
    spread: float
    short: tuple[str, ...] = ()


def strength(composition: Composition) -> float:
    """EC [mS/cm] by the cations, as USDA Handbook 60 has it: sum of meq/L over 10."""
    return sum(equivalents(composition)[0].values()) / 10


def uptake(
    crop: Crop, mL_per_g: float | None = None, offered: float | None = None
) -> dict[str, float]:
    """Taken up per litre drunk [mg/L]: N, P, K, Ca, Mg, S.

    Parameters
    ----------
    mL_per_g : water this crop drinks per gram of harvest; above the reference it takes less out of
        a litre. None: as at the reference.
    offered : strength of the fill [mS/cm by its K, Ca and Mg]; None: as much as it takes up.
    """
    share = 1.0 if mL_per_g is None else min(REFERENCE_USE / mL_per_g, 1.0)
    drawn = share * strength({"K": crop.uptake_k, "Ca": crop.uptake_ca, "Mg": crop.uptake_mg})
    if offered is not None and drawn > 0:
        share *= (offered / drawn) ** OFFERED
    found = {"N": crop.uptake_n, "P": crop.uptake_p, "K": crop.uptake_k, "Ca": crop.uptake_ca,
             "Mg": crop.uptake_mg, "S": crop.uptake_n * _S_PER_N}  # fmt: skip
    return {e: v * share for e, v in found.items()}


def expected_ec(
    crop: Crop,
    fill_l: float,
    start: Composition,
    level_l: float,
    drunk_l: float | None = None,
    mL_per_g: float | None = None,
    alkalinity: float = 0.0,
    uptake_sd: float = UPTAKE_SD,
) -> ExpectedEC:
    """EC of what is left in a tier.

    Parameters
    ----------
    fill_l : filled [L] with ``start`` [mg/L by names of `salts.ELEMENTS`].
    level_l : left [L]; drunk_l : gone through the plants [L], None: fill less level.
    mL_per_g : water drunk per gram of harvest, scales the uptake; see `uptake`.
    alkalinity : of the fill [mg/L CaCO3].
    uptake_sd : doubt in the uptake, standard deviation on the log scale.

    Raises
    ------
    ValueError
        A level outside 0 to the fill, or more drunk than is gone.
    """
    drunk = fill_l - level_l if drunk_l is None else drunk_l
    if not 0 < level_l <= fill_l * (1 + 1e-9) or not 0 <= drunk <= fill_l - level_l + 1e-6:
        raise ValueError(f"{level_l:g} L left and {drunk:g} L drunk of {fill_l:g} L; expected a "
                         "level above 0 and no more drunk than is gone")  # fmt: skip
    taken = uptake(crop, mL_per_g, strength({e: start.get(e, 0.0) for e in _CATIONS}))
    full = conductivity(start, alkalinity)

    def left(times: float) -> tuple[float, tuple[str, ...]]:
        rest, short = _left(start, {e: v * times for e, v in taken.items()}, fill_l, level_l, drunk)
        # EC goes with the cations, as in USDA Handbook 60: uptake figures of cations and anions
        # come from different hands and do not balance, those of the cations alone need not.
        return full.value * strength(rest) / max(strength(start), 1e-9), short

    middle, short = left(1.0)
    low, high = left(math.exp(uptake_sd))[0], left(math.exp(-uptake_sd))[0]
    # Half the step from one deviation below to one above, and the doubt of EC from composition.
    by_method = full.spread / NINETY * middle / max(full.value, 1e-9)
    sd = math.hypot((high - low) / 2, by_method)
    return ExpectedEC(middle, NINETY * sd, short)


def _left(
    start: Composition, taken: Composition, fill_l: float, level_l: float, drunk: float
) -> tuple[dict[str, float], tuple[str, ...]]:
    """What is left [mg/L]; an element that is used up stays at nothing.

    Roots keep charges even: in place of a cation (or anion) that is used up they take as many
    equivalents of the others (from memory: the sum of cations in leaves hardly changes).
    """
    have = {e: (nitrogen(start) if e == "N" else start.get(e, 0.0)) * fill_l for e in taken}
    want = {e: v * drunk for e, v in taken.items()}
    short = tuple(e for e in taken if have[e] > 0 and want[e] > have[e])
    rest: dict[str, float] = {}
    for ions in (_CATIONS, _ANIONS):
        rest |= _share_out(ions, have, want)
    # What plants hardly take up stays behind and grows stronger as the water goes.
    out = {e: v * fill_l / level_l for e, v in start.items() if e not in rest}
    out |= {e: v / level_l for e, v in rest.items() if e != "N"}
    for form in NITROGEN:  # forms of nitrogen go in proportion to what is there
        out[form] = start.get(form, 0.0) * fill_l / level_l
        out[form] *= rest["N"] / have["N"] if have["N"] else 0.0
    return out, short


def _share_out(ions: Mapping[str, float], have: Composition, want: Composition) -> dict[str, float]:
    """Milligrams left of each ion [mg], shortages made up by the others as far as they go."""
    left = {e: have[e] - want[e] for e in ions}
    missing = sum(-v / ions[e] for e, v in left.items() if v < 0)  # [meq]
    left = {e: max(v, 0.0) for e, v in left.items()}
    there = sum(v / ions[e] for e, v in left.items())
    kept = max(1 - missing / there, 0.0) if there > 0 else 0.0
    return {e: v * kept for e, v in left.items()}


# At the end a solution may be stronger or weaker than a fill should be: common practice, no source.
END_HIGH, END_LOW = 1.5, 0.5


def end_limits(crop: Crop) -> tuple[float, float]:
    """EC at harvest [mS/cm] below which a crop has starved, above which it is too salty."""
    return END_LOW * crop.ec_low, END_HIGH * crop.ec_high


def fitting_fill(crop: Crop, fill_l: float, level_l: float, mL_per_g: float | None = None) -> float:
    """EC of a fill [mS/cm], within the crop's range, that ends nearest to the strength it began
    with: the strength of what the crop takes up."""
    drawn = strength(uptake(crop, mL_per_g))
    left = level_l / fill_l
    wanted = drawn * (1 - left) + left * (crop.ec_low + crop.ec_high) / 2
    return min(max(wanted, crop.ec_low), crop.ec_high)


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
        raise ValueError(f"{left_l:g} L at {left_ec:g} left of {fill_l:g} L at {fill_ec:g} mS/cm; "
                         "expected less left than filled, and strengths above 0")  # fmt: skip
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
