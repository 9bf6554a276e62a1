"""Functions are compiled once: for every garden, and even where no place is left for a cache."""

from __future__ import annotations

import ast
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numba
import pytest
from lived_case import bed, mean_years
from places_case import DIM, LIT
from verify_case import day

from scheduler.base import compiled as module
from scheduler.garden.model import Column, Stay, Tier
from scheduler.lived.world import world_of


def twice(x: float) -> float:
    return 2 * x


def test_without_a_place_for_a_cache_it_is_compiled_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = []

    def njit(**options: Any) -> Callable[..., Any]:
        asked.append(options)
        if options.get("cache"):
            raise RuntimeError("cannot cache function: no locator available")
        return lambda function: function

    monkeypatch.setattr(module, "njit", njit)
    assert module.compiled(twice)(1.5) == 3.0
    assert asked == [{"cache": True, "nogil": True}, {"nogil": True}]


@pytest.mark.parametrize("count", [1, 3])
def test_gardens_of_any_shape_are_lived_by_what_was_compiled_for_the_first(count: int) -> None:
    """A balcony in the open, columns in several places: an array laid out otherwise is another
    type, for which a minute's work would be done once more."""
    always = (day(0), day(400))
    stays = [(), (Stay(*always, LIT),), (Stay(*always, DIM),)][:count]
    columns = tuple(
        Column(f"C{k}", tuple(Tier(n + 1, "box", 1.0 - 0.2 * n, 4, stays=s) for n in range(count)))
        for k, s in enumerate(stays)
    )
    one, other = bed(), replace(bed(), columns=columns)
    assert _types(other) == _types(one)


MINE = """
from scheduler.base import compiled as module
module.made_of = lambda: module.sha256(open("constant.py", "rb").read()).hexdigest()
from constant import HEADS

@module.compiled
def heads():
    return HEADS
"""
ASK = "import mine; print(mine.heads(), sum(mine.heads.stats.cache_hits.values()))"


def test_what_another_file_says_now_counts(tmp_path: Path) -> None:
    """The function's own file stays as it is; the constant it was compiled with does not."""
    (tmp_path / "mine.py").write_text(MINE)
    root = str(Path(__file__).parents[2])
    told = []
    for heads in (1, 1, 3):
        (tmp_path / "constant.py").write_text(f"HEADS = {heads}")
        done = subprocess.run(
            [sys.executable, "-B", "-c", ASK],
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": root},
            capture_output=True,
            text=True,
        )
        assert done.returncode == 0, done.stderr
        told.append(tuple(map(int, done.stdout.split())))
    assert told == [(1, 0), (1, 1), (3, 0)]  # compiled, kept, compiled anew


def test_what_is_kept_is_made_of_what_is_named(tmp_path: Path) -> None:
    for name in module.MADE_OF:
        if name.endswith(".py"):
            (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(module.ROOT / name, tmp_path / name)
        else:
            shutil.copytree(module.ROOT / name, tmp_path / name)
    assert module.made_of(tmp_path) == module.made_of()
    for file in ("crops/growth.py", "scheduler/batches/courses.py", "scheduler/lived/curves.py"):
        before = module.made_of.__wrapped__(tmp_path)
        (tmp_path / file).write_text((tmp_path / file).read_text() + "\n")
        assert module.made_of.__wrapped__(tmp_path) != before


def test_nothing_else_goes_into_a_compiled_function() -> None:
    """Names that compiled functions use come from files that the digest is of."""
    root, found = module.ROOT, 0
    for file in [*(root / "scheduler").rglob("*.py"), *(root / "crops").rglob("*.py")]:
        tree = ast.parse(file.read_text(encoding="utf-8"))
        made = [n for n in tree.body if isinstance(n, ast.FunctionDef) and _is_compiled(n)]
        if not made:
            continue
        found += len(made)
        assert _named(file), file
        used = {n.id for f in made for n in ast.walk(f) if isinstance(n, ast.Name)}
        for node in tree.body:
            if isinstance(node, ast.ImportFrom) and used & {a.name for a in node.names}:
                own = str(node.module).split(".")
                if own[0] in ("scheduler", "crops"):
                    modules = [root.joinpath(*own).with_suffix(".py"), root.joinpath(*own) / "x"]
                    assert any(_named(m) for m in modules), (file, node.module)
    assert found > 20


def _is_compiled(function: ast.FunctionDef) -> bool:
    return any(isinstance(d, ast.Name) and d.id == "compiled" for d in function.decorator_list)


def _named(file: Path) -> bool:
    names = {str(file.relative_to(module.ROOT)), str(file.parent.relative_to(module.ROOT))}
    return bool(names & set(module.MADE_OF))


def _types(garden: Any) -> dict[str, str]:
    world = world_of(garden, mean_years(garden, 2))
    return {name: str(numba.typeof(part)) for name, part in world._asdict().items()}
