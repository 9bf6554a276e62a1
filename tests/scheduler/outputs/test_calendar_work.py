"""The days' work: what is due, when, and in which order."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import calendar_case
import pytest
from not_empty import some

from crops import development
from scheduler.base.weeks import week_of
from scheduler.garden.model import Season
from scheduler.mix.fills import solution_of
from scheduler.outputs import work
from scheduler.outputs.work import work_items
from scheduler.plans.model import FAILED

DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def garden():
    return calendar_case.garden()


@pytest.fixture(scope="module")
def plan(garden):
    return calendar_case.plan(garden)


@pytest.fixture(scope="module")
def items(garden, plan):
    return work_items(garden, plan)


def of(items, kind, **fields):
    return [
        w for w in items if w.kind == kind and all(getattr(w, k) == v for k, v in fields.items())
    ]


def test_every_batch_is_sown_filled_planted_picked_and_cleared_once(plan, items):
    for b in some(plan.batches, 3):
        assert [(w.date, w.seeds, w.cells, w.until) for w in of(items, work.SOW, batch=b.id)] == [
            (b.sow, b.seeds, b.cells, b.transplant)
        ]
        assert [w.date for w in of(items, work.FILL, batch=b.id)] == [b.transplant]
        assert [w.date for w in of(items, work.TRANSPLANT, batch=b.id)] == [b.transplant]
        assert [w.date for w in of(items, work.CLEAR, batch=b.id)] == [b.clear]
        picks = [(w.date, w.plants, w.grams) for w in of(items, work.PICK, batch=b.id)]
        assert picks == [(p.date, p.plants, p.grams) for p in b.picks]


def test_fill_says_litres_depth_and_strength(garden, plan, items):
    fill = of(items, work.FILL, batch="b001")[0]
    crop = garden.crops["leaf_lettuce"]
    assert (fill.litres, fill.ph) == (18.0, (crop.ph_low, crop.ph_high))
    batch = next(b for b in plan.batches if b.id == "b001")
    assert fill.ec == solution_of(garden, batch).fill
    assert crop.ec_low <= fill.ec <= crop.ec_high
    # A frustum of 26 and 29 cm, 37 cm high: V = pi h / 12 (a^2 + a d + d^2), d = a + 3 h / 37.
    h = fill.depth_cm
    d = 26 + 3 * h / 37
    assert 3.14159265 * h / 12 * (26**2 + 26 * d + d**2) / 1000 == pytest.approx(18.0, abs=1e-3)


def test_a_day_runs_from_reading_to_sowing_and_never_lifts_a_full_vessel(garden, plan, items):
    assert items == tuple(sorted(items, key=lambda w: w.date))
    step = {
        k: i
        for i, k in enumerate(
            [
                *(work.LEVEL, work.SHELTER, work.SUPPORT, work.PICK, work.CLEAR, work.MOVE),
                *(work.FILL, work.HARDEN, work.SOW),
            ]
        )
    }
    step[work.TRANSPLANT] = step[work.FILL]
    step[work.PROTECT] = step[work.SHADE] = step[work.SHELTER]
    for before, after in pairwise(items):
        if before.date == after.date:
            assert step[before.kind] <= step[after.kind]
            if before.column == after.column and before.kind == after.kind == work.CLEAR:
                assert before.tier < after.tier  # from the top down
            if before.column == after.column and before.kind == after.kind == work.FILL:
                assert before.tier > after.tier  # from the bottom up
    # Two tiers of one column filled on one day: the lower one first, each planted once filled.
    same = [replace(b, column="A", tier=n, id=f"x{n}") for n, b in enumerate(plan.batches[:3], 1)]
    day = same[0].transplant
    same = [replace(b, transplant=day, levels=()) for b in same]
    made = work_items(garden, replace(plan, batches=tuple(same)))
    others = (work.SOW, work.PROTECT, work.HARDEN)
    order = [(w.kind, w.tier) for w in made if w.date == day and w.kind not in others]
    assert order == [
        ("fill", 3),
        ("transplant", 3),
        ("fill", 2),
        ("transplant", 2),
        ("fill", 1),
        ("transplant", 1),
    ]


def test_levels_are_read_weekly_on_a_work_day_with_the_expected_level(garden, plan, items):
    for b in some(plan.batches, 3):
        read = some(of(items, work.LEVEL, batch=b.id))
        assert all(garden.season.is_work_day(w.date) for w in read)
        assert all(b.transplant < w.date <= b.picks[-1].date for w in read)
        by_day = {v.date: v for v in b.levels}
        assert all(
            (w.litres, w.depth_cm) == (by_day[w.date].litres, by_day[w.date].depth_cm) for w in read
        )
        # Every week from the first full one on, but for weeks without a work day (21-27 June).
        weeks = {week_of(w.date) for w in read}
        day = b.transplant + work.SETTLE_DAYS * DAY
        while day <= b.picks[-1].date:
            if garden.season.is_work_day(day):
                assert week_of(day) in weeks
            day += DAY


def test_a_tier_near_its_dry_date_is_read_every_work_day(garden, plan):
    b = plan.batches[2]
    dry = b.picks[-1].date + 2 * DAY
    near = replace(b, dry_date=dry)
    read = {w.date for w in of(work_items(garden, replace(plan, batches=(near,))), work.LEVEL)}
    watch = [dry - n * DAY for n in range(work.WATCH_DAYS + 1)]
    expected = {d for d in watch if garden.season.is_work_day(d) and d <= b.picks[-1].date}
    assert len(expected) >= 2
    assert expected <= read
    # One day further off, a day that is not the first work day of its week is not read.
    off = [d for d in (v.date for v in b.levels) if (dry - d).days > work.WATCH_DAYS]
    extra = [d for d in read & set(off) if any(week_of(e) == week_of(d) and e < d for e in read)]
    assert not extra


def test_support_is_there_the_work_day_before_the_heads_hang(garden, plan, items):
    b = next(b for b in plan.batches if b.crop == "butterhead")
    crop = garden.crops["butterhead"]
    fit = of(items, work.SUPPORT, batch=b.id)
    assert len(fit) == 1
    light = garden.tier(b.column, b.tier).light
    rate = development.daily_rate(crop, garden.site.weather, light)

    def mass(day):
        first, now = garden.season.index(b.transplant), garden.season.index(day)
        return crop.fresh_mass * float(development.mass_share(rate[first:now].sum()))

    day = fit[0].date
    assert garden.season.is_work_day(day)
    assert mass(day) < crop.support_mass
    later = next(day + n * DAY for n in range(1, 9) if garden.season.is_work_day(day + n * DAY))
    assert mass(later) >= crop.support_mass
    assert crop.support_mass <= mass(b.picks[-1].date)


def test_no_support_for_crops_that_need_none(items):
    assert not of(items, work.SUPPORT, crop="swiss_chard")


def test_a_column_is_covered_from_its_first_air_gap_to_the_last_clearing(garden, plan, items):
    cover = of(items, work.SHELTER, column="A")
    stand = [b for b in plan.batches if b.column == "A"]
    gaps = []
    for b in stand:
        # "more than 2 cm": Kratky 2004, Acta Hort 648:83-89 (abstract).
        fallen = [v.date for v in b.levels if b.levels[0].depth_cm - v.depth_cm > 2.0]
        gaps.append((fallen[0], b.clear))
    for gap, clear in gaps:
        assert any(w.date <= gap and clear <= w.until for w in cover)
    assert min(w.date for w in cover) > min(gaps)[0] - 4 * DAY  # no earlier than need be
    assert max(w.until for w in cover) == max(clear for _, clear in gaps)


def test_a_fall_of_just_two_centimetres_is_no_gap_yet(garden, plan):
    b = plan.batches[1]
    full = b.levels[0].depth_cm

    def cover(fall):
        levels = (b.levels[0], *(replace(v, depth_cm=full - fall) for v in b.levels[1:]))
        made = work_items(garden, replace(plan, batches=(replace(b, levels=levels),)))
        return of(made, work.SHELTER)

    assert cover(2.0) == []
    assert len(cover(2.01)) == 1


def test_the_lift_is_the_heaviest_vessel_above(garden, plan, items):
    fill = of(items, work.FILL, batch="b002")[0]  # A 2, below the leaf lettuce in A 1
    top = plan.batches[0]
    level = next(v.litres for v in top.levels if v.date == fill.date)
    rate = development.daily_rate(garden.crops["leaf_lettuce"], garden.site.weather, 1.0)
    first, now = garden.season.index(top.transplant), garden.season.index(fill.date)
    plants = (
        3
        * garden.crops["leaf_lettuce"].fresh_mass
        * float(development.mass_share(rate[first:now].sum()))
        / 1000
    )
    assert fill.lift_kg == pytest.approx(1.6 + level + plants, abs=1e-6)
    assert of(items, work.FILL, batch="b001")[0].lift_kg == 0  # the top of the stack


def test_a_failed_batch_asks_for_no_care(garden, plan):
    lost = replace(plan.batches[0], state=FAILED, picks=())
    kinds = {w.kind for w in work_items(garden, replace(plan, batches=(lost,)))}
    assert kinds == {work.SOW, work.FILL, work.TRANSPLANT, work.CLEAR}
    early = replace(lost, clear=lost.transplant - DAY)
    assert {w.kind for w in work_items(garden, replace(plan, batches=(early,)))} == {work.SOW}


def test_a_season_across_new_year_with_a_leap_day(garden):
    g = calendar_case.garden(date(2027, 11, 1), date(2028, 3, 31))
    g = replace(g, season=Season(g.season.start, g.season.end))
    b = replace(
        calendar_case.plan().batches[0],
        sow=date(2027, 12, 20),
        transplant=date(2028, 2, 20),
        clear=date(2028, 3, 26),
        levels=(),
        picks=(),
    )
    p = replace(calendar_case.plan(), start=g.season.start, end=g.season.end, batches=(b,))
    made = work_items(g, p)
    # 2028-02-20 + 35 d is 26 March: 2028 has a 29 February.
    assert (made[-1].date - made[-2].date).days == 35
    assert [w.kind for w in made] == ["sow", "fill", "transplant", "clear"]


def test_keys_are_unique(items):
    assert len({w.key for w in items}) == len(items)


def test_support_with_work_every_day_is_fitted_the_very_day_before(garden, plan):
    daily = replace(garden, season=Season(garden.season.start, garden.season.end))
    b = plan.batches[0]
    crop = daily.crops[b.crop]
    rate = development.daily_rate(crop, daily.site.weather, 1.0)
    day = b.transplant
    first = daily.season.index(day)
    share = crop.support_mass / crop.fresh_mass
    while float(development.mass_share(rate[first : daily.season.index(day)].sum())) < share:
        day += DAY
    made = work_items(daily, replace(plan, batches=(b,)))
    assert [w.date for w in of(made, work.SUPPORT)] == [day - DAY]


def test_cover_stays_until_the_last_of_overlapping_batches_is_cleared(garden, plan):
    long, short = plan.batches[0], replace(plan.batches[1], tier=2)
    short = replace(short, clear=long.clear - 10 * DAY)
    made = work_items(garden, replace(plan, batches=(long, short)))
    assert [w.until for w in of(made, work.SHELTER)] == [long.clear]


class Counted(tuple):
    """Batches that count how often they are gone through."""

    times = 0

    def __iter__(self):
        Counted.times += 1
        return super().__iter__()


@pytest.mark.parametrize("columns", [2, 40])
def test_batches_are_gone_through_as_often_however_many_columns_there_are(garden, plan, columns):
    # Once for each column was a billion looks in a garden of ten thousand: minutes after the search.
    spare = [replace(garden.columns[0], name=f"Z{k}") for k in range(columns - 2)]
    Counted.times = 0
    work_items(
        replace(garden, columns=(*garden.columns, *spare)),
        replace(plan, batches=Counted(plan.batches)),
    )
    assert Counted.times <= 6
