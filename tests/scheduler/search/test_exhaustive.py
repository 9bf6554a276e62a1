"""Proofs against every plan there is: random tiny gardens, solved by a model written apart.

120 gardens in every run and 140 in CI, the same each time; 2,000 others by hand, as `random_gardens` tells. The
model knows ways to pick that no proof is about, as `scheduler.plans.restrictions` says: what is gained
by them is counted and told, and is no fault of a proof.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from draws import NAME, profiled
from exhaustive import Exhaustive, TooHard
from hypothesis import given
from hypothesis import strategies as st
from random_gardens import VESSELS, mostly, spans
from solver_case import EXAMPLES, changing_weather, tiny
from test_milp_outside import first_stage
from verify_case import batch, crop, day, garden, plan

from scheduler.base.faults import NoPlan
from scheduler.garden.file import load_garden
from scheduler.garden.model import Column, Demand, Garden, Limits, Nursery, Season, Tier
from scheduler.plans.model import BEST_FOUND, PROVEN
from scheduler.search.solve import solve
from scheduler.shortfall.solve_again import Task, linear_bound
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify

MOST, NODES = 1200, 200  # batches of a garden, nodes of its search, beyond which it is left out
COUNT = {"fast": 120, "ci": 140, "by-hand": 2000}[NAME]
TALLY = {
    "gardens": 0,
    "proven": 0,
    "limited": 0,
    "weekend": 0,
    "beyond": 0,
    "most": 0.0,
    "too large": 0,
}


def _of(*values: Any) -> st.SearchStrategy[Any]:
    return st.sampled_from(values)


@st.composite
def tiny_gardens(draw: st.DrawFn) -> Garden:
    """Up to four tiers and five weeks, quick crops, and limits that bind more often than not.

    Half are worked on at the weekend alone: in more of these nothing can grow (so they are longer,
    with no absence, and with seedlings that wait for the next weekend), and a third of those that
    are compared must be of that kind.
    """
    weekend = (5, 6)
    others = ((0, 2, 4), (1, 4), range(7), (2, 5, 6))
    work = draw(_of(*((weekend,) * 4), *others))
    days = draw(_of(28, 35) if work == weekend else _of(24, 28))
    away = draw(st.one_of(st.just([]), st.just([]), st.lists(spans(days), max_size=1)))
    season = Season(day(0), day(days - 1), frozenset(work), tuple(away))
    if season.work_mask.sum() < 4 or work == weekend:
        season = Season(day(0), day(days - 1), frozenset(work))
    heads = crop(
        "lettuce",
        nursery_days=draw(_of(3.0, 4.0)),
        nursery_wait=draw(_of(4.0, 7.0) if work == weekend else _of(4.0, 7.0, 2.0)),
        days_to_harvest=draw(_of(6.0, 8.0)),
        hold=draw(_of(4.0, 7.0, 2.0)),
        fresh_mass=draw(_of(100.0, 60.0, 7.5)),
        storage_life=draw(_of(5.0, 7.0, 0.0, 12.0)),
        peak_demand=draw(mostly(100.0, 300.0)),
        dli_min=draw(mostly(4.0, 15.0)),
        germination=1.0,
        bolt_heat=draw(mostly(None, 26.0)),
    )
    grown = {"lettuce": heads}
    if draw(st.booleans()):
        grown["chard"] = crop(
            "chard",
            group=draw(_of("greens", "lettuce")),
            nursery_days=3.0,
            nursery_wait=5.0,
            days_to_harvest=draw(_of(6.0, 9.0)),
            hold=draw(_of(3.0, 5.0)),
            fresh_mass=80.0,
            cuts=2,
            cut_interval=draw(_of(4.0, 7.0)),
            cut_shares=(0.6, 0.4),
            germination=1.0,
            after_cut=draw(_of(0.5, 1.0)),
            storage_life=5.0,
            dli_min=4.0,
        )
    sizes = draw(_of((2,), (3,), (4,), (1, 1), (2, 1), (1,), (2, 2)))
    kind, light, plants = (
        draw(st.sampled_from(sorted(VESSELS))),
        draw(_of(1.0, 0.7)),
        draw(_of(2, 3, 2, 4)),
    )
    columns = []
    for name, size in zip("AB", sizes, strict=False):
        free = [
            tuple(draw(mostly((), tuple(draw(st.lists(spans(days), max_size=1))))))
            for _ in range(size)
        ]
        columns.append(
            Column(name, tuple(Tier(k + 1, kind, light, plants, free[k]) for k in range(size)))
        )
    wishes = []
    for group in sorted({c.group for c in grown.values()}):
        first = draw(_of(0, 0, 10))
        wishes.append(
            Demand(
                group,
                tuple(n for n, c in grown.items() if c.group == group),
                draw(_of(400.0, 150.0, 1000.0)),
                day(first),
                day(days - 1),
                draw(_of(1.0, 2.5)),
            )
        )
    made = garden(
        season=season,
        vessels=VESSELS,
        columns=tuple(columns),
        nursery=Nursery(draw(_of(12, 8, 6, 4)), 20.0),
        demands=tuple(wishes),
        crops=grown,
        limits=Limits(
            lift_kg=draw(_of(None, None, None, 5.0, 9.0)),
            fills_per_day=draw(_of(None, 2, 1)),
            picks_per_day=draw(_of(1, 1, 2, None)),
            dry_margin_days=draw(_of(2, 0, 1)),
            turnaround_days=draw(_of(1, 0, 2)),
        ),
    )
    return changing_weather(made, draw(_of(0.0, 12.0, 25.0)))


WEEKEND = """
name: weekend garden (invented)
site: {{latitude: 44.1 degree, elevation: 180 m, climate: climate.csv}}
season: {{start: 2027-04-17, end: 2027-07-23, work_days: [sat, sun]}}
vessels:
  pail: {{shape: round, bottom: 26 cm, top: 29 cm, height: 37 cm, fill: 18 L, keep: 2 cm, mass: 1.6 kg}}
