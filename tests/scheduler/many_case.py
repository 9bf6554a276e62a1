"""Small gardens in a folder, planned by work done so that the clock has no say."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

from scheduler.many.gardens import Job, Result, plan_garden, prepare
from scheduler.solvers.cp_sat import Settings

BALCONY = Path(__file__).parents[2] / "examples" / "balcony"
STEADY = Settings(time_limit=86400.0, gap=0.0, seed=5, workers=1, deterministic=0.05)


def write_garden(folder: Path, ounces: int = 5, **changes: str) -> None:
    """The example balcony with another wish, and with other texts replaced."""
    folder.mkdir(parents=True)
    shutil.copy(BALCONY / "climate.csv", folder)
    text = (BALCONY / "garden.yaml").read_text().replace("5 oz", f"{ounces} oz")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    (folder / "garden.yaml").write_text(text)


def many_jobs(place: Path, count: int, settings: Settings = STEADY) -> list[Job]:
    """Jobs of ``count`` gardens, each with another wish, all written below ``place``."""
    for i in range(count):
        write_garden(place / "in" / f"site{i}", ounces=3 + i)
    jobs, bad = prepare(place / "in", place / "out", settings)
    assert not bad
    return jobs


def content(files: dict[str, bytes]) -> dict[str, Any]:
    """The files of a plan without the seconds that its search took."""
    out: dict[str, Any] = dict(files)
    plan = json.loads(files["plan.json"])
    for stage in plan["stages"]:
        stage.pop("seconds")
    return {**out, "plan.json": plan}


def one_at_a_time(jobs: list[Job]) -> dict[str, dict[str, Any]]:
    """What each job gives in this very process, by name."""
    found: dict[str, dict[str, Any]] = {}
    for job in jobs:
        result = plan_garden(job)
        assert result.planned, result.message
        found[job.name] = content(result.files)
    return found


def contents(results: list[Result]) -> dict[str, dict[str, Any]]:
    return {r.name: content(r.files) for r in results if r.planned}
