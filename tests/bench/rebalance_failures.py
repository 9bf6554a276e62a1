"""Seeded failures in the courtyard, ten of a tier, three of a column: what a rebalance saves.

    python tests/bench/rebalance_failures.py [seconds of search for each] [folder with a plan]

For each failure:
  kept      what going on with the old plan brings, less what no longer fits;
  rebalance with the usual price of a change;
  free      the same search where changes cost nothing.
Values are stage 1 [weighted g]; "changed" counts batches moved or
dropped, beside those that failed.
"""

from __future__ import annotations

import random
import sys
import time
from datetime import timedelta
from pathlib import Path

from scheduler import assemble
from scheduler.diff import DROPPED, MOVED
from scheduler.engine import Settings
from scheduler.garden_file import load_garden
from scheduler.keep import keep_going
from scheduler.log import HEADER, read_log
from scheduler.plan_dir import read_plan_dir
from scheduler.rebalance import kept_plan, rebalance
from scheduler.solve import solve
from scheduler.verify import verify

EXAMPLE = Path(__file__).parents[2] / "examples" / "courtyard" / "garden.yaml"
COUNT, COLUMNS, SEED = 10, 3, 11


def failures(plan):
    """(column, tier or "", day, words): ten batches somewhere in their course, three columns."""
    rng = random.Random(SEED)
    out = []
    for batch in rng.sample([b for b in plan.batches if b.picks], COUNT):
        days = (batch.picks[0].date - batch.transplant).days
        day = batch.transplant + timedelta(days=max(1, round(days * rng.uniform(0.3, 0.9))))
        out.append((batch.column, batch.tier, day, f"{batch.column} {batch.tier} {batch.crop}"))
    for column in rng.sample(sorted({b.column for b in plan.batches}), COLUMNS):
        day = plan.start + timedelta(days=rng.randint(50, 120))
        out.append((column, "", day, f"{column}, all tiers"))
    return out


def main(seconds: float = 10.0, folder: str = "") -> None:
    if folder:
        garden, plan = read_plan_dir(folder)
    else:
        garden = load_garden(EXAMPLE)
        plan = solve(garden, Settings(time_limit=60.0)).plan
    print(f"plan: {plan.stages[0].value:,.0f}, {len(plan.batches)} batches; "
          f"{seconds:g} s of search each")  # fmt: skip
    print(f"{'failure':<28}{'kept':>9}{'rebal.':>9}{'free':>9}{'of free':>9}"
          f"{'changed':>9}{'free':>6}{'s':>6}")  # fmt: skip
    rows = []
    for column, tier, day, words in failures(plan):
        line = f"{day},failed,{column},{tier},,,,leak"
        log = read_log(f"{HEADER}\n{line}\n".encode(), "log.csv", garden)
        began = time.monotonic()
        done = rebalance(garden, plan, log, day, Settings(time_limit=seconds))
        took = time.monotonic() - began
        free = rebalance(garden, plan, log, day, Settings(time_limit=seconds), change_grams=0.0)
        assert verify(garden, done.plan).ok
        assert verify(garden, free.plan).ok
        old = kept_plan(garden, plan, done.carried, keep_going(done.carried))
        kept = assemble.produce_value(garden, assemble.serve(garden, old))
        value, most = done.plan.stages[0].value, free.plan.stages[0].value
        rows.append((kept, value, most, *(len(x.diff.of(MOVED, DROPPED)) for x in (done, free)), took))
        name = f"{day} {words}"
        print(f"{name[:27]:<28}{kept:>9,.0f}{value:>9,.0f}{most:>9,.0f}{value / most:>9.2%}"
              f"{rows[-1][3]:>9}{rows[-1][4]:>6}{took:>6.1f}", flush=True)  # fmt: skip
    print(f"never below kept: {all(r[1] >= r[0] for r in rows)}; within 1 % of free: "
          f"{sum(r[1] >= 0.99 * r[2] for r in rows)} of {len(rows)}; at most half its changes: "
          f"{sum(2 * r[3] <= r[4] for r in rows)}; longest {max(r[5] for r in rows):.1f} s")  # fmt: skip


if __name__ == "__main__":
    main(*(f(a) for f, a in zip((float, str), sys.argv[1:], strict=False)))
