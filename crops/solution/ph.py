"""Which way pH moves in a tier, and what a crop that ended too high asks of the next fill."""

from __future__ import annotations

from dataclasses import dataclass

from crops.solution.acid import alkalinity_left
from crops.solution.conductivity import CACO3
from crops.solution.salts import N_AMMONIUM, N_NITRATE, Composition

RISES, STEADY, FALLS = "rises", "steady", "falls"
# Share of the nitrogen that is ammonium at which pH about holds: from memory, common practice.
# That nitrate uptake raises pH and ammonium uptake lowers it, and that their ratio is the main
# lever: Langenfeld et al. 2022, Sustainability 14:10204, abstract.
STEADY_SHARES = (0.05, 0.20)

# Step of acid for the next fill: common practice, no source. A crop that ended one pH unit too
# high asks for 0.2 meq/L more; never more than the safe step, and never below the crop's lowest pH.
MEQ_PER_UNIT, SAFE_STEP_MEQ = 0.2, 0.3


def drift(composition: Composition) -> str:
    """`RISES`, `STEADY` or `FALLS`: which way pH moves as the crop takes up its nitrogen."""
    nitrate, ammonium = composition.get(N_NITRATE, 0.0), composition.get(N_AMMONIUM, 0.0)
    if nitrate + ammonium <= 0:
        return STEADY
    share = ammonium / (nitrate + ammonium)
    low, high = STEADY_SHARES
    return RISES if share < low else FALLS if share > high else STEADY


@dataclass(frozen=True)
class NextAcid:
    """More acid for the next fill of a crop.

    Attributes
    ----------
    meq : more acid per litre [meq/L]; caco3 : the same as alkalinity [mg/L CaCO3].
    limited : why it is less than the reading asks for; empty: it is not.
    """

    meq: float
    caco3: float
    limited: str = ""


def next_acid(
    end_ph: float,
    ph_low: float,
    ph_high: float,
    alkalinity: float,
    water_ph: float,
    start_ph: float,
) -> NextAcid:
    """How much more acid the next fill of a crop takes that ended above its range.

    Parameters
    ----------
    end_ph : measured at the end; ph_low, ph_high : the crop's range.
    alkalinity, water_ph : of the source water [mg/L CaCO3].
    start_ph : pH the last fill was brought to.

    The increase is small on purpose: `MEQ_PER_UNIT` per unit above the range, at most
    `SAFE_STEP_MEQ`, and no more than brings the fill down to ``ph_low``. None at all if the crop
    ended in its range or below.
    """
    over = end_ph - ph_high
    if over <= 0:
        return NextAcid(0.0, 0.0)
    asked = MEQ_PER_UNIT * over
    room = (
        max(
            alkalinity_left(alkalinity, water_ph, start_ph)
            - alkalinity_left(alkalinity, water_ph, ph_low),
            0.0,
        )
        / CACO3
    )
    limits = {"the safe step of one crop": SAFE_STEP_MEQ, f"the lowest pH, {ph_low:g}": room}
    why, least = min(limits.items(), key=lambda pair: pair[1])
    given = min(asked, least)
    return NextAcid(given, given * CACO3, why if given < asked else "")
