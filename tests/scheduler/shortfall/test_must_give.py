"""What must give: each easing brings what it brings by hand, and what another program finds."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import timedelta

import pytest
from draws import some_in_ci
from milp_outside import optimum
from relax_case import (
    STEADILY,
    as_it_is,
    asked,
    crowded_nursery,
    day,
    find,
    mondays,
    out_of_reach,
    out_of_step,
    wished,
)
from rich.cells import cell_len
from solver_case import tiny

from scheduler.garden.model import Garden
from scheduler.plans import rules as rules
from scheduler.plans.model import Plan
from scheduler.search.solve import solve
from scheduler.shortfall import must_give as module
from scheduler.shortfall.answer import CANNOT, FOUND, HELPS, NOTHING, UNTRIED, MustGive
from scheduler.shortfall.data import data
from scheduler.shortfall.eased_rules import cells
from scheduler.shortfall.must_give import must_give
from scheduler.shortfall.relaxation import Relaxation
from scheduler.shortfall.relaxations import one_step, without_rule
from scheduler.shortfall.solve_again import Solved, Task, solve_again
from scheduler.shortfall.text import lines
from scheduler.verify import verify


def text_of(m: MustGive) -> str:
    out = lines(m)
    assert all(cell_len(line) <= 79 for line in out)
    return "\n".join(out)


def unwrapped(m: MustGive) -> str:
    return " ".join(text_of(m).split())


def named(g: Garden, *words: str) -> list[Relaxation]:
    """Those easings whose texts begin so, in the order given."""
    every = [*one_step(g), *without_rule(g)]
    return [next(r for r in every if r.text.startswith(w)) for w in words]


@pytest.fixture(scope="module")
def plan() -> Plan:
    return solve(crowded_nursery(), STEADILY).plan


@pytest.fixture(scope="module")
def crowded(plan: Plan) -> MustGive:
    return must_give(crowded_nursery(), plan, STEADILY)


def test_four_more_cells_bring_one_batch(crowded: MustGive) -> None:
    m = crowded
    assert (m.value, m.bound) == (2400, 2400)
    four = find(m, "4 more nursery cells")
    assert (four.outcome, four.gain, four.sure, four.most) == (HELPS, 400, 400, 400)
    assert four.groups == {"lettuce": 400}
    every = find(m, "as many nursery cells")
    assert (every.gain, every.amount) == (800, 8)
    assert "4 more nursery cells + 2.3 % lettuce 400 g (about 4 heads); up to" in unwrapped(m)


@pytest.mark.slow
def test_what_the_garden_can_give_is_told_however_short_the_time(
    monkeypatch: pytest.MonkeyPatch, plan: Plan
) -> None:
    """Of its changes none is looked at then; without its own bound no gap could be told."""
    monkeypatch.setattr(module, "ORDERING", 0.0)  # no time for bounds
    short = replace(STEADILY, deterministic=None, time_limit=0.2)
    m = must_give(crowded_nursery(), plan, short)
    assert m.bound == 2400


def test_the_days_on_which_more_cells_are_needed(crowded: MustGive) -> None:
    """Counted again from the plan that was found: those days, no others, and no more than 12."""
    four = find(crowded, "4 more nursery cells")
    assert four.plan is not None
    for k in range(60):
        used = sum(b.cells for b in four.plan.batches if b.sow <= day(k) < b.transplant)
        assert (day(k) in four.dates) == (used > 8)
        assert used <= 8 + four.amount <= 12


def test_where_cells_bind_other_rules_cannot_help(crowded: MustGive) -> None:
    for words in ("1 day in hand", "a turnaround", "one more column", "one more vessel"):
        t = find(crowded, words)
        assert (t.outcome, t.gain) == (CANNOT, 0)
    assert "No rule" not in text_of(crowded)
    assert [t.relaxation.rule for t in crowded.rules if t.gain] == [rules.NURSERY.name]


def test_every_plan_keeps_the_rules_of_its_garden(crowded: MustGive) -> None:
    for t in (*crowded.steps, *crowded.rules):
        assert (t.plan is not None) == (t.gain > 0)
        if t.plan is not None:
            verdict = verify(t.relaxation.garden, t.plan)
            assert verdict.ok
            assert verdict.values["produce"] == crowded.value + t.gain
            broken = {b.rule for b in verify(crowded.garden, t.plan).broken}
            if t.relaxation.rule == rules.NURSERY.name:
                assert broken == {rules.NURSERY.name}


TIED = (
    "one more fill",
    "lifting 8.2 kg",
    "two people lifting",
    "a turnaround of no days",
    "a season that ends a week later",
)


@pytest.mark.deep
def test_easings_that_tie_come_in_the_order_given() -> None:
    g = out_of_step()
    changes = named(g, *TIED, "4 more nursery cells", "no lift limit")
    m = must_give(g, solve(g, STEADILY).plan, STEADILY, changes=changes)
    assert (m.value, m.bound) == (1200, 1200)
    assert [t.relaxation.text for t in m.steps[:5]] == [r.text for r in changes[:5]]
    assert [(t.outcome, t.gain, t.sure) for t in m.steps[:5]] == [(HELPS, 400, 400)] * 5
    assert (m.steps[5].outcome, m.steps[5].gain) == (CANNOT, 0)
    (lift,) = m.rules
    assert (lift.relaxation.rule, lift.gain) == (rules.LIFT.name, 400)
    # The lower tier is reached on day 30, with 2 + 12 - 0.4 * 19 = 6.4 kg and plants above it.
    two = find(m, "two people")
    assert two.times >= 1
    assert 6.4 < 6.2 + two.amount <= 12.4


def test_a_further_work_day_is_used_on_that_weekday_only() -> None:
    g = mondays()
    m = must_give(
        g, solve(g, STEADILY).plan, STEADILY, changes=named(g, "a second work day a week, Tuesday")
    )
    (tuesday,) = m.steps
    assert (m.value, tuesday.gain, tuesday.outcome) == (400, 400, HELPS)
    assert {d.weekday() for d in tuesday.dates} == {1}
    assert day(36) in tuesday.dates  # filled again the day after clearing
    assert "a second work day a week, Tuesday + 2.3 %" in unwrapped(m)


def test_where_nothing_helps_it_says_so() -> None:
    m = asked(out_of_reach())
    assert (m.value, m.bound) == (200, 200)
    assert {t.outcome for t in (*m.steps, *m.rules)} == {CANNOT}
    (reach,) = m.reach
    assert (reach.first, reach.sow, reach.grams, len(reach.weeks)) == (day(30), day(0), 800, 4)
    said = unwrapped(m)
    assert "No single rule was found that holds it back." in said
    assert "No single step was found to add anything." in said
    assert "800 g wished 5 Apr to 2 May; the first pick there can be is on 5 May" in said


FOUR_DAYS = (0, 1, 3, 4)  # few enough for the other program
OUTSIDE: dict[str, tuple[Garden, tuple[str, ...]]] = {
    "nursery": (wished(tiny(53, 2, work=FOUR_DAYS, cells=4)), ("4 more", "as many")),
    "work days": (mondays(), ("a second work day a week, Tuesday", "a season that ends a week")),
    "lift and fills": (
        wished(tiny(53, 2, work=FOUR_DAYS, lift_kg=6.2, fills_per_day=1)),
        ("one more fill", "lifting 8.2", "no lift limit"),
    ),
    "turnaround": (wished(tiny(53, 1, work=FOUR_DAYS, turnaround_days=4)), ("a turnaround of 3",)),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", some_in_ci(OUTSIDE))
def test_another_program_finds_the_same(name: str) -> None:
    """SciPy's HiGHS on a model of its own: the best of the garden as it is and of the eased one."""
    g, words = OUTSIDE[name]
    m = must_give(g, solve(g, STEADILY).plan, STEADILY, changes=named(g, *words))
    assert optimum(g) == pytest.approx(m.value, abs=0.5)
    for t in (*m.steps, *m.rules):
        assert optimum(t.relaxation.garden) == pytest.approx(m.value + t.gain, abs=0.5)


