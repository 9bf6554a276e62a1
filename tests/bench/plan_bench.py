"""How fast a season is planned: run by hand on a quiet machine, writes ``plan.md`` beside itself.

    python tests/bench/plan_bench.py [--seconds 60] [--seeds 3]

For each garden: seconds to load it and to build its candidates, seconds to the first verified
plan, seconds until stage 1 is within 5 % and 1 % of the proven bound, and its gap after 10, 30
and 60 s; with the lift limit and without. Each run is a process of its own, so that the peak
memory is that run's.
"""

from __future__ import annotations

import argparse
import json
import platform
import resource
import subprocess
import sys
import time
from dataclasses import replace
from datetime import date
from importlib.metadata import version
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
MARKS = (10, 30, 60)


def one(name: str, lift: bool, seconds: float, seed: int) -> dict[str, object]:
    """One run in this process."""
    from scheduler.batches.candidates import build
    from scheduler.garden.file import load_garden
    from scheduler.search.solve import Settings, solve
    from scheduler.verify import verify

    began = time.monotonic()
    garden = load_garden(ROOT / "examples" / name / "garden.yaml")
    loaded = time.monotonic() - began
    if not lift:
        garden = replace(garden, limits=replace(garden.limits, lift_kg=None))
    began = time.monotonic()
    cand, _ = build(garden)
    built = time.monotonic() - began

    began = time.monotonic()
    quick = solve(garden, Settings(time_limit=0.1, seed=seed)).plan
    assert verify(garden, quick).ok
    first = time.monotonic() - began

    track: list[tuple[float, float, float]] = []
    began = time.monotonic()

    def report(p) -> None:
        if p.stage in ("first plan", "produce"):
            track.append((time.monotonic() - began, p.best, p.bound))

    # Nearly all the time for stage 1, and no gap that would end it early.
    plan = solve(garden, Settings(time_limit=seconds / 0.75, gap=0.0, seed=seed), report).plan
    assert verify(garden, plan).ok
    stage = plan.stages[0]
    bound = stage.bound or 0.0
    track = [t for t in track if t[0] <= seconds + 5]

    def gap(best: float) -> float:
        return (bound - best) / max(bound, 1e-9)

    def reached(share: float) -> float | None:
        return next((round(t, 1) for t, best, _ in track if gap(best) <= share), None)

    return {
        "garden": name,
        "lift": lift,
        "seed": seed,
        "candidates": len(cand),
        "load": round(loaded, 2),
        "build": round(built, 2),
        "first": round(first, 2),
        "to5": reached(0.05),
        "to1": reached(0.01),
        "gaps": {m: round(100 * gap(max(b for t, b, _ in track if t <= m)), 2) for m in MARKS},
        "status": stage.status,
        "value": round(stage.value),
        "bound": round(bound),
        "by_hand": round(plan.by_hand["produce"]),
        "memory": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
    }


def table(rows: list[dict[str, object]]) -> str:
    """The results as a Markdown table."""
    head = [
        "garden",
        "lift limit",
        "seed",
        "candidates",
        "load s",
        "build s",
        "first plan s",
        "to 5 % s",
        "to 1 % s",
        *(f"gap % at {m} s" for m in MARKS),
        "value g",
        "bound g",
        "better simple rule g",
        "memory MB",
    ]
    lines = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    for r in rows:
        gaps = r["gaps"]
        cells = [
            r["garden"],
            "yes" if r["lift"] else "no",
            r["seed"],
            r["candidates"],
            r["load"],
            r["build"],
            r["first"],
            r["to5"] or "not",
            r["to1"] or "not",
            *(gaps[str(m)] for m in MARKS),
            r["value"],
            r["bound"],
            r["by_hand"],
            r["memory"],
        ]
        lines.append("| " + " | ".join(str(c) for c in cells) + " |")
    return "\n".join(lines)


def machine() -> str:
    """Processor, cores and versions."""
    name = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        found = [t for t in info.read_text().splitlines() if t.startswith("model name")]
        cores = len(found)
        name = (found[0].split(":", 1)[1].strip() if found else name) + f", {cores} cores"
    parts = ", ".join(f"{p} {version(p)}" for p in ("ortools", "scipy", "numpy", "pandas"))
    return f"{name}; Python {platform.python_version()}; {parts}; {date.today()}"


def main() -> None:
    """Run all, write the table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--seconds", type=float, default=60.0)
    ask.add_argument("--seeds", type=int, default=3)
    ask.add_argument("--one", help="internal: one run as JSON")
    got = ask.parse_args()
    if got.one:
        print(json.dumps(one(**json.loads(got.one))))
        return
    rows = []
    for name, seeds in (("balcony", 1), ("courtyard", got.seeds)):
        for lift in (True, False):
            for seed in range(seeds):
                job = {"name": name, "lift": lift, "seconds": got.seconds, "seed": seed}
                done = subprocess.run(
                    [sys.executable, __file__, "--one", json.dumps(job)],
                    capture_output=True,
                    text=True,
                    check=True,
                    cwd=ROOT,
                )
                rows.append(json.loads(done.stdout.splitlines()[-1]))
                print(rows[-1], flush=True)
    text = (
        "# Planning a season\n\n"
        f"{machine()}. Two workers; {got.seconds:g} s for stage 1, asked for a gap of 0.\n\n"
        f"{table(rows)}\n\n"
        "Written by `tests/bench/plan_bench.py`. 'first plan' is the whole call up to a plan that "
        "the verifier passes. Gaps are against the bound proven by the end of the run.\n"
    )
    (HERE / "plan.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
