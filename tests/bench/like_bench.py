"""A courtyard changed a little, planned again like the plan that is known, and planned afresh.

    python tests/bench/like_bench.py [seconds]

Each change: one more nursery cell, a crop 5 % slower, a work day less, a week away. Told are the
batches that stay as they were (crop, tier, planted within a week of the day), and what the plan
brings to the table, mean of the judging years [% of the wish], of the old plan's garden and of the
changed one: planned with ``--like`` and afresh in the same time. By hand, on a quiet machine; the
table goes into `plan_like.md`.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np

from scheduler.garden.file import load_garden
from scheduler.garden.model import Span
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases.liking import Like, matched
from scheduler.usecases.planning import plan_season

COURTYARD = Path(__file__).parents[2] / "examples" / "courtyard" / "garden.yaml"
YEARS = 20


def changed():
    """Name and garden of each change."""
    garden = load_garden(COURTYARD)
    nursery = replace(garden.nursery, cells=garden.nursery.cells + 1)
    yield "one more nursery cell", replace(garden, nursery=nursery)
    slow = garden.crops["leaf_lettuce"]
    slow = replace(slow, days_to_harvest=1.05 * slow.days_to_harvest)
    yield "leaf lettuce 5 % slower", replace(garden, crops={**garden.crops, slow.name: slow})
    days = tuple(sorted(garden.season.work_days))[:-1]
    yield "a work day less", replace(garden, season=replace(garden.season, work_days=days))
    first = garden.season.start + timedelta(weeks=8)
    away = (*garden.season.away, Span(first, first + timedelta(days=6)))
    yield "a week away", replace(garden, season=replace(garden.season, away=away))


def mean(plan):
    return 100 * float(np.mean(plan.promise.shares))


def main(seconds: float = 60.0) -> None:
    settings = Settings(time_limit=seconds, workers=2)
    old = plan_season(load_garden(COURTYARD), settings, years=YEARS).plan
    print(f"{len(old.batches)} batches, {mean(old):.1f} % of the wish; {seconds:g} s each\n")
    print("| change | stay | of all | like | afresh | stay afresh |")
    print("|---|---|---|---|---|---|")
    for name, garden in changed():
        like = plan_season(garden, settings, years=YEARS, like=Like(old)).plan
        fresh = plan_season(garden, settings, years=YEARS).plan
        stay = [len(matched(old.batches, p.batches)) for p in (like, fresh)]
        n = len(old.batches)
        print(
            f"| {name} | {stay[0]} | {100 * stay[0] / n:.0f} % | {mean(like):.1f} | "
            f"{mean(fresh):.1f} | {100 * stay[1] / n:.0f} % |",
            flush=True,
        )


if __name__ == "__main__":
    main(*map(float, sys.argv[1:]))
