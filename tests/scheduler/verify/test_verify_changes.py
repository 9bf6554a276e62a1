"""Every slip in a good plan is caught, with the rule and the witness named."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from lived_case import mean_years
from verify_case import CHARD, LETTUCE, batch, changed, day, garden, good_plan, heads, plan

from scheduler.garden.model import Garden, Nursery, Span
from scheduler.plans import rules as r
from scheduler.plans.model import Batch, Level, Pick, Plan
from scheduler.verify import verify
from scheduler.years.expected import with_years


def test_the_good_plan_is_good() -> None:
    g = garden()
    g = replace(g, limits=replace(g.limits, minutes_per_day=60.0))
    g = with_years(g, mean_years(g, 5))
    verdict = verify(g, good_plan())
    assert verdict.ok, verdict.broken
    assert verdict.values == {"produce": 2380.0, "evenness": 360.0, "effort": 34.0}
    assert {(u.group, u.week, u.grams) for u in verdict.unmet} == {
        ("lettuce", "2027-W22", 71),
        ("greens", "2027-W19", 60),
    }
    # Every rule had something to check, but that of moves and those of what a garden may add.
    none = (r.MOVED, r.FIXED, r.SHARE, r.SAME_KIND)
    assert set(verdict.checked) == {rule.name for rule in r.RULES if rule not in none}


def find(made: Plan, name: str) -> Batch:
    return next(b for b in made.batches if b.id == name)


def shifted(b: Batch, days: int) -> Batch:
    """The whole batch moved, its own figures with it."""
    by = timedelta(days=days)
    return replace(
        b,
        sow=b.sow + by,
        transplant=b.transplant + by,
        clear=b.clear + by,
        picks=tuple(replace(p, date=p.date + by) for p in b.picks),
        dry_date=b.dry_date + by if b.dry_date else None,
        levels=tuple(replace(v, date=v.date + by) for v in b.levels),
    )


def with_batch(b: Batch) -> Plan:
    made = good_plan()
    return replace(made, batches=tuple(b if x.id == b.id else x for x in made.batches))


def without_one_pick() -> Plan:
    b = find(good_plan(), "b1")
    return changed(good_plan(), "b1", picks=b.picks[:1])


def heavy_above() -> Plan:
    """b4 is filled in A3 on day 34; b6 in A2 was filled on day 33 and weighs nearly 14 kg."""
    made = good_plan()
    return replace(made, batches=(*made.batches, heads("b6", "A2", 33)))


CHANGES: list[tuple[str, Callable[[], Plan], r.Rule, tuple[str, ...]]] = [
    ("sown a day late", lambda: changed(good_plan(), "b3", sow=day(11)), r.SEEDLING, ("b3",)),
    (
        "transplanted a day late",
        lambda: changed(good_plan(), "b3", transplant=day(21)),
        r.CLAIMS,
        ("b3",),
    ),
    (
        "picked a day early",
        lambda: changed(good_plan(), "b3", picks=(Pick(day(39), 4, 400),)),
        r.RIPE,
        ("b3",),
    ),
    (
        "picked too late",
        lambda: changed(good_plan(), "b3", picks=(Pick(day(46), 4, 400),), clear=day(46)),
        r.RIPE,
        ("b3",),
    ),
    (
        "cleared before the pick",
        lambda: changed(good_plan(), "b3", clear=day(39)),
        r.ORDER,
        ("b3",),
    ),
    (
        "whole batch moved into the days away",
        lambda: with_batch(shifted(find(good_plan(), "b3"), 20)),
        r.WORK_DAYS,
        ("b3", "2027-06-04"),
    ),
    (
        "whole batch moved onto another's fill",
        lambda: with_batch(shifted(find(good_plan(), "b5"), -2)),
        r.FILLS,
        ("b3", "b5", "2027-04-25"),
    ),
    (
        "whole batch moved onto another's pick",
        lambda: with_batch(shifted(find(good_plan(), "b5"), -2)),
        r.PICKS,
        ("b3", "b5", "2027-05-15"),
    ),
    (
        "moved to a tier that is taken",
        lambda: changed(good_plan(), "b5", tier=1),
        r.OCCUPANCY,
        ("b3", "b5", "B 1"),
    ),
    (
        "moved to a tier that is not there",
        lambda: changed(good_plan(), "b5", tier=3),
        r.KNOWN,
        ("b5", "B 3"),
    ),
    (
        "two batches swap tiers",
        lambda: changed(changed(good_plan(), "b3", column="A", tier=3), "b1", column="B", tier=1),
        r.OCCUPANCY,
        ("b3", "b4", "A 3"),
    ),
    ("a pick dropped", without_one_pick, r.RIPE, ("b1",)),
    (
        "one head less picked",
        lambda: changed(good_plan(), "b3", picks=(Pick(day(40), 3, 300),)),
        r.RIPE,
        ("b3",),
    ),
    (
        "grams made up",
        lambda: changed(good_plan(), "b3", picks=(Pick(day(40), 4, 500),)),
        r.CLAIMS,
        ("b3", "2027-05-15"),
    ),
    ("another crop", lambda: changed(good_plan(), "b3", crop="chard"), r.ENOUGH_SOWN, ("b3",)),
    ("no such crop", lambda: changed(good_plan(), "b3", crop="leek"), r.KNOWN, ("b3", "leek")),
    (
        "one cell too few",
        lambda: changed(good_plan(), "b2", cells=6, seeds=6),
        r.ENOUGH_SOWN,
        ("b2",),
    ),
    (
        "nursery overfilled by one cell",
        lambda: changed(good_plan(), "b2", cells=9, seeds=9),
        r.NURSERY,
        ("b1", "b2", "2027-04-06"),
    ),
    ("filled under a heavy tier", heavy_above, r.LIFT, ("b4", "b6", "A 2", "2027-05-09")),
    (
        "a level changed",
        lambda: changed(
            good_plan(),
            "b4",
            levels=tuple(
                replace(v, litres=v.litres + 0.02) if v.date == day(40) else v
                for v in find(good_plan(), "b4").levels
            ),
        ),
        r.CLAIMS,
        ("b4", "2027-05-15"),
    ),
    (
        "a level left out",
        lambda: changed(good_plan(), "b4", levels=find(good_plan(), "b4").levels[1:]),
        r.CLAIMS,
        ("b4", "2027-05-09"),
    ),
    (
        "a level that is no number",
        lambda: changed(
            good_plan(),
            "b4",
            levels=tuple(replace(v, litres=float("nan")) for v in find(good_plan(), "b4").levels),
        ),
        r.CLAIMS,
        ("b4", "2027-05-09"),
    ),
    (
        "a batch left out",
        lambda: replace(good_plan(), batches=good_plan().batches[:-1]),
        r.VALUES,
        ("produce",),
    ),
]


@pytest.mark.parametrize(
    ("change", "rule", "witnesses"), [c[1:] for c in CHANGES], ids=[c[0] for c in CHANGES]
)
def test_a_slip_is_caught(
    change: Callable[[], Plan], rule: r.Rule, witnesses: tuple[str, ...]
) -> None:
    verdict = verify(garden(), change())
    found = [b for b in verdict.broken if b.rule == rule.name]
    assert found, verdict.broken
    assert any(set(witnesses) <= set(b.witnesses) for b in found), found
    assert all(b.amount > 0 for b in verdict.broken if b.amount == b.amount)


def test_amounts_say_by_how_much() -> None:
    nursery = verify(garden(), changed(good_plan(), "b2", cells=9, seeds=9)).broken
    # b1 needs 4, b2 then 9: 13 of 12, on days 1 to 9; on day 10 b3's 4 take the place of b1's.
    over = [b for b in nursery if b.rule == r.NURSERY.name]
    assert [(b.amount, b.unit) for b in over] == [(1, "cells")] * 10
    heavy = [b for b in verify(garden(), heavy_above()).broken if b.rule == r.LIFT.name]
    # One day after filling: 2 kg + 11.6 L + 0.4 kg * ln(1 + e^-1.6) / ln(1 + e^4.48) = 13.6164 kg.
    assert heavy[0].amount == pytest.approx(13.6163785 - 13.5, abs=1e-6)
    assert "13.616 kg" in heavy[0].message


def test_all_faults_at_once() -> None:
    worse = changed(changed(good_plan(), "b3", sow=day(11)), "b2", cells=9, seeds=9)
    assert {r.SEEDLING.name, r.NURSERY.name} <= {b.rule for b in verify(garden(), worse).broken}


# What has happened


def test_facts_are_not_judged_but_take_their_room() -> None:
    late = batch("x", "lettuce", "A1", 1, 10, [(29, 4)], 60)
    for state in ("cleared", "failed"):
        over = replace(late, state=state, levels=(), picks=(), margin_days=None)
        past = plan(over, as_of=day(60))
        assert {b.rule for b in verify(garden(), past).broken} <= {r.VALUES.name}
        two = plan(over, heads("y", "A1", 60), as_of=day(60))
        assert r.OCCUPANCY.name in {b.rule for b in verify(garden(), two).broken}
    growing = verify(garden(), plan(replace(late, state="growing"), as_of=day(11))).broken
    assert {b.rule for b in growing} - {r.VALUES.name} == {r.WORK_DAYS.name, r.RIPE.name}


def test_as_of_makes_what_lies_before_it_facts() -> None:
    # Sown a day late and transplanted young: history from day 11 on, a fault on day 10.
    young = replace(heads("x", "A1", 10), sow=day(1))
    assert not _rules(plan(young, as_of=day(11)))
    assert _rules(plan(young, as_of=day(10))) == {r.SEEDLING.name}
    assert not _rules(plan(replace(young, state="growing"), as_of=day(10)))
    # Two filled on one day: history; a third planned for that day is judged with them.
    both = (heads("x", "A1", 10), heads("y", "B1", 10))
    assert _rules(plan(*both)) == {r.FILLS.name, r.PICKS.name}
    assert _rules(plan(*both, as_of=day(11))) == {r.PICKS.name}
    assert not _rules(plan(*both, as_of=day(31)))


def test_a_tier_used_when_it_was_not_to_be_had_is_judged_no_more() -> None:
    """A batch stands in A1 from day 10; the tier was to be had to day 5, or is to day 20."""
    stands = replace(heads("x", "A1", 10), state="growing")

    def until(last: int) -> Garden:
        g = garden()
        first = g.columns[0]
        tier = replace(first.tiers[0], available=(Span(day(0), day(last)),))
        return replace(g, columns=(replace(first, tiers=(tier, *first.tiers[1:])), *g.columns[1:]))

    assert r.AVAILABLE.name in _rules(plan(replace(stands, state="planned")), until(5))
    assert r.AVAILABLE.name not in _rules(plan(stands, as_of=day(11)), until(5))
    # What is still to come is judged: the tier is taken away while the batch stands in it.
    assert r.AVAILABLE.name in _rules(plan(stands, as_of=day(11)), until(20))
    assert r.AVAILABLE.name not in _rules(plan(stands, as_of=day(11)), until(60))


def _rules(made: Plan, g: Garden | None = None) -> set[str]:
    return {b.rule for b in verify(g or garden(), made).broken} - {r.VALUES.name}


def test_a_batch_that_drinks_more_is_followed_with_its_own_demand() -> None:
    # A quarter more: 0.5 L a day. Day 20 after transplanting: 2 L; dry when 10.8 L are drunk, on
    # the morning of day 22.
    x = heads("x", "A1", 10)
    levels = tuple(
        replace(v, litres=w, depth_cm=2.5 * w)
        for v, w in zip(
            x.levels, [max(12 - 0.5 * min(k, 20), 0) for k in range(len(x.levels))], strict=True
        )
    )
    thirsty = replace(x, demand_factor=1.25, levels=levels, dry_date=day(32), margin_days=2)
    assert not _rules(plan(thirsty, as_of=day(11)))
    assert _rules(plan(replace(thirsty, demand_factor=1.0), as_of=day(11))) == {r.CLAIMS.name}
    assert r.DRY.name in _rules(plan(replace(thirsty, demand_factor=1.3), as_of=day(11)))


def test_an_early_pick_only_where_the_tier_would_run_dry() -> None:
    # Half as much again: 0.6 L a day, 10.8 L are gone after 18 days, two before it is ready.
    # Picked on day 27 (17 days, progress 0.85): mass share ln(1 + e^3.52) / ln(1 + e^4.48) =
    # 0.7902375; four heads 316.10 g.
    x = batch("x", "lettuce", "A1", 0, 10, [(27, 4)], 27)
    levels = tuple(
        replace(v, litres=12 - 0.6 * k, depth_cm=2.5 * (12 - 0.6 * k))
        for k, v in enumerate(x.levels)
    )
    urgent = replace(
        x,
        picks=(Pick(day(27), 4, 316, early=True),),
        state="growing",
        demand_factor=1.5,
        levels=levels,
        dry_date=day(28),
        margin_days=1,
    )
    assert not _rules(plan(urgent, as_of=day(26)))
    # The same as a plan for the future, or without need, or for a full head's mass.
    assert r.RIPE.name in _rules(plan(replace(urgent, state="planned")))
    calm = replace(x, picks=(Pick(day(27), 4, 316, early=True),), state="growing")
    assert _rules(plan(calm, as_of=day(26))) == {r.RIPE.name}
    heavy = replace(urgent, picks=(Pick(day(27), 4, 400, early=True),))
    assert _rules(plan(heavy, as_of=day(26))) == {r.CLAIMS.name}
    # On the morning it is found dry, day 28, at the latest. Progress 0.9, mass share ln(1 + e^3.84) /
    # ln(1 + e^4.48) = 0.8597270; four heads 343.89 g.
    k = len(levels)
    longer = (*levels, Level(day(28), 12 - 0.6 * k, 2.5 * (12 - 0.6 * k)))
    last = replace(
        urgent,
        picks=(Pick(day(28), 4, 344, early=True),),
        clear=day(28),
        margin_days=0,
        levels=longer,
    )
    assert not _rules(plan(last, as_of=day(26)))
    late = replace(urgent, picks=(Pick(day(29), 4, 370, early=True),), clear=day(29))
    assert r.DRY.name in _rules(plan(late, as_of=day(26)))


def test_no_early_pick_where_the_margin_just_does() -> None:
    # 0.5 L a day: 10.8 L are gone on day 22 after transplanting, two days after it is ready, which
    # is the margin asked for. At 0.52 L a day (day 21, 10.92 L) it is not.
    x = replace(heads("x", "A1", 10), state="growing", picks=(Pick(day(28), 4, 344, early=True),))
    for factor, needed in ((1.25, False), (1.3, True)):
        broken = _rules(plan(replace(x, demand_factor=factor), as_of=day(20)))
        assert (r.RIPE.name in broken) is not needed


def test_a_level_never_falls_below_nothing() -> None:
    # 0.8 L a day: nothing is left from day 15 after transplanting on.
    x = heads("x", "A1", 10)
    litres = [max(12 - 0.8 * k, 0) for k in range(len(x.levels))]
    levels = tuple(
        replace(v, litres=w, depth_cm=2.5 * w) for v, w in zip(x.levels, litres, strict=True)
    )
    gone = replace(x, demand_factor=2.0, levels=levels, dry_date=day(24), margin_days=-6)
    assert _rules(plan(gone, as_of=day(11))) == {r.DRY.name}


def test_a_crop_cut_once_still_weighs_its_plants() -> None:
    # On day 34, four days after the first cut: 4 - 4 * 0.2 = 3.2 L, 2 kg, and cautiously all four
    # plants of 150 g, 0.6 kg: 5.8 kg. After the last cut, day 37, only 2.6 L and 2 kg: 4.6 kg.
    above = batch("x", "chard", "A1", 0, 10, [(30, 4), (37, 4)], 39)
    for when, kg in ((34, 5.8), (38, 4.6)):
        made = plan(
            above, batch("y", "lettuce", "A2", when - 10, when, [(when + 20, 4)], when + 20)
        )
        for limit, holds in ((kg + 0.001, True), (kg - 0.001, False)):
            limits = replace(garden().limits, lift_kg=limit)
            assert (r.LIFT.name in _rules(made, garden(limits=limits))) is not holds


def test_light_is_that_of_the_tier() -> None:
    # Half of 20 mol m-2 d-1.
    g = garden()
    half = replace(g.columns[0].tiers[0], light=0.5)
    columns = (replace(g.columns[0], tiers=(half, *g.columns[0].tiers[1:])), g.columns[1])
    for least, holds in ((10.0, True), (10.1, False)):
        crops = {"lettuce": replace(LETTUCE, dli_min=least)}
        found = _rules(plan(heads("x", "A1", 10)), garden(columns=columns, crops=crops, demands=()))
        assert (r.LIGHT.name in found) is not holds


def test_a_sick_batch_makes_its_family_wait_in_its_tier() -> None:
    sick = replace(
        heads("x", "A1", 10), state="failed", clear=day(20), rest_until=day(29), picks=()
    )
    then = {"as_of": day(20)}
    assert not _rules(plan(sick, heads("y", "A1", 30), **then))
    longer = replace(sick, rest_until=day(30))
    broken = [
        b
        for b in verify(garden(), plan(longer, heads("y", "A1", 30), **then)).broken
        if b.rule == r.REST.name
    ]
    assert [(b.amount, b.witnesses) for b in broken] == [(1, ("y", "A 1"))]
    assert not _rules(plan(longer, heads("y", "B1", 30), **then))
    assert not _rules(plan(longer, batch("y", "chard", "A1", 20, 30, [(50, 4)], 50), **then))


def test_heads_drink_more_in_the_hold() -> None:
    # Drinks 0.2 of its demand when planted and in all what its stages say: mean 0.2 x 0.2 + 0.6 x
    # 0.5 + 0.3 = 0.64 of 100 mL. A hand's sum of straight pieces, not the program's.
    late = replace(LETTUCE, stage_initial=0.2, stage_late=0.5)
    g = garden(crops={"lettuce": late, "chard": CHARD})

    def area(p: float) -> float:
        return (math.log1p(math.exp(6.4 * (p - 0.3))) / math.log1p(math.exp(4.48))) ** (2 / 3)

    at = [0.0, 0.25, 0.5, 1.0, 1.5]
    share = [0.2 + 0.8 * (area(p) - area(0)) / (1 - area(0)) for p in at]
    mean = 0.25 * (share[0] / 2 + share[1] + share[2] / 2) + 0.25 * (share[2] + share[3])
    drunk = [0.4 * 0.64 / mean * float(np.interp(k / 20, at, share)) for k in range(80)]
    litres = [12 - sum(drunk[:k]) for k in range(80)]
    x = batch("x", "lettuce", "A1", 0, 10, [(32, 4)], 32)
    levels = tuple(
        replace(v, litres=w, depth_cm=2.5 * w) for v, w in zip(x.levels, litres[:23], strict=True)
    )
    whole = sum(drunk[:20]) + (drunk[20] - drunk[0]) / 2  # a day counts by its morning
    assert whole == pytest.approx(8 * 0.64, rel=0.005)
    assert drunk[22] > drunk[20] > drunk[19]
    dry = next(k for k, left in enumerate(litres) if left <= 1.2)
    told = replace(x, levels=levels, dry_date=day(10 + dry), margin_days=dry - 22)
    assert not _rules(plan(told), g)
    assert _rules(plan(replace(told, dry_date=day(11 + dry), margin_days=dry - 21)), g)


def test_cells_of_a_whole_day_are_counted_once() -> None:
    # Sown on the day another is transplanted: never together in the nursery.
    g = garden(nursery=Nursery(7))
    made = plan(batch("x", "chard", "A1", 1, 11, [(31, 4)], 31), heads("y", "B1", 21))
    assert r.NURSERY.name not in _rules(made, g)
    assert r.NURSERY.name in _rules(changed(made, "y", sow=day(10)), g)
