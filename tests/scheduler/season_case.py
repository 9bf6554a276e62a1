"""The folder of a plan for the balcony, with a log, as the tests of crashes and full disks use it."""

from __future__ import annotations

import tempfile
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

from cut_off import Tree, lay, tree
from solver_case import EXAMPLES

from scheduler import outputs
from scheduler.garden.file import garden_sources, load_garden
from scheduler.log.model import HEADER
from scheduler.mix.fills import with_solution
from scheduler.plans.folder import (
    CROPS_FILE,
    crops_source,
    read_plan,
    read_plan_dir,
    write_plan_dir,
)
from scheduler.search.solve import solve
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify

BALCONY = EXAMPLES / "balcony" / "garden.yaml"


@lru_cache
def season_files() -> Tree:
    """Every file of the folder; the log has one line."""
    garden = load_garden(BALCONY)
    quick = Settings(time_limit=60.0, workers=1, deterministic=0.05)
    plan = with_solution(garden, solve(garden, quick).plan)
    sources = {**garden_sources(BALCONY), CROPS_FILE: crops_source(garden)}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_plan_dir(folder, plan, sources, outputs.season_files(garden, plan))
        batch, day = standing(folder)
        (folder / "log.csv").write_text(
            f"{HEADER}\n{day},level,{batch.column},{batch.tier},,{batch.fill_litres / 2:.1f},L,\n"
        )
        return seen(tree(folder))


def standing(folder: Path) -> tuple[Any, date]:
    """A batch of the plan and a day on which it has stood a while."""
    batch = max(read_plan(folder).batches, key=lambda b: b.grams)
    return batch, batch.transplant + (batch.picks[0].date - batch.transplant) / 2


def seen(files: Tree) -> Tree:
    """What a user sees: hidden files are ours."""
    return {n: d for n, d in files.items() if not any(p.startswith(".") for p in Path(n).parts)}


_SOUND: set[tuple[bytes, ...]] = set()  # of plans seen before


def opened(place: Path, files: Tree) -> Tree:
    """A plan's folder once any command has opened it; it must be whole."""
    lay(place, files)
    read_plan(place)
    now = seen(tree(place))
    known = tuple(now[n] for n in sorted(now))
    if known not in _SOUND:
        assert verify(*read_plan_dir(place)).ok
        _SOUND.add(known)
    return now
