"""A measured EC or pH against what is wanted of that batch, in a line for the log."""

from __future__ import annotations

from datetime import date, timedelta
from shlex import quote

from scheduler.garden.model import Garden
from scheduler.log.amounts import EC
from scheduler.log.model import Entry
from scheduler.plans.model import Batch
from scheduler.words.words import Shown, _

FRESH = timedelta(days=1)  # after filling, in which what is measured is the mix of the tub
# What is within these of what is wanted is right: a meter shows no less. Common practice, no
# source; in a crop the expected strength itself is known to about a third.
EC_ERROR, PH_ERROR, EC_SHARE = 0.1, 0.2, 0.3


def expected_ec(batch: Batch, on: date) -> float | None:
    """By even steps from the fill to the last pick [mS/cm]; None where the plan tells no fill."""
    if batch.fill_ec is None:
        return None
    last = batch.picks[-1].date if batch.picks else batch.clear
    if batch.harvest_ec is None or last <= batch.transplant:
        return batch.fill_ec
    part = min(max((on - batch.transplant) / (last - batch.transplant), 0.0), 1.0)
    return batch.fill_ec + part * (batch.harvest_ec - batch.fill_ec)


def said_of_solution(garden: Garden, batch: Batch, entry: Entry, folder: str) -> str:
    """What a measured EC or pH says; empty where nothing is to be compared."""
    assert entry.amount is not None
    crop, measured = garden.crops[batch.crop], Shown(entry.amount)
    fresh = entry.date - batch.transplant <= FRESH
    if entry.what == EC:
        wanted = expected_ec(batch, entry.date)
        if wanted is None:
            return ""
        room = EC_ERROR if fresh else max(EC_SHARE * wanted, EC_ERROR)
        fits = abs(entry.amount - wanted) <= room + 1e-9
        text = _("EC {ec:.1f}, about {wanted:.1f} expected").format(
            ec=measured, wanted=Shown(wanted)
        )
        option = f"--measured-ec {entry.amount:g}"
    else:
        fits = crop.ph_low - PH_ERROR - 1e-9 <= entry.amount <= crop.ph_high + PH_ERROR + 1e-9
        text = _("pH {ph:.1f}, {low:.1f} to {high:.1f} wanted").format(
            ph=measured, low=Shown(crop.ph_low), high=Shown(crop.ph_high)
        )
        option = f"--measured-ph {entry.amount:g}"
    if fits:
        return text + _(": it fits.")
    if fresh:
        command = f"dryline mix {quote(folder)} --batch {batch.id} {option}"
        return text + _(". What to add, if it is still in the tub: {command}").format(
            command=command
        )
    return text + _(
        ": it is noted for the review. Do not add salts or acid where a crop stands; measure "
        "again in a week."
    )
