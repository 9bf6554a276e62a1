"""A season planned from what stands today: tiers are taken, levels tell, seedlings are planted."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from standing_case import standing, write

from scheduler.base.faults import BadInput, DrylineError
from scheduler.cli import main
from scheduler.log.model import Entry, Log
from scheduler.outputs.shopping import shopping
from scheduler.outputs.work import work_items
from scheduler.plans.folder import read_plan_dir
from scheduler.plans.model import GROWING, PLANNED, SOWN, Plan
from scheduler.replanning.rebalance import rebalance
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import Planned, explain_plan, plan_season
from scheduler.verify import verify

QUICK = Settings(time_limit=4.0, workers=1)
TODAY = date(2027, 6, 7)
FULL = """standing:
  - {crop: leaf_lettuce, column: A, tier: 1, planted_on: 2027-05-20, level: 26 cm}
  - {crop: leaf_lettuce, column: A, tier: 2, planted_on: 2027-05-20}
  - {crop: kale, column: B1, tier: 1, size: 30 %, plants: 2}
seedlings:
  - {crop: leaf_lettuce, sown_on: 2027-05-26, cells: 4}
"""


def made(folder: Path, more: str, years: int = 0) -> Planned:
    return plan_season(write(folder, more, until="2027-08-01"), QUICK, years=years)


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    return made(tmp_path_factory.mktemp("yard"), FULL)


def batch_in(plan: Plan, column: str, tier: int, state: str = GROWING):
    return next(b for b in plan.batches if (b.column, b.tier, b.state) == (column, tier, state))


@pytest.mark.slow
def test_a_tier_is_taken_until_its_crop_is_cleared(full: Planned) -> None:
    """A day of turnaround: the next is planted one day after clearing or later."""
    plan = full.plan
    assert verify(full.garden, plan).ok
    assert plan.as_of == TODAY
    for column, tier in (("A", 1), ("A", 2), ("B1", 1)):
        stands = batch_in(plan, column, tier)
        assert stands.picks
        assert stands.picks[0].date >= TODAY
        later = [
            b for b in plan.batches if (b.column, b.tier) == (column, tier) and b.id != stands.id
        ]
        assert all(b.transplant > stands.clear for b in later)
    assert any(b.state == PLANNED for b in plan.batches)
    assert all(b.sow >= TODAY for b in plan.batches if b.state == PLANNED)


@pytest.mark.slow
def test_seedlings_hold_their_cells_and_are_planted(full: Planned) -> None:
    """All 4 cells are theirs: nothing is sown before they leave the nursery."""
    sown = next(b for b in full.plan.batches if b.state == SOWN)
    assert (sown.sow, sown.cells, sown.plants) == (date(2027, 5, 26), 4, 3)
    assert all(b.sow >= sown.transplant for b in full.plan.batches if b.state == PLANNED)
    assert any("Seedlings of leaf lettuce (4 cells): plant in" in line for line in full.stands)


@pytest.mark.slow
def test_the_calendar_begins_today_and_has_the_picks_of_what_stands(full: Planned) -> None:
    items = work_items(full.garden, full.plan)
    assert min(w.date for w in items) >= TODAY
    picks = {(w.column, w.tier, w.date) for w in items if w.kind == "pick"}
    stands = batch_in(full.plan, "A", 1)
    assert ("A", 1, stands.picks[0].date) in picks
    assert not [w for w in items if w.kind == "sow" and w.batch == stands.id]


@pytest.mark.slow
def test_a_low_level_is_picked_sooner(tmp_path: Path) -> None:
    """Planted on 15 May, half grown. At 25 cm as if little was drunk; at 11 cm soon dry."""
    last = {}
    for level in (25, 11):
        folder = tmp_path / str(level)
        folder.mkdir()
        write(folder, "", until="2027-07-25")
        told = f"crop: leaf_lettuce, column: A, tier: 1, planted_on: 2027-05-15, level: {level} cm"
        path = folder / "garden.yaml"
        whole = path.read_text()
        tiers = whole[whole.index("      - {vessel: tub, light: 80") : whole.index("nursery:")]
        path.write_text(whole.replace(tiers, "") + standing(told))  # one tier alone
        done = plan_season(path, replace(QUICK, time_limit=1.0))
        stands = batch_in(done.plan, "A", 1)
        now = next(v for v in stands.levels if v.date == TODAY)
        assert now.depth_cm == pytest.approx(level, abs=0.1)
        assert verify(done.garden, done.plan).ok
        last[level] = stands
    assert last[11].picks[-1].date < last[25].picks[-1].date
    assert last[11].demand_factor > 1 > last[25].demand_factor


@pytest.mark.parametrize(("level", "word"), [("15 L", "topped up"), ("0.2 L", "leak")])
def test_a_level_that_cannot_be_is_refused_by_its_line(
    tmp_path: Path, level: str, word: str
) -> None:
    more = standing(f"crop: kale, column: A, tier: 1, planted_on: 2027-05-24, level: {level}")
    if word == "topped up":
        more = more.replace("2027-05-24", "2027-04-20")
    with pytest.raises(BadInput, match=word) as caught:
        made(tmp_path, more)
    (fault,) = caught.value.faults
    assert fault.path == "standing[0].level"
    assert (
        fault.line
        == (tmp_path / "garden.yaml").read_text().splitlines().index(more.splitlines()[1]) + 1
    )


@pytest.mark.slow
def test_the_check_finds_what_does_not_stand_as_told(full: Planned) -> None:
    """Each spoilt plan breaks a claim of its own; the plan itself breaks none."""
    plan, garden = full.plan, full.garden
    stands = batch_in(plan, "A", 1)
    sown = next(b for b in plan.batches if b.state == SOWN)
    planned = next(b for b in plan.batches if b.state == PLANNED)

    def spoilt(old, **changes):
        new = replace(old, **changes)
        return replace(plan, batches=tuple(new if b is old else b for b in plan.batches))

    for other, words in (
        (replace(plan, batches=tuple(b for b in plan.batches if b is not stands)), "no such batch"),
        (spoilt(stands, plants=2), "no such batch"),
        (spoilt(stands, crop="kale"), "no such batch"),
        (spoilt(stands, transplant=stands.transplant - timedelta(days=1)), "no such batch"),
        (spoilt(stands, demand_factor=stands.demand_factor * 1.3), "the garden tells"),
        (spoilt(sown, cells=3), "no such seedlings"),
        (spoilt(planned, state=GROWING), "nothing stands there since"),
        (spoilt(planned, sow=TODAY - timedelta(days=1)), "the first day planned"),
    ):
        told = [b.message for b in verify(garden, other).broken if b.rule == "claims"]
        assert any(words in message for message in told), words


@pytest.mark.slow
def test_with_years_it_promises_and_its_folder_is_whole(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, out = write(tmp_path, FULL, until="2027-08-01"), tmp_path / "season"
    with pytest.raises(SystemExit) as ended:
        main(["plan", str(path), "--out", str(out), "--time-limit", "3", "--years", "5", "--json"])
    assert not ended.value.code
    body = json.loads(capsys.readouterr().out)
    assert len(body["stands"]) == 4
    garden, plan = read_plan_dir(out)
    assert garden.today == TODAY
    assert plan.promise is not None
    assert plan.promise.usual > 0
    assert verify(garden, plan).ok
    begun = {b.id for b in plan.batches if b.state != PLANNED}
    items = work_items(garden, plan)
    assert not [w for w in items if w.kind == "sow" and w.batch in begun]
    assert not [w for w in items if w.kind == "fill" and w.batch in begun and w.date <= TODAY]
    assert min(w.date for w in items) >= TODAY
    assert "PICK" in (out / "calendar.txt").read_text()
    with pytest.raises(DrylineError, match="stands in this garden already"):
        explain_plan(out, QUICK)
    with pytest.raises(DrylineError, match="stands in this garden already"):
        explain_plan(path, QUICK)


@pytest.mark.slow
def test_it_is_planned_again_from_a_log_as_any_season(full: Planned) -> None:
    """A level of the standing crop a week later; not before the day on which it was planned."""
    stands = batch_in(full.plan, "A", 1)
    on = TODAY + timedelta(days=7)
    expected = next(v for v in stands.levels if v.date == on)
    litres = round(expected.litres - 1.0, 2)
    log = Log("log.csv", (Entry(2, on, "level", "A", 1, "", litres, "L"),))
    again = rebalance(full.garden, full.plan, log, on, Settings(time_limit=2.0, workers=1))
    assert verify(full.garden, again.plan).ok
    assert batch_in(again.plan, "A", 1).demand_factor > stands.demand_factor
    with pytest.raises(BadInput, match="before it begins"):
        rebalance(full.garden, full.plan, Log("log.csv", ()), TODAY - timedelta(days=1))


@pytest.mark.slow
def test_what_stands_is_not_bought(full: Planned) -> None:
    """Seeds of what is planned alone; fills of that and of the seedlings."""
    plan = full.plan
    list_ = shopping(full.garden, plan)
    assert sum(s.seeds for s in list_.seeds) == sum(
        b.seeds for b in plan.batches if b.state == PLANNED
    )
    assert sum(s.fills for s in list_.solutions) == sum(
        b.state in (PLANNED, SOWN) for b in plan.batches
    )
