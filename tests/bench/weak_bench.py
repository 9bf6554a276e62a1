"""Gardens where a limit binds hard: our search for the mean year, and another that shares none of it.

    python tests/bench/weak_bench.py [--seconds 30] [--only NAME ...]

Told is the first stage, weighted grams of the wish that are met if all comes as expected: by the
search for the mean year (`search.solve`: windows, HiGHS, whole columns, with its bound), by the
compiled search that lives schedules (`search.living`), of that one year, without doubt and flat
worth, from nothing; and by the one after the other, 2/5 and 3/5 of the time. Every schedule passes
`verify`'s rules by way of `search.solve.make_plan` and `schedule.check`. By hand, on a quiet
machine; the table goes into `weak.md`.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from scheduler.garden.file import load_garden
from scheduler.lived.doubt import NONE
from scheduler.schedule import assemble
from scheduler.schedule.check import broken
from scheduler.schedule.problem import Choice, by_tier
from scheduler.search.living import improved
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.years.mean_year import mean_year
from tests.bench.weak_gardens import NAMES

GARDENS = Path(__file__).parent / "gardens"


def value(cand, stands):
    """Weighted grams of the first stage; nothing for a schedule that breaks a rule."""
    problem = by_tier(cand)
    at = {(p.column, p.number): k for k, p in enumerate(problem.places)}
    choices = [Choice(problem.decision_of[at[s.column, s.tier], s.row], s.clear) for s in stands]
    if broken(problem, True, choices):
        return float("nan")
    garden = cand.garden
    return assemble.produce_value(garden, assemble.serve(garden, assemble.batches(cand, stands)))


def lived(season, starts, seconds):
    found = improved(
        season.cand,
        mean_year(season.cand.garden),
        starts,
        Settings(time_limit=seconds, workers=2),
        seconds,
        doubt=NONE,
    )
    return value(season.cand, found.stands)


def one(name, seconds):
    garden = load_garden(GARDENS / f"weak-{name}.yaml")
    season = solve(garden, Settings(time_limit=seconds, workers=2, gap=0.0))
    stage = season.plan.stages[0]
    short = solve(garden, Settings(time_limit=0.4 * seconds, workers=2, gap=0.0))
    alone = lived(season, [[]], seconds)
    after = lived(short, [list(short.stands)], 0.6 * seconds)
    bounds = [b for b in (stage.bound, short.plan.stages[0].bound) if b is not None]
    bound = min(bounds, default=float("nan"))
    best = max(v for v in (stage.value, alone, after) if v == v)
    gaps = " | ".join(f"{100 * (bound - v) / bound:.1f}" for v in (stage.value, alone, after, best))
    print(
        f"| {name} | {bound:.0f} | {stage.value:.0f} | {alone:.0f} | {after:.0f} | {gaps} |",
        flush=True,
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=30.0)
    parser.add_argument("--only", nargs="*", default=NAMES)
    asked = parser.parse_args()
    print(
        "| garden | bound | search | lived | both | short of the bound [%]: search | lived | both | best |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    for name in asked.only:
        began = time.monotonic()
        one(name, asked.seconds)
        assert time.monotonic() > began


if __name__ == "__main__":
    main()
