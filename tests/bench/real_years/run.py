"""Plan the garden-places with early years, live the plans in later ones, and say what arrived.

    cd tests/bench/real_years
    python run.py plan --series WHEEL_OR_FOLDER --keep DIR [--seed N] [--only NAME ...]
    python run.py live --series WHEEL_OR_FOLDER --keep DIR
    python run.py weekly --series WHEEL_OR_FOLDER --keep DIR --only NAME [--years N] [--seconds S]
    python run.py table

``plan`` keeps a plan for each garden-place, way and seed as JSON in DIR (what is there is not made
again); ``live`` lives all of them and writes results.jsonl beside this file; ``weekly`` adds a
grower who plans again each Monday; ``table`` writes results.md and results.svg of what is there.
Ways: ``years``, planned with weather years, past ones among them; ``mean``, for the mean year of
the climate table, as every commit before weather years did.
"""

from __future__ import annotations

import argparse
import json
import time
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from fixed import fixed_interval
from gardens import CASES, Case, lived, write_garden
from stations import find_series
from table import write_table
from weekly import weekly

from scheduler.garden.file import load_garden
from scheduler.garden.model import Garden
from scheduler.lived.doubt import NONE, Doubt
from scheduler.lived.grower import PATIENT, SENSIBLE, TO_THE_DAY
from scheduler.lived.growing import FROZEN, OVERHEATED
from scheduler.lived.live import live
from scheduler.plans.reading import parse_plan
from scheduler.schedule.assemble import wish_met
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import plan_season

HERE = Path(__file__).parent
ROWS, WEEKLY = HERE / "results.jsonl", HERE / "weekly.jsonl"
GROWERS = {"sensible": SENSIBLE, "patient": PATIENT, "to the day": TO_THE_DAY}
WAYS = {"years": 20, "mean": 0}
NO_LIMIT = 600.0  # seconds
DRAWS = 8  # of the doubt in crop numbers


def plan(one: Case, where: Path, asked: argparse.Namespace) -> None:
    """Keep a plan for each way of planning a garden-place."""
    keep, seed = asked.keep, asked.seed
    seconds = asked.courtyard if one.example == "courtyard" else asked.balcony
    for way in asked.ways:
        years = WAYS[way]
        target = keep / f"{one.name}.{way}.{seed}.json"
        if target.exists():
            continue
        with TemporaryDirectory() as folder:
            file = write_garden(one, where, Path(folder), past=True)
            settings = Settings(time_limit=seconds, seed=seed, workers=asked.workers)
            began = time.monotonic()
            made = plan_season(file, settings, years=years)
            took = time.monotonic() - began
            row: dict[str, Any] = {"seconds": round(took, 1), "limit": seconds}
            row["plan"] = made.plan.to_json()
            if not years:
                rule = solve(made.garden, replace(settings, time_limit=2.0)).by_hand
                row["rule"] = None if rule is None else rule.to_json()
            target.write_text(json.dumps(row))
            print(one.name, way, seed, row["seconds"], flush=True)


def garden_of(one: Case, where: Path) -> Garden:
    """The garden of a case, of the mean year."""
    with TemporaryDirectory() as folder:
        garden = load_garden(write_garden(one, where, Path(folder), past=True))
        _ = garden.site.weather, garden.site.past  # read before the folder is gone
        return garden


def live_kept(file: Path, garden: Garden, one: Case, where: Path) -> dict[str, Any]:
    """A row of results: what the plan in a file promised, and what it brought each grower."""
    kept = json.loads(file.read_text())
    _, way, seed = file.stem.rsplit(".", 2)
    made, real = parse_plan(kept["plan"]), lived(one, garden, where)
    promise = made.promise
    row: dict[str, Any] = {
        "place": one.name,
        "way": way,
        "seed": int(seed),
        "limit": kept["limit"],
        "seconds": kept["seconds"],
        "years": real.count,
        "promised": wish_met(garden, made) if promise is None else promise.usual,
        "mean": None if promise is None else float(np.mean(promise.shares)),
        "one_in_five": None if promise is None else promise.one_in_five,
        "reachable": None if promise is None else promise.reachable,
        "batches": len(made.batches),
    }
    for called, grower in GROWERS.items():
        came = live(garden, made.batches, real, grower, NONE)
        row[called] = _shares(came.share)
        if grower is SENSIBLE:  # of all batches in all years
            killed = np.isin(came.lost, (FROZEN, OVERHEATED))
            row["killed"] = round(float(killed.mean()), 4) if killed.size else 0.0
    row["doubted"] = _doubted(garden, made.batches, real)
    if way == "mean":
        others = {"interval": fixed_interval(garden)}
        if kept.get("rule"):
            others["rule"] = parse_plan(kept["rule"]).batches
        for called, batches in others.items():
            row[called] = _shares(live(garden, batches, real, SENSIBLE, NONE).share)
    return row


