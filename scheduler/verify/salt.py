"""Salt in the solution of a batch, litre by litre; from its own code, on the published numbers."""

from __future__ import annotations

from itertools import pairwise

from crops.crop import Crop
from crops.solution import strength
from crops.solution.balance import REFERENCE_USE
from scheduler.plans.rules import CLAIMS, SALT
from scheduler.verify.case import Case, Standing

SLICES = 100  # the water is drunk in so many equal parts
MEQ = {"uptake_k": 39.098, "uptake_ca": 40.078 / 2, "uptake_mg": 24.305 / 2}  # [mg/meq]
LOST, FILL, END = 0.002, 0.011, 0.03  # slack: share, [mS/cm], share of the EC at harvest


def check(case: Case) -> None:
    """Check every batch that is not filled yet."""
    case.each(_check)


def _check(case: Case, s: Standing) -> None:
    b, course = s.batch, s.course
    if s.over or s.planted or course is None or not b.picks:
        return
    last = case.physics.index(b.picks[-1].date) - course.start
    if not 0 <= last < len(course.litres):
        return
    end, grams = course.litres[last], sum(p.grams for p in b.picks)
    if end <= 0.01 * s.vessel.fill_l or end >= s.vessel.fill_l or grams <= 0:
        return
    found = _weigh(case, s.crop, s.vessel.fill_l, end, grams)
    fill, _, lost = _best(s.crop, found)
    case.check(
        SALT,
        lost <= strength.MOST_LOST + LOST,
        f"{s.name}: salt costs {100 * lost:.0f} % of the crop even from EC {fill:.1f}; at "
        f"most {100 * strength.MOST_LOST:.0f} %",
        lost - strength.MOST_LOST,
        [b.id],
        "of the crop",
    )
    if b.fill_ec is None or b.harvest_ec is None:
        return
    stated = [f for f in found if abs(f[0] - b.fill_ec) <= FILL]
    want = next(f for f in found if abs(f[0] - fill) < 1e-9)
    right = abs(b.fill_ec - fill) <= FILL or any(_close(s.crop, f, want) for f in stated)
    case.check(
        CLAIMS,
        right,
        f"{s.name}: filled with EC {b.fill_ec:g}; {fill:g} computed",
        abs(b.fill_ec - fill),
        [b.id],
        "mS/cm",
    )
    ending = stated[0][1] if stated else want[1]
    case.check(
        CLAIMS,
        abs(b.harvest_ec - ending) <= max(END * ending, FILL),
        f"{s.name}: EC {b.harvest_ec:g} at the last pick; {ending:.2f} computed",
        abs(b.harvest_ec - ending),
        [b.id],
        "mS/cm",
    )


Fill = tuple[float, float, float]  # EC of the fill, at the last pick [mS/cm]; share lost


def _weigh(case: Case, crop: Crop, fill_l: float, end_l: float, grams: float) -> list[Fill]:
    """Every fill of the crop's range, the weakest first."""
    source = case.garden.solution.source
    drunk = fill_l - end_l
    # Milliequivalents in the harvest, as mS/cm of the water drunk (USDA Handbook 60: meq/L over 10)
    meq = sum(getattr(crop, name) / each for name, each in MEQ.items()) * REFERENCE_USE / 1000
    held = meq * grams / drunk / 10
    out = []
    for ec in _range(crop, source.ec):
        useful = max(ec - source.own, 0.0)
        up = useful**strength.OFFERED * held ** (1 - strength.OFFERED)
        edges = [fill_l - drunk * k / SLICES for k in range(SLICES + 1)]
        stood = 0.0
        for before, after in pairwise(edges):
            middle = (before + after) / 2
            stood += max(ec * fill_l - up * (fill_l - middle), 0.0) / middle
        left = max(useful * fill_l - up * drunk, 0.0) + source.own * fill_l
        over = stood / SLICES * strength.EXTRACT - crop.salt_threshold
        out.append((ec, left / end_l, min(max(crop.salt_slope * over, 0.0), 1.0)))
    return out


def _range(crop: Crop, water_ec: float) -> list[float]:
    """Tenths of mS/cm from the weakest to the strongest, with room for fertilizer in the water."""
    steps, ec = [], crop.ec_low
    while ec < crop.ec_high - 1e-6:
        steps.append(round(ec, 4))
        ec += strength.STEP
    steps.append(crop.ec_high)
    return [e for e in steps if e >= water_ec + strength.ROOM - 1e-9] or [crop.ec_high]


def _best(crop: Crop, found: list[Fill]) -> Fill:
    """The fill nearest to the middle of which both ends are in the band, else the last resort."""
    low, high = strength.END_LOW * crop.ec_low, strength.END_HIGH * crop.ec_high
    middle = (crop.ec_low + crop.ec_high) / 2
    good = [f for f in found if low <= f[1] <= high and f[2] <= strength.MOST_LOST]
    if good:
        return min(good, key=lambda f: (round(abs(f[0] - middle), 6), f[0]))
    salty = any(f[1] > high or f[2] > strength.MOST_LOST for f in found)
    return found[0] if salty else found[-1]


def _close(crop: Crop, stated: Fill, want: Fill) -> bool:
    """Whether a fill next to the best one is as good but for rounding of the levels."""
    low, high = strength.END_LOW * crop.ec_low, strength.END_HIGH * crop.ec_high
    near = abs(stated[0] - want[0]) <= strength.STEP + 1e-6
    return near and low * (1 - END) <= stated[1] <= high * (1 + END)
