"""Long runs where a limit binds hard: the best that is known, whoever found it.

    python tests/bench/best_known.py small-wishes --minutes 30 --seed 0 --method windows
    python tests/bench/best_known.py small-wishes --minutes 30 --seed 0 --method living

Two methods that share no search code, each on one thread: `windows` improves the schedule of a rule
of thumb by CP-SAT and HiGHS (`search.solve.optimise`, first stage), `living` begins with nothing and
moves batches, each schedule lived in the one year (`search.living`). Every schedule must pass
`verify`. A row is added to `gardens/best_known.csv`: garden, weighted grams, method, seed, minutes.
By hand; two at a time on two quiet cores.
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

from scheduler.garden.file import load_garden
from scheduler.lived.doubt import NONE
from scheduler.model.build import stands
from scheduler.schedule.problem import pooled
from scheduler.schedule.stages import PRODUCE
from scheduler.search import goal
from scheduler.search.by_hand import ByHand
from scheduler.search.layouts import choices_of, laid_out, worth_of
from scheduler.search.living.search import improved
from scheduler.search.solve import build, make_plan, optimise
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify
from scheduler.years.mean_year import mean_year
from tests.bench.weak_gardens import NAMES, OUT

TABLE = OUT / "best_known.csv"
FIELDS = ("garden", "grams", "method", "seed", "minutes")


def by_windows(cand, settings):
    """The first stage alone gets all of the time."""
    pool = pooled(cand)
    rules = [ByHand(pool, forward=True), ByHand(pool)]
    first = max(rules, key=lambda rule: worth_of(pool, rule.run())).stands
    problem, _ = laid_out(cand, pool)
    goal.SHARES.update({name: 1.0 if name == PRODUCE else 0.0 for name in goal.SHARES})
    return stands(problem, optimise(problem, choices_of(problem, first), settings).choices)


def by_living(cand, settings):
    year = mean_year(cand.garden)
    return improved(cand, year, [[]], settings, settings.time_limit, doubt=NONE).stands


METHODS = {"windows": by_windows, "living": by_living}


def best(name: str) -> float:
    """Weighted grams of the best run of a garden; 0 if there was none."""
    if not TABLE.exists():
        return 0.0
    with TABLE.open(encoding="utf-8") as file:
        return max(
            (float(r["grams"]) for r in csv.DictReader(file) if r["garden"] == name), default=0.0
        )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("garden", choices=NAMES)
    parser.add_argument("--minutes", type=float, default=30.0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--method", choices=METHODS, required=True)
    asked = parser.parse_args()
    garden = load_garden(Path(OUT) / f"weak-{asked.garden}.yaml")
    settings = Settings(time_limit=60 * asked.minutes, gap=0.0, seed=asked.seed, workers=1)
    cand, _ = build(garden)
    made = METHODS[asked.method](cand, settings)
    verdict = verify(garden, make_plan(garden, cand, made, settings))
    if not verdict.ok:
        raise SystemExit(f"{asked.garden}: breaks {sorted({b.rule for b in verdict.broken})}")
    row = (asked.garden, round(verdict.values["produce"]), asked.method, asked.seed, asked.minutes)
    new = not TABLE.exists()
    with TABLE.open("a", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerows([FIELDS, row] if new else [row])
    print(*row)


if __name__ == "__main__":
    main()
