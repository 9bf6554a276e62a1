"""Until when a tier is to be had, for every start at once."""

from __future__ import annotations

import numpy as np

from scheduler.garden.model import Garden, Tier


def available_until(garden: Garden, tier: Tier, starts: np.ndarray) -> np.ndarray:
    """Last day of the available span each start lies in [m]; -1 outside every span."""
    if not tier.available:
        return np.full(len(starts), garden.season.days - 1)
    out = np.full(len(starts), -1)
    for span in tier.available:
        first, last = garden.season.index(span.start), garden.season.index(span.end)
        inside = (starts >= first) & (starts <= last)
        out[inside] = np.maximum(out[inside], min(last, garden.season.days - 1))
    return out


def never_until(
    garden: Garden, crop: str, tier: Tier, starts: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Days on which the garden will never have a crop in a tier, from each start [m].

    Returns
    -------
    Last of the days that a start lies in, -1 where in none; last day before the next such days.
    """
    inside = np.full(len(starts), -1)
    before = np.full(len(starts), garden.season.days - 1)
    for never in tier.never:
        if crop not in never.crops:
            continue
        first, last = garden.season.index(never.start), garden.season.index(never.end)
        within = (starts >= first) & (starts <= last)
        inside[within] = np.maximum(inside[within], last)
        before = np.where(starts < first, np.minimum(before, first - 1), before)
    return inside, before
