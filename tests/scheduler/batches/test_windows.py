"""Sowing windows against tiny gardens of constant weather, each reason at its edge.

Figures of `verify_case`: a seedling is fit 10 days after sowing and may wait 3; a head is ready 20
days after transplanting and good for 5 more; four of them drink 0.4 L a day, so that a tier of 12 L
is dry (1.2 L) on day 27. The season is days 0 to 90; nobody works on days 60 to 66.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from lived_case import mean_years
from verify_case import DAYS, LETTUCE, batch, day, garden, plan, with_stages

from scheduler.base.weeks import week_of
from scheduler.batches.window_reasons import (
    BEFORE_SEASON,
    BOLTS,
    DARK,
    DRY,
    LATE,
    LONG,
    NO_PICK_DAY,
    NO_SOW_DAY,
    NO_TRANSPLANT_DAY,
    NOT_AVAILABLE,
    RESTS,
    WORKS,
    Why,
)
from scheduler.batches.windows import SowWindows, between, first_seedling, runs, sow_windows
from scheduler.garden.model import Column, Garden, Rest, Season, Span, Tier
from scheduler.plans.model import Pick
from scheduler.shortfall.window_text import data, text
from scheduler.shortfall.window_words import (
    day_text,
    days_text,
    frost_text,
    kinds_label,
    warm_text,
    why_text,
)
from scheduler.verify import verify
from scheduler.words.words import Units
from scheduler.years.expected import with_years

METRIC, US = Units("metric"), Units("us")


def one(tier: Tier | None = None, g: Garden | None = None, **crop: Any) -> SowWindows:
    """Lettuce with these changes, in a garden of one tier."""
    g = g or garden()
    tier = tier or Tier(1, "box", 1.0, 4)
    g = replace(g, columns=(Column("A", (tier,)),), crops={"lettuce": replace(LETTUCE, **crop)})
    (made,) = sow_windows(g)
    return made


def sown(w: SowWindows, k: int) -> Why:
    return next(d.why for d in w.days if d.sow == day(k))


def moved(w: SowWindows, k: int) -> Why:
    """The answer for transplanting on day ``k``."""
    return next(why for d, why in w.transplants if d == day(k))


def says(why: Why, units: Units = METRIC) -> str:
    return why_text([why], units)


def test_every_work_day_has_an_answer_and_no_other():
    w = one()
    asked = [k for k in range(DAYS) if not 60 <= k <= 66]
    assert [d.sow for d in w.days] == [day(k) for k in asked]
    assert [d for d, _ in w.transplants] == [day(k) for k in asked]


def test_nobody_there_to_transplant():
    """Seedlings of day 49 are fit on 59, a work day; those of 50 on 60 to 63, of 53 on 63 to 66,
    all away; those of 54 may wait to 67."""
    w = one()
    assert sown(w, 49).code == WORKS
    assert [sown(w, k).code for k in (50, 51, 52, 53)] == [NO_TRANSPLANT_DAY] * 4
    assert sown(w, 54).code == WORKS
    assert next(d for d in w.days if d.sow == day(54)).transplant == day(67)
    # Day 60 is 4 June 2027.
    assert says(sown(w, 50)) == "seedlings fit 4 to 7 Jun: you are away 4 to 10 Jun"


def test_not_ready_before_the_season_ends():
    """Transplanted on 70 it is ready on 90, the last day; on 71 a day late."""
    w = one()
    assert moved(w, 70).code == WORKS
    assert moved(w, 71).code == LATE
    assert moved(w, 71).figures["days_late"] == 1
    assert says(moved(w, 71)) == "not ready before the season ends: 1 day late"
    # Sown on 59: fit on 69, ready on 89. Sown on 67, the next work day: ready on 97.
    assert sown(w, 59).code == WORKS
    assert says(sown(w, 67)) == "not ready before the season ends: 7 days late"
    # Fit on the last day, but three days' wait reach past it: no day is left.
    assert sown(w, 81).code == LATE
    assert says(sown(w, 82)) == "not ready before the season ends: seedlings fit 6 Jul"


def test_nobody_there_to_pick():
    """Transplanted on 40 and 41 it is good on 60 to 65 and 61 to 66, all away; on 42 still on 67,
    two days before it is dry on 69."""
    w = one()
    assert [moved(w, k).code for k in (39, 40, 41, 42)] == [WORKS, NO_PICK_DAY, NO_PICK_DAY, WORKS]
    assert says(moved(w, 41)) == "ready and good 5 to 10 Jun: you are away 4 to 10 Jun"
    # Sown on 28 it can only be transplanted on 38 to 41: on the first of them it works.
    assert sown(w, 28).code == WORKS
    assert sown(one(nursery_wait=1.0), 30).code == NO_PICK_DAY
    assert sown(one(nursery_wait=2.0), 30).code == WORKS


def test_work_days_are_named_where_nobody_is_away():
    """Mondays only. Sown on Monday day 0, fit on Thursday day 10 and for 3 days: Friday, Saturday,
    Sunday; with one day more the Monday is reached."""
    g = garden(season=Season(day(0), day(DAYS - 1), frozenset({0})))
    why = sown(one(g=g), 0)
    assert why.code == NO_TRANSPLANT_DAY
    assert says(why) == "seedlings fit 15 to 18 Apr: you work Mon"
    assert sown(one(g=g, nursery_wait=4.0), 0).code == WORKS


def test_no_seedling():
    """The first seedlings are fit on day 10. For 72 the last sow day before the days away serves
    (59, fit on 69, waits to 72); for 73 it would be sown on 60 to 63."""
    w = one()
    assert moved(w, 9).code == BEFORE_SEASON
    assert says(moved(w, 9)) == "no seedling: sow before the season starts on 5 Apr"
    assert moved(w, 10).code == WORKS
    assert first_seedling(w) == day(10)
    assert moved(w, 72).code == LATE
    assert moved(w, 73).code == NO_SOW_DAY
    assert says(moved(w, 73)) == "no seedling: to be sown 4 to 7 Jun, you are away 4 to 10 Jun"


def test_dark():
    """20 mol m-2 d-1 on the open sky; 0.4 of it are 8."""
    tier = Tier(1, "box", 0.4, 4)
    assert sown(one(tier, dli_min=7.99), 0).code == WORKS
    why = sown(one(tier, dli_min=8.5), 0)
    assert why.code == DARK
    assert why.figures["dli"] == pytest.approx(8.0)
    assert why.figures["dli_needed"] == 8.5
    assert says(Why(DARK, {"dli": 7.3, "dli_needed": 12.0})) == "too dark: DLI 7 of 12 needed"
    # Never "10 of 10 needed".
    assert says(Why(DARK, {"dli": 9.97, "dli_needed": 10.0})) == "too dark: DLI 9.9 of 10 needed"


def test_dark_is_named_where_light_alone_makes_it_late():
    """With 4 of 10 mol it takes 50 days: transplanted on 50 it would be ready on 100, in full
    light on 70; transplanted on 71 it is late in any light."""
    w = one(Tier(1, "box", 0.2, 4))
    assert moved(w, 50).code == DARK
    assert moved(w, 71).code == LATE
    # Light enough by its minimum, only slow: 50 days, that is late.
    assert moved(one(Tier(1, "box", 0.2, 4), dli_min=3.9, peak_demand=1.0), 50).code == LATE


def test_dry():
    """Dry on day ceil(27 / x) where a plant drinks 100 x mL: 22 for 1.25, 21 for 1.3, 14 for 2.
    Two days must lie between the pick on day 20 and the dry date."""
    assert sown(one(peak_demand=125.0), 0).code == WORKS
    # At 1.32 the level reaches its end on day 20.45: of all but one picked on day 20 the last has
    # 0.45 x 4 = 1.8 days, too few for another day and the margin.
    why = sown(one(peak_demand=132.0), 0)
    assert why.code == DRY
    assert why.figures["days_after_pick"] == 1
    # Sown on day 0, transplanted on 10, ready on 30 (5 May), dry on 31.
    assert says(why) == "dry on 6 May, 1 day after the first pick on 5 May; the limit asks for 2"
    why = sown(one(peak_demand=200.0), 0)
    assert why.figures["dry"] == day(24)
    assert says(why) == "dry on 29 Apr, 6 days before ready"
    assert (
        why_text([why, sown(one(peak_demand=180.0), 0)], METRIC) == "dry 5 to 6 days before ready"
    )


def test_dry_before_the_first_work_day_to_pick():
    """Transplanted on 40, ready on 60; first work day 67; dry on 66 with 104 mL (ceil(25.96))."""
    why = moved(one(peak_demand=104.0, hold=10.0), 40)
    assert why.code == DRY
    assert says(why) == "dry on 10 Jun, before the first work day to pick it, 11 Jun"
    assert moved(one(peak_demand=90.0, hold=10.0), 40).code == WORKS  # dry on day 30: 70


def test_bolts():
    """Every day is over 19 degC: 20 bolting days by the day it is ready. A mean of 20 is not over
    23 less 3, and over 22.9 less 3: a quarter of a day each."""
    assert sown(one(bolt_heat=23.0, bolt_days=0.0), 0).code == WORKS
    assert sown(one(bolt_heat=22.9, bolt_days=5.0), 0).code == WORKS
    why = sown(one(bolt_heat=22.9, bolt_days=4.9), 0)
    assert says(why) == "bolts: as after 5 days over 23 °C; it stands 4"
    assert sown(one(bolt_heat=19.0, bolt_days=20.0), 0).code == WORKS
    why = sown(one(bolt_heat=19.0, bolt_days=19.0), 0)
    assert why.code == BOLTS
    assert says(why) == "bolts: 20 days over 19 °C; it stands 19"
    assert says(why, US) == "bolts: 20 days over 66 °F; it stands 19"
    why = sown(one(bolt_daylength=13.5, bolt_days=10.0), 0)
    assert says(why) == "bolts: 20 days over 13.5 h; it stands 10"
    why = sown(one(bolt_daylength=13.5, bolt_heat=19.0, bolt_both=True, bolt_days=10.0), 0)
    assert says(why) == "bolts: 20 days over 19 °C and 13.5 h; it stands 10"
    # Either would do, only the heat occurred.
    why = sown(one(bolt_daylength=14.0, bolt_heat=19.0, bolt_days=10.0), 0)
    assert says(why) == "bolts: 20 days over 19 °C; it stands 10"


def test_bolts_by_a_dose_of_long_days_and_by_cold():
    """14 h are half of the way from 13 to 15: twenty days come to 10; 20 degC is below 21."""
    ramp = {"bolt_daylength": 13.0, "bolt_full_daylength": 15.0}
    assert sown(one(**ramp, bolt_days=10.0), 0).code == WORKS
    why = sown(one(**ramp, bolt_days=9.9, bolt_days_slow=14.0), 0)
    assert says(why) == "bolts: as after 10 warm days of 15 h; it stands 9, slow kinds 14"
    assert sown(one(bolt_cold=21.0, bolt_days=20.0), 0).code == WORKS
    why = sown(one(bolt_cold=21.0, bolt_days=19.0), 0)
    assert says(why) == "bolts: 20 days below 21 °C; it stands 19"


def test_bolts_before_the_first_work_day_to_pick():
    """Ready on 60 after 20 bolting days, first work day 67 after 27."""
    changes: dict[str, Any] = {"bolt_heat": 19.0, "hold": 10.0, "peak_demand": 50.0}
    assert moved(one(bolt_days=27.0, **changes), 40).code == WORKS
    why = moved(one(bolt_days=26.0, **changes), 40)
    assert says(why) == "bolts: 27 days over 19 °C; it stands 26, first work day to pick 11 Jun"


def test_tier_to_be_had_for_a_time():
    """Days 20 to 40: transplanted on 20 it is ready on 40."""
    w = one(Tier(1, "box", 1.0, 4, available=(Span(day(20), day(40)),)))
    assert [moved(w, k).code for k in (19, 20, 21)] == [NOT_AVAILABLE, WORKS, NOT_AVAILABLE]
    assert says(moved(w, 19)) == "tier to be had only 25 Apr to 15 May"
    assert says(moved(w, 21)) == "tier to be had only 25 Apr to 15 May; ready 16 May"


def test_rest_after_disease():
    w = one(Tier(1, "box", 1.0, 4, rests=(Rest("Asteraceae", day(30)),)))
    assert [moved(w, k).code for k in (29, 30, 31)] == [RESTS, RESTS, WORKS]
    assert says(moved(w, 30)) == "after root disease Asteraceae may not stand here until 5 May"
    other = one(Tier(1, "box", 1.0, 4, rests=(Rest("Brassicaceae", day(30)),)))
    assert moved(other, 30).code == WORKS


def young_only(last: int, cold_from: int) -> Garden:
    """Heads may be picked young; no work is done after day ``last``; growth ends in the cold."""
    made = garden(season=Season(day(0), day(90), away=(Span(day(last + 1), day(90)),)))
    weather = made.site.weather.copy()
    weather.iloc[cold_from:, :2] = 4.0
    made = replace(made, site=replace(made.site, weather=weather))
    return with_years(made, mean_years(made, 5))


@pytest.mark.parametrize(
    ("cold", "said"),
    [
        ((), "No frost is to be reckoned with."),
        ((3,), "Frost until 8 Apr."),
        ((80,), "Frost from 24 Jun on."),
        ((3, 80), "Frost until 8 Apr and from 24 Jun on."),
    ],
)
def test_frost_is_told_above_the_dates(cold, said):
    made = garden(season=Season(day(0), day(90)))
    weather = made.site.weather.copy()
    weather.iloc[40:50, :2] = 25.0  # the warm middle
    for k in cold:
        weather.iloc[k, 0] = -0.1
    made = replace(made, site=replace(made.site, weather=weather))
    assert frost_text(made) == said
    assert said.split()[0] in text(made, sow_windows(made), METRIC)


@pytest.mark.parametrize("of_ten", [1, 3])  # years for each of ten that are told
def test_frost_is_told_in_so_many_of_ten_years(of_ten):
    """In one of ten years until day 12, in two more until day 8, in two more until day 3; as many
    from days 80, 84 and 88 on. What comes in four of ten is told with those in three."""
    made = garden(season=Season(day(0), day(90)))
    years = mean_years(made, 10 * of_ten)
    low = years.tmin.copy()
    low[:, 40:50] = 25.0  # the warm middle
    for begin, end, last, first in ((0, 1, 12, 80), (1, 3, 8, 84), (3, 5, 3, 88)):
        rows = slice(begin * of_ten, end * of_ten)
        low[rows, last] = low[rows, first] = -0.1
    many = with_years(made, replace(years, tmin=low))
    said = (
        "Frost in so many of 10 years: 5 until 8 Apr, 3 until 13 Apr, 1 until 17 Apr; "
        "5 from 2 Jul on, 3 from 28 Jun on, 1 from 24 Jun on."
    )
    assert frost_text(many) == said
    assert " ".join(text(many, sow_windows(many), METRIC).split()).find(said) > 0
    told = data(many, sow_windows(many), METRIC)["frost"]
    assert told["3"] == {"until": "2027-04-13", "from": "2027-06-28"}
    low[0] = 20.0  # a year less of each: what is not in one of ten is told no more
    fewer = with_years(made, replace(years, tmin=low))
    assert "1 until 17 Apr" not in frost_text(fewer)


@pytest.mark.parametrize(("hot", "told"), [(1, 1), (3, 3)])
def test_warm_solution_is_told_by_tier(hot, told):
    """Days 30 to 32 in some of ten years: 24 degC, in a grey vessel 25.6 (test_survival_years);
    in half the light 24.8, which is borne."""
    made = garden(season=Season(day(0), day(90)))
    lettuce = replace(made.crops["lettuce"], heat_limit=25.0)
    tiers = (Tier(1, "box", 1.0, 4), Tier(2, "box", 0.5, 4))
    made = replace(
        made, crops={"lettuce": lettuce}, columns=(Column("A", tiers),), demands=made.demands[:1]
    )
    years = mean_years(made, 10)
    low, high = years.tmin.copy(), years.tmax.copy()
    low[:hot, 30:33] = high[:hot, 30:33] = 24.0
    many = with_years(made, replace(years, tmin=low, tmax=high))
    said = warm_text(many, lettuce, tiers[:1], METRIC)
    assert said == f"solution above 25 °C in {told} of 10 years: 5 to 7 May"
    assert warm_text(many, lettuce, tiers[1:], METRIC) == ""
    assert said in " ".join(text(many, sow_windows(many), METRIC).split())
    kinds = data(many, sow_windows(many), METRIC)["crops"][0]["kinds"]
    assert [k["warm_solution"] is None for k in kinds] == [False, True]
    low[:hot, 32] = high[:hot, 32] = 20.0  # two days are no line
    fewer = with_years(made, replace(years, tmin=low, tmax=high))
    assert warm_text(fewer, lettuce, tiers[:1], METRIC) == ""


def test_ready_young_alone():
    """Transplanted on day 70, of the age for a young pick on day 88 (84 % of its mass at 0.9 of the
    way), and no further from day 89 on, when it is too cold."""
    w = one(g=young_only(90, 89))
    assert moved(w, 70) == Why(WORKS, {})
    assert says(moved(w, 70)) == "ready young alone"


def test_a_tier_that_is_always_to_be_had_is_no_reason():
    """Large enough when nobody is there any more, and ripe after the season: that is what is told."""
    w = one(g=young_only(85, 300))
    assert says(moved(w, 71)) == "not ready before the season ends: 1 day late"


def test_stands_too_long():
    """A batch is followed for 150 days after transplanting, two of them for the margin."""
    g = garden(season=Season(day(0), day(200)))
    assert sown(one(g=g, days_to_harvest=148.0, peak_demand=1.0), 0).code == WORKS
    why = sown(one(g=g, days_to_harvest=149.0, peak_demand=1.0), 0)
    assert why.code == LONG
    assert says(why) == "stands longer than 148 days"


@pytest.mark.deep
def test_the_verifier_agrees():
    """For sow dates at every edge: one works if and only if some plan of one batch breaks no rule.

    The verifier shares no rule code with the candidates.
    """
    g = replace(garden(), demands=())
    w = one(g=g)
    for k in (0, 28, 30, 48, 49, 50, 53, 54, 57, 58, 59, 67, 68):
        broken: Counter[str] = Counter()
        passed = False
        for t in range(k + 9, k + 15):
            for p in range(t + 19, t + 27):
                if p > DAYS - 1:
                    broken["season"] += 1
                    continue
                made = batch("b", "lettuce", "A1", k, t, [(p, 4)], p)
                assert made.picks == (Pick(day(p), 4, 400),)
                told = verify(g, with_stages(g, plan(made))).broken
                rules = {v.rule for v in told}
                passed = passed or not rules
                broken.update(rules)
        assert passed == (sown(w, k).code == WORKS), (k, broken)


def test_runs_and_shown_dates():
    w = one()
    assert [(r.first, r.last, r.code) for r in runs(w)] == [
        (day(0), day(49), WORKS),
        (day(50), day(53), NO_TRANSPLANT_DAY),
        (day(54), day(59), WORKS),
        (day(67), day(90), LATE),
    ]
    part = between(w, day(49), day(51))
    assert [d.sow for d in part.days] == [day(49), day(50), day(51)]
    assert between(w, None, None) == w


def test_kinds_are_named_by_their_tiers():
    tiers = tuple(Tier(n, "box", light, 4) for n, light in ((1, 1.0), (2, 0.8), (3, 0.8)))
    g = replace(garden(), columns=tuple(Column(n, tiers) for n in "ABCD"))
    bright, dim = (w.kind for w in sow_windows(g, ("lettuce",)))
    assert kinds_label(g, [bright]) == "A-D tier 1"
    assert kinds_label(g, [dim]) == "A-D tiers 2 and 3"
    assert kinds_label(g, [bright, dim]) == "every tier"
    g = replace(
        g, columns=(Column("wall", tiers), Column("gate", tiers[:1]), Column("well", tiers))
    )
    bright, dim = (w.kind for w in sow_windows(g, ("lettuce",)))
    assert kinds_label(g, [bright]) == "wall to well tier 1"
    assert kinds_label(g, [dim]) == "wall tiers 2 and 3, well tiers 2 and 3"


def test_many_kinds_are_counted():
    """Every second of 24 columns differs: 8 of 12 are named, 3 tiers each of the others counted."""
    light, dim = (tuple(Tier(n, "box", x, 4) for n in (1, 2, 3)) for x in (1.0, 0.8))
    columns = tuple(Column(f"c{i}", dim if i % 2 else light) for i in range(24))
    g = replace(garden(), columns=columns)
    kind, _ = (w.kind for w in sow_windows(g, ("lettuce",)))
    label = kinds_label(g, [kind])
    assert label.startswith("c0 tiers 1 to 3, c2 tiers 1 to 3, ")
    assert label.endswith("c14 tiers 1 to 3, 12 tiers more")


def test_dates_name_years_only_where_they_differ():
    assert days_text(day(0), day(3)) == "5 to 8 Apr"
    assert days_text(day(0), day(30)) == "5 Apr to 5 May"
    assert days_text(day(0), day(365)) == "5 Apr 2027 to 4 Apr 2028"
    assert day_text(day(0)) == days_text(day(0), day(0)) == "5 Apr"
    assert week_of(day(0)) == "2027-W14"


def test_crops_are_chosen_by_name():
    g = garden()
    assert {w.crop.name for w in sow_windows(g, ("chard",))} == {"chard"}
    with pytest.raises(KeyError):
        sow_windows(g, ("kale",))