def with_answers(
    monkeypatch: pytest.MonkeyPatch,
    changed: Callable[[Task, Solved], Solved],
    bound: float | None = 16_000.0,
) -> None:
    """Each re-solve's answer changed, and every linear bound this one."""
    monkeypatch.setattr(module, "linear_bound", lambda _: bound)
    monkeypatch.setattr(
        module, "solve_again", lambda task, stop: changed(task, solve_again(task, stop))
    )


def four_cells(g: Garden, plan: Plan, **options: object) -> MustGive:
    return must_give(g, plan, STEADILY, changes=[cells(g, 4)], **options)  # type: ignore[arg-type]


@pytest.mark.deep
def test_a_gain_within_what_is_not_known_is_not_told_apart(
    monkeypatch: pytest.MonkeyPatch, plan: Plan
) -> None:
    """Were it only known that the garden as it is gives at most 2,800 g, 2,800 g prove nothing."""
    g = crowded_nursery()
    with_answers(monkeypatch, lambda t, s: replace(s, bound=2800.0 if t.garden is g else None))
    m = four_cells(g, plan)
    (four,) = m.steps
    assert (four.outcome, four.gain, four.sure) == (FOUND, 400, 0)
    said = unwrapped(m)
    assert "4 more nursery cells ~ 2.3 %" in said
    assert "too close to call: more was found and checked, but the garden as it is might" in said
    # One gram less known, and it is more than any plan of the garden as it is.
    with_answers(monkeypatch, lambda t, s: replace(s, bound=2799.0 if t.garden is g else None))
    (four,) = four_cells(g, plan).steps
    assert (four.outcome, four.gain, four.sure) == (HELPS, 400, 1)
    # Nothing known at all.
    with_answers(monkeypatch, lambda _, s: replace(s, bound=None), bound=None)
    m = four_cells(g, plan)
    assert (m.steps[0].outcome, m.bound) == (FOUND, None)
    assert "How much more this garden can give is not known." in unwrapped(m)


