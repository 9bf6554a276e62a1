"""``dryline plan``: files, lines, JSON, refusals, bad gardens, no plan, Ctrl-C."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path

import pytest
from rich.cells import cell_len
from solver_case import EXAMPLES
from verify_case import garden, good_plan

from scheduler.cli import main
from scheduler.commands import running
from scheduler.commands.summary import summary
from scheduler.plans.model import OPEN_WISHES, SIMPLE_RULES
from scheduler.plans.reading import parse_plan
from scheduler.solvers.cp_sat import Progress

ROOT = Path(__file__).parents[3]
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*args: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            main([str(a) for a in args])
        out = capsys.readouterr()
        assert "Traceback" not in out.out + out.err
        return int(end.value.code or 0), out.out, out.err

    return call


@pytest.fixture
def balcony(tmp_path: Path) -> Path:
    """The balcony's files in a folder of their own."""
    folder = tmp_path / "garden"
    shutil.copytree(EXAMPLES / "balcony", folder)
    return folder / "garden.yaml"


def changed(file: Path, old: str, new: str) -> Path:
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new))
    return file


QUICK = ("--time-limit", 1.5, "--workers", 1, "--seed", 3)


def test_a_plan_in_a_new_folder(run: Run, balcony: Path, tmp_path: Path) -> None:
    out = tmp_path / "plans" / "spring"
    code, text, err = run("plan", balcony, "--out", out, *QUICK)
    assert code == 0
    names = {p.name for p in out.iterdir()}
    assert {"plan.json", "garden.yaml", "inputs", "calendar.txt", "calendar.csv"} <= names
    assert [n for n in names if n.startswith(".")] == [".log-table.json"]
    # What is needed later is there: the folder verifies by itself.
    shutil.rmtree(balcony.parent)
    assert run("verify", out)[0] == 0
    made = parse_plan((out / "plan.json").read_text())
    assert made.seed == 3
    assert made.versions["dryline"] == version("dryline")
    assert {"ortools", "highspy", "scipy"} <= set(made.versions)  # every solver
    for line in [*text.splitlines(), *err.splitlines()]:
        if str(out) not in line:  # the folder is named as it was given
            assert cell_len(line) <= 79, line
    assert "A usual year brings " in text
    assert "A simple rule would bring " in text
    assert "(an invented garden)" in text
    assert f"{len(made.batches)} batches from 2027-03-29 to 2027-06-27" in text
    # The search is told of stage by stage on the error channel, first the plan by rules of thumb.
    stages = err.splitlines()
    assert "by rules of thumb" in stages[0]
    assert any("most of the wish met" in s for s in stages)
    assert all("of the wish" in s for s in stages if "rules of thumb" in s or "most of" in s)


@pytest.mark.deep
def test_again_into_the_same_folder_keeps_the_log(run: Run, balcony: Path, tmp_path: Path) -> None:
    out = tmp_path / "plan"
    assert run("plan", balcony, "--out", out, "--time-limit", 0.1)[0] == 0
    (out / "log.csv").write_text("date,what,column,tier,crop,amount,unit,note\n")
    changed(balcony, "cells: 12", "cells: 6")
    assert run("plan", balcony, "--out", out, "--time-limit", 0.1)[0] == 0
    assert (out / "log.csv").exists()
    assert "cells: 6" in (out / "garden.yaml").read_text()
    assert run("verify", out)[0] == 0


@pytest.mark.slow
def test_json_for_machines(run: Run, balcony: Path, tmp_path: Path) -> None:
    out = tmp_path / "plan"
    code, text, err = run("plan", balcony, "--out", out, "--json", *QUICK)
    assert (code, err) == (0, "")
    body = json.loads(text)
    made = parse_plan((out / "plan.json").read_text())
    assert body["status"] == made.status
    assert body["batches"] == len(made.batches)
    assert body["stages"] == [vars(s) for s in made.stages]
    assert body["unmet"] == [vars(u) for u in made.unmet]
    wish = body["weighted_grams"]["wish"]
    assert body["by_hand"]["produce"] <= body["stages"][0]["value"] <= wish
    assert body["wish_met"] == pytest.approx(body["stages"][0]["value"] / wish)
    assert body["folder"] == str(out)


