"""`from scheduler import plan, replan, explain, Garden, Plan`: the page of it runs, and its edges."""

from __future__ import annotations

import doctest
import errno
import importlib
import inspect
import subprocess
import sys
from dataclasses import replace
from datetime import date, datetime
from html.parser import HTMLParser
from pathlib import Path

import pytest
from cut_off import KILL, lay, sweep
from season_case import season_files, standing

import scheduler as dryline
from scheduler.log.model import HEADER
from scheduler.log.set_aside import BEFORE
from scheduler.plans.folder import read_plan, read_plan_dir

ROOT = Path(__file__).parents[2]
BALCONY = ROOT / "examples" / "balcony" / "garden.yaml"
NAMES = (
    "BadInput",
    "DrylineError",
    "Explanation",
    "Fault",
    "Garden",
    "NoPlan",
    "OutOfTime",
    "OwnFault",
    "Plan",
    "Season",
    "explain",
    "load",
    "plan",
    "replan",
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "planned"
    place.mkdir()
    lay(place, season_files())
    (place / "log.csv").unlink()
    return place


@pytest.mark.slow
def test_every_line_of_its_page_does_what_it_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    page = ROOT / "scheduler" / "README.md"
    failed, tried = doctest.testfile(
        str(page),
        module_relative=False,
        globs={"FOLDER": str(tmp_path)},
        encoding="utf-8",
        report=True,
    )
    assert tried > 20
    assert not failed


def test_its_names_are_these_and_loaded_when_asked_for() -> None:
    """In a process of its own: here everything is loaded."""
    code = (
        "import sys, scheduler\n"
        "heavy = {'ortools', 'scipy', 'pandas', 'numpy', 'pydantic', 'click'}\n"
        "assert not heavy & sys.modules.keys()\n"
        "from scheduler import BadInput, Fault, NoPlan\n"
        "assert not heavy & sys.modules.keys()\n"
        f"assert sorted(scheduler.__all__) == sorted({NAMES!r})\n"
        "assert set(scheduler.__all__) <= set(dir(scheduler))\n"
        "from scheduler import plan, replan, explain, load, Garden, Plan, Season\n"
        "assert not {'ortools', 'scipy', 'pandas', 'highspy'} & sys.modules.keys()\n"
        "assert not hasattr(scheduler, 'explode')\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)


def test_no_module_inside_hides_a_function_of_the_door() -> None:
    """Importing a.b sets b on a: a module or package named as a function would take its place."""
    for name in NAMES:
        try:
            importlib.import_module(f"scheduler.{name}")
        except ModuleNotFoundError:
            pass
        found = getattr(dryline, name)
        assert found is getattr(importlib.import_module(found.__module__), name)
        assert not inspect.ismodule(found)
        assert found.__doc__


def test_types_are_told_to_those_who_use_it() -> None:
    import tomllib

    data = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    for room in ("crops", "scheduler"):
        assert (ROOT / room / "py.typed").is_file()
        assert "py.typed" in data["tool"]["setuptools"]["package-data"][room]


def test_a_season_is_short_to_see_and_whole_in_its_tables(folder: Path) -> None:
    season = dryline.load(folder)
    for thing in (season, season.plan, season.garden):
        assert len(repr(thing)) < 120
        assert "\n" not in repr(thing)
    plan = season.plan
    assert len(season.batches()) == len(plan.batches)
    assert len(season.levels()) == sum(len(b.levels) for b in plan.batches)
    assert season.produce().short_g.sum() == sum(u.grams for u in plan.unmet)
    # A sowing, a transplanting, each pick and a clearing a batch at least.
    kinds = season.work().groupby("kind").size()
    assert kinds["transplant"] == len(plan.batches)
    assert season.verify().ok
    assert season.verify().met == pytest.approx(season.met)


class _Table(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag == "tr":
            self.rows.append([])
        elif tag in ("th", "td"):
            self.rows[-1].append("")

    def handle_data(self, data: str) -> None:
        if self.rows:
            self.rows[-1][-1] += data


def test_its_table_tells_the_first_batches_and_how_many_more(folder: Path) -> None:
    season = dryline.load(folder)
    first = min(season.plan.batches, key=lambda b: (b.transplant, b.id))
    table = _Table()
    table.feed(season._repr_html_())
    assert len(table.rows) == 1 + min(len(season.plan.batches), 20)
    row = dict(zip(table.rows[0], table.rows[1], strict=True))
    assert (row["crop"], row["tier"], row["sow"]) == (first.crop, str(first.tier), str(first.sow))
    assert "an invented garden" in season._repr_html_()
    assert row["mass"].endswith(("oz", "lb"))  # the balcony's units
    many = replace(season.plan, batches=season.plan.batches * 30)
    table = _Table()
    table.feed(replace(season, plan=many)._repr_html_())
    assert len(table.rows) == 21
    left = 30 * len(season.plan.batches) - 20
    assert f"{left} more in batches()" in replace(season, plan=many)._repr_html_()
    odd = replace(season.plan, batches=(replace(first, column="<b>A</b>"),))
    assert "<b>" not in replace(season, plan=odd)._repr_html_()


def test_saved_and_loaded_it_is_the_same_and_a_second_plan_counts_on(
    folder: Path, tmp_path: Path
) -> None:
    season = dryline.load(folder)
    place = season.save(tmp_path / "copy")
    assert read_plan_dir(place)[1] == season.plan
    assert (place / "calendar.txt").is_file()
    assert (place / "inputs").is_dir()
    season.save(place)  # the same plan again keeps its number
    assert read_plan(place).number == season.plan.number
    other = replace(season, plan=replace(season.plan, seed=season.plan.seed + 1))
    other.save(place)
    assert read_plan(place).number == max(season.plan.number, 1) + 1


@pytest.mark.deep
@pytest.mark.parametrize("fault", [KILL, errno.ENOSPC], ids=["killed", "disk full"])
def test_cut_off_at_any_write_a_folder_holds_the_old_plan_or_the_new(
    folder: Path, tmp_path: Path, fault: int
) -> None:
    season = dryline.load(folder)
    batch, day = standing(folder)
    log = tmp_path / "log.csv"
    log.write_text(f"{HEADER}\n{day},failed,{batch.column},{batch.tier},,,,cracked\n")
    later = dryline.replan(season, log, day, time_limit=0.5, workers=1)
    root = tmp_path / "root"
    season.save(root / "season")
    cuts = sweep(lambda: later.save(root / "season"), root, fault)
    assert len(cuts) > 10
    found = set()
    for number, cut in enumerate(cuts):
        place = tmp_path / "look" / str(number)
        lay(place, cut.tree)
        plan = dryline.load(place / "season").plan
        assert plan in (season.plan, later.plan), cut.event
        found.add(plan == later.plan)
    assert found == {False, True}  # the first cuts leave the old plan, the last one the new


def test_a_folder_with_a_log_or_with_something_else_is_refused(
    folder: Path, tmp_path: Path
) -> None:
    season = dryline.load(folder)
    batch, day = standing(folder)
    taken = season.save(tmp_path / "taken")
    (taken / "log.csv").write_text(f"{HEADER}\n{day},failed,{batch.column},{batch.tier},,,,x\n")
    other = tmp_path / "other"
    other.mkdir()
    (other / "poem.txt").write_text("roses")
    for place in (taken, other):
        with pytest.raises(dryline.BadInput):
            season.save(place)
    assert sorted(p.name for p in other.iterdir()) == ["poem.txt"]
    assert not list(taken.glob(f"{BEFORE}*"))


@pytest.mark.parametrize("saved", [False, True])
@pytest.mark.parametrize("kind", ["text", "date", "time"])
def test_planned_again_from_a_log_it_brings_log_and_changes_along(
    folder: Path, tmp_path: Path, saved: bool, kind: str
) -> None:
    season = dryline.load(folder)
    batch, day = standing(folder)
    log = tmp_path / "log.csv"
    log.write_text(f"{HEADER}\n{day},failed,{batch.column},{batch.tier},,,,cracked\n")
    on = {"text": str(day), "date": day, "time": datetime(day.year, day.month, day.day, 7)}[kind]
    later = dryline.replan(folder if saved else season, log, on, time_limit=0.5, workers=1)
    assert later.plan.as_of == day
    assert type(later.plan.as_of) is date
    assert later.verify().ok
    assert any(batch.id in line for line in later.changes)
    place = later.save(tmp_path / "later")
    assert (place / "log.csv").read_bytes() == log.read_bytes()
    assert {"changes.txt", "changes.json", "calendar.txt"} <= {p.name for p in place.iterdir()}
    again = dryline.load(place)
    assert again.plan == later.plan
    on = day.fromordinal(day.toordinal() + 1)
    assert dryline.replan(again, log, on, time_limit=0.5, workers=1).verify().ok


@pytest.mark.deep
def test_a_garden_in_hand_is_planned_as_its_file_is_but_not_saved(tmp_path: Path) -> None:
    """Both searches prove the balcony: the same produce; with no cells nothing can grow."""
    of_file = dryline.plan(BALCONY, time_limit=20, workers=1, years=0)
    garden = of_file.garden
    in_hand = dryline.plan(garden, time_limit=20, workers=1, years=0)
    assert (of_file.plan.status, in_hand.plan.status) == ("proven", "proven")
    assert in_hand.met == of_file.met
    assert in_hand.verify().ok
    for refused in (
        lambda: in_hand.save(tmp_path / "new"),
        lambda: dryline.replan(in_hand, tmp_path / "log.csv", "2027-05-01"),
        lambda: dryline.plan(garden, risk=0.1, past="years.csv"),
    ):
        with pytest.raises(dryline.BadInput):
            refused()
    assert not (tmp_path / "new").exists()
    with pytest.raises(dryline.NoPlan) as told:
        dryline.plan(
            replace(garden, nursery=replace(garden.nursery, cells=0)), time_limit=2, years=0
        )
    assert "nursery" in str(told.value)


@pytest.mark.deep
@pytest.mark.parametrize("kind", ["saved", "season", "in hand", "garden", "file"])
def test_explained_alike_whatever_it_is_asked_of(folder: Path, kind: str) -> None:
    season = dryline.load(folder)
    of = {
        "saved": folder,
        "season": season,
        "in hand": replace(season, _sources={}),
        "garden": season.garden,
        "file": BALCONY,
    }[kind]
    why = dryline.explain(of, time_limit=8, workers=1, years=0)
    assert why.garden.name == season.garden.name
    assert why.met is not None
    assert why.bound is not None
    assert 0 < why.met <= why.bound <= 1
    if kind in ("saved", "season", "in hand"):  # no less than the plan there was
        assert season.met is not None
        assert why.met >= season.met - 1e-9
    assert {"nursery cells", "work days"} <= set(why.rules().rule)
    steps = why.steps()
    assert "4 more nursery cells" in set(steps.change)
    assert (steps.gain_g >= 0).all()
    assert (steps.gain_g <= steps.most_g.fillna(float("inf")) + 1e-6).all()
    assert "what holds the plan back" in str(why)
    assert len(repr(why)) < 120
    assert why.data()["weighted_grams"]["met"] == why.plan.stages[0].value


def test_tables_and_text_of_an_answer_are_the_same_answer(folder: Path) -> None:
    """Worked by hand: 300 of 1,200 g wished more for eight cells, 120 of it for sure."""
    from scheduler.explanation import Explanation
    from scheduler.shortfall.answer import CANNOT, HELPS, MustGive, Tried
    from scheduler.shortfall.eased_rules import cells, margin
    from scheduler.usecases import Explained

    season = dryline.load(folder)
    garden = season.garden
    tried = (
        Tried(cells(garden, 8), HELPS, 300.0, 120.0, 400.0, times=2),
        Tried(margin(garden, 1), CANNOT, most=0.5),
    )
    found = MustGive(garden, season.plan, 600.0, 1200.0, 600.0, 780.0, (), tried, tried[1:])
    why = Explanation(Explained(found, {"kale": "too dark"}))
    assert (why.met, why.bound, why.against) == (0.5, 0.65, {"kale": "too dark"})
    first, second = why.steps().to_dict("records")
    assert first == {
        "change": "8 more nursery cells",
        "rule": "nursery cells",
        "outcome": "helps",
        "gain_share": 0.25,
        "gain_g": 300.0,
        "sure_g": 120.0,
        "most_g": 400.0,
        "times": 2,
    }
    assert (second["outcome"], second["gain_g"], second["most_g"]) == ("cannot help", 0.0, 0.5)
    assert list(why.rules().rule) == ["dry before harvest"]
    assert "8 more nursery cells: 25.0 %" in repr(why)
    assert "8 more nursery cells" in str(why)
    assert str(why).splitlines()[0] in why._repr_html_()
    empty = Explanation(Explained(replace(found, value=0.0, wish=0.0, steps=(), rules=()), {}))
    assert (empty.met, empty.bound) == (None, None)
    assert list(empty.steps().columns) == list(why.steps().columns)
    assert "nothing is wished" in repr(empty)


def test_a_season_under_way_or_a_broken_plan_is_not_explained(folder: Path) -> None:
    season = dryline.load(folder)
    with pytest.raises(dryline.DrylineError, match="under way"):
        dryline.explain(replace(season, plan=replace(season.plan, as_of=season.plan.start)))
    first = season.plan.batches[0]
    late = replace(first, clear=first.sow)
    for _sources in ({}, season._sources):
        broken = replace(
            season,
            plan=replace(season.plan, batches=(late, *season.plan.batches[1:])),
            _sources=_sources,
        )
        with pytest.raises(dryline.DrylineError, match="order of dates"):
            dryline.explain(broken)


def test_weather_in_hand_goes_as_far_as_it_is_known() -> None:
    from scheduler.garden.file import load_garden
    from scheduler.garden.season_weather import weather_in_hand

    garden = load_garden(BALCONY)
    frame, of = garden.site.weather, weather_in_hand(garden)
    first, last = frame.index[0].date(), frame.index[-1].date()
    whole = of(first, last)
    assert whole is not None
    assert whole.equals(frame)
    assert of(first, date.fromordinal(last.toordinal() + 1)) is None
    assert of(date.fromordinal(first.toordinal() - 1), last) is None
    third = date.fromordinal(first.toordinal() + 2)
    later = of(third, last)
    assert later is not None
    assert later.index[0].date() == third


def test_all_faults_of_parameters_at_once(folder: Path) -> None:
    with pytest.raises(dryline.BadInput) as told:
        dryline.plan(
            BALCONY, time_limit=float("nan"), gap=-0.1, seed=1.5, workers=0, risk=5, past=None
        )
    assert [f.path for f in told.value.faults] == ["time_limit", "gap", "seed", "workers", "risk"]
    with pytest.raises(dryline.BadInput) as told:
        dryline.plan(BALCONY, past="years.csv", years=0)
    assert [f.path for f in told.value.faults] == ["past"]
    with pytest.raises(dryline.BadInput) as told:
        dryline.replan(folder, "log.csv", "tomorrow", freeze=-1, time_limit=0)
    assert [f.path for f in told.value.faults] == ["on", "freeze", "time_limit"]
    with pytest.raises(dryline.BadInput) as told:
        dryline.explain(folder, time_limit=-1, seed=-1, workers=1.5)
    assert [f.path for f in told.value.faults] == ["time_limit", "seed", "workers"]
    with pytest.raises(dryline.BadInput) as told:
        dryline.plan(folder / "no-garden.yaml", time_limit=1)
    assert "no-garden.yaml" in str(told.value)
    with pytest.raises(dryline.BadInput) as told:
        dryline.plan(BALCONY, time_limit=1, risk=0.1, past=folder / "no-years.csv")
    assert "no-years.csv" in str(told.value)
    for call in (
        lambda: dryline.load(folder / "nowhere"),
        lambda: dryline.explain(folder / "nowhere"),
        lambda: dryline.replan(folder, folder / "no-log.csv", "2027-05-01"),
    ):
        with pytest.raises(dryline.BadInput):
            call()


def test_versions_are_told_where_nothing_is_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Run from its source alone, dryline has no version on record; a plan is made all the same."""
    from importlib.metadata import PackageNotFoundError

    from scheduler.solvers import cp_sat

    known = cp_sat.version

    def version(name: str) -> str:
        if name == "dryline":
            raise PackageNotFoundError(name)
        return known(name)

    monkeypatch.setattr(cp_sat, "version", version)
    told = cp_sat.versions()
    assert told.pop("dryline") == "not installed"
    assert told == {name: known(name) for name in cp_sat.MADE_WITH[1:]}


def test_the_list_of_changes_is_of_the_version_that_is_built() -> None:
    import tomllib

    version = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["version"]
    lines = (ROOT / "scheduler" / "CHANGELOG.md").read_text("utf-8").splitlines()
    newest = next(line for line in lines if line.startswith("## "))
    assert newest.startswith(f"## {version},")
    groups = [line[4:] for line in lines if line.startswith("### ")]
    assert groups[:5] == ["Plans", "Promises", "Paper", "Files", "Speed"]
