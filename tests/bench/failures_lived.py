"""The thirteen failures of `rebalance_failures.py`, lived in years that no plan has seen.

    python tests/bench/failures_lived.py FOLDER [seconds [work]]

FOLDER holds a plan with weather years. With a limit by work, in deterministic seconds, no clock
counts, and one thread searches: the same on a busy machine. For each failure, from the day on which
it is noticed: what the season brings to the table [% of the wish], on the mean of the judging
years, doubt in the crops' numbers included, to a grower who goes on with the old plan and lets all
slip that the loss makes late; and after `scheduler.replanning.rebalance`, lived likewise, with the
old plan where it says that it may stay. "error" is the standard error of the difference, paired by
year; "changed" as there.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from rebalance_failures import changed, failures

from scheduler.lived.doubt import Doubt
from scheduler.lived.live import live
from scheduler.lived.spans import without_spans
from scheduler.log.model import HEADER, read_log
from scheduler.plans.folder import read_plan_dir
from scheduler.plans.model import FAILED
from scheduler.plans.plan_years import expected
from scheduler.replanning.rebalance import rebalance
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases.promising import YearsOf
from scheduler.verify import verify
from scheduler.years.expected import without_years


def slipping(plan, column, tier, day):
    """The old plan's batches with what was lost, and nothing else, told."""
    out = []
    for b in plan.batches:
        here = b.column == column and tier in ("", b.tier) and b.transplant < day <= b.clear
        if here:
            made = tuple(p for p in b.picks if p.date < day)
            b = replace(b, state=FAILED, picks=made, clear=day)
        out.append(b)
    return out


def main(folder: str, seconds: float = 10.0, work: float = 0.0) -> None:
    garden, plan = read_plan_dir(Path(folder))
    garden, plan = without_years(garden), without_spans(plan)
    settings = Settings(time_limit=seconds)
    if work:
        settings = Settings(time_limit=max(seconds, 600.0), workers=1, deterministic=work)
    print(f"{len(plan.batches)} batches; {f'{work:g} of work' if work else f'{seconds:g} s'} each")
    print(f"{'failure':<28}{'slips':>7}{'rebal.':>8}{'more':>7}{'error':>7}{'changed':>9}{'s':>7}")
    more = []
    for column, tier, day, words in failures(plan):
        line = f"{day},failed,{column},{tier},,,,leak"
        log = read_log(f"{HEADER}\n{line}\n".encode(), "log.csv", garden)
        known = expected(Path(folder), garden, plan, day)
        ahead = YearsOf(garden, plan.years.planned, plan.years.seed, day, worth=plan.years.worth)
        began = time.monotonic()
        done = rebalance(known, plan, log, day, settings, ahead=ahead)
        took = time.monotonic() - began
        assert verify(known, done.plan).ok
        today = garden.season.index(day)
        slips = slipping(plan, column, tier, day)
        a, b = (
            live(garden, made, ahead.judging, doubt=Doubt(), seed=1, today=today).share
            for made in (slips, slips if done.stay else done.plan.batches)
        )
        lost = {b.id for b in done.plan.batches if b.state == FAILED}
        others = 0 if done.stay else changed(plan, done.plan.batches, day, lost)[0]
        error = float(np.std(b - a, ddof=1) / np.sqrt(len(a)))
        more.append(100 * float((b - a).mean()))
        print(
            f"{f'{day} {words}':<28.28}{100 * a.mean():>7.1f}{100 * b.mean():>8.1f}{more[-1]:>+7.2f}"
            f"{100 * error:>7.2f}{others:>9}{took:>7.1f}",
            flush=True,
        )
    print(
        f"more than slipping in {sum(m > 0 for m in more)} of {len(more)}; mean {np.mean(more):+.2f}"
    )


if __name__ == "__main__":
    main(sys.argv[1], *(float(x) for x in sys.argv[2:]))
