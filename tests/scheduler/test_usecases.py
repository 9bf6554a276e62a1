"""One way to plan and one to plan again, whoever asks: the same refusals, the same reasons."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import timedelta
from itertools import islice
from pathlib import Path

import pytest
from season_case import BALCONY

from scheduler.base.faults import NoPlan, OwnFault
from scheduler.cli import main
from scheduler.garden.file import garden_sources, load_garden
from scheduler.many.gardens import NO_PLAN, Job, plan_garden
from scheduler.plans.folder import read_plan_dir, write_plan_dir
from scheduler.plans.model import RiskTaken
from scheduler.shortfall import no_plan
from scheduler.shortfall.no_plan import explained
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import Ask, Within, plan_again, plan_season, refuse_broken
from scheduler.verify import verify

QUICK = Settings(time_limit=3.0, workers=1, deterministic=0.3)
NEEDED = "every batch that could be picked needs at least"


@pytest.fixture(autouse=True)
def one_kind_of_change(monkeypatch: pytest.MonkeyPatch) -> None:
    """More cells are what is tried first; the rest is tested elsewhere."""
    ladders = no_plan.ladders
    monkeypatch.setattr(no_plan, "ladders", lambda *given: islice(ladders(*given), 1))


@pytest.fixture
def one_cell(tmp_path: Path) -> Path:
    """The balcony with a nursery of one cell: three plants a tier need more, so nothing grows."""
    shutil.copytree(BALCONY.parent, tmp_path / "garden")
    file = tmp_path / "garden" / "garden.yaml"
    text = file.read_text()
    assert "cells: 12" in text
    file.write_text(text.replace("cells: 12", "cells: 1"))
    return file


def refused(*arguments: object) -> int:
    with pytest.raises(SystemExit) as ended:
        main([str(a) for a in arguments])
    return int(ended.value.code or 0)


@pytest.mark.slow
@pytest.mark.parametrize("options", [(), ("--risk", "50%"), ("--gap", "1")])
def test_an_empty_plan_is_refused_with_any_option(
    one_cell: Path, tmp_path: Path, options: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "plan"
    limit = ("--time-limit", 2, "--workers", 1)
    assert refused("plan", one_cell, "--out", out, *limit, *options) == 3
    told = capsys.readouterr().err
    assert NEEDED in " ".join(told.split())
    assert "more nursery cells" in told
    assert not out.exists()


@pytest.mark.slow
def test_many_gardens_and_shortfall_refuse_alike(
    one_cell: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The reasons first; which remedies follow depends on the time there was."""
    job = Job("one", "unused", garden_sources(one_cell), QUICK)
    made = plan_garden(job)
    assert made.outcome == NO_PLAN
    assert refused("shortfall", one_cell, "--time-limit", 6, "--workers", 1) == 3
    for told in (made.message, capsys.readouterr().err):
        assert NEEDED in " ".join(told.split())
        assert "more nursery cells" in told


def test_nothing_can_grow_is_told_alike(one_cell: Path) -> None:
    """Where there is no candidate at all many gardens tell the rules and remedies, as plan does."""
    file = one_cell
    text = file.read_text()
    for share in ("90 %", "75 %", "60 %"):
        text = text.replace(f"light: {share}", "light: 1 %")
    file.write_text(text)
    told = plan_garden(Job("dark", "unused", garden_sources(file), QUICK)).message
    assert "too dark: DLI" in told
    with pytest.raises(NoPlan, match="too dark: DLI"):
        plan_season(file, QUICK)


@pytest.mark.slow
def test_within_a_risk_the_remedies_keep_the_risk(one_cell: Path) -> None:
    """Nothing is below a risk that no batch keeps: the change that helps must keep it as well."""
    with pytest.raises(NoPlan) as error:
        plan_season(one_cell, QUICK, Within(0.02))
    assert "more nursery cells" in error.value.text()
    garden = load_garden(one_cell)
    from scheduler.risk.limit import RiskLimit

    limit = RiskLimit(garden, 0.02, 0, None, one_cell, 100)
    warmer = replace(garden, site=replace(garden.site, weather=garden.site.weather.copy()))
    assert limit.of(garden) is limit
    assert limit.of(warmer).years is not limit.years
    limit.most = -1.0  # nothing is as safe as that
    text = "\n".join(explained(garden, limit=limit))
    assert "no crop can grow" in text
    assert "more nursery cell" not in text


def test_a_plan_of_ours_that_breaks_a_rule_is_a_fault_of_ours(season: Path) -> None:
    garden, plan = read_plan_dir(season)
    refuse_broken(garden, plan)
    late = replace(plan.batches[0], clear=plan.batches[0].sow)
    with pytest.raises(OwnFault, match="order of dates") as error:
        refuse_broken(garden, replace(plan, batches=(late, *plan.batches[1:])))
    assert error.value.exit_code == 1


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The balcony, planned within a risk of 20 %."""
    folder = tmp_path_factory.mktemp("plans") / "balcony"
    made = plan_season(BALCONY, QUICK, Within(0.2))
    write_plan_dir(folder, made.plan, made.sources)
    return folder


@pytest.mark.slow
def test_planned_again_within_the_risk_of_the_plan(season: Path, tmp_path: Path) -> None:
    """On the page as on the command line: the plan's own risk is kept, and a plan is verified."""
    from scheduler.log.model import HEADER, read_log
    from scheduler.page.again import Desk, Search, Wish
    from scheduler.page.book import Book

    folder = tmp_path / "plan"
    shutil.copytree(season, folder)
    garden, plan = read_plan_dir(folder)
    assert plan.risk == RiskTaken(0.2, 0, 1000)
    first = plan.batches[0]
    lost = f"{HEADER}\n{first.sow},failed,{first.column},{first.tier},{first.crop},,,\n"
    (folder / "log.csv").write_text(lost)
    on = first.sow + timedelta(days=1)
    log = read_log(lost.encode(), "log.csv", garden)
    again = plan_again(folder, garden, plan, log, Ask(on), QUICK)
    assert again.done.plan.risk == plan.risk
    desk = Desk(Book(folder), QUICK)
    wish = Wish(on, 0, 25.0, 3.0)
    assert desk.start(lambda book, settings: Search(book, wish, settings))
    assert desk.search is not None
    desk.search.join(60)
    assert desk.search.outcome is not None, desk.search.refused
    assert desk.search.outcome.done.plan.risk == plan.risk
    desk.accept()
    new_garden, new = read_plan_dir(folder)
    assert new.risk == plan.risk
    assert verify(new_garden, new).ok
    assert json.loads((folder / "changes.json").read_text())["risk"]["most"] == 0.2
