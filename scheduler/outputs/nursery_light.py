"""Whether the seedlings of a plan have light enough where they are raised."""

from __future__ import annotations

from datetime import date

import numpy as np

from scheduler.garden.model import Garden
from scheduler.plans.model import PLANNED, SOWN, Plan
from scheduler.words.words import Shown, _, span

# Below this seedlings of greens and herbs grow tall and weak [mol m-2 d-1]: common practice, no
# source. Extension pages on seedlings under lights name stretched plants as what low light does
# (University of New Hampshire, growing seedlings under lights) without this number.
STRETCH = 6.0
MOST_HOURS = 20.0  # [h] of light a day: common practice, no source


def nursery_light(garden: Garden) -> np.ndarray | None:
    """Light at the cells on each day of the weather [mol m-2 d-1]; None: not told."""
    nursery = garden.nursery
    if nursery.light is None and nursery.lamp is None:
        return None
    sky = garden.site.weather["dli"].to_numpy(float) * (nursery.light or 0.0)
    return np.asarray(sky + (nursery.lamp.dli if nursery.lamp else 0.0))


def dim_batches(garden: Garden, plan: Plan) -> list[tuple[float, date, date]]:
    """Batches still to be raised, or being raised, with less than `STRETCH`.

    Mean light [mol m-2 d-1], day of sowing and of transplanting of each.
    """
    light = nursery_light(garden)
    if light is None:
        return []
    out = []
    for batch in plan.batches:
        first, last = (garden.season.index(d) for d in (batch.sow, batch.transplant))
        if batch.state in (PLANNED, SOWN) and last > first:
            mean = float(light[max(first, 0) : last].mean())
            if mean < STRETCH - 1e-9:
                out.append((mean, batch.sow, batch.transplant))
    return out


def nursery_sentences(garden: Garden, plan: Plan) -> list[str]:
    """One where some seedlings stand too dark, with how much longer a lamp there had to burn."""
    dim = dim_batches(garden, plan)
    if not dim:
        return []
    least = min(mean for mean, _sow, _plant in dim)
    text = _(
        "Nursery: as little as {least:.1f} mol/m2 of light a day for seedlings between {days}; "
        "below about {enough:g} they grow tall and weak"
    ).format(
        least=Shown(least),
        days=span(min(sow for _mean, sow, _plant in dim), max(plant for *_rest, plant in dim)),
        enough=STRETCH,
    )
    lamp = garden.nursery.lamp
    if lamp is None or lamp.flux <= 0:
        return [text + _(". Give them a lamp, or a lighter place.")]
    more = (STRETCH - least) / (lamp.flux * 3600 / 1e6)
    if lamp.hours + more > MOST_HOURS:
        return [text + _(". Hang the lamp nearer, or take a stronger one.")]
    said = _(". {more:.1f} hours more of the lamp each day would do.")
    return [text + said.format(more=Shown(more))]