@pytest.fixture
def no_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search would be a fault here."""
    from scheduler.search import solve

    def never(*_: object, **__: object) -> None:
        raise AssertionError("a search began")

    monkeypatch.setattr(solve, "solve", never)


@pytest.mark.usefixtures("no_search")
def test_a_folder_of_something_else_is_refused_before_the_search(
    run: Run, balcony: Path, tmp_path: Path
) -> None:
    other = tmp_path / "letters"
    other.mkdir()
    (other / "letter.txt").write_text("dear")
    code, text, err = run("plan", balcony, "--out", other)
    assert (code, text) == (2, "")
    assert "letter.txt" in err
    assert [p.name for p in other.iterdir()] == ["letter.txt"]
    code, text, _ = run("plan", balcony, "--out", other, "--json")
    assert code == 2
    assert json.loads(text)["exit"] == 2
    code, _, err = run("plan", balcony, "--out", other / "letter.txt")
    assert code == 2
    assert "folder" in err
    (other / "plan.json").write_text('{"schema": "a floor plan"}')
    assert run("plan", balcony, "--out", other)[0] == 2


@pytest.mark.usefixtures("no_search")
def test_a_bad_garden_tells_all_its_faults(run: Run, balcony: Path, tmp_path: Path) -> None:
    changed(balcony, "latitude: 37.2 degree", "latitude: 137.2 degree")
    changed(balcony, "cells: 12", "cells: -4")
    changed(balcony, "{vessel: pail, light: 90 %, plants: 3}", "{vessel: barrel, light: 90 %}")
    out = tmp_path / "plan"
    code, text, err = run("plan", balcony, "--out", out)
    assert (code, text) == (2, "")
    for what in ("latitude", "cells", "barrel"):
        (line,) = [s for s in err.splitlines() if what in s]
        number = int(line.split(":")[1])
        assert what in balcony.read_text().splitlines()[number - 1]
    assert not out.exists()
    code, text, _ = run("plan", balcony, "--out", out, "--json")
    assert code == 2
    assert len(json.loads(text)["faults"]) >= 3


@pytest.mark.usefixtures("no_search")
@pytest.mark.parametrize(
    "options",
    [
        ("--time-limit", "0"),
        ("--time-limit", "soon"),
        ("--gap", "1.5"),
        ("--gap", "-0.1"),
        ("--workers", "0"),
        ("--seed", "-1"),
        ("--seed", "x"),
        ("--surprise",),
    ],
)
def test_options_out_of_range(
    run: Run, balcony: Path, tmp_path: Path, options: tuple[str, ...]
) -> None:
    code, _, err = run("plan", balcony, "--out", tmp_path / "plan", *options)
    assert code == 2
    assert options[0] in err


@pytest.mark.usefixtures("no_search")
def test_no_garden_named(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for more in (("--out", tmp_path / "plan"), ()):
        code, _, err = run("plan", tmp_path / "there" / "none.yaml", *more)
        assert code == 2
        assert "none.yaml" in err
    assert list(tmp_path.iterdir()) == []
    monkeypatch.chdir(tmp_path)
    assert run("plan", "--out", tmp_path / "plan")[0] == 2


@pytest.mark.slow
def test_no_plan_exists(run: Run, balcony: Path, tmp_path: Path) -> None:
    """At a hundredth of the light nothing grows: exit 3, and the reason for each crop."""
    for share in ("90 %", "75 %", "60 %"):
        changed(balcony, f"light: {share}", "light: 1 %")
    out = tmp_path / "plan"
    code, text, err = run("plan", balcony, "--out", out)
    assert (code, text) == (3, "")
    assert "no crop can grow in any tier" in err
    for crop in ("leaf_lettuce", "pak_choi", "mizuna"):
        assert f"  {crop}: " in err
    assert not out.exists()
    code, text, _ = run("plan", balcony, "--out", out, "--json")
    body = json.loads(text)
    assert (code, body["exit"], body["error"]) == (3, 3, "NoPlan")


@pytest.mark.deep
def test_a_plan_that_breaks_a_rule_is_not_written(
    run: Run, balcony: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing leaves unverified: with the nursery's rule taken out of the model, exit 1."""
    from scheduler.model.rules import BUILDERS

    changed(balcony, "cells: 12", "cells: 4")
    monkeypatch.delitem(BUILDERS, "what all share")
    out = tmp_path / "plan"
    code, text, err = run("plan", balcony, "--out", out, "--time-limit", 3, "--workers", 1)
    assert (code, text) == (1, "")
    assert "was not written" in err
    assert "nursery cells" in err
    assert not out.exists()


def test_the_first_interrupt_keeps_the_plan_the_second_gives_up() -> None:
    before = signal.getsignal(signal.SIGINT)
    with running.ctrl_c() as stop:
        assert not stop.is_set()
        signal.raise_signal(signal.SIGINT)
        assert stop.is_set()
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="signals differ there")
def test_ctrl_c_writes_the_best_so_far(tmp_path: Path) -> None:
    """The courtyard, a long search, interrupted at its first line of progress."""
    out = tmp_path / "plan"
    child = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "scheduler",
            "plan",
            str(EXAMPLES / "courtyard" / "garden.yaml"),
            "--out",
            str(out),
            "--time-limit",
            "600",
            "--workers",
            "1",
        ],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert child.stderr is not None
        first = child.stderr.readline()
        assert "by rules of thumb" in first
        time.sleep(0.2)
        child.send_signal(signal.SIGINT)
        text, err = child.communicate(timeout=60)  # of its ten minutes
    finally:
        child.kill()
    assert child.returncode == 0, err
    assert "the best plan so far is kept" in err
    assert "Traceback" not in err
    assert "A simple rule would bring " in text
    made = parse_plan((out / "plan.json").read_text())
    assert len(made.batches) > 20
    assert made.status == "best_found"