@pytest.mark.deep
def test_a_worse_search_shows_no_loss(monkeypatch: pytest.MonkeyPatch, plan: Plan) -> None:
    g = crowded_nursery()
    with_answers(monkeypatch, lambda t, s: replace(s, bound=None, value=300.0))
    m = four_cells(g, plan)
    assert m.value == 2400
    assert (m.steps[0].outcome, m.steps[0].gain) == (NOTHING, 0)
    assert "No gain was found with 4 more nursery cells" in unwrapped(m)


@pytest.mark.slow
def test_what_more_searching_brings_is_not_put_down_to_the_change(plan: Plan) -> None:
    """Handed a plan of one batch: the garden as it is gives 2,400 g, and 400 g are the cells'."""
    g = crowded_nursery()
    poor = replace(plan, batches=plan.batches[:1])
    m = four_cells(g, poor)
    assert (m.given, m.value) == (400, 2400)
    assert m.steps[0].gain == 400
    assert "The plan met 2.3 % of the wish; searching on brought it to 14.0 %." in unwrapped(m)


@pytest.mark.slow
def test_a_plan_that_breaks_a_rule_is_thrown_away_and_named(
    monkeypatch: pytest.MonkeyPatch, plan: Plan
) -> None:
    g = crowded_nursery()
    with_answers(
        monkeypatch,
        lambda t, s: s if t.garden is g else replace(s, plan=None, broken=(rules.NURSERY.name,)),
    )
    m = four_cells(g, plan)
    assert (m.steps[0].outcome, m.steps[0].gain) == (NOTHING, 0)
    assert "the plan found broke nursery cells and was thrown away" in unwrapped(m)


