"""A plan lived day by day: every figure follows by hand from `verify_case` (read it first).

At t degrees crops come on (t - 4) / 16 times as fast as at 20. A head that is transplanted on day s
is ripe on the first morning on which that rate times days has come to 20, and has of its 100 g

    mass(p) = ln(1 + exp(6.4 (p - 0.3))) / ln(1 + exp(6.4 x 0.7))        p: progress

A tier of four plants is dry on the morning of day 27, whatever the temperature.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from math import ceil, exp, log1p
from pathlib import Path

import numpy as np
import pytest
from lived_case import mean_years, thirstier, warmer
from verify_case import CHARD, LETTUCE, day, garden, good_plan, heads

from crops.crop import Crop, Parameter
from crops.learning import is_learned
from scheduler.garden.model import (
    Column,
    Demand,
    Garden,
    Helper,
    Labour,
    Limits,
    Nursery,
    Season,
    Span,
    Tier,
)
from scheduler.lived.doubt import Doubt
from scheduler.lived.grower import PATIENT, SENSIBLE, TO_THE_DAY
from scheduler.lived.growing import (
    BOLTED,
    DRY,
    FROZEN,
    OVERHEATED,
    SEEDLINGS_TOO_OLD,
    TOO_OLD,
    WELL,
)
from scheduler.lived.laid import FAR
from scheduler.lived.live import live
from scheduler.plans.model import Batch, Pick
from scheduler.schedule.assemble import wish_met
from scheduler.verify.lived import Life
from scheduler.verify.year import Year, doubts
from scheduler.years.weather_years import WeatherYears

BALCONY = Path(__file__).parents[3] / "examples" / "balcony"


def mass(progress: float) -> float:
    return log1p(exp(6.4 * (progress - 0.3))) / log1p(exp(6.4 * 0.7))


def lettuces(tiers: int = 1, columns: str = "A", **limits: object) -> Garden:
    """Lettuce alone, a bed of tiers, more wished than can grow; every day is a work day."""
    column = tuple(Tier(k + 1, "box", 1.0, 4) for k in range(tiers))
    return garden(
        season=Season(day(0), day(90)),
        columns=tuple(Column(name, column) for name in columns),
        nursery=Nursery(400, 20.0),
        demands=(Demand("lettuce", ("lettuce",), 70_000.0, day(0), day(90)),),
        limits=Limits(dry_margin_days=0, **limits),  # type: ignore[arg-type]
        crops={"lettuce": LETTUCE},
    )


def head(place: str, start: int, pick: int | None = None, **changes: object) -> Batch:
    """Four heads, sown ten days before they are transplanted, picked after twenty and cleared."""
    due = start + 20 if pick is None else pick
    column, tier = place.split()
    made = heads("", column + tier, start)
    return replace(
        made,
        id=f"{column}{tier}-{start}",
        sow=day(start - 10),
        picks=(Pick(day(due), 4, 400),),
        clear=day(due),
        **changes,  # type: ignore[arg-type]
    )


def years(g: Garden, by: float = 0.0, thirst: float = 1.0) -> WeatherYears:
    return thirstier(warmer(mean_years(g, 2), by), thirst)


def test_a_mean_year_brings_what_is_planned() -> None:
    g, plan = garden(), good_plan()
    lived = live(g, plan.batches, mean_years(g, 3), TO_THE_DAY)
    assert lived.share == pytest.approx([wish_met(g, plan)] * 3)
    for i, b in enumerate(lived.batches):
        for k, pick in enumerate(b.picks):
            assert (lived.pick_day[i, k] == g.season.index(pick.date)).all()
            assert (lived.pick_grams[i, k] == pick.grams).all()
        assert (lived.start[i] == g.season.index(b.transplant)).all()
    assert (lived.end == WELL).all()


@pytest.mark.parametrize(("by", "days"), [(0, 20), (-1, 22), (-3, 25), (4, 27)])
def test_who_waits_picks_when_it_is_ripe(by: float, days: int) -> None:
    """19 degC: 20 / (15/16) = 21.3; 17: 24.6. At 24 the rate is 11/15 (optimum 20, none at 35):
    27.3 days are one too many, the tier is dry on day 27."""
    g = lettuces()
    lived = live(g, [head("A 1", 30)], years(g, by), PATIENT)
    if by == 4:
        assert (lived.end == DRY).all()
        assert (lived.pick_day == FAR).all()
    else:
        assert days == ceil(20 / ((16 + by) / 16) - 1e-9)
        assert (lived.pick_day[0, 0] == 30 + days).all()
        assert (lived.pick_grams[0, 0] == 400).all()


def test_a_young_head_is_eaten_where_the_week_is_short_and_it_is_large_enough() -> None:
    """At 18.5 degC on day 20: progress 0.906, 87 g; at 17.8: 0.863, 80.8 g; at 17.7: 79.9 g."""
    g = lettuces()
    for by, young in ((-1.5, True), (-2.2, True), (-2.3, False)):
        rate = (16 + by) / 16
        lived = live(g, [head("A 1", 30)], years(g, by), SENSIBLE)
        expected = (50, round(400 * mass(rate))) if young else (30 + ceil(20 / rate), 400)
        got = int(lived.pick_day[0, 0, 0]), int(lived.pick_grams[0, 0, 0])
        if not young:  # the day it has four fifths comes before the day it is ripe
            expected = (51, round(400 * mass(21 * rate / 20)))
        assert got == expected
    full = replace(g, demands=(replace(g.demands[0], grams_per_week=0.0),))
    lived = live(full, [head("A 1", 30)], years(full, -1.5), SENSIBLE)
    assert (lived.pick_day[0, 0] == 30 + 23).all()  # nothing lacks: 20 / 0.906 = 22.1


# At t degrees a head has come (t - 4) / 320 of its way each day. After 20 days it has of its mass
# 79.9 % at 17.7, 80.8 % at 17.8, 89.5 % at 18.8, 90.3 % at 18.9, 99.9 % at 19.99 and all at 20.
@pytest.mark.parametrize(
    ("young", "by", "picked"),
    [
        (0.8, -2.3, 51),
        (0.8, -2.2, 50),
        (0.9, -1.9, 52),
        (0.9, -1.2, 51),
        (0.9, -1.1, 50),
        (1.0, -1.9, 53),
        (1.0, -0.01, 51),
        (1.0, 0.0, 50),
    ],
)
def test_the_garden_says_from_which_share_a_head_is_eaten(
    young: float, by: float, picked: int
) -> None:
    """At 18.1 it has 89.5 % on day 51, 95.7 on day 52, and is ripe on day 53 (22.7 days)."""
    g = lettuces(young=young)
    plan = [head("A 1", 30)]
    lived = live(g, plan, years(g, by), SENSIBLE)
    rate = (16 + by) / 320
    assert int(lived.pick_day[0, 0, 0]) == picked
    assert int(lived.pick_grams[0, 0, 0]) == round(400 * min(mass((picked - 30) * rate), 1.0))
    again = Life(g, plan, Year(g, years(g, by), 0, {"lettuce": (1.0, 1.0)}))
    assert again.share() == pytest.approx(lived.share[0], abs=1e-12)


def test_a_tier_that_will_not_last_is_picked_young_and_not_lost() -> None:
    """At 15 degC a head is ripe after 29.1 days, two days after its tier is dry. On day 27, the last
    morning with solution above the floor gone, it has 27 x 0.6875 / 20 = 0.928, 87 g."""
    g = lettuces()
    lived = live(g, [head("A 1", 30, pick=62)], years(g, -5.0), SENSIBLE)
    assert (lived.pick_day[0, 0] == 57).all()
    assert (lived.pick_grams[0, 0] == round(400 * mass(27 * 0.6875 / 20))).all()
    assert (live(g, [head("A 1", 30, pick=62)], years(g, -5.0), PATIENT).end == DRY).all()


def test_what_follows_a_late_tier_waits_as_long_as_its_seedlings_keep() -> None:
    """Seedlings keep three days. 18 degC: ripe after 22.9, cleared on day 53, free on 54 (a day of
    turnaround): two days late, transplanted. 17: day 55, 56 + 0: four days late, given up."""
    g = lettuces(turnaround_days=1)
    plan = [head("A 1", 30), head("A 1", 52)]
    lived = live(g, plan, years(g, -2.0), PATIENT)
    assert (lived.start[1] == 54).all()
    lived = live(g, plan, years(g, -3.0), PATIENT)
    assert (lived.start[1] == FAR).all()
    assert (lived.end[1] == SEEDLINGS_TOO_OLD).all()
    # Three days late is the last that will do: planned a day later, on day 53.
    lived = live(g, [head("A 1", 30), head("A 1", 53)], years(g, -3.0), PATIENT)
    assert (lived.start[1] == 56).all()


@pytest.mark.parametrize(
    ("told", "brings"),
    [
        # Not told: a third of 5 days is 2, the least. Half is good on the day after the hold.
        (0, [400, 200, 0]),
        (1, [400, 0]),
        (3, [400, 267, 133, 0]),
        (4, [400, 300, 200, 100, 0]),
    ],
)
def test_past_its_hold_less_of_a_crop_is_good_each_day(told: float, brings: list[int]) -> None:
    """The grower is away from the day it is ripe, 50; it holds for 5 days, until day 55."""
    for back, grams in enumerate(brings, 55):
        g = lettuces()
        g = replace(g, crops={"lettuce": replace(g.crops["lettuce"], after_hold=told)})
        season = replace(g.season, away=(Span(day(45), day(back - 1)),))
        g = replace(g, season=season)
        # Drunk at a third, so that it does not run dry meanwhile.
        lived = live(g, [head("A 1", 30)], years(g, 0, 0.3), PATIENT)
        assert (lived.end == (WELL if grams else TOO_OLD)).all(), back
        assert (lived.pick_grams[0, 0] == grams).all(), back


@pytest.mark.parametrize(
    ("limit", "days"), [(1, [50, 51, 52, 53]), (3, [50, 50, 50, 51]), (None, [50] * 4)]
)
def test_picks_a_day(limit: int | None, days: list[int]) -> None:
    g = lettuces(columns="ABCD", picks_per_day=limit)
    lived = live(g, [head(f"{c} 1", 30) for c in "ABCD"], years(g), SENSIBLE)
    assert sorted(lived.pick_day[:, 0, 0].tolist()) == days


@pytest.mark.parametrize(
    ("limit", "days"), [(1, [30, 31, 32, 33]), (3, [30, 30, 30, 31]), (None, [30] * 4)]
)
def test_fills_a_day(limit: int | None, days: list[int]) -> None:
    g = lettuces(columns="ABCD", fills_per_day=limit)
    lived = live(g, [head(f"{c} 1", 30) for c in "ABCD"], years(g), SENSIBLE)
    assert sorted(lived.start[:, 0].tolist()) == days


@pytest.mark.parametrize(("cells", "late"), [(4, 3), (12, 1), (16, 0)])
def test_nursery_cells(cells: int, late: int) -> None:
    """Four batches of four cells: of those that find no cell each waits until one is free."""
    g = replace(lettuces(columns="ABCD"), nursery=Nursery(cells, 20.0))
    lived = live(g, [head(f"{c} 1", 30) for c in "ABCD"], years(g), SENSIBLE)
    assert int((lived.start[:, 0] > 30).sum()) == late


def test_minutes_a_day() -> None:
    """Filling takes 12 minutes: in 24 two tiers are filled, in 23 one."""
    for minutes, days in ((24.0, [30, 30, 31, 31]), (23.0, [30, 31, 32, 33])):
        g = lettuces(columns="ABCD", minutes_per_day=minutes)
        lived = live(g, [head(f"{c} 1", 30) for c in "ABCD"], years(g), SENSIBLE)
        assert sorted(lived.start[:, 0].tolist()) == days


def test_a_day_has_the_minutes_of_those_who_are_there() -> None:
    """Day 30 is a Wednesday: Ann alone fills one tier in 12 minutes, with Bo two on a Thursday."""
    ann, bo = Helper("Ann", frozenset(range(7)), 12.0), Helper("Bo", frozenset({3}), 12.0)
    plan = [head(f"{c} 1", 30) for c in "ABCD"]
    for helpers, days in (((ann, bo), [30, 31, 31, 32]), ((ann,), [30, 31, 32, 33])):
        g = lettuces(columns="ABCD", helpers=helpers)
        assert sorted(live(g, plan, years(g), SENSIBLE).start[:, 0].tolist()) == days
    # Bo alone comes on Thursdays only. Seedlings are fit from day 30 on, and too old on day 38.
    g = lettuces(columns="ABCD", helpers=(bo,), labour=Labour(sow=0.0))
    days = live(g, plan, years(g), SENSIBLE).start[:, 0]
    assert sorted(days.tolist()) == [31, FAR, FAR, FAR]


def test_nobody_lifts_what_is_too_heavy() -> None:
    """Tier 1 is filled when tier 2 is due to be cleared: 2 kg, 12 L and the plants weigh more than
    10 kg until 8 - 0.4 k kg are left; without a limit tier 2 is cleared on the day of its pick."""
    plan = [head("A 2", 10), head("A 1", 25)]
    free = live(lettuces(2), plan, years(lettuces(2)), PATIENT)
    assert (free.clear[0] == 30).all()
    g = lettuces(2, lift_kg=10.0)
    lived = live(g, plan, years(g), PATIENT)

    def kg(k: int) -> float:  # of tier 1, k days after it was filled
        return 2 + 12 - 0.4 * k + 4 * 0.1 * mass(k / 20)

    first = next(k for k in range(40) if kg(k) <= 10)
    assert (lived.clear[0] == 25 + first).all()
    assert kg(first - 1) > 10


def test_bolting() -> None:
    """Long days from day 46 on: three are borne by the morning of day 49, four by 50 are not.

    Who sees it coming picks on day 49, at 95 % of the way."""
    bolts = replace(LETTUCE, bolt_daylength=15.0, bolt_days=3.0)
    g = replace(lettuces(), crops={"lettuce": bolts})
    for first, end in ((46, BOLTED), (47, WELL)):
        long = np.where(np.arange(years(g).days) >= first, 16.0, 14.0)
        made = replace(years(g), daylength=long)
        assert (live(g, [head("A 1", 30)], made, PATIENT).end == end).all()
    long = np.where(np.arange(years(g).days) >= 46, 16.0, 14.0)
    seen = live(g, [head("A 1", 30)], replace(years(g), daylength=long), SENSIBLE)
    assert (seen.pick_day[0, 0] == 49).all()
    assert (seen.pick_grams[0, 0] == round(400 * mass(0.95))).all()


def test_a_night_that_kills_and_one_that_just_does_not() -> None:
    """Transplanted on day 30, ripe on day 50. The frost of day 29 meets it in the nursery, that of
    day 50 comes after the pick; nights of 20 degC have not hardened it: below -2 degC it dies."""
    g = lettuces()
    for night, low, end in (
        (30, -2.1, FROZEN),
        (40, -2.0, WELL),
        (40, -2.1, FROZEN),
        (29, -9.0, WELL),
        (50, -9.0, WELL),
    ):
        cold = years(g)
        tmin, tmax = cold.tmin.copy(), cold.tmax.copy()
        tmin[0, night], tmax[0, night] = low, 42.0 - low  # in the first year alone
        lived = live(g, [head("A 1", 30)], replace(cold, tmin=tmin, tmax=tmax), SENSIBLE)
        assert lived.end[0].tolist() == [end, WELL]
        if end == FROZEN:
            assert lived.share[0] == 0
            assert lived.clear[0, 0] == night + 1  # seen the morning after, and cleared


def test_a_hardened_batch_lives_through_a_colder_night() -> None:
    """Seven nights of 2 degC outdoors: -4 degC is borne; of six only -2 - 2 x 6/7 = -3.71."""
    g = lettuces()
    cold = years(g)
    for first, low, end in ((33, -4.0, WELL), (34, -4.0, FROZEN), (34, -3.7, WELL)):
        tmin, tmax = cold.tmin.copy(), cold.tmax.copy()
        tmin[:, first:40], tmax[:, first:40] = 2.0, 38.0
        tmin[:, 40], tmax[:, 40] = low, 40.0
        lived = live(g, [head("A 1", 30)], replace(cold, tmin=tmin, tmax=tmax), PATIENT)
        assert (lived.lost[0] == FROZEN).all() == (end == FROZEN)


def test_a_fortnight_of_heat_kills() -> None:
    """The solution of a grey vessel in 20 degC and 20 mol has 21.619 degC (test_survival_years).
    Above 19.84 degC, 14 days are 24.91 degC d, which are borne; above 19.83 25.05: dead on the
    morning of day 44."""
    for limit, end in ((19.84, WELL), (19.83, OVERHEATED)):
        g = replace(lettuces(), crops={"lettuce": replace(LETTUCE, heat_limit=limit)})
        lived = live(g, [head("A 1", 30)], years(g), SENSIBLE)
        assert (lived.end == end).all()
        if end == OVERHEATED:
            assert (lived.clear[0] == 44).all()


def test_a_fortnight_of_chill_kills_and_is_told_as_cold() -> None:
    """Below 21.78 degC, 14 days of 20 are 24.92 degC d, which are borne; below 21.79 25.06."""
    for limit, end in ((21.78, WELL), (21.79, FROZEN)):
        g = replace(lettuces(), crops={"lettuce": replace(LETTUCE, chill_limit=limit)})
        lived = live(g, [head("A 1", 30)], years(g), SENSIBLE)
        assert (lived.end == end).all()
        if end == FROZEN:
            assert (lived.clear[0] == 44).all()


def test_days_that_have_happened_stand_as_told() -> None:
    """Picked on day 48, two days before it was ripe, says the log: so it is in every year."""
    g = lettuces()
    told = head("A 1", 30, pick=48)
    lived = live(g, [replace(told, state="cleared")], years(g), PATIENT, today=60)
    assert (lived.pick_day[0, 0] == 48).all()
    assert (lived.pick_grams[0, 0] == 400).all()


@pytest.mark.parametrize("cleaned", [46, 60])
def test_what_has_failed_gives_nothing_and_stands_until_its_tier_is_cleaned(cleaned: int) -> None:
    """Lost on day 45, it would have been ripe on day 50; the next can be planted from day 52 on."""
    g = lettuces()
    lost = replace(head("A 1", 30, pick=50), state="failed", picks=(), clear=day(cleaned))
    lived = live(g, [lost, head("A 1", 52)], years(g), SENSIBLE, today=45)
    assert (lived.pick_grams[0] == 0).all()
    assert (lived.end[0] == DRY).all()
    assert (lived.clear[0] == cleaned).all()
    free = max(52, cleaned + g.limits.turnaround_days)
    if cleaned == 46:
        assert (lived.start[1] == free).all()
    else:  # its seedlings, ready on day 52, keep to day 52 + nursery_wait
        keeps = 52 + int(LETTUCE.nursery_wait)
        assert (lived.start[1] == (free if free <= keeps else FAR)).all()


def test_doubt_in_the_crop_s_numbers_is_the_same_for_a_crop_all_year() -> None:
    g = lettuces(columns="AB")
    many = mean_years(g, 400)
    lived = live(g, [head("A 1", 20), head("B 1", 30)], many, PATIENT, Doubt(0.10, 0.0), seed=3)
    took = lived.ready - lived.start
    assert (took[0] == took[1])[(took < 60).all(axis=0)].all()
    # Days to ripeness are 20 / speed: half of the years below 20 and a bit, spread about 10 %.
    assert abs(np.median(took[0]) - 20) <= 1
    assert 0.08 < np.std(np.log(took[0][took[0] < 60] / 20)) < 0.13
    again = live(g, [head("A 1", 20)], many, PATIENT, Doubt(0.10, 0.0), seed=3)
    assert (again.ready[0] == lived.ready[0]).all()


def learned(*keys: str) -> Crop:
    """Lettuce of which so much was learned; it is written as `review` writes it."""
    source = "learned from 4 finished crops: 1.00 times the catalogue, 90 % 0.93 to 1.07"
    return replace(LETTUCE, parameters={k: Parameter("", source) for k in keys})


@pytest.mark.parametrize(
    ("keys", "days", "dry"),
    [
        ((), True, True),
        (("days_to_harvest",), False, True),
        (("peak_demand",), True, False),
        (("days_to_harvest", "peak_demand"), False, False),
        (("fresh_mass",), True, True),
    ],
)
def test_what_was_learned_of_a_crop_is_not_doubted(
    keys: tuple[str, ...], days: bool, dry: bool
) -> None:
    """In forty years all alike, heads are ripe on one day if days to harvest are known."""
    g = replace(lettuces(columns="AB"), crops={"lettuce": learned(*keys)})
    made = mean_years(g, 40)
    lived = live(g, [head("A 1", 20)], made, PATIENT, Doubt(), seed=3)
    seen = lived.ready[0][lived.ready[0] < FAR]
    assert (len(set(seen.tolist())) > 1) == days
    speed, thirst = Doubt().draw([g.crops["lettuce"]], 40, 3)
    assert (np.ptp(speed) > 0, np.ptp(thirst) > 0) == (days, dry)
    factors = doubts(g, [head("A 1", 20)], 40, 3)
    for y in range(40):
        assert factors[y]["lettuce"] == pytest.approx((speed[0, y], thirst[0, y]))


def test_what_is_known_of_one_crop_changes_no_other_crop_s_doubt() -> None:
    plain = Doubt().draw([LETTUCE, CHARD], 9, 3)
    known = Doubt().draw([learned("days_to_harvest", "peak_demand"), CHARD], 9, 3)
    for before, after in zip(plain, known, strict=True):
        assert (after[0] == 1).all()
        assert (after[1] == before[1]).all()


def test_what_review_wrote_is_known_as_learned_in_garden_and_plan(tmp_path: Path) -> None:
    """The garden names the file; a plan's folder keeps the crops with their sources."""
    from scheduler.garden.file import load_garden
    from scheduler.garden.reader import planned_crops
    from scheduler.plans.folder import crops_source

    shutil.copytree(BALCONY, tmp_path / "g")
    file = tmp_path / "g" / "garden.yaml"
    source = "learned from 2 finished crops: 1.10 times the catalogue, 90 % 1.00 to 1.21"
    name = next(iter(load_garden(file).crops))
    (tmp_path / "g" / "learned.yaml").write_text(
        f"{name}:\n  days_to_harvest:\n    value: 33 day\n    source: '{source}'\n"
    )
    text = file.read_text()
    file.write_text(text.replace("crops:\n", "crops:\n  learned: learned.yaml\n", 1))
    garden = load_garden(file)
    kept = planned_crops(crops_source(garden), "crops")
    for crop in (garden.crops[name], kept[name]):
        assert is_learned(crop, "days_to_harvest")
        assert not is_learned(crop, "peak_demand")


def test_a_crop_cut_again_is_cut_when_it_has_grown_back() -> None:
    g, plan = garden(), good_plan()
    chard = [b for b in plan.batches if g.crops[b.crop].cuts > 1]
    assert chard
    slow = live(g, chard, warmer(mean_years(g), -1.0), PATIENT)
    first = slow.pick_day[0, 0, 0]
    interval = g.crops[chard[0].crop].cut_interval
    later = [d for d in slow.pick_day[0, 1:, 0].tolist() if d < FAR]
    assert later
    assert later[0] - first >= interval
