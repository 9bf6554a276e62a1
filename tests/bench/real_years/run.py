"""Plan the garden-places with early years, live the plans in later ones, and say what arrived.

    .venv/bin/python tests/bench/real_years/run.py --series WHEEL_OR_FOLDER
        [--courtyard S] [--balcony S] [--seed N] [--only NAME ...]

writes results.jsonl beside it (a row per garden-place, way of planning and seed; the latest counts)
and results.md. Ways: ``years``, planned with weather years, past ones among them; ``mean``, for the
mean year of the climate table, as every commit before weather years did.
"""

from __future__ import annotations

import argparse
import json
import platform
import time
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from gardens import CASES, lived, write_garden
from stations import find_series

from scheduler.lived.doubt import NONE, Doubt
from scheduler.lived.grower import PATIENT, SENSIBLE, TO_THE_DAY
from scheduler.lived.live import live
from scheduler.schedule.assemble import wish_met
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import plan_season
from scheduler.years.expected import without_years

HERE = Path(__file__).parent
ROWS = HERE / "results.jsonl"
GROWERS = {"sensible": SENSIBLE, "patient": PATIENT, "to the day": TO_THE_DAY}
YEARS = 20


def run(name: str, where: Path, seconds: float, seed: int) -> list[dict[str, Any]]:
    """A row for each way to plan one garden-place."""
    one = next(c for c in CASES if c.name == name)
    rows = []
    with TemporaryDirectory() as folder:
        file = write_garden(one, where, Path(folder), past=True)
        settings = Settings(time_limit=seconds, seed=seed, workers=2)
        for way, count in (("years", YEARS), ("mean", 0)):
            began = time.monotonic()
            made = plan_season(file, settings, years=count)
            took = time.monotonic() - began
            garden = without_years(made.garden)
            real = lived(one, garden, where)
            promised = wish_met(garden, made.plan)
            below = None
            if made.plan.promise is not None:
                promised, below = made.plan.promise.usual, made.plan.promise.one_in_five
            row: dict[str, Any] = {
                "place": name,
                "way": way,
                "seed": seed,
                "limit": seconds,
                "seconds": round(took, 1),
                "years": real.count,
                "promised": promised,
                "one_in_five": below,
                "batches": len(made.plan.batches),
            }
            for called, grower in GROWERS.items():
                row[called] = _shares(live(garden, made.plan.batches, real, grower, NONE).share)
            many = [
                live(garden, made.plan.batches, real, SENSIBLE, Doubt(), s).share for s in range(8)
            ]
            row["doubted"] = _shares(np.concatenate(many))
            if way == "mean":
                rule = solve(garden, replace(settings, time_limit=2.0)).by_hand
                if rule is not None:
                    row["rule"] = _shares(live(garden, rule.batches, real, SENSIBLE).share)
            rows.append(row)
            print(json.dumps(row), flush=True)
    return rows


def _shares(values: np.ndarray) -> list[float]:
    return [round(float(v), 4) for v in values]


def table() -> str:
    """The latest row of each garden-place, way and seed, as text."""
    rows: dict[tuple[str, str, int], dict[str, Any]] = {}
    for line in ROWS.read_text().splitlines():
        row = json.loads(line)
        rows[row["place"], row["way"], row["seed"]] = row
    out = [
        "# What plans bring in real years",
        "",
        f"Made by run.py: ortools {version('ortools')}, Python {platform.python_version()}, two",
        "threads. Shares of the wish [%]. `promised`: the usual year of the promise, or what a plan",
        "for the mean year meets in that year. Delivered: mean over the lived years, by growers who",
        "eat young heads (`sensible`, its worst fifth, with doubt of 10 % in crop numbers), who wait",
        "(`patient`), who follow the calendar. `below`: lived years under the promised one in five.",
        "",
        "| garden-place | planned for | seed | s | promised | sensible | worst fifth | doubted |"
        " patient | to the day | below | a simple rule |",
        "|---|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    for (place, way, seed), row in sorted(rows.items()):
        sensible = np.sort(row["sensible"])
        worst = sensible[: max(1, round(len(sensible) / 5))].mean()
        low = row["one_in_five"]
        below = "" if low is None else f"{int((np.array(row['doubted']) < low).mean() * 100)} %"
        rule = f"{100 * np.mean(row['rule']):.1f}" if "rule" in row else ""
        figures = [
            *(row["promised"], np.mean(sensible), worst),
            *(np.mean(row[k]) for k in ("doubted", "patient", "to the day")),
        ]
        cells = " | ".join(f"{100 * x:.1f}" for x in figures)
        limit = f"{row['limit']:g}"
        out.append(f"| {place} | {way} | {seed} | {limit} | {cells} | {below} | {rule} |")
    return "\n".join(out) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--series", help="wheel or folder; the installed package unless given")
    parser.add_argument("--courtyard", type=float, default=120.0, help="seconds to plan one")
    parser.add_argument("--balcony", type=float, default=30.0, help="seconds to plan one")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--only", nargs="*", help="names of garden-places")
    asked = parser.parse_args()
    where = find_series(asked.series)
    for one in CASES:
        if asked.only and one.name not in asked.only:
            continue
        seconds = asked.courtyard if one.example == "courtyard" else asked.balcony
        with ROWS.open("a") as handle:
            for row in run(one.name, where, seconds, asked.seed):
                handle.write(json.dumps(row) + "\n")
    (HERE / "results.md").write_text(table())


if __name__ == "__main__":
    main()
