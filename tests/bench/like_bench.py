"""A courtyard changed a little, planned again like the plan that is known, and planned afresh.

    python tests/bench/like_bench.py [seconds [seed]]

Each change: one more nursery cell, a crop 5 % slower, a work day less, a week away. Told are the
batches that stay (crop, tier, on the days told: `plans.told`), how many of them to the day, and
what the plan brings to the table, mean of the judging years [% of the wish], of the old plan's
garden and of the changed one: planned with ``--like`` and afresh in the same time, one worker each,
at the same time on two cores. By hand, on a quiet machine; the table goes into `plan_like.md`.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import timedelta
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from scheduler.garden.file import load_garden
from scheduler.garden.model import Span
from scheduler.plans.told import matched
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases.liking import Like
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


def made(job):
    """A plan of a garden, like another or afresh."""
    garden, settings, like = job
    return plan_season(garden, settings, years=YEARS, like=like).plan


def main(seconds: float = 60.0, seed: float = 0) -> None:
    settings = Settings(time_limit=seconds, workers=1, seed=int(seed))
    old = made((load_garden(COURTYARD), settings, None))
    n = len(old.batches)
    print(f"{n} batches, {mean(old):.1f} % of the wish; {seconds:g} s each, seed {seed:g}\n")
    print("| change | stay | of all | to the day | like | afresh | stay afresh |")
    print("|---|---|---|---|---|---|---|")
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        for name, garden in changed():
            jobs = [(garden, settings, Like(old)), (garden, settings, None)]
            like, fresh = pool.map(made, jobs)
            same = matched(garden.season, old.batches, like.batches)
            was = {b.id: (b.sow, b.transplant) for b in old.batches}
            now = {b.id: (b.sow, b.transplant) for b in like.batches}
            to_the_day = sum(now[mine] == was[theirs] for mine, theirs in same.items())
            other = len(matched(garden.season, old.batches, fresh.batches))
            print(
                f"| {name} | {len(same)} | {100 * len(same) / n:.0f} % | {to_the_day} | "
                f"{mean(like):.1f} | {mean(fresh):.1f} | {100 * other / n:.0f} % |",
                flush=True,
            )


if __name__ == "__main__":
    main(*map(float, sys.argv[1:]))
