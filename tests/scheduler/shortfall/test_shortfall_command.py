"""``dryline shortfall``: of a plan's folder, of a garden, as JSON, refused, where no plan exists."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from itertools import islice
from pathlib import Path

import pytest
from rich.cells import cell_len
from solver_case import EXAMPLES

from scheduler.cli import main
from scheduler.plans.model import BEST_FOUND
from scheduler.plans.reading import parse_plan
from scheduler.search import solve as solver
from scheduler.shortfall import no_plan

Run = Callable[..., tuple[int, str, str]]
QUICK = ("--time-limit", 4, "--workers", 1)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*args: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            main([str(a) for a in args])
        out = capsys.readouterr()
        assert "Traceback" not in out.out + out.err
        if args[0] == "shortfall" and "--json" not in args:
            assert all(cell_len(line) <= 79 for line in out.out.splitlines())
        return int(end.value.code or 0), out.out, out.err

    return call


@pytest.fixture
def balcony(tmp_path: Path) -> Path:
    folder = tmp_path / "garden"
    shutil.copytree(EXAMPLES / "balcony", folder)
    return folder / "garden.yaml"


def changed(file: Path, old: str, new: str) -> Path:
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new))
    return file


@pytest.mark.slow
def test_a_plan_points_to_it_and_its_folder_is_enough(
    run: Run, balcony: Path, tmp_path: Path
) -> None:
    out = tmp_path / "p"
    code, text, _ = run("plan", balcony, "--out", out, "--time-limit", 1, "--workers", 1)
    assert code == 0
    assert f"dryline shortfall {out}" in text
    shutil.rmtree(balcony.parent)
    code, text, err = run("shortfall", out, *QUICK)
    assert code == 0
    assert "what holds the plan back" in text
    assert "lettuce" in text
    assert "the garden as it is, once more" in err
    assert "Lived in 200 weather years that had no part in making it" in " ".join(text.split())
    code, text, err = run("shortfall", out, *QUICK, "--json")
    assert (code, err) == (0, "")
    body = json.loads(text)
    made = parse_plan((out / "plan.json").read_text())
    # What the plan promises is a share for each of the same years.
    assert made.promise is not None
    shares, grams = made.promise.shares, body["weighted_grams"]
    assert grams["given"] / grams["wish"] == pytest.approx(sum(shares) / len(shares), abs=1e-4)
    assert body["over_years"]["judged"] == len(shares) == 200
    assert {"earlier", "vessel"} <= {t["family"] for t in body["steps"]}
    # A season under way is refused.
    (out / "plan.json").write_text(replace(made, as_of=made.start).to_json())
    code, text, err = run("shortfall", out, *QUICK)
    assert (code, text) == (2, "")
    assert "under way" in err


@pytest.mark.slow
def test_a_garden_without_a_plan_yet(run: Run, balcony: Path) -> None:
    code, text, _ = run("shortfall", balcony, *QUICK, "--years", 0)
    assert code == 0
    assert "solved anew from the same plan" in " ".join(text.split())
    code, text, _ = run("shortfall", balcony, *QUICK, "--json")
    assert code == 0
    assert json.loads(text)["over_years"]["planned"] == 20


@pytest.mark.slow
@pytest.mark.parametrize("command", ["plan", "shortfall"])
def test_no_plan_exists(
    run: Run, balcony: Path, tmp_path: Path, command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Of the kinds of change the first is enough here; all of them are tried in `test_no_plan`.
    every = no_plan.ladders
    monkeypatch.setattr(no_plan, "ladders", lambda *args: islice(every(*args), 1))
    changed(balcony, "cells: 12", "cells: 1")
    out = ("--out", tmp_path / "p") if command == "plan" else ()
    code, text, err = run(command, balcony, *out, *QUICK)
    assert (code, text) == (3, "")
    assert "nursery cells: every batch that could be picked needs at least" in err
    assert "more nursery cell" in err
    assert not (tmp_path / "p").exists()


def test_out_of_time_with_none_found(
    run: Run, balcony: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = solver.solve

    def nothing(*args: object, **options: object) -> solver.Season:
        season = whole(*args, **options)  # type: ignore[arg-type]
        stage = replace(season.plan.stages[0], value=0.0, bound=None, status=BEST_FOUND)
        plan = replace(season.plan, batches=(), status=BEST_FOUND, stages=(stage,))
        return replace(season, plan=plan)

    monkeypatch.setattr(solver, "solve", nothing)
    code, text, err = run("plan", balcony, "--out", tmp_path / "p", "--time-limit", 1)
    assert (code, text.strip()) == (4, "")
    assert "no plan was found in the time" in err


@pytest.mark.deep
def test_out_of_time_the_best_is_kept_with_its_gap_in_words(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "p"
    code, text, _ = run(
        "plan", EXAMPLES / "courtyard" / "garden.yaml", "--out", out, "--time-limit", 0.1
    )
    assert code == 0
    assert parse_plan((out / "plan.json").read_text()).status == BEST_FOUND
    assert "The best found in the time; " in text
    assert run("verify", out)[0] == 0


def test_no_such_place(run: Run, tmp_path: Path) -> None:
    assert run("shortfall", tmp_path / "none.yaml")[0] == 2
    assert run("shortfall", tmp_path)[0] == 2
