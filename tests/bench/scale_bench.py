"""The benchmark of reach: every garden, every season length, our search and what it is held against.

    python tests/bench/scale_bench.py [--only courtyard-26,terrace] [--methods dryline,highs]
                                      [--seed 0] [--again] [--table]

Each (garden, method) is a process of its own. Its result is added to ``scale.jsonl`` as soon as it
is there and ``scale.md`` is written anew, so that a run that was broken off goes on where it
stopped; what has a result is left out, but with ``--again`` measured again. How and what:
``README.md`` in this folder.
"""

from __future__ import annotations

import argparse
import json
import platform
import subprocess
import sys
import tempfile
import time
from datetime import date
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
RESULTS = HERE / "scale.jsonl"
SIZES = ("balcony", "courtyard", "terrace", "estate", "region")
WEEKS = (13, 26, 52)
METHODS = ("dryline", "highs", "scip", "by-hand")
# Our search held to one of its two ways, and another way to keep stack access, where they run.
WAYS = ("tiers", "columns", "assigned")
LIMITS = {"balcony": 10.0, "courtyard": 60.0, "terrace": 60.0, "estate": 120.0, "region": 600.0}
MODEL_SECONDS, MOST_MB = 600.0, 8192.0  # a run may take so long to build its model, so much memory
GRACE = 600.0  # past its limit, for the first plan, its check, reading a solution back


def memory_mb(pid: int) -> float:
    """Memory in use by a process and those it started [MB]; 0 once it is gone."""
    total, todo = 0, [pid]
    while todo:
        one = todo.pop()
        try:
            pages = int(Path(f"/proc/{one}/statm").read_text().split()[1])
            for task in Path(f"/proc/{one}/task").iterdir():
                todo += [int(c) for c in (task / "children").read_text().split()]
        except (OSError, ValueError, IndexError):
            continue
        total += pages * 4096
    return total / 2**20


def watch(
    process: subprocess.Popen, events: Path, seconds: float, build: float, what: str
) -> tuple[str, float]:
    """Wait for a run; end it at a limit. Returns why it was ended (or "") and its peak [MB].

    ``build``: seconds for ``what`` comes first, a model or a first plan.
    """
    began = time.monotonic()
    peak = 0.0
    while process.poll() is None:
        time.sleep(0.25)
        peak = max(peak, memory_mb(process.pid))
        now = time.monotonic() - began
        text = events.read_text(encoding="utf-8") if events.exists() else ""
        waiting = '"step": "model"' not in text and '"step": "first"' not in text
        why = ""
        if peak > MOST_MB:
            why = f"{f'no {what}' if waiting else 'ended'}: over {MOST_MB / 1024:g} GB"
        elif waiting and now > build:
            why = f"no {what} in {build:g} s"
        elif now > build + seconds + GRACE:
            why = f"ended after {now:.0f} s"
        if why:
            process.kill()
            process.wait()
            return why, peak
    return "", peak


def measure(garden: str, method: str, seconds: float, seed: int, build: float) -> dict[str, Any]:
    """One row."""
    with tempfile.TemporaryDirectory() as folder:
        events, said = Path(folder) / "events", Path(folder) / "said"
        with open(said, "wb") as out:
            process = subprocess.Popen(
                [
                    sys.executable,
                    str(HERE / "scale_runs.py"),
                    str(events),
                    garden,
                    method,
                    str(seconds),
                    str(seed),
                ],
                stdout=out,
                stderr=subprocess.STDOUT,
                cwd=ROOT,
            )
            what = "model" if method in ("highs", "scip") else "plan"
            why, peak = watch(process, events, seconds, build, what)
        lines = events.read_text(encoding="utf-8").splitlines() if events.exists() else []
        row: dict[str, Any] = {"garden": garden, "method": method, "limit": seconds, "seed": seed}
        track = []
        for line in lines:
            step = json.loads(line)
            name = step.pop("step")
            peak = max(peak, step.pop("memory"))
            if name == "point":
                track.append(step["at"])
            else:
                row |= step
        if not why and process.returncode:
            last = said.read_text(errors="replace").strip().splitlines()[-1:] or ["no word"]
            why = f"failed: {last[0]}"
    row |= {"track": track, "memory": round(peak), "ended": why, "machine": machine()}
    return row


def machine() -> str:
    """Processor, cores, versions, day."""
    name, cores = platform.processor() or platform.machine(), 1
    info = Path("/proc/cpuinfo")
    if info.exists():
        found = [t for t in info.read_text().splitlines() if t.startswith("model name")]
        cores = len(found)
        name = found[0].split(":", 1)[1].strip() if found else name
    parts = []
    for package in ("ortools", "scipy", "highspy", "numpy", "pandas"):
        try:
            parts.append(f"{package} {version(package)}")
        except PackageNotFoundError:
            parts.append(f"no {package}")
    return (
        f"{name}, {cores} cores; Python {platform.python_version()}; {', '.join(parts)}; "
        f"{date.today()}"
    )


def results() -> dict[tuple[str, str, int], dict[str, Any]]:
    """The latest row of each garden, method and seed."""
    out = {}
    if RESULTS.exists():
        for line in RESULTS.read_text(encoding="utf-8").splitlines():
            row = json.loads(line)
            out[row["garden"], row["method"], row["seed"]] = row
    return out


def wanted(only: str) -> list[str]:
    """Gardens asked for: names with or without weeks; nothing: all."""
    every = [f"{size}-{weeks}" for size in SIZES for weeks in WEEKS]
    asked = [x for x in only.split(",") if x]
    unknown = [x for x in asked if x not in every and x not in SIZES]
    if unknown:
        raise SystemExit(f"no garden {', '.join(unknown)}; there are {', '.join(every)}")
    return [g for g in every if not asked or g in asked or g.rsplit("-", 1)[0] in asked]


def main() -> None:
    """Run what is asked for, write the table."""
    from tests.bench import scale_table

    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--only", default="", help="gardens, such as courtyard-26,terrace")
    ask.add_argument("--methods", default=",".join(METHODS))
    ask.add_argument("--seed", type=int, default=0)
    ask.add_argument("--limit", type=float, help="seconds in place of the size's own")
    ask.add_argument(
        "--model-seconds",
        type=float,
        default=MODEL_SECONDS,
        help="for another solver's model to be built",
    )
    ask.add_argument("--again", action="store_true", help="measure what has a result again")
    ask.add_argument("--table", action="store_true", help="only write the table")
    got = ask.parse_args()
    methods = [m for m in got.methods.split(",") if m]
    if set(methods) - {*METHODS, *WAYS}:
        raise SystemExit(f"methods are {', '.join([*METHODS, *WAYS])}")
    for garden in [] if got.table else wanted(got.only):
        for method in methods:
            if (garden, method, got.seed) in results() and not got.again:
                continue
            seconds = got.limit or LIMITS[garden.rsplit("-", 1)[0]]
            row = measure(garden, method, seconds, got.seed, got.model_seconds)
            with open(RESULTS, "a", encoding="utf-8") as out:
                out.write(json.dumps(row) + "\n")
            told = {
                k: row.get(k)
                for k in (
                    "garden",
                    "method",
                    "first",
                    "model",
                    "value",
                    "bound",
                    "seconds",
                    "memory",
                    "ended",
                )
            }
            print(told, flush=True)
            scale_table.write(results())
    scale_table.write(results())


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
