"""Each rule at its edge: the least step decides whether it holds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from verify_case import batch, changed, day, garden, good_plan, heads, plan, with_stages
from verify_pairs import Pair, pairs, with_crop

from scheduler.garden.model import Garden, Limits, Nursery, Season
from scheduler.plans import rules as r
from scheduler.plans.model import Pick, Plan
from scheduler.verify import Broken, verify

PAIRS = list(pairs())


def broken(case: tuple[Garden, Plan], rule: r.Rule) -> list[Broken]:
    return [b for b in verify(*case).broken if b.rule == rule.name]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: f"{p.rule.name}: {p.title}")
def test_each_rule_at_its_edge(pair: Pair) -> None:
    rest = {b.rule for b in verify(*pair.holds).broken} - {r.VALUES.name}
    assert not rest, rest
    assert not broken(pair.holds, pair.rule)
    found = broken(pair.breaks, pair.rule)
    assert found
    assert found[0].witnesses == pair.witnesses
    assert found[0].amount == pytest.approx(pair.amount, abs=2e-6)


def test_every_rule_of_the_list_has_such_a_pair() -> None:
    assert {p.rule.name for p in PAIRS} == {rule.name for rule in r.RULES}


def test_names_are_unique_and_found() -> None:
    assert len({rule.name for rule in r.RULES}) == len(r.RULES)
    assert r.rule("lift limit") is r.LIFT


def test_light_is_the_mean_up_to_the_last_pick_with_that_day() -> None:
    # x stands from day 10 to its pick on day 30, 21 days. 41 mol on day 30 alone lifts the mean
    # from 20 to 20 + 21/21 = 21; on day 31 it would not.
    for when, holds in ((30, True), (31, False), (10, True), (9, False)):
        g = with_crop(dli_min=21.0)
        weather = g.site.weather.copy()
        weather.iloc[when, weather.columns.get_loc("dli")] = 41.0
        g = replace(g, site=replace(g.site, weather=weather))
        assert bool(broken((g, plan(heads("x", "A1", 10))), r.LIGHT)) is not holds


def test_a_bolting_day_is_one_before_the_last_pick() -> None:
    # Day length over 14 h on day 29 counts for the pick on day 30, on day 30 no more.
    for when, holds in ((29, False), (30, True), (10, False), (9, True)):
        g = with_crop(bolt_daylength=14.0, bolt_days=0.0)
        weather = g.site.weather.copy()
        weather.iloc[when, weather.columns.get_loc("daylength")] = 15.0
        g = replace(g, site=replace(g.site, weather=weather))
        assert bool(broken((g, plan(heads("x", "A1", 10))), r.BOLTING)) is not holds


def test_weather_that_ends_before_the_tier_is_dry() -> None:
    # Rows up to day 36: the tier reaches 1.2 L on the morning of day 37, after the last row. With
    # rows up to day 35 nobody can tell, and the plan must say so.
    x = heads("x", "A1", 10)
    season = Season(day(0), day(34))
    g = garden(season=season, demands=())
    for rows, dry, margin in ((37, day(37), 7), (36, None, None)):
        cut = replace(g, site=replace(g.site, weather=g.site.weather.iloc[:rows]))
        made = plan(replace(x, dry_date=dry, margin_days=margin), end=day(34))
        assert verify(cut, with_stages(cut, made)).ok
        wrong = plan(replace(x, dry_date=day(36), margin_days=6), end=day(34))
        assert broken((cut, wrong), r.CLAIMS)


def test_nursery_indoors_keeps_its_own_temperature() -> None:
    # Outdoors at 12 degC a seedling is far from fit after 10 days; indoors at 20 degC it is.
    g = garden()
    weather = g.site.weather.copy()
    weather.loc[weather.index < np.datetime64(day(10)), ["tmin", "tmax"]] = 12.0
    cold = replace(g, site=replace(g.site, weather=weather))
    one = plan(heads("x", "A1", 10))
    assert broken((cold, one), r.SEEDLING)
    assert not broken((replace(cold, nursery=Nursery(12, temperature=20.0)), one), r.SEEDLING)


def test_cut_again_crops_drink_less_after_the_first_cut_only() -> None:
    # Cut on day 30 with 4 L left: 0.2 L a day from then, dry (1.2 L) 14 days later, day 44. With
    # that cut as the only, hence last, pick, it is left out of the dry date: 4 - 0.4 k, day 37.
    g = garden()
    twice = batch("x", "chard", "A1", 0, 10, [(30, 4), (37, 4)], 37)
    once = batch("x", "chard", "A1", 0, 10, [(30, 4)], 30)
    assert (twice.dry_date, once.dry_date) == (day(44), day(37))
    assert not broken((g, plan(twice)), r.CLAIMS)
    assert not broken((g, plan(once)), r.CLAIMS)


def test_limits_of_none_limit_nothing() -> None:
    g = garden(limits=Limits(None, None, None))
    verdict = verify(g, good_plan())
    assert verdict.ok
    assert not {"lift limit", "fills a day", "picks a day"} & set(verdict.checked)


def test_dates_far_outside_the_season_are_named_and_harm_nothing() -> None:
    far = changed(good_plan(), "b2", sow=date(1950, 1, 1), transplant=date(1951, 1, 1))
    verdict = verify(garden(), far)
    assert {"work days"} <= {b.rule for b in verdict.broken}
    late = date(2190, 1, 1)
    far = changed(good_plan(), "b2", clear=late, picks=(Pick(late - timedelta(days=1), 4, 360),))
    assert {"work days", "ripe when picked"} <= {b.rule for b in verify(garden(), far).broken}