@pytest.mark.parametrize("stage", [*running.STAGES, "changes"])
@pytest.mark.parametrize(
    ("best", "bound"), [(0.0, 0.0), (99_999_999.0, 99_999_999.0), (1.0, 2.5), (0.0, 99_999_999.0)]
)
def test_lines_of_progress_fit(stage: str, best: float, bound: float) -> None:
    for wish in (0.0, max(best, bound, 1.0)):
        line = running.progress_line(Progress(stage, 86_400.0, best, bound), wish)
        assert len(line) <= 79


def test_summary_of_any_garden_fits() -> None:
    """Long names, no wish, many groups: 79 characters hold it."""
    g = replace(garden(), name="the garden of the long name " * 6)
    wishes = tuple(replace(d, group=d.group * 9) for d in g.demands)
    for made in (g, replace(g, demands=wishes), replace(g, demands=(), units="us")):
        for plan in (
            good_plan(),
            replace(good_plan(), by_hand={"produce": 1000, "share": 0.5}),
            replace(good_plan(), batches=(), unmet=()),
        ):
            for status in ("proven", "within_gap", "best_found"):
                for line in summary(made, replace(plan, status=status)):
                    assert cell_len(line) <= 79, line


def test_summary_of_the_plan_counted_by_hand() -> None:
    """The figures of `verify_case.good_plan`: 1,600 g of lettuce and 600 g of chard picked."""
    made = replace(good_plan(), by_hand={"share": 0.5, "rule": OPEN_WISHES})
    said = " ".join(" ".join(summary(garden(), made)).split())
    assert f"A simple rule would meet 50.0 %: {SIMPLE_RULES[OPEN_WISHES]}." in said
    lines = summary(garden(), replace(good_plan(), by_hand={"share": 0.5}))
    # 2380 of 2571 weighted grams wished are met; the bound is 2400, 93.35 %.
    assert "This plan meets 92.6 % of the wish, by the garden's weights." in lines
    assert "A simple rule would meet 50.0 %." in lines  # of a plan made before its rule was named
    assert "No plan can meet more than 93.4 %: proven." in lines
    (lettuce,) = [s for s in lines if s.startswith("  lettuce")]
    (greens,) = [s for s in lines if s.startswith("  greens")]
    assert "1.60 kg picked" in lettuce
    assert "71 g short in 1 week" in lettuce
    assert "600 g picked" in greens
    assert "60 g short in 1 week" in greens
    # b4, filled on day 34 and never thinned, is dry 27 days on, 7 after its pick on day 54; b1 has
    # half its heads picked on day 30: 4 L then, 2.8 L at 0.2 a day, dry on day 44, 11 after its last.
    # b2, chard: 0.4 L to day 31, 4 L, 0.2 L a day: dry on day 45, 7 days after its cut on day 38.
    assert lines[-2] == "Nearest to dry: 7 days between a last pick and its dry date."
    # Day 10: b1 in A3 is filled (12 minutes, two vessels lifted), 4 cells sown (half a minute each).
    # In all 5 fills 60, 5 clearings 50, 10 lifts, 24 plants, 23 cells 11.5: 155.5 minutes.
    assert lines[-1] == "Work: about 3 hours on 19 days, at most 16 minutes, on 2027-04-15."


@pytest.mark.parametrize(
    ("status", "bound", "text"),
    [
        ("proven", 2380.0, "No plan can meet more: proven."),
        ("within_gap", 2400.0, "No plan can meet more than 93.4 %: proven."),
        # 2,450 of 2,571 are 95.29 %: rounded up.
        (
            "best_found",
            2450.0,
            "The best found in the time. No plan can meet more than 95.3 %: proven; "
            "this gap may be the bound's, not the plan's.",
        ),
        # A bound beyond all that is wished says nothing.
        ("best_found", 2571.0, "how much more there could be is not known."),
        ("best_found", None, "how much more there could be is not known."),
    ],
)
def test_a_loose_bound_says_that_it_may_be(status: str, bound: float | None, text: str) -> None:
    first, *others = good_plan().stages
    stages = (replace(first, status=status, bound=bound), *others)
    lines = summary(garden(), replace(good_plan(), status=status, stages=stages))
    assert max(map(len, lines)) <= 79
    assert text in " ".join(lines)
