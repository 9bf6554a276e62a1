"""A plan like one that is known: what is kept, what a change must bring, what is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from verify_case import day, heads, plan
from verify_case import garden as tiny

from scheduler.base.faults import BadInput
from scheduler.cli import cli
from scheduler.garden.file import load_garden
from scheduler.lived.doubt import Doubt
from scheduler.lived.live import live, worth_of
from scheduler.lived.worth import FLAT
from scheduler.mix.fills import with_solution
from scheduler.plans.model import Batch
from scheduler.plans.told import matched
from scheduler.schedule.assemble import wish_total
from scheduler.search.living.known import cost, known_of, lacking
from scheduler.search.living.options import ROW
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases.choosing import Made, _Looking, best_lived
from scheduler.usecases.liking import Like, diff_of, fitting, named_alike, stays_of
from scheduler.usecases.planning import Planned, plan_season, refuse_broken
from scheduler.usecases.promising import YearsOf
from scheduler.verify import verify

BALCONY = Path(__file__).parents[2] / "examples" / "balcony" / "garden.yaml"
QUICK = Settings(time_limit=600, workers=1, deterministic=0.02)


SEASON = tiny().season  # every day is a work day
MON_WED_FRI = replace(SEASON, work_days=frozenset({0, 2, 4}))
MON_WED = replace(SEASON, work_days=frozenset({0, 2}))


def test_a_batch_stays_if_sown_on_its_day_and_planted_in_the_days_the_calendar_tells() -> None:
    """Sown on day 10, planted on 20, by 23 at the latest: 23 is in time, 24 and 19 are not."""
    old = [replace(heads("b1", "A1", 20), transplant_until=day(23))]
    for planted, same in ((19, False), (20, True), (23, True), (24, False)):
        new = replace(heads("n1", "A1", planted), sow=day(10))
        assert bool(matched(SEASON, old, [new])) is same
    for sown in (9, 11):
        assert not matched(SEASON, old, [replace(heads("n1", "A1", 20), sow=day(sown))])
    assert not matched(SEASON, old, [heads("n1", "A3", 20)])
    assert not matched(SEASON, old, [replace(heads("n1", "A1", 20), crop="chard")])


@pytest.mark.parametrize(
    ("sown", "planted", "same"),
    [(7, 16, True), (9, 21, True), (7, 21, True), (2, 16, False), (9, 23, False)],
)
def test_where_its_day_is_gone_the_work_days_next_to_it_stand_for_both(
    sown: int, planted: int, same: bool
) -> None:
    """Day 0 is a Monday, so 4, 11 and 18 are Fridays: without Fridays what was planted on Friday 18
    may be planted on Wednesday 16 or Monday 21. Its seedlings were sown on Wednesday 9; as both go
    together they may be of Monday 7, of that Wednesday or of Monday 14; not of Wednesday 2."""
    old = [replace(heads("b1", "A1", 18), sow=day(9))]
    new = [replace(heads("n1", "A1", planted), sow=day(sown))]
    assert bool(matched(MON_WED, old, new)) is same
    assert not matched(MON_WED_FRI, old, new)  # Friday is there still: nothing else is the same


def test_the_nearest_days_go_together_and_each_old_one_goes_once() -> None:
    def batch(name: str, planted: int, until: int) -> Batch:
        made = replace(heads(name, "A1", planted), sow=day(10))
        return replace(made, transplant_until=day(until))

    old = [batch("b1", 20, 27), batch("b2", 26, 30)]
    new = [batch("n1", 22, 22), batch("n2", 27, 27), batch("n3", 25, 25)]
    assert matched(SEASON, old, new) == {"n2": "b2", "n1": "b1"}


def test_what_is_kept_keeps_its_name_and_new_ones_get_numbers_of_their_own() -> None:
    old = plan(heads("b003", "A1", 20), heads("b007", "A2", 20))
    new = plan(heads("b001", "A2", 20), heads("b002", "B1", 20))
    assert [b.id for b in named_alike(SEASON, old, new).batches] == ["b007", "b008"]


@pytest.mark.parametrize("price", [0.0, 25.0, 75.0])
def test_each_batch_dropped_or_added_costs_its_price_and_one_lacking_more_than_all(
    price: float,
) -> None:
    """Of three one is kept, planted a day later, and two are dropped; one is added: three changes
    and a quarter. Of three, 60 % are 1.8, so two are to stay, and one is lacking: the whole wish.
    """
    garden = tiny()
    first = replace(heads("b1", "A1", 20), transplant_until=day(21))
    old = plan(first, heads("b2", "A2", 20), heads("b3", "A3", 20))
    now = [replace(heads("n1", "A1", 21), sow=day(10)), heads("n2", "B1", 20)]
    grams = 3.25 * price / wish_total(garden)
    assert Like(old, price, 0.33).after_changes(garden, now, 0.5) == pytest.approx(0.5 - grams)
    assert Like(old, price, 0.6).need == 2
    assert Like(old, price, 0.6).after_changes(garden, now, 0.5) == pytest.approx(-0.5 - grams)


@pytest.mark.parametrize(("keep", "need"), [(0.0, 0), (0.8, 4), (0.81, 5), (1.0, 5)])
def test_so_many_are_to_stay(keep: float, need: int) -> None:
    assert Like(plan(*(heads(f"b{k}", "A1", 20) for k in range(5))), keep=keep).need == need


def test_the_search_counts_changes_as_they_are_told() -> None:
    """The case of the prices above, once more as arrays: 1 of 3 stays, moved; 3 changes."""
    garden = tiny()
    first = replace(heads("b1", "A1", 20), transplant_until=day(21))
    old = [first, heads("b2", "A2", 20), heads("b3", "A3", 20)]
    crop = list(garden.crops).index(first.crop)
    rows = np.zeros(2, dtype=ROW)
    rows["crop"], rows["sow"], rows["start"] = crop, 10, (21, 20)
    places = [(c.name, t.number) for c in garden.columns for t in c.tiers]
    tiers = np.array([places.index(("A", 1)), places.index(("B", 1))])
    for need, short in ((0, 0), (1, 0), (2, 1), (3, 2)):
        known = known_of(garden, old, need, 8.0, 2.0)
        assert cost(known, rows, np.arange(2), tiers) == pytest.approx(3 * 8 + 2)
        assert lacking(known, rows, np.arange(2), tiers) == short
    assert cost(known_of(garden), rows, np.arange(2), tiers) == 0


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


@pytest.mark.slow
@pytest.mark.parametrize("keep", [0.0, 0.75, 1.0])
def test_as_many_stay_as_are_to_and_it_brings_no_less(first: Planned, keep: float) -> None:
    """What most batches grow now weighs a fifth, so that a free search plants something else.

    A change costs nothing, so that nothing but the share to keep holds it back. The old plan can
    still be done as it is; lived in the years that choose, none is taken that brings less.
    """
    crops = first.garden.crops
    poor = Counter(b.crop for b in first.plan.batches).most_common(1)[0][0]
    light = replace(crops[poor], fresh_mass=crops[poor].fresh_mass / 5)
    garden = replace(first.garden, crops={**crops, poor: light})
    known = YearsOf(garden, 4, QUICK.seed)
    like, more = Like(first.plan, 0.0, keep), replace(QUICK, deterministic=0.1)
    made = best_lived(
        *(known.garden, garden, 4, known.choosing, more, QUICK.seed),
        planning=known.planning,
        taste=known.taste,
        like=like,
    )
    stay = len(matched(garden.season, first.plan.batches, made.plan.batches))
    assert stay >= like.need if keep else stay < 0.75 * len(first.plan.batches)
    old = live(garden, first.plan.batches, known.choosing, doubt=Doubt(), seed=QUICK.seed)
    assert made.worth >= float(worth_of(garden, old, known.taste).mean()) - 1e-9
    planned = replace(made.garden, limits=garden.limits)
    # What a simple rule brings is compared with plans of the mean year, and this has no promise yet.
    plain = replace(made.plan, by_hand={})
    refuse_broken(planned, with_solution(planned, plain))


def test_what_may_be_chance_is_no_reason_to_change() -> None:
    """Of four years one brings 0.4 more: 0.1 on the mean, of which the standard error is 0.1 too
    (0.2 of deviation by the root of 4). 0.1 more in every year is no chance."""
    looking = _Looking(tiny(), None, 0, True, FLAT, Like(plan(), 0.0, 0.0))  # type: ignore[arg-type]

    def made(*by_year: float) -> Made:
        worth = np.array(by_year)
        return Made(tiny(), None, plan(), float(worth.mean()), 4, 1.0, by_year=worth)  # type: ignore[arg-type]

    looking.was = was = made(0.5, 0.5, 0.5, 0.5)
    chance, sure = made(0.5, 0.5, 0.5, 0.9), made(0.6, 0.6, 0.6, 0.6)
    assert looking.surely(chance) is was
    assert looking.surely(sure) is sure
    looking.was = None
    assert looking.surely(chance) is chance


@pytest.mark.slow
def test_what_can_no_longer_be_done_changes_and_nothing_else(first: Planned) -> None:
    """The lowest tier is gone: its batches are dropped, and no other need be."""
    column = first.garden.columns[0]
    garden = replace(first.garden, columns=(replace(column, tiers=column.tiers[:2]),))
    made = plan_season(garden, QUICK, years=4, like=Like(first.plan, 0.0, 1.0))
    lost = sum(b.tier == column.tiers[2].number for b in first.plan.batches)
    assert lost
    stays = stays_of(garden, first.plan, made.plan, 1.0)
    assert stays.stay == stays.wanted == stays.known - lost
    assert verify(made.garden, made.plan).ok
    told = diff_of(garden, first.plan, made.plan)
    assert len(told.of("dropped")) == lost


@pytest.mark.slow
def test_the_program_tells_what_changes(tmp_path: Path) -> None:
    def run(*arguments: object, code: int = 0) -> str:
        done = CliRunner().invoke(cli, [str(a) for a in arguments])
        assert done.exit_code == code, done.output
        told = str(done.exception) if isinstance(done.exception, BadInput) else done.output
        return " ".join(told.split())

    quick = ("--time-limit", 1, "--workers", 1, "--years", 4)
    run("plan", BALCONY, "--out", tmp_path / "one", *quick)
    said = run("plan", BALCONY, "--out", tmp_path / "two", *quick, "--like", tmp_path / "one")
    assert f"Against the plan in {tmp_path / 'one'}:" in said
    assert "Batches that stay in their tier on the days told: " in said
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
    """`heads` are sown ten days before they are planted; day 0 is a Monday."""
    assert heads("b1", "A1", 27).sow == day(17)
    assert day(0).weekday() == 0
