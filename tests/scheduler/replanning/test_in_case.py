"""What to do if: each case against days and masses that follow by hand, and the verifier."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import pytest
import rebalance_case as known
import verify_case as case

from scheduler.garden.model import Span
from scheduler.outputs.in_case import cases_said, left_out_said
from scheduler.replanning.in_case import AWAY, LOST, Cases, in_case
from scheduler.verify import verify
from scheduler.words.units import Units

METRIC = Units("metric")


@lru_cache(maxsize=8)
def cases(on: int, rows=(), **options) -> Cases:
    garden = known.garden()
    return in_case(garden, known.plan(), known.log(*rows), case.day(on), **options)


def lost(found: Cases) -> dict[tuple[str, int], object]:
    return {(c.column, c.tier): c for c in found.cases if c.kind == LOST}


def test_what_is_lost_is_what_is_not_picked_yet():
    """On day 30 lettuce in B 1 is picked (400 g), chard in A 1 has 360 g on day 34 and 240 g on
    day 41 ahead, lettuce in A 2 and B 2 400 g each. After day 34 chard has 240 g left."""
    found = lost(cases(30))
    mass = {place: sum(g for _d, g in c.lost) for place, c in found.items()}
    assert mass[("A", 1)] == 600
    assert mass[("A", 2)] == mass[("B", 2)] == 400
    later = lost(cases(35, (known.row(34, "picked", "A1", "4"),)))
    assert [d for d, _g in later["A", 1].lost] == [case.day(41)]
    assert sum(g for _d, g in later["A", 1].lost) == 240


@pytest.mark.parametrize("tiers", [[("A", 1)], [("A", 1), ("A", 2), ("B", 2)]])
def test_each_tier_is_lost_by_itself(tiers):
    """By the season's end what is lost with one tier is missing, and not what others bring."""
    found = lost(cases(30))
    for place in tiers:
        c = found[place]
        assert c.less == sum(g for _d, g in c.lost)
        assert c.clear is not None
        assert c.clear >= case.day(30)


def applied(garden, c):
    """The plan as a case would have it."""
    plan = known.plan()
    new = {old.id: now for old, now in c.changes if old is not None}
    batches = [new.get(b.id, b) for b in plan.batches]
    batches += [now for old, now in c.changes if old is None]
    return replace(plan, batches=tuple(b for b in batches if b is not None))


# Figures of the old plan that no longer are those of the new one.
FIGURES = {"claims", "unmet and values"}


def test_in_a_week_away_nothing_is_to_be_done_and_every_rule_holds():
    """Days 31 to 37 away: chard of day 34 cannot be picked then, and no rule is broken after."""
    garden = known.garden()
    for c in [c for c in cases(30).cases if c.kind == AWAY and not c.impossible]:
        there = replace(
            garden, season=replace(garden.season, away=(*garden.season.away, Span(c.first, c.last)))
        )
        made = applied(there, c)
        days = {b.transplant for b in made.batches} | {b.sow for b in made.batches}
        days |= {p.date for b in made.batches for p in b.picks} | {b.clear for b in made.batches}
        since = case.day(30)
        assert not [d for d in days if d > since and c.first <= d <= c.last]
        assert {b.rule for b in verify(there, made).broken} <= FIGURES


def test_days_ahead_end_with_the_two_weeks():
    """A batch planted on the last of the 14 days is not told, one planted the day before is."""
    plan = known.plan()
    planted = next(b for b in plan.batches if b.id == "b005")  # on day 34, in B 1
    day = (planted.transplant - case.day(0)).days
    ids = [(c.column, c.tier, c.first) for c in cases(day - 12).cases if c.kind == LOST]
    assert ("B", 1, case.day(day + 1)) in ids
    ids = [(c.column, c.tier, c.first) for c in cases(day - 13).cases if c.kind == LOST]
    assert ("B", 1, case.day(day)) not in ids


def test_without_time_the_tiers_are_named():
    found = cases(30, seconds=0.0)
    assert not lost(found)
    assert len(found.left_out) >= 3
    assert left_out_said(found).startswith("There was no time to work out: ")


def test_told_in_words():
    garden, plan = known.garden(), known.plan()
    said = {s.head: s for s in cases_said(garden, plan, cases(30), METRIC)}
    head = next(h for h in said if h.startswith("A 1 is lost"))
    text = " ".join(said[head].lines)
    first, second = (case.day(n) for n in (34, 41))
    assert f"360 g on {first.day} {first:%B}" in text
    assert f"240 g on {second.day} {second:%B}" in text
    assert "Clear it on " in text
