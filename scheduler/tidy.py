"""Clearing days brought forward: a tier with nothing left in it is cleared as soon as can be.

The search does not mind how long an empty tier waits where nothing follows; a grower does.
"""

from __future__ import annotations

from collections.abc import Iterable

from scheduler.carried import Carried
from scheduler.keep import Taken


def sooner(carried: Carried, all_taken: Iterable[Taken], mine: Taken) -> Taken:
    """``mine`` with the first work day on which it is picked and every vessel above is light.

    Clearing a tier sooner breaks no rule: it weighs less and is free sooner.
    """
    garden, table = carried.garden, carried.cand.table
    season, limit = garden.season, garden.limits.lift_kg
    column, number = mine.option.place
    start, last = table["transplant"].to_numpy(), table["last"].to_numpy()
    until, after = table["heavy_until"].to_numpy(), table["heavy_after"].to_numpy()
    tiers = next(c.tiers for c in garden.columns if c.name == column)
    always = limit is not None and any(
        garden.vessels[t.vessel].mass_kg > limit for t in tiers[: number - 1]
    )
    above = [t for t in all_taken if t.option.place[0] == column and t.option.place[1] < number]
    first = max(int(last[mine.option.row]), int(start[mine.option.row]) + 1, carried.today)
    for day in range(first, mine.clear):
        if not season.work_mask[day] or always:
            continue
        heavy = limit is not None and any(
            start[t.option.row] < day < t.clear
            and (day < min(until[t.option.row], last[t.option.row])
                 or (day >= last[t.option.row] and after[t.option.row]))
            for t in above
        )  # fmt: skip
        if not heavy:
            return Taken(mine.option, day)
    return mine