def _doubted(garden: Garden, batches: Any, real: Any) -> list[float]:
    draws = [live(garden, batches, real, SENSIBLE, Doubt(), s).share for s in range(DRAWS)]
    return _shares(np.concatenate(draws))


def _shares(values: np.ndarray) -> list[float]:
    return [round(float(v), 4) for v in values]


def kept_of(one: Case, keep: Path) -> list[Path]:
    return sorted(keep.glob(f"{one.name}.*.json"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("what", choices=("plan", "live", "weekly", "table"))
    parser.add_argument("--series", help="wheel or folder; the installed package unless given")
    parser.add_argument("--keep", type=Path, help="folder of the plans that are kept")
    parser.add_argument("--courtyard", type=float, default=120.0, help="seconds to plan one")
    parser.add_argument("--balcony", type=float, default=30.0, help="seconds to plan one")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--workers", type=int, default=2, help="threads of each search")
    parser.add_argument("--ways", nargs="*", choices=tuple(WAYS), default=tuple(WAYS))
    parser.add_argument("--only", nargs="*", help="names of garden-places")
    parser.add_argument("--years", type=int, default=3, help="lived with a new plan each week")
    parser.add_argument("--seconds", type=float, default=5.0, help="for each of these plans")
    parser.add_argument(
        "--work", type=float, help="for each, in place of seconds: the same anywhere"
    )
    asked = parser.parse_args()
    if asked.what == "table":
        write_table(ROWS, WEEKLY, HERE)
        return
    if asked.keep is None:
        parser.error("--keep DIR is needed")
    where = find_series(asked.series)
    asked.keep.mkdir(parents=True, exist_ok=True)
    cases = [c for c in CASES if not asked.only or c.name in asked.only]
    if asked.what == "plan":
        for one in cases:
            plan(one, where, asked)
    elif asked.what == "live":
        rows = []
        for one in cases:
            garden = garden_of(one, where)
            rows += [live_kept(f, garden, one, where) for f in kept_of(one, asked.keep)]
            print(one.name, len(rows), flush=True)
        ROWS.write_text("".join(json.dumps(row) + "\n" for row in rows))
    else:
        for one in cases:
            _weekly(one, where, asked)


def _weekly(one: Case, where: Path, asked: argparse.Namespace) -> None:
    garden, file = garden_of(one, where), asked.keep / f"{one.name}.years.{asked.seed}.json"
    made, real = parse_plan(json.loads(file.read_text())["plan"]), lived(one, garden, where)
    settings = Settings(time_limit=asked.seconds, seed=asked.seed, workers=asked.workers)
    if asked.work:
        settings = replace(settings, time_limit=NO_LIMIT, workers=1, deterministic=asked.work)
    alone = live(garden, made.batches, real, SENSIBLE, NONE).share
    numbers = np.linspace(0, real.count - 1, min(asked.years, real.count)).round().astype(int)
    for number in numbers.tolist():
        row: dict[str, Any] = {
            "place": one.name,
            "year": real.names[number],
            **({"work": asked.work} if asked.work else {"seconds": asked.seconds}),
            "sensible": round(float(alone[number]), 4),
            **weekly(garden, made, real, number, settings),
        }
        print(json.dumps(row), flush=True)
        with WEEKLY.open("a") as handle:
            handle.write(json.dumps(row) + "\n")


if __name__ == "__main__":
    main()
