"""The chance of running dry of every candidate."""

from __future__ import annotations

import numpy as np

from scheduler.batches.candidates import Candidates
from scheduler.batches.thirst import Thirst, dry_share, thirst, usable_ml
from scheduler.risk.courses import Replay
from scheduler.years.weather_years import WeatherYears

BLOCK = 2_000_000  # numbers held at once: rows of candidates times years


def dry_chances(cand: Candidates, years: WeatherYears) -> np.ndarray:
    """Chance of each candidate to fall to its keep level before its last pick [n].

    As `risk.replay.replay` counts it: the level is at or below the floor on a morning before
    that of the last pick.
    """
    garden = cand.garden
    tool = Replay(garden, years)
    out = np.zeros(len(cand))
    crops, kinds = (cand.table[c].to_numpy(int) for c in ("crop", "kind"))
    transplant = cand.table["transplant"].to_numpy(int)
    known: dict[tuple[object, ...], Thirst] = {}
    for c, k in sorted(set(zip(crops.tolist(), kinds.tolist(), strict=True))):
        tier = cand.kinds[k].tier
        vessel = garden.vessels[tier.vessel]
        crop = garden.crops[cand.crop_names[c]]
        key = (c, tier.light, tier.stays)
        if key not in known:
            there = tool.at(tier)
            total = there.progress(crop, tier.light)
            # One at a time is enough.
            known = {key: thirst(crop, total, there.years.carried.taken(tier.light))}
        rows = np.flatnonzero((crops == c) & (kinds == k))
        for block in np.array_split(rows, max(1, -(-len(rows) * years.count // BLOCK))):
            starts, which = np.unique(transplant[block], return_inverse=True)
            after = known[key].after(starts)
            days, plants = cand.pick_day[block], cand.pick_plants[block]
            out[block] = dry_share(after, which, days, plants, tier.plants, usable_ml(vessel))
    return out
