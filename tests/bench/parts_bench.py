"""How long each part of a plan takes as columns grow, and what a log costs: seconds of processor time.

    python tests/bench/parts_bench.py [--columns 10,100,1000,10000] [--limit 20] [--write]

Processor time of this one thread, as far as the parts have one, so that a busy machine changes
little; the search is told in wall seconds, which is what its limit is in. With ``--write`` the
table goes into ``parts.md``.
"""

from __future__ import annotations

import argparse
import json
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from importlib.metadata import version
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(ROOT))

GARDEN = """\
name: alike columns
invented: true
site: {{latitude: 44.1 degree, elevation: 180 m, climate: climate.csv}}
season: {{start: 2027-04-12, end: 2027-10-10, work_days: [mon, wed, fri]}}
vessels:
  pail: {{shape: round, bottom: 26 cm, top: 29 cm, height: 37 cm, fill: 18 L, keep: 2 cm,
         mass: 1.6 kg}}
columns:
  - name: A
    count: {n}
    tiers:
      - {{vessel: pail, light: 1.0, plants: 4}}
      - {{vessel: pail, light: 0.8, plants: 4}}
      - {{vessel: pail, light: 0.65, plants: 4}}
nursery: {{cells: {cells}, temperature: 20 degC}}
demand:
  - {{group: lettuce, per_week: {lettuce} g, from: 2027-06-07, to: 2027-10-10}}
  - {{group: greens, per_week: {greens} g, from: 2027-06-07, to: 2027-10-10}}
limits: {{lift: 16 kg, fills_per_day: {fills}, picks_per_day: {picks}}}
crops: [leaf_lettuce, butterhead, pak_choi, mizuna]
"""


def garden_text(columns: int) -> str:
    """A garden of so many columns of three, wishes a little above what it can give."""
    return GARDEN.format(
        n=columns,
        cells=4 * columns,
        lettuce=130 * columns,
        greens=100 * columns,
        fills=max(1, 2 * columns // 5),
        picks=max(1, 3 * columns // 5),
    )


def one(columns: int, limit: float) -> dict[str, Any]:
    """Every part of one plan."""
    from scheduler.garden.file import load_garden
    from scheduler.mix.fills import with_solution
    from scheduler.outputs.files import calendar_files
    from scheduler.plans.folder import read_plan_dir, write_plan_dir
    from scheduler.search.solve import solve
    from scheduler.solvers.cp_sat import Settings
    from scheduler.usecases import refuse_broken, sources_of

    row: dict[str, Any] = {"columns": columns}

    def timed(name: str, work: Callable[[], Any]) -> Any:
        start = time.process_time()
        got = work()
        row[name] = round(time.process_time() - start, 2)
        return got

    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "garden.yaml"
        file.write_text(garden_text(columns), "utf-8")
        climate = ROOT / "examples" / "courtyard" / "climate.csv"
        (Path(place) / "climate.csv").write_bytes(climate.read_bytes())
        garden = timed("reading", lambda: load_garden(file))
        season = solve(garden, Settings(time_limit=limit, workers=1))
        row["candidates"] = round(season.seconds["candidates"], 2)
        row["search (wall)"] = round(season.seconds["search"], 1)
        plan = timed("solution", lambda: with_solution(garden, season.plan))
        timed("checking", lambda: refuse_broken(garden, plan))
        files = timed("calendar", lambda: calendar_files(garden, plan))
        out = Path(place) / "out"
        timed("writing", lambda: write_plan_dir(out, plan, sources_of(garden, file), files))
        timed("reading it again", lambda: read_plan_dir(out))
        row["batches"] = len(plan.batches)
    return row


def log_lines(lines: int) -> float:
    """Seconds to read a log of so many levels."""
    from scheduler.log.model import HEADER, read_log

    first = date(2027, 4, 12)
    rows = [
        f"{first + timedelta(days=k // 600)},level,C{k % 200},{k // 200 % 3 + 1},,{3 + k % 97 / 13:.2f} L,,"
        for k in range(lines)
    ]
    raw = "\n".join([HEADER, *rows]).encode()
    start = time.process_time()
    read_log(raw, "log.csv")
    return round(time.process_time() - start, 2)


def table(rows: list[dict[str, Any]], log: float, limit: float) -> str:
    """The rows as Markdown."""
    names = list(rows[0])
    packages = ("ortools", "highspy", "numpy", "pandas", "pydantic", "pint")
    lines = [
        "# Parts of a plan",
        "",
        f"{platform.machine()}, Python {platform.python_version()}; "
        + ", ".join(f"{p} {version(p)}" for p in packages)
        + f"; {date.today()}",
        "",
        f"Columns of three tiers, 26 weeks, one thread, a search of {limit:g} s. Seconds of processor "
        "time, of the search and the candidates wall seconds.",
        "",
        "| " + " | ".join(names) + " |",
        "|" + " --- |" * len(names),
        *("| " + " | ".join(str(row[n]) for n in names) + " |" for row in rows),
        "",
        f"A log of 100,000 lines is read in {log:g} s.",
    ]
    return "\n".join(lines) + "\n"


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--columns", default="10,100,1000,10000")
    asked.add_argument("--limit", type=float, default=20.0)
    asked.add_argument("--write", action="store_true")
    asked.add_argument("--one", type=int, help="one row as JSON, in this process")
    arguments = asked.parse_args()
    if arguments.one:
        print(json.dumps(one(arguments.one, arguments.limit)))
        return
    rows = []
    for columns in arguments.columns.split(","):
        call = [sys.executable, __file__, "--one", columns, "--limit", str(arguments.limit)]
        done = subprocess.run(call, capture_output=True, text=True, check=True, cwd=ROOT)
        rows.append(json.loads(done.stdout.splitlines()[-1]))
    text = table(rows, log_lines(100_000), arguments.limit)
    if arguments.write:
        (HERE / "parts.md").write_text(text, "utf-8")
    print(text)


if __name__ == "__main__":
    main()
