"""Spans of picks, by hand: heads are ripe (t - 4) / 320 of the way each day (see `test_live`)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from lived_case import bed, head, mean_years, ripe_after
from verify_case import day, garden, good_plan

from scheduler.lived.doubt import Doubt
from scheduler.lived.growing import BOLTED, DRY, FROZEN, OVERHEATED, TOO_OLD, UNKNOWN
from scheduler.lived.laid import FAR
from scheduler.lived.live import live
from scheduler.lived.spans import spanned, without_spans
from scheduler.plans.model import Batch, YearsTaken
from scheduler.verify import verify
from scheduler.verify.lived import Life
from scheduler.verify.year import Year, doubts
from scheduler.years.purposes import years_for

# Thirty less one: the third earliest and the third latest are one in ten of 29 + 1.
SPREAD = [20, 21, 22, *[23] * 23, 24, 25, 26]


def span(pick: int, days: list[int]) -> tuple[int, int, int, float]:
    (made,) = spanned(bed(), [head(pick)], ripe_after(days), 0)
    (p,) = made.picks
    assert p.look_from is not None
    assert p.from_ is not None
    assert p.to is not None
    assert p.share is not None
    look, first, last = ((d - day(0)).days for d in (p.look_from, p.from_, p.to))
    return look, first, last, p.share


def test_one_year_in_ten_lies_before_and_one_after_a_span() -> None:
    assert span(53, SPREAD) == (50, 52, 54, 1.0)
    assert span(53, SPREAD[::-1]) == (50, 52, 54, 1.0)
    # Of ten years one in eleven is no whole year yet: the earliest and the latest.
    assert span(53, SPREAD[:3] + [23] * 5 + [25, 26]) == (50, 50, 56, 1.0)
    assert span(53, SPREAD[1:3] + [23] * 15 + [25, 26]) == (51, 52, 55, 1.0)


@pytest.mark.parametrize(("pick", "expected"), [(48, (48, 48, 54)), (56, (50, 52, 56))])
def test_a_span_holds_the_planned_day(pick: int, expected: tuple[int, int, int]) -> None:
    assert span(pick, SPREAD)[:3] == expected


def test_years_without_the_pick_have_no_say_in_its_days_and_lower_its_share() -> None:
    """The tier is dry on day 57; ripe after 29 days comes too late."""
    assert span(53, [*SPREAD, 29]) == (50, 52, 54, round(29 / 30, 4))
    assert span(53, [29, 29]) == (53, 53, 53, 0.0)


def chances(pick: int, days: list[int], young: bool = False, **crop: object) -> tuple[float, ...]:
    g = bed()
    if young:
        g = replace(g, limits=replace(g.limits, young=0.8))
    g = replace(g, crops={"lettuce": replace(g.crops["lettuce"], **crop)})  # type: ignore[arg-type]
    (made,) = spanned(g, [replace_young(head(pick), young)], ripe_after(days), 0)
    c = made.chances
    assert c is not None
    return c.dry, c.bolted, c.unripe


def replace_young(b: Batch, young: bool) -> Batch:
    return replace(b, picks=tuple(replace(p, young=young) for p in b.picks))


def test_chances_are_shares_of_the_years() -> None:
    """Planned for day 53, ripe in time after up to 23 days; dry on day 57, before ripe after 29."""
    assert chances(53, [20, 22, 23, 24, 29]) == (0.2, 0.0, 0.4)
    assert chances(53, [20, 22, 23, 24]) == (0.0, 0.0, 0.25)
    # Long days all season (15 h and more is long, there are 14 h): no bolting; from 13 h on
    # twenty-two of them are borne, so that it bolts where it is not ripe after twenty-two days.
    long = {"bolt_daylength": 13.0, "bolt_days": 22.0}
    assert chances(53, [20, 22, 23, 24, 29], **long) == (0.0, 0.6, 0.4)
    assert chances(53, [20, 22, 23, 24], bolt_daylength=15.0, bolt_days=22.0) == (0, 0, 0.25)


@pytest.mark.parametrize(("lost", "years"), [(1, 5), (3, 10)])
def test_chances_of_cold_and_heat_are_told_apart(lost: int, years: int) -> None:
    """Head planted on day 30: a night of -9 degC on day 40 in some years, a fortnight whose
    solution is above the limit in the others (18 degC: 14 x 3.6 degC d), in a third kind nothing."""
    g = bed()
    g = replace(g, crops={"lettuce": replace(g.crops["lettuce"], heat_limit=30.0)})
    made = mean_years(g, years)
    tmin, tmax = made.tmin.copy(), made.tmax.copy()
    tmin[:lost, 40], tmax[:lost, 40] = -9.0, 49.0
    tmin[lost : lost + 1, 35:50] = tmax[lost : lost + 1, 35:50] = 33.0
    (found,) = spanned(g, [head(53)], replace(made, tmin=tmin, tmax=tmax), 0)
    assert found.chances is not None
    assert (found.chances.cold, found.chances.heat) == (lost / years, 1 / years)


def test_a_young_pick_is_unripe_while_it_is_too_small() -> None:
    """Four fifths of the mass are there at 0.877 of the way: on day 53, after 23 days, in years in
    which it is ripe after 26 days (0.885) and not in those of 27 (0.852)."""
    assert chances(53, [26, 27, 27, 27], young=True)[2] == 0.75
    assert chances(53, [26, 27, 27, 27])[2] == 1.0


def test_a_plan_that_is_planned_again_begins_without_spans() -> None:
    """Else a batch that goes on as it was would be taken for another way to go on."""
    plan = good_plan()
    batches = spanned(garden(), plan.batches, years_for(garden(), 4, 7, "choose"), 7)
    assert batches != plan.batches
    bare = without_spans(replace(plan, batches=batches)).batches
    for before, after in zip(plan.batches, bare, strict=True):
        water = {"dry_date": before.dry_date, "margin_days": before.margin_days}
        assert replace(after, **water) == before  # type: ignore[arg-type]


def test_seedlings_keep_three_days_from_the_tenth_on() -> None:
    (made,) = spanned(bed(), [head(53)], ripe_after([20]), 0)
    assert made.transplant_until == day(20 + 10 + 3)
    for state, told in (("sown", day(33)), ("growing", None), ("cleared", None)):
        (made,) = spanned(bed(), [replace(head(53), state=state)], ripe_after([20]), 0)
        assert made.transplant_until == told


def test_the_verifier_lives_to_the_same_days() -> None:
    """Heads picked in two goes, cuts, limits, doubt: every pick of every year."""
    g, batches = garden(), good_plan().batches
    years = years_for(g, 24, 7, "choose")
    lived = live(g, batches, years, doubt=Doubt(), seed=7)
    factors = doubts(g, batches, 24, 7)
    found = set()
    for y in range(24):
        life = Life(g, batches, Year(g, years, y, factors[y]))
        life.share()
        for i, b in enumerate(lived.batches):
            for k in range(len(b.picks)):
                made = int(lived.made[i, k, y])
                assert life.made[b.id].get(k, FAR) == made
                found.add(made)
            assert life.fit_on.get(b.id, FAR) == int(lived.due_fit[i, y])
            ended = {DRY: "dry", BOLTED: "bolted", TOO_OLD: "too old", UNKNOWN: None}
            assert life.lost.get(b.id) == ended[int(lived.lost[i, y])]
    assert FAR in found
    assert len(found) > 10


TENDER = {"kill_temperature": 15.0, "kill_hardened": 10.0, "heat_limit": 22.0}
# 14 h are half of the way; twenty days in warmth of a little less than 1 come to about 9.5.
DOSE = {"bolt_daylength": 13.0, "bolt_full_daylength": 15.0, "bolt_days": 9.5}
CHILL = {"bolt_cold": 18.0, "bolt_days": 2.0, "bolt_days_slow": 4.0, "slow_to_bolt": True}


@pytest.mark.parametrize(
    ("numbers", "ends"), [(TENDER, {FROZEN, OVERHEATED}), (DOSE, {BOLTED}), (CHILL, {BOLTED})]
)
def test_the_verifier_loses_the_same_batches(numbers: dict[str, Any], ends: set[int]) -> None:
    g, batches = garden(), good_plan().batches
    g = replace(g, crops={n: replace(c, **numbers) for n, c in g.crops.items()})
    years = years_for(g, 40, 7, "choose")
    lived = live(g, batches, years, doubt=Doubt(), seed=7)
    factors = doubts(g, batches, 40, 7)
    names = {FROZEN: "frozen", OVERHEATED: "overheated", DRY: "dry"}
    names |= {BOLTED: "bolted", TOO_OLD: "too old"}
    seen = set()
    for y in range(40):
        life = Life(g, batches, Year(g, years, y, factors[y]))
        assert life.share() == pytest.approx(lived.share[y])
        for i, b in enumerate(lived.batches):
            ended = int(lived.lost[i, y])
            assert life.lost.get(b.id) == names.get(ended)
            seen.add(ended)
    assert ends | {UNKNOWN} <= seen


def test_the_verifier_bears_as_much_heat_and_no_more() -> None:
    """Fourteen days of 20 degC and 20 mol: solution of 21.619 degC (test_survival_years says why).
    14 x 1.779 = 24.91 degC d are borne, 14 x 1.789 = 25.05 are not."""
    for limit, lost in ((19.84, None), (19.83, "overheated")):
        g = bed()
        g = replace(g, crops={"lettuce": replace(g.crops["lettuce"], heat_limit=limit)})
        one = head(50)
        life = Life(g, [one], Year(g, mean_years(g), 0, {"lettuce": (1.0, 1.0)}))
        life.share()
        assert life.lost.get(one.id) == lost


@pytest.mark.slow
def test_a_span_that_is_a_day_off_is_found_out() -> None:
    g, plan = garden(), good_plan()
    from scheduler.lived.promise import promised

    batches = spanned(g, plan.batches, years_for(g, 24, 7, "choose"), 7)
    promise = promised(g, plan.batches, years_for(g, 24, 7, "promise"), 1.0, 7)
    taken = YearsTaken("made", 0, 24, 0, 7, 24)
    plan = replace(plan, batches=batches, promise=promise, years=taken)
    assert verify(g, plan).ok
    p = batches[0].picks[0]
    assert p.look_from is not None
    assert p.from_ is not None
    assert p.to is not None
    one = day(1) - day(0)
    for change in (
        {"look_from": p.look_from - one},
        {"from_": p.from_ - one, "look_from": p.from_ - one},
        {"to": p.to + one},
        {"share": (p.share or 0) - 1 / 24},
    ):
        first = replace(batches[0], picks=(replace(p, **change), *batches[0].picks[1:]))
        assert not verify(g, replace(plan, batches=(first, *batches[1:]))).ok, change
