"""One garden folder: numbered plans, the current one found from where one stands, defaults."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest
from standing_case import write

from scheduler.cli import main
from scheduler.log.model import HEADER
from scheduler.plans import home
from scheduler.plans.folder import read_plan, read_plan_dir
from scheduler.replanning import rebalance


class Yard:
    """A garden's folder that one stands in."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys

    def run(self, *arguments: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            main([str(a) for a in arguments])
        said = self.capsys.readouterr()
        assert "Traceback" not in said.out + said.err
        return int(end.value.code or 0), said.out, said.err

    def plan(self, *more: object) -> dict[str, object]:
        code, out, err = self.run("plan", "--time-limit", "0.2", "--years", "0", "--json", *more)
        assert code == 0, err
        found: dict[str, object] = json.loads(out)
        return found


@pytest.fixture
def yard(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Yard:
    folder = tmp_path / "yard"
    folder.mkdir()
    write(folder, "", until="2027-08-15")
    monkeypatch.chdir(folder)
    return Yard(folder, capsys)


def tree(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_planning_again_writes_beside_and_loses_nothing(yard: Yard) -> None:
    first = yard.plan()
    assert (first["folder"], first["number"]) == (str(Path("plans/1")), 1)
    log = yard.folder / "plans" / "1" / "log.csv"
    code, _out, _err = yard.run(
        "log",
        ".",
        "2027-06-10",
        "rain",
        "12",
        "mm",
        "--note",
        "hot",
        "--today",
        "2027-06-10",
        "--json",
    )
    assert code == 0
    assert "hot" in log.read_text()
    before = tree(yard.folder / "plans" / "1")
    second = yard.plan()
    assert (second["folder"], second["number"]) == (str(Path("plans/2")), 2)
    after = tree(yard.folder / "plans" / "1")
    assert {n: t for n, t in after.items() if n in before} == before
    assert (yard.folder / "plans" / "current").read_text() == "2\n"
    # Each is complete by itself.
    for number in (1, 2):
        _garden, plan = read_plan_dir(yard.folder / "plans" / str(number))
        assert plan.number == number


def test_commands_find_the_current_plan(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    yard.plan()
    yard.plan()
    for at, place in (("", ()), ("notes", ()), ("..", ("yard",)), ("plans/1", ())):
        (yard.folder / "notes").mkdir(exist_ok=True)
        monkeypatch.chdir((yard.folder / at).resolve())
        code, out, _err = yard.run("verify", *place, "--json")
        assert code == 0
        assert json.loads(out)
        code, out, _err = yard.run("calendar", *place)
        assert code == 0
        assert ("Plan 1" if at == "plans/1" else "Plan 2") in out
    monkeypatch.chdir(yard.folder)
    home.make_current(yard.folder, yard.folder / "plans" / "1")
    assert "Plan 1" in yard.run("calendar")[1]
    (yard.folder / "plans" / "current").write_text("7\n")  # no such plan: the newest
    assert "Plan 2" in yard.run("calendar")[1]


@pytest.mark.slow
def test_the_list_of_plans_says_which_is_current(yard: Yard) -> None:
    yard.plan()
    yard.plan()
    out = yard.run("plans")[1]
    assert "plans/2, current" in out
    assert "plans/1, current" not in out
    told = json.loads(yard.run("plans", "--json")[1])["plans"]
    assert [p["current"] for p in told] == [False, True]


def test_a_folder_named_by_hand_is_that_folder(yard: Yard) -> None:
    """A folder without a plan in a garden's folder is no other name of the current plan."""
    yard.plan()
    (yard.folder / "empty").mkdir()
    code, _out, err = yard.run("verify", "empty")
    assert code == 2
    assert "empty" in err


@pytest.mark.slow
def test_out_works_as_before(yard: Yard) -> None:
    out = yard.plan("garden.yaml", "--out", "mine")
    assert out["folder"] == "mine"
    assert not (yard.folder / "plans").exists()


@pytest.mark.slow
def test_an_old_folder_season_is_taken_over(yard: Yard) -> None:
    yard.plan("garden.yaml", "--out", "season")
    assert home.current(Path()) == Path("season")
    assert "Plan 1" in yard.run("calendar")[1]
    assert yard.plan()["number"] == 2
    assert home.current(Path()) == Path("plans/2")
    assert read_plan(yard.folder / "season").number == 1


def test_a_plan_that_fails_leaves_no_folder(yard: Yard) -> None:
    text = (yard.folder / "garden.yaml").read_text()
    (yard.folder / "garden.yaml").write_text(text.replace("500 g", "a few"))
    assert yard.run("plan")[0] == 2
    assert not (yard.folder / "plans").exists()
    (yard.folder / "garden.yaml").write_text(text)
    yard.plan()
    (yard.folder / "garden.yaml").write_text(text.replace("500 g", "a few"))
    assert yard.run("plan")[0] == 2
    assert [p.name for p in sorted((yard.folder / "plans").iterdir())] == ["1", "current"]
    assert (yard.folder / "plans" / "current").read_text() == "1\n"


def test_two_who_plan_at_a_time_get_a_number_each(yard: Yard) -> None:
    with home.new_place(Path()) as one, home.new_place(Path()) as two:
        assert (one.name, two.name) == ("1", "2")


@pytest.mark.slow
def test_planned_again_from_the_log_with_the_next_number(yard: Yard) -> None:
    yard.plan()
    yard.run("log", ".", "2027-06-10", "rain", "12", "mm", "--note", "hot", "--today", "2027-06-10")
    code, _out, err = yard.run("rebalance", "--on", "2027-06-12", "--time-limit", "2")
    assert code == 0, err
    assert home.current(Path()) == Path("plans/2")
    assert "hot" in (yard.folder / "plans" / "2" / "log.csv").read_text()
    assert read_plan(Path("plans/2")).as_of is not None


def test_without_a_garden_plan_says_what_it_needs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    code, _out, err = Yard(tmp_path, capsys).run("plan")
    assert code == 2
    assert "no garden here" in err


def test_defaults_of_the_folder(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    yard.plan()
    (yard.folder / "defaults.yaml").write_text("units: us\nlanguage: de\n")
    out = yard.run("calendar")[1]
    assert "ERNTEN" in out
    assert " lb" in out or " oz" in out
    assert "PICK" in yard.run("calendar", "--language", "en", "--units", "metric")[1]
    (yard.folder / "notes").mkdir()
    monkeypatch.chdir(yard.folder / "notes")
    assert "ERNTEN" in yard.run("calendar")[1]
    monkeypatch.chdir(yard.folder.parent)
    assert "PICK" in yard.run("calendar", "yard")[1]


def test_every_fault_of_the_defaults(yard: Yard) -> None:
    (yard.folder / "defaults.yaml").write_text(
        "units: feet\nworkers: 0\npapers: a4\nlanguage: xx\n"
    )
    code, _out, err = yard.run("crops")
    assert code == 2
    for line, key in ((1, "units"), (2, "workers"), (3, "papers"), (4, "language")):
        assert f"defaults.yaml:{line}: {key}" in err


def test_where_the_old_plan_may_stay_nothing_is_written_unasked(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where letting things slip brings as much in the years ahead (`replanning.best_way`)."""
    yard.plan()
    (yard.folder / "plans" / "1" / "log.csv").write_text(f"{HEADER}\n")  # nothing was done
    real = rebalance.best_way
    monkeypatch.setattr(rebalance, "best_way", lambda *given: (real(*given)[0], True))
    ask = ("rebalance", ".", "--on", "2027-07-01", "--complete", "--time-limit", "1")
    code, out, _err = yard.run(*ask)
    assert code == 0
    assert "you can stay with the plan you have" in " ".join(out.split())
    assert "Nothing is written" in out
    assert not (yard.folder / "plans" / "2").exists()
    assert (yard.folder / "plans" / "current").read_text() == "1\n"
    code, out, _err = yard.run(*ask, "--out", "asked")
    assert code == 0
    assert "Written to asked" in out
    assert read_plan(yard.folder / "asked").number == 2


def test_the_old_plan_may_go_on_without_what_died(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is told without which batch, and what to do with its tier; nothing is written unasked."""
    yard.plan()
    (first, *_rest) = sorted(read_plan(yard.folder / "plans" / "1").batches, key=lambda b: b.clear)
    died, on = first.transplant + timedelta(days=2), first.transplant + timedelta(days=3)
    line = f"{died},failed,{first.column},{first.tier},,,,leak"
    (yard.folder / "plans" / "1" / "log.csv").write_text(f"{HEADER}\n{line}\n")
    real = rebalance.best_way
    monkeypatch.setattr(rebalance, "best_way", lambda *given: (real(*given)[0], True))
    code, out, _err = yard.run("rebalance", ".", "--on", on, "--time-limit", "1")
    said = " ".join(out.split())
    assert code == 0
    assert f"Going on with the plan you have, without {first.id} ({first.crop})" in said
    assert "Nothing is lost" not in said
    assert f"Empty and clean {first.column} {first.tier}, and log it as cleared" in said
    assert "Nothing is written" in said
    assert not (yard.folder / "plans" / "2").exists()
