"""How cost grows: build and search against tiers, kinds of column, weeks, crops and picks a batch.

    python tests/bench/growth.py [--seconds 60] [--only tiers,weeks] [--table]

Each sweep changes one thing of the garden `gardens/terrace-26.yaml` (100 columns of 5 in 15 kinds)
and keeps the rest; wishes, nursery and day limits go with the tiers. Each point is planned in a
process of its own until it is within 1 % of its bound. Results go to ``growth.jsonl``; the table
``growth.md`` and the picture ``growth.svg`` are written from them. Run by hand, on a machine with
nothing else to do.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
RESULTS = HERE / "growth.jsonl"
SWEEPS: dict[str, tuple[int, ...]] = {
    "tiers": (100, 250, 500, 1000, 2500, 5000),
    "kinds": (1, 3, 6, 10, 15),
    "weeks": (13, 20, 26, 39, 52),
    "crops": (3, 5, 7, 9, 12),
    "picks": (1, 2, 3, 4),
}
WORDS = {
    "tiers": "tiers",
    "kinds": "kinds of column",
    "weeks": "weeks of season",
    "crops": "crops",
    "picks": "plants a tier (a batch is picked on two days in every split)",
}
MEASURES = ("build", "first", "to5", "to1")


def _scaled(garden: Any, factor: float) -> Any:
    """Wishes, nursery and limits of a day, ``factor`` times."""
    limits = garden.limits
    return replace(
        garden,
        nursery=replace(garden.nursery, cells=max(round(garden.nursery.cells * factor), 1)),
        limits=replace(
            limits,
            fills_per_day=max(round(limits.fills_per_day * factor), 1),
            picks_per_day=max(round(limits.picks_per_day * factor), 1),
        ),
        demands=tuple(replace(d, grams_per_week=d.grams_per_week * factor) for d in garden.demands),
    )


def _columns(garden: Any, count: int, kinds: int | None = None) -> Any:
    """The same kinds of column (or the first few), ``count`` columns in turn."""
    seen: dict[Any, Any] = {}
    for column in garden.columns:
        seen.setdefault(column.tiers, column)
    models = list(seen.values())[:kinds]
    columns = tuple(replace(models[i % len(models)], name=f"K{i + 1:05d}") for i in range(count))
    return replace(garden, columns=columns)


def tiers(value: int) -> Any:
    garden = _load("terrace-26")
    return _scaled(_columns(garden, value // 5), value / 500)


def kinds(value: int) -> Any:
    return _columns(_load("terrace-26"), 100, value)


def weeks(value: int) -> Any:
    from datetime import timedelta

    garden = _load("terrace-52")
    season = garden.season
    return replace(
        garden, season=replace(season, end=season.start + timedelta(weeks=value, days=-1))
    )


def crops(value: int) -> Any:
    garden = _load("terrace-26")
    # In turn one of each wish, so that every point is as hard to please as the whole.
    turns = zip_longest(*(d.crops for d in garden.demands))
    names = [n for turn in turns for n in turn if n is not None][:value]
    demands = tuple(
        replace(d, crops=tuple(c for c in d.crops if c in names)) for d in garden.demands
    )
    return replace(
        garden,
        crops={n: garden.crops[n] for n in names},
        demands=tuple(d for d in demands if d.crops),
    )


def picks(value: int) -> Any:
    garden = _load("terrace-26")
    columns = tuple(
        replace(c, tiers=tuple(replace(t, plants=value) for t in c.tiers)) for c in garden.columns
    )
    return replace(garden, columns=columns)


MAKERS: dict[str, Callable[[int], Any]] = {
    "tiers": tiers,
    "kinds": kinds,
    "weeks": weeks,
    "crops": crops,
    "picks": picks,
}


def _load(name: str) -> Any:
    from scheduler.garden.file import load_garden

    return load_garden(HERE / "gardens" / f"{name}.yaml")


def point(sweep: str, value: int, seconds: float) -> dict[str, Any]:
    """One point, in this process."""
    import resource

    from scheduler.batches.candidates import build
    from scheduler.search.solve import solve
    from scheduler.solvers.cp_sat import Settings
    from scheduler.verify import verify

    garden = MAKERS[sweep](value)
    built = float("inf")
    for _ in range(3):  # the first of them also fills what is kept between calls
        began = time.monotonic()
        cand, _ = build(garden)
        built = min(built, time.monotonic() - began)
    track: list[tuple[float, float]] = []
    began = time.monotonic()

    def report(p: Any) -> None:
        if p.stage in ("first plan", "produce"):
            track.append((time.monotonic() - began, p.best))

    # Three quarters of the limit are for the first stage, the rest is not looked at.
    plan = solve(garden, Settings(time_limit=seconds / 0.75, gap=0.009), report).plan
    assert verify(garden, plan).ok
    stage = plan.stages[0]
    bound = stage.bound or float("nan")

    def reached(share: float) -> float | None:
        return next((round(t, 2) for t, best in track if best >= bound * (1 - share)), None)

    return {
        "sweep": sweep,
        "value": value,
        "candidates": len(cand),
        "build": round(built, 3),
        "first": round(track[0][0], 2),
        "to5": reached(0.05),
        "to1": reached(0.01),
        "gap": round(100 * (1 - stage.value / bound), 2),
        "memory": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
    }


def exponent(rows: list[dict[str, Any]], x: str, y: str) -> float | None:
    """Slope of log y against log x, by least squares; None with fewer than three values of x."""
    import numpy as np

    points = [(r[x], r[y]) for r in rows if r[x] and r[y]]
    if len({a for a, _ in points}) < 3:
        return None
    a = np.log(np.array(points, dtype=float))
    return float(np.polyfit(a[:, 0], a[:, 1], 1)[0])


def write() -> None:
    """The table and the picture."""
    import matplotlib

    matplotlib.use("svg")
    import matplotlib.pyplot as plt

    from tests.bench.scale_bench import machine

    latest = {}
    for line in RESULTS.read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        latest[row["sweep"], row["value"]] = row
    out = [
        "# Growth of cost",
        "",
        f"{machine()}",
        "",
        "Seconds for the candidates, to the first plan, to within 5 % and 1 % of the bound (with "
        "the candidates, which a plan builds for itself). 'like' is the exponent of a power of the "
        "swept value that fits best.",
        "",
    ]
    figure, axes = plt.subplots(1, len(SWEEPS), figsize=(3 * len(SWEEPS), 3))
    for axis, sweep in zip(axes, SWEEPS, strict=True):
        rows = [latest[sweep, v] for v in SWEEPS[sweep] if (sweep, v) in latest]
        out += [
            f"## {WORDS[sweep].capitalize()}",
            "",
            f"| {sweep} | candidates | build s | first plan s | to 5 % s | to 1 % s | gap % "
            "| memory MB |",
            "|" + " --- |" * 8,
        ]
        for r in rows:
            cells = [r["value"], r["candidates"], *(r[m] for m in MEASURES), r["gap"], r["memory"]]
            out.append("| " + " | ".join("not" if c is None else str(c) for c in cells) + " |")
        fits = {m: exponent(rows, "value", m) for m in MEASURES}
        fits["build by candidates"] = exponent(rows, "candidates", "build")
        told = [
            f"{m} like {sweep if ' ' not in m else 'candidates'}^{e:.2f}"
            if e is not None
            else f"{m}: too few points"
            for m, e in fits.items()
        ]
        out += ["", "; ".join(told) + ".", ""]
        for m, marker in zip(MEASURES, "o^sx", strict=True):
            points = [(r["value"], r[m]) for r in rows if r[m]]
            if points:
                axis.loglog(
                    *zip(*points, strict=True),
                    marker + "-",
                    label=m,
                    color="black",
                    linewidth=0.8,
                    fillstyle="none",
                )
        axis.set_xlabel(WORDS[sweep].split(" (")[0])
        axis.set_ylabel("s")
    axes[0].legend(fontsize=7)
    figure.tight_layout()
    figure.savefig(HERE / "growth.svg", metadata={"Date": None})
    bends = HERE / "growth_bends.md"
    if bends.exists():
        out.append(bends.read_text(encoding="utf-8"))
    (HERE / "growth.md").write_text("\n".join(out).rstrip() + "\n", encoding="utf-8")


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--seconds", type=float, default=60.0)
    ask.add_argument("--only", default=",".join(SWEEPS))
    ask.add_argument("--table", action="store_true", help="only write table and picture")
    ask.add_argument("--point", nargs=2, help="one point in this process: SWEEP VALUE")
    got = ask.parse_args()
    if got.point:
        print(json.dumps(point(got.point[0], int(got.point[1]), got.seconds)))
        return
    for sweep in [] if got.table else got.only.split(","):
        for value in SWEEPS[sweep]:
            said = subprocess.run(
                [
                    sys.executable,
                    __file__,
                    "--seconds",
                    str(got.seconds),
                    "--point",
                    sweep,
                    str(value),
                ],
                capture_output=True,
                text=True,
                check=True,
                cwd=ROOT,
            )
            line = said.stdout.strip().splitlines()[-1]
            print(line, flush=True)
            with open(RESULTS, "a", encoding="utf-8") as out:
                out.write(line + "\n")
    write()


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
