"""A plan found again among the candidates of its garden and of a changed one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from relax_case import STEADILY, crowded_nursery, day, mondays, out_of_step, wished
from solver_case import EXAMPLES, example, tiny
from verify_case import CHARD

from scheduler.batches.candidates import build
from scheduler.batches.courses import NEVER
from scheduler.garden.model import Demand, Garden
from scheduler.garden.season_weather import weather_of
from scheduler.plans.model import Plan
from scheduler.schedule.problem import Choice, by_tier
from scheduler.search import warm_start as warm_start
from scheduler.search.layouts import access_matters
from scheduler.search.solve import solve
from scheduler.shortfall.changed_garden import longer
from scheduler.shortfall.eased_rules import further_work_day
from scheduler.shortfall.solve_again import Task, candidates, linear_bound, solve_again


@pytest.fixture(scope="module")
def stacked() -> tuple[Garden, Plan]:
    g = out_of_step()
    return g, solve(g, STEADILY).plan


def test_every_batch_is_found(stacked: tuple[Garden, Plan]) -> None:
    g, plan = stacked
    cand, _ = build(g)
    rows = warm_start.rows_of(plan.batches, cand)
    for batch, row in zip(plan.batches, rows, strict=True):
        assert cand.at("transplant", row) == g.season.index(batch.transplant)
        assert cand.crop_names[cand.at("crop", row)] == batch.crop
        days = cand.pick_day[row]
        assert [g.season.date(d) for d in days[days < NEVER].tolist()] == [
            p.date for p in batch.picks
        ]
    problem = by_tier(cand)
    choices = warm_start.choices_of(plan.batches, rows, problem)
    assert len(choices) == len(plan.batches)
    assert warm_start.keeps_every_rule(problem, access_matters(cand), choices)


def test_what_is_no_candidate_is_left_out(stacked: tuple[Garden, Plan]) -> None:
    g, plan = stacked
    cand, _ = build(g)
    first = plan.batches[0]
    odd = [
        replace(first, crop="kale"),
        replace(first, column="Z"),
        replace(first, transplant=first.transplant.replace(year=2030)),
        replace(first, picks=()),
    ]
    assert warm_start.rows_of(odd, cand) == [-1] * 4
    assert warm_start.choices_of(odd, [-1] * 4, by_tier(cand)) == []


def test_a_schedule_that_breaks_a_rule_is_no_beginning(stacked: tuple[Garden, Plan]) -> None:
    """The same batch twice in one tier; and one cleared on no work day."""
    g, plan = stacked
    problem = by_tier(build(g)[0])
    rows = warm_start.rows_of(plan.batches, problem.cand)
    choices = warm_start.choices_of(plan.batches, rows, problem)
    access = access_matters(problem.cand)
    assert not warm_start.keeps_every_rule(problem, access, [*choices, choices[0]])
    late = [Choice(c.decision, NEVER) for c in choices]
    assert not warm_start.keeps_every_rule(problem, access, late)


def test_a_further_work_day_takes_no_pick_away() -> None:
    """Chard is cut on the first work day on which it has grown back: with Tuesdays too, none of the
    cuts on Wednesdays after a Tuesday would be offered. They are put back, each once."""
    g = wished(tiny(75, work=(0, 2)))
    g = replace(
        g,
        demands=(*g.demands, Demand("greens", ("chard",), 500.0, day(0), day(74))),
        crops={**g.crops, "chard": replace(CHARD, nursery_wait=6.0)},
    )
    eased = next(further_work_day(g)).garden
    old, new = build(g)[0], build(eased)[0]
    lost = ~np.isin(warm_start._keys(old), warm_start._keys(new))
    assert lost.any()
    both = candidates(Task(eased, g, (), STEADILY))
    assert len(both) == len(new) + lost.sum()
    keys = warm_start._keys(both)
    assert np.isin(warm_start._keys(old), keys).all()
    assert len(np.unique(keys)) == len(keys)
    # Hence the bound of the eased garden is never below that of the garden as it is.
    before, after = (linear_bound(Task(x, g, (), STEADILY)) for x in (g, eased))
    assert before is not None
    assert after is not None
    assert after >= before


@pytest.mark.slow
def test_a_season_that_begins_earlier_finds_its_batches_by_date() -> None:
    g, _, _ = example("balcony")
    weather = weather_of(EXAMPLES / "balcony" / "garden.yaml")
    plan = solve(g, replace(STEADILY, deterministic=0.1)).plan
    earlier, later = longer(g, 1, weather)
    assert earlier.garden.season.start.toordinal() == g.season.start.toordinal() - 7
    # The same days have the same weather.
    a, b = earlier.garden.site.weather, g.site.weather
    assert a.loc[b.index[0] : b.index[-1]].equals(b)
    for r in (earlier, later):
        cand, _ = build(r.garden)
        assert min(warm_start.rows_of(plan.batches, cand)) >= 0
    solved = solve_again(
        Task(earlier.garden, g, plan.batches, replace(STEADILY, deterministic=0.1))
    )
    assert solved.value >= plan.stages[0].value


def test_a_garden_in_which_nothing_grows() -> None:
    g = mondays()
    g = replace(g, season=replace(g.season, work_days=frozenset()))
    task = Task(g, g, (), STEADILY)
    assert linear_bound(task) == 0
    assert solve_again(task).plan is None


def test_without_a_plan_rules_of_thumb_begin() -> None:
    g = crowded_nursery()
    assert solve_again(Task(g, g, (), STEADILY)).value == 2400