def test_a_plan_of_the_eased_garden_is_verified(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the nursery's rule taken out of the model a plan breaks it: no plan comes back."""
    from scheduler.model.rules import BUILDERS

    g = crowded_nursery()
    monkeypatch.delitem(BUILDERS, "what all share")
    solved = solve_again(Task(g, g, (), STEADILY))
    assert solved.plan is None
    assert rules.NURSERY.name in solved.broken


def test_where_every_wish_is_met_nothing_is_solved(monkeypatch: pytest.MonkeyPatch) -> None:
    """One batch of 400 g; wished are 200 g of the week it is picked in."""
    g = out_of_reach()
    g = replace(g, demands=(replace(g.demands[0], start=day(28)),))
    made = solve(g, STEADILY).plan

    def never(*_: object) -> None:
        raise AssertionError("a search began")

    monkeypatch.setattr(module, "solve_again", never)
    m = must_give(g, made, STEADILY)
    assert m.met
    assert "Nothing has to give." in text_of(m)


def test_stopped_at_once_the_rest_is_not_tried(plan: Plan) -> None:
    stop = threading.Event()
    stop.set()
    m = must_give(crowded_nursery(), plan, STEADILY, stop=stop)
    assert m.value == 2400
    assert {t.outcome for t in (*m.steps, *m.rules)} == {UNTRIED}
    assert "Not tried for want of time" in unwrapped(m)


@pytest.mark.deep
def test_side_by_side_gives_the_same(plan: Plan) -> None:
    g = crowded_nursery()
    changes = named(g, "4 more", "1 day in hand", "a season that ends", "as many")
    one = must_give(g, plan, STEADILY, changes=changes)
    two = must_give(g, plan, replace(STEADILY, workers=2), changes=changes)
    assert [(t.relaxation.text, t.outcome, t.gain) for t in (*one.steps, *one.rules)] == [
        (t.relaxation.text, t.outcome, t.gain) for t in (*two.steps, *two.rules)
    ]


@pytest.mark.slow
def test_progress_is_told(plan: Plan) -> None:
    g = crowded_nursery()
    told: list[tuple[str, int, int]] = []
    four_cells(g, plan, say=lambda *x: told.append(x))
    assert ("what each change can bring at most", 2, 2) in told
    assert told[-1] == ("solved anew with one change", 1, 1)


def test_data_for_machines(crowded: MustGive) -> None:
    body = data(crowded)
    assert body["weighted_grams"] == {
        "wish": pytest.approx(17143, abs=2),
        "given": 2400,
        "met": 2400,
        "bound": 2400,
    }
    four = next(t for t in body["steps"] if t["text"] == "4 more nursery cells")
    assert (four["gain"], four["sure"], four["most"], four["heads"]) == (
        400,
        400,
        400,
        {"lettuce": 4},
    )
    assert four["dates"] == sorted(four["dates"])
    assert [u["group"] for u in body["unmet"]] == ["lettuce"] * 9


def dates(m: MustGive, gaps: Sequence[int]) -> str:
    """The words for days from day 0 on, so many days apart."""
    from scheduler.shortfall.tried_text import used

    days, at = [], day(0)
    for gap in gaps:
        at += timedelta(days=gap)
        days.append(at)
    t = replace(find(m, "4 more"), dates=tuple(days))
    return used(m.garden, t)


def test_words_for_days(crowded: MustGive) -> None:
    assert dates(crowded, [0]).endswith("in use 5 Apr")
    assert dates(crowded, [0, 1, 1]).endswith("in use 5 to 7 Apr")
    assert dates(crowded, [0, 1, 9, 1]).endswith("in use 5 to 6 Apr and 15 to 16 Apr")
    assert dates(crowded, [0, 3, 3, 3]).endswith("in use in April")
    assert dates(crowded, [0, 9, 20, 3]).endswith("in use in April and May")
    assert dates(crowded, [0, 20, 20, 20]).endswith("in use from April to June")


def test_as_it_is_brings_nothing(plan: Plan) -> None:
    g = crowded_nursery()
    m = must_give(g, plan, STEADILY, changes=[as_it_is(g)])
    assert m.steps[0].gain == 0


@pytest.mark.slow
def test_a_better_plan_that_needs_no_change_is_the_gardens_own(
    monkeypatch: pytest.MonkeyPatch, plan: Plan
) -> None:
    """The search as it is finds nothing (2,000 g handed in); with one day less in hand 2,400 g are
    found, which need no day less: they are the garden's, and four cells bring 400 g more."""
    g = crowded_nursery()
    poor = replace(plan, batches=plan.batches[:5])
    with_answers(
        monkeypatch,
        lambda t, s: (
            replace(s, bound=None, value=2000.0, plan=None)
            if t.garden is g
            else replace(s, bound=None)
        ),
    )
    m = must_give(g, poor, STEADILY, changes=named(g, "1 day in hand", "4 more nursery cells"))
    assert (m.given, m.value) == (2000, 2400)
    assert [(t.relaxation.text[:6], t.outcome, t.gain) for t in m.steps] == [
        ("4 more", FOUND, 400),
        ("1 day ", NOTHING, 0),
    ]
