"""Seeded failures in the courtyard, ten of a tier, three of a column: what a rebalance saves.

    python tests/bench/rebalance_failures.py [seconds] [seconds of a free re-plan] [folder of a plan]

For each failure, from the day on which it is noticed:

kept
    going on with the old plan, less what no longer fits.
rebal.
    `scheduler.replanning.rebalance` with the usual price of a change.
free
    A plan from that day on as of a grower who knows of no plan: what stands and what is sown goes
    on, but no batch that was only planned is known, begun with or weighed. It begins with rules of
    thumb, as `dryline plan` does, gets its own, longer time, and is not stopped at a gap.
at no price
    A search of half that time that knows the old plan and begins with it, but for which changes
    cost nothing. "of best" compares the rebalance with the better of the two.

Values are stage 1 [weighted g]; "gap" is what is left to the bound of the rebalance. "changed"
counts, for both alike, the batches of the old plan that still had work ahead, did not fail
themselves and are not in the new one with the same crop, tier, transplanting and pick days; "all"
counts those that failed too.
"""

from __future__ import annotations

import random
import sys
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from scheduler.garden.file import load_garden
from scheduler.log.model import HEADER, read_log
from scheduler.plans.folder import read_plan_dir
from scheduler.plans.model import PLANNED
from scheduler.replanning.baseline import go_on_as_planned
from scheduler.replanning.layout import Layout
from scheduler.replanning.rebalance import made_of, rebalance
from scheduler.replanning.search import choices_of, search
from scheduler.schedule import assemble
from scheduler.schedule.check import broken
from scheduler.schedule.value import worth
from scheduler.search.by_hand import ByHand
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
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


def by_thumb(problem, in_hand):
    """What is in hand, and beside it as much of a schedule by rules of thumb as fits; the better
    of two, as `solve` begins with."""
    held = {i for group in problem.committed for i in group}
    start = problem.column("transplant")
    made = []
    for forward in (False, True):
        choices = list(in_hand)
        for c in sorted(ByHand(problem, forward).run(), key=lambda c: start[c.decision]):
            if c.decision not in held and not broken(problem, True, [*choices, c]):
                choices.append(c)
        made.append(choices)
    return max(made, key=lambda c: worth(problem, "produce", c))


def free_plan(commitments, seconds):
    """A plan from the day on that knows of no batch only planned: what it goes on from, found."""
    bare = replace(commitments, items=[i for i in commitments.items if i.batch.state != PLANNED])
    kept = go_on_as_planned(bare)
    layout = Layout(bare)
    return bare, search(
        bare,
        kept,
        Settings(time_limit=seconds, gap=0.0),
        0.0,
        first=lambda problem: by_thumb(problem, choices_of(problem, layout, kept)),
    )


def changed(plan, batches, day, failed):
    """Batches of ``plan`` with work ahead that are not among ``batches``: (not failed, all)."""

    def key(b):
        return b.crop, b.column, b.tier, b.transplant, tuple(p.date for p in b.picks)

    there = {key(b) for b in batches}
    gone = [b for b in plan.batches if b.picks and b.picks[-1].date >= day and key(b) not in there]
    return sum(b.id not in failed for b in gone), len(gone)


def main(seconds: float = 6.0, free_seconds: float = 20.0, folder: str = "") -> None:
    if folder:
        garden, plan = read_plan_dir(folder)
    else:
        garden = load_garden(EXAMPLE)
        plan = solve(garden, Settings(time_limit=60.0)).plan
    print(
        f"plan: {plan.stages[0].value:,.0f}, {len(plan.batches)} batches; {seconds:g} s of search "
        f"each, {free_seconds:g} s free"
    )
    print(
        f"{'failure':<28}{'kept':>8}{'rebal.':>8}{'gap':>6}{'free':>8}{'no price':>9}"
        f"{'of best':>9}"
        f"{'changed':>8}{'free':>5}{'all':>5}{'free':>5}{'s':>6}{'cpu s':>6}"
    )
    rows = []
    for column, tier, day, words in failures(plan):
        line = f"{day},failed,{column},{tier},,,,leak"
        log = read_log(f"{HEADER}\n{line}\n".encode(), "log.csv", garden)
        began, used = time.monotonic(), time.process_time()
        done = rebalance(garden, plan, log, day, Settings(time_limit=seconds))
        took, cpu = time.monotonic() - began, time.process_time() - used
        assert verify(garden, done.plan).ok
        bare, found = free_plan(done.commitments, free_seconds)
        batches = made_of(garden, plan, bare, found)
        kept = made_of(garden, plan, done.commitments, go_on_as_planned(done.commitments))
        loose = rebalance(
            garden, plan, log, day, Settings(time_limit=free_seconds / 2, gap=0.0), change_grams=0.0
        ).plan
        kept_value, free, at_no_price = (
            assemble.produce_value(garden, assemble.serve(garden, b))
            for b in (kept, batches, loose.batches)
        )
        most = max(free, at_no_price)
        failed = {b.id for b in done.plan.batches if b.state == "failed"}
        few, every = changed(plan, done.plan.batches, day, failed)
        many, all_of = changed(plan, batches, day, failed)
        value, bound = done.plan.stages[0].value, done.plan.stages[0].bound
        rows.append((kept_value, value, most, few, many, every, all_of, took, bound))
        name = f"{day} {words}"
        print(
            f"{name[:27]:<28}{kept_value:>8,.0f}{value:>8,.0f}{1 - value / bound:>6.1%}"
            f"{free:>8,.0f}{at_no_price:>9,.0f}{value / most:>9.2%}{few:>8}{many:>5}{every:>5}{all_of:>5}"
            f"{took:>6.1f}{cpu:>6.1f}",
            flush=True,
        )
    n = len(rows)
    print(
        f"never below kept: {all(r[1] >= r[0] for r in rows)}; within 1 % of the best: "
        f"{sum(r[1] >= 0.99 * r[2] for r in rows)} of {n}; at most half its changes: "
        f"{sum(2 * r[3] <= r[4] for r in rows)} of {n}, "
        f"{sum(2 * r[5] <= r[6] for r in rows)} with those that failed; within 1 % of the bound: "
        f"{sum(r[1] >= 0.99 * r[8] for r in rows)}; longest {max(r[7] for r in rows):.1f} s"
    )


if __name__ == "__main__":
    main(*(f(a) for f, a in zip((float, float, str), sys.argv[1:], strict=False)))