columns:
  - {{names: {names}, tiers: [{tiers}]}}
nursery: {{cells: 96, temperature: 20 degC}}
demand: [{{group: lettuce, per_week: {wish} g}}, {{group: greens, per_week: {wish} g}}]
limits: {{picks_per_day: {picks}}}
crops:
  which: [leaf_lettuce, pak_choi]
  overrides:
    leaf_lettuce: {{fresh_mass: 115 g, {pace}, light_exponent: 1}}
    pak_choi:
      {{fresh_mass: 116 g, nursery_days: 12 day, nursery_temperature: 20 degC, {pace},
       light_exponent: 0.6}}
"""


def weekend_garden(folder: Path, columns: int) -> Garden:
    """So many columns of four tiers, worked on at weekends, a pick a day for each column."""
    shutil.copy(EXAMPLES / "courtyard" / "climate.csv", folder)
    tier = "{vessel: pail, light: 1.0, plants: 4}"
    names = ", ".join("ABC"[:columns])
    (folder / "garden.yaml").write_text(
        WEEKEND.format(
            pace="days_to_harvest: 28 day, t_exponent: 1, light_gain: 0",
            names=f"[{names}]",
            tiers=", ".join([tier] * 4),
            wish=500 * columns,
            picks=columns,
        )
    )
    return load_garden(folder / "garden.yaml")


@pytest.mark.parametrize(("columns", "grams"), [(1, 2780), (2, 5564), (3, 8348)])
def test_a_weekend_garden_is_picked_on_sundays_too(
    tmp_path: Path, columns: int, grams: int
) -> None:
    """A Sunday's pick serves the weeks that a Saturday's does, and is wanted where that is full.

    With Saturdays alone 2,320, 4,640 and 6,960 g would be called the most.
    """
    g = weekend_garden(tmp_path, columns)
    if columns < 3:
        assert Exhaustive(g).best() == pytest.approx(grams)
    made = first_stage(g)
    assert verify(g, made).ok
    assert (made.stages[0].value, made.status) == (grams, PROVEN)
    weekdays = {p.date.weekday() for b in made.batches for p in b.picks}
    assert weekdays == {5, 6}


@pytest.mark.parametrize("picks", [1, 3])
def test_as_many_batches_as_the_days_have_picks(picks: int) -> None:
    """Seedlings of Saturday 5 go out on the Saturdays 19 and 26, ripe on days 39 and 46, Fridays.

    They hold 5 days: up to Sunday 41 and to the season's end on Sunday 48. Two Saturdays and two
    Sundays have a pick each, so that four batches of 400 g are picked for each pick a day.
    Half of that is what Saturdays alone would give. `shortfall` asks for the same bound.
    """
    g = tiny(49, tiers=4, columns="ABC"[:picks], work=(5, 6), cells=99, picks_per_day=picks)
    made = first_stage(g)
    assert verify(g, made).ok
    assert (made.stages[0].value, made.stages[0].bound, made.status) == (
        1600 * picks,
        1600 * picks,
        PROVEN,
    )
    task = Task(g, g, (), Settings(workers=1))
    assert linear_bound(task) == pytest.approx(1600 * picks)


@profiled(examples=COUNT)
@given(tiny_gardens())
def _proofs_hold(g: Garden) -> None:
    all_of = Exhaustive(g)
    if len(all_of.batches) > MOST:
        TALLY["too large"] += 1
        return
    try:
        made = first_stage(g)
    except NoPlan:
        assert all_of.best(named=True) == 0
        return
    verdict = verify(g, made)
    assert verdict.ok, verdict.broken[:3]
    produce = made.stages[0]
    try:
        most = all_of.best(nodes=NODES)
    except TooHard:
        TALLY["too large"] += 1
        return
    TALLY["gardens"] += 1
    TALLY["proven"] += produce.status == PROVEN
    TALLY["weekend"] += g.season.work_days == frozenset({5, 6})
    TALLY["limited"] += g.limits.picks_per_day is not None
    assert produce.value <= most + 1e-3, "this model misses a plan"
    if produce.bound is not None and produce.bound < most - 1e-3:
        inside = all_of.best(named=True, nodes=50 * NODES)
        assert produce.bound >= inside - 1e-3
        TALLY["beyond"] += 1
        TALLY["most"] = max(TALLY["most"], most / produce.bound - 1)


@pytest.mark.slow
def test_no_plan_beats_a_proof(capsys: pytest.CaptureFixture[str]) -> None:
    _proofs_hold()
    with capsys.disabled():
        print(
            f"\n{TALLY['gardens']:.0f} gardens, {TALLY['weekend']:.0f} of them at weekends, "
            f"{TALLY['proven']:.0f} proven, {TALLY['too large']:.0f} others too large; in "
            f"{TALLY['beyond']:.0f} picking on other days than a proof is about gives more, "
            f"by {TALLY['most']:.0%} at most"
        )
    assert TALLY["proven"] >= 0.9 * TALLY["gardens"]
    assert TALLY["gardens"] >= 0.4 * COUNT
    assert TALLY["limited"] >= 0.25 * COUNT
    assert TALLY["weekend"] >= TALLY["gardens"] / 3


def test_least_work_is_not_called_proven() -> None:
    """Two batches, one fill a day, 32 days: set out on days 10 and 11, ripe on days 30 and 31.

    The plan sows each as late as can be and picks each as soon: days 0, 1, 10, 11, 30, 31 and two
    fills are 8 points. Sown together on day 0 and picked together on day 31 they are 6, and
    `verify` finds nothing against it.
    """
    g = tiny(32, columns="AB", fills_per_day=1)
    made = solve(g, Settings(time_limit=60, gap=0.0, workers=1)).plan
    effort = made.stages[2]
    assert (effort.name, effort.bound, effort.status) == ("effort", None, BEST_FOUND)
    better = plan(
        batch("b1", "lettuce", "A1", 0, 10, [(31, 4)], 31),
        batch("b2", "lettuce", "B1", 0, 11, [(31, 4)], 31),
        start=g.season.start,
        end=g.season.end,
        unmet=made.unmet,
        status=made.status,
        stages=(*made.stages[:2], replace(effort, value=6.0)),
    )
    verdict = verify(g, better)
    assert verdict.ok, verdict.broken
    assert verdict.values["effort"] == 6 < effort.value
    assert verdict.values["produce"] == made.stages[0].value
