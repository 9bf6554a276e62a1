"""Time of the replay over weather years, and what a limit of the risk costs and buys.

``python -m tests.bench.bench_risk`` plans the courtyard example without a limit and within 5 % and
1 %, replays each plan over 1,000 weather years (default spreads) of another seed, and writes the
tables to ``tests/bench/risk.md``. About three minutes.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

from scheduler.batches.candidates import build
from scheduler.garden.file import load_garden
from scheduler.risk.dry_chance import dry_chances
from scheduler.risk.limit import RiskLimit
from scheduler.risk.replay import replay
from scheduler.schedule.assemble import wish_total
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.years.weather_years import Spread, spread_years

HERE = Path(__file__).parent
GARDEN = HERE.parents[1] / "examples" / "courtyard" / "garden.yaml"
YEARS, SECONDS = 1000, 40.0


def main() -> None:
    garden = load_garden(GARDEN)
    wish = wish_total(garden)
    began = time.perf_counter()
    years = spread_years(garden, YEARS, Spread(), seed=1)
    made = time.perf_counter() - began
    cand, _ = build(garden)
    began = time.perf_counter()
    dry_chances(cand, years)
    chances = time.perf_counter() - began
    rows, took, count = [], 0.0, 0
    for most in (None, 0.05, 0.01):
        limit = None if most is None else RiskLimit(garden, most, 0, None, GARDEN)
        plan = solve(garden, Settings(SECONDS, workers=1), admit=limit).plan
        began = time.perf_counter()
        found = replay(garden, plan, years)
        if most is None:
            took, count = time.perf_counter() - began, len(plan.batches)
        low, middle, _ = (x / wish for x in found.produce)
        name = "no limit" if most is None else f"{most:.0%}"
        rows.append(
            f"| {name} | {len(plan.batches)} | {plan.stages[0].value / wish:.1%} | {middle:.1%} | "
            f"{low:.1%} | {max(b.dry for b in found.batches):.1%} | {found.any_dry:.1%} | "
            f"{found.lost:.2f} |"
        )
    load = os.getloadavg()[0]
    text = (
        f"""# Weather risk

The courtyard example, {YEARS:,} weather years, default spreads; see `bench_risk.py`. One thread;
load of the machine during the run {load:.1f} on {os.cpu_count()} processors. Nobody waits for what is not
ripe in these replays: most of what is lost against the plan is picked small or has bolted, not dry.

| step | seconds |
| --- | ---: |
| make {YEARS:,} years | {made:.2f} |
| replay a plan of {count} batches | {took:.2f} |
| chance of each of {len(cand):,} candidates | {chances:.2f} |

## What a limit of the risk costs and buys

Plans of {SECONDS:.0f} s each; replayed over years of another seed than the one planned with, so that
the largest chance may lie a little above the limit (1 % in 1,000 years is known to 0.3 %).

| limit | batches | wish met, planned | at least, in half of the years | at least, in 19 of 20 | most likely to run dry | years with a dry tier | dry tiers a year |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
"""
        + "\n".join(rows)
        + "\n"
    )
    (HERE / "risk.md").write_text(text)
    print(text)


if __name__ == "__main__":
    main()
