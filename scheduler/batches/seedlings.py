"""How long seedlings in hand may wait."""

from __future__ import annotations

from datetime import date

import numpy as np

from crops import development
from scheduler.batches.candidates import nursery_sum
from scheduler.garden.model import Garden


def seedling_days(garden: Garden, crop_name: str, sown: date) -> tuple[date | None, date | None]:
    """First and last day on which a seedling can be transplanted; None past the weather."""
    crop, season = garden.crops[crop_name], garden.season
    total = nursery_sum(garden, crop)
    at = season.index(sown)
    if not 0 <= at < len(total):
        return None, None
    first = int(development.first_reach(total, np.array([at]))[0])
    if first >= len(total):
        return None, None
    return season.date(first), season.date(first + int(crop.nursery_wait))
