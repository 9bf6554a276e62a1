"""A plan like one that is known: what is kept, what a change must bring, what is told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from verify_case import day, heads, plan

from scheduler.base.faults import BadInput
from scheduler.cli import cli
from scheduler.garden.file import load_garden
from scheduler.plans.model import Plan
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases.liking import Like, diff_of, fitting, matched, named_alike
from scheduler.usecases.planning import Planned, plan_season
from scheduler.verify import verify

BALCONY = Path(__file__).parents[2] / "examples" / "balcony" / "garden.yaml"
QUICK = Settings(time_limit=600, workers=1, deterministic=0.02)


def test_a_batch_is_the_old_one_within_a_week_of_its_days() -> None:
    """7 days later it is the same, 8 days later another; another tier or crop is another."""
    old = [heads("b1", "A1", 20), heads("b2", "A2", 20)]
    assert matched(old, [heads("n1", "A1", 27), heads("n2", "A2", 28)]) == {"n1": "b1"}
    assert matched(old, [heads("n1", "A3", 20)]) == {}
    assert matched(old, [replace(heads("n1", "A1", 20), crop="chard")]) == {}


def test_the_nearest_days_go_together_and_each_old_one_goes_once() -> None:
    old = [heads("b1", "A1", 20), heads("b2", "A1", 26)]
    new = [heads("n1", "A1", 22), heads("n2", "A1", 27), heads("n3", "A1", 25)]
    assert matched(old, new) == {"n2": "b2", "n1": "b1"}


def test_what_is_kept_keeps_its_name_and_new_ones_get_numbers_of_their_own() -> None:
    old = plan(heads("b003", "A1", 20), heads("b007", "A2", 20))
    new = plan(heads("b001", "A2", 22), heads("b002", "B1", 20))
    assert [b.id for b in named_alike(old, new).batches] == ["b007", "b008"]


@pytest.mark.parametrize("price", [0.0, 25.0, 75.0])
def test_each_batch_dropped_or_added_costs_its_price(price: float) -> None:
    """Of three one is kept, so two are dropped, and one is added: three changes."""
    old = plan(heads("b1", "A1", 20), heads("b2", "A2", 20), heads("b3", "A3", 20))
    now = [heads("n1", "A1", 21), heads("n2", "B1", 20)]
    assert Like(old, price).cost(now) == pytest.approx(3 * price)


def test_what_the_garden_no_longer_has_is_told_as_dropped() -> None:
    garden = load_garden(BALCONY)
    season = {"start": garden.season.start, "end": garden.season.end}
    lost = replace(heads("b9", "A1", 20), crop="okra")
    old = plan(lost, **season)
    assert fitting(garden, old).batches == ()
    found = diff_of(garden, old, plan(**season))
    assert [(c.kind, c.id) for c in found.changes] == [("dropped", "b9")]
    assert "no longer in the garden" in found.changes[0].why


@pytest.fixture(scope="module", autouse=True)
def _as_heavy_as_found() -> Iterator[None]:
    patch = pytest.MonkeyPatch()
    patch.setattr("scheduler.search.lighter.lighter", lambda garden, season, *_: season.plan)
    yield
    patch.undo()


@pytest.fixture(scope="module")
def first() -> Planned:
    return plan_season(BALCONY, QUICK, years=4)


def changes(old: Plan, new: Plan) -> int:
    return len(old.batches) + len(new.batches) - 2 * len(matched(old.batches, new.batches))


@pytest.mark.slow
@pytest.mark.parametrize(("price", "most"), [(1e5, 0), (25.0, 4)])
def test_with_one_more_cell_little_changes_and_nothing_where_a_change_is_dear(
    first: Planned, price: float, most: int
) -> None:
    garden = replace(first.garden, nursery=replace(first.garden.nursery, cells=13))
    made = plan_season(garden, replace(QUICK, seed=5), years=4, like=Like(first.plan, price))
    assert changes(first.plan, made.plan) <= most
    assert verify(made.garden, made.plan).ok
    if not most:
        assert {b.id for b in made.plan.batches} == {b.id for b in first.plan.batches}
        assert first.plan.promise is not None
        assert made.plan.promise is not None
        assert made.plan.promise.usual == pytest.approx(first.plan.promise.usual, abs=0.03)


@pytest.mark.slow
def test_what_can_no_longer_be_done_changes_whatever_its_price(first: Planned) -> None:
    """The lowest tier is gone: its batches are dropped, and no other need be."""
    column = first.garden.columns[0]
    garden = replace(first.garden, columns=(replace(column, tiers=column.tiers[:2]),))
    made = plan_season(garden, QUICK, years=4, like=Like(first.plan, 1e5))
    lost = sum(b.tier == column.tiers[2].number for b in first.plan.batches)
    assert changes(first.plan, made.plan) == lost
    assert verify(made.garden, made.plan).ok


@pytest.mark.slow
def test_the_program_tells_what_changes(tmp_path: Path) -> None:
    def run(*arguments: object, code: int = 0) -> str:
        done = CliRunner().invoke(cli, [str(a) for a in arguments])
        assert done.exit_code == code, done.output
        told = str(done.exception) if isinstance(done.exception, BadInput) else done.output
        return " ".join(told.split())

    quick = ("--time-limit", 5, "--workers", 1)
    run("plan", BALCONY, "--out", tmp_path / "one", *quick)
    said = run("plan", BALCONY, "--out", tmp_path / "two", *quick, "--like", tmp_path / "one")
    assert f"Against the plan in {tmp_path / 'one'}:" in said
    assert "stay" in said
    run("verify", tmp_path / "two")
    other = tmp_path / "later.yaml"
    text = (
        BALCONY.read_text()
        .replace("2027-", "2029-")
        .replace("climate.csv", str(BALCONY.with_name("climate.csv")))
    )
    other.write_text(text)
    said = run(
        "plan", other, "--out", tmp_path / "three", *quick, "--like", tmp_path / "one", code=1
    )
    assert "season: 2027-03-29 to 2027-06-27" in said
    assert not (tmp_path / "three").exists()
    assert "--years 0" in run(
        "plan", BALCONY, "--out", tmp_path / "x", "--years", 0, "--like", tmp_path / "one", code=2
    )


def test_days_of_the_case() -> None:
    """`heads` are sown ten days before: a week later for both is within a week for both."""
    assert heads("b1", "A1", 27).sow == day(17)
