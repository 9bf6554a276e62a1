"""What readings foretell, in a garden whose figures follow by hand (`verify_case`).

Four plants drink 0.4 L a day from 12 L; the tier is dry at 1.2 L, on day 27 after transplanting;
heads are ripe on day 20. A tier that drinks f times as much is dry after 27 / f days: with 1.35 on
day 20, the very day of the pick.
"""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
import verify_case as case
from lived_case import KNOWN, mean_years

from scheduler.log.state import Followed
from scheduler.log.tracks import Reading
from scheduler.plans.model import GROWING, Pick
from scheduler.watch import forecast
from scheduler.watch.judge import ALARM, CALM, CLOSE, DRY, watched_batch, worst_first
from scheduler.watch.made import forecasts, foretold, kind_of

CROPS = {
    n: replace(c, parameters=KNOWN) for n, c in (("lettuce", case.LETTUCE), ("chard", case.CHARD))
}
GARDEN = case.garden(crops=CROPS)
BATCH = case.heads("b1", "A1", 10)
PLAN = case.plan(BATCH, number=3)
TABLE = foretold(GARDEN, PLAN, mean_years(GARDEN, 3))


def seen(f: float, *days: int, batch=BATCH, done: int = 0, **changes):
    """The tier on the last of some days after transplanting, having drunk f times as expected."""
    start = (batch.transplant - case.day(0)).days
    readings = tuple(Reading(case.day(start + d), max(12 - 0.4 * f * d, 0.0), d) for d in days)
    followed = Followed(replace(batch, state=GROWING), done, readings)
    on = case.day(start + changes.pop("on", days[-1] if days else 1))
    return watched_batch(changes.pop("garden", GARDEN), followed, changes.pop("table", TABLE), on)


def after(w, name: str) -> int:
    """A day of what is foretold, in days after transplanting."""
    return (getattr(w, name) - case.day(10)).days


def test_the_table_tells_what_one_plant_drinks_and_how_it_grows():
    kind, planned = TABLE.of(BATCH)
    assert planned == case.day(10)
    np.testing.assert_allclose(kind.drinks, 0.1)  # 100 mL a day
    np.testing.assert_allclose(kind.growth[:21], np.arange(21) / 20)
    np.testing.assert_allclose(kind.slopes[:3], [0.1 * (d / 20 - 0.5) for d in range(3)])
    assert len(kind.growth) == len(kind.drinks) + 1 == 21 + 28 + 1  # to 28 days after clearing
    assert kind.mass_at(1.0) == pytest.approx(1.0)
    assert kind.mass_at(0.5) < 0.5
    np.testing.assert_allclose(kind.noise, 0.0, atol=1e-12)  # all years alike


def test_who_drinks_as_expected_is_calm_and_dry_on_the_day_of_the_plan():
    w = seen(1.0, 5, 8, 11, 14)
    assert (w.verdict, after(w, "dry"), after(w, "ready")) == (CALM, 27, 20)
    assert after(w, "dry_from") <= 27 <= after(w, "dry_to")
    assert w.pick is None
    assert w.thirst[0] == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize(("f", "verdict"), [(1.0, CALM), (1.3, CLOSE), (1.6, ALARM)])
def test_thirst_alarms_where_the_tier_will_not_last_to_its_last_pick(f, verdict):
    """27 / 1.6 = 16.9, three days before the pick on day 20; 27 / 1.3 = 20.8, a day after it."""
    w = seen(f, 4, 7, 9, 11)
    assert w.verdict == verdict
    assert after(w, "dry_from") <= 27 / f + 1
    assert after(w, "dry_to") >= 27 / f


def test_an_alarm_names_a_work_day_before_it_may_be_dry_and_what_a_head_then_weighs():
    w = seen(1.6, 4, 7, 9, 11)
    assert w.on < w.pick < w.dry_from
    kind, _ = TABLE.of(BATCH)
    share = kind.mass[(w.pick - case.day(10)).days]
    assert w.grams == pytest.approx(400 * share, abs=1)  # four heads of 100 g
    monday_only = case.garden(
        crops=CROPS, season=replace(GARDEN.season, work_days=frozenset({0}))
    )  # day 21, eleven days after transplanting, is a Monday; so is day 28, too late
    w = seen(1.6, 4, 7, 9, 10, garden=monday_only)
    assert after(w, "pick") == 11


def test_an_empty_tier_is_dry_and_is_to_be_picked_today():
    """12 - 0.6 * 17 = 1.8 L on day 17, above the floor of 1.2 L; 0.6 L on day 19, below it."""
    w, later = seen(1.5, 8, 13, 17), seen(1.5, 8, 13, 17, on=19)
    assert (w.verdict, later.verdict) == (ALARM, DRY)
    assert later.pick == later.on


def test_with_weeks_to_go_only_a_high_chance_alarms():
    """Two plants drink 0.2 L a day, dry on day 54; at 1.2 times that on day 45, that of the pick."""
    two = replace(BATCH, plants=2, picks=(Pick(case.day(55), 2, 200),), clear=case.day(55))
    table = foretold(GARDEN, case.plan(two), mean_years(GARDEN, 3))

    def at(day: int, f: float):
        readings = tuple(
            Reading(case.day(10 + d), 12 - 0.2 * f * d, d) for d in range(5, day + 1, 5)
        )
        followed = Followed(replace(two, state=GROWING), 0, readings)
        return watched_batch(GARDEN, followed, table, case.day(10 + day))

    early, late, sure = at(15, 1.25), at(35, 1.20), at(15, 1.6)
    assert 0.4 < early.chance < 0.7
    assert 0.4 < late.chance < 0.7
    assert (early.dry_from - early.on).days >= 14 > (late.dry_from - late.on).days
    assert (early.verdict, late.verdict, sure.verdict) == (CLOSE, ALARM, ALARM)


def test_half_the_heads_picked_drink_half():
    """Two of four picked on day 18: 7.2 L are gone, 3.6 L are left above the floor at 0.2 L a day."""
    some = replace(BATCH, picks=(Pick(case.day(28), 2, 200), Pick(case.day(40), 2, 200)))
    w = seen(1.0, 5, 10, 15, 18, batch=some, done=1)
    assert after(w, "dry") == 36
    assert w.heads == 2


def test_chard_drinks_half_from_its_first_cut_on():
    """Dry as the plan says: 0.4 L a day for 20 days, then 0.2 L: 10.8 - 8 = 2.8 L last 14 days."""
    chard = case.batch("b2", "chard", "A1", 0, 10, [(30, 4), (37, 4)], 38)
    table = foretold(GARDEN, case.plan(chard), mean_years(GARDEN, 3))
    w = seen(1.0, 5, 10, 15, 19, batch=chard, table=table)
    assert after(w, "dry") == 34 == (chard.dry_date - case.day(10)).days


def test_what_readings_taught_an_earlier_plan_does_not_count_twice():
    taught = replace(BATCH, demand_factor=1.5)
    again = foretold(GARDEN, case.plan(taught), mean_years(GARDEN, 3))
    assert again.kinds == TABLE.kinds


def test_a_late_transplanting_is_foretold_from_its_own_day_and_a_far_one_not():
    late = replace(BATCH, transplant=case.day(13))
    assert (seen(1.0, 5, 10, batch=late).dry - case.day(13)).days == 27
    assert seen(1.0, 4, batch=replace(BATCH, transplant=case.day(24))) is not None
    assert seen(1.0, 4, batch=replace(BATCH, transplant=case.day(25))) is None


def test_nothing_is_foretold_of_what_is_picked_or_not_in_the_table():
    assert seen(1.0, 21, done=1) is None
    assert seen(1.0, 5, batch=replace(BATCH, id="b9")) is None
    assert seen(1.0, 5, batch=replace(BATCH, crop="chard")) is None


def test_a_reading_tells_most_where_the_verdict_is_in_doubt():
    calm, close = seen(0.8, 5, 9, on=12), seen(1.3, 5, 9, on=12)
    assert close.told > 2 * calm.told
    assert seen(1.3, 5, 9).told == 0  # just measured
    assert [w.verdict for w in worst_first([calm, close])] == [calm.verdict, close.verdict][::-1]


def test_the_table_is_read_as_it_was_written(tmp_path):
    (tmp_path / "watch.json").write_bytes(forecast.written(TABLE, PLAN))
    got = forecast.read(tmp_path, PLAN)
    assert got.batches == TABLE.batches
    np.testing.assert_allclose(got.kinds[0].drinks, TABLE.kinds[0].drinks, atol=5e-6)
    np.testing.assert_allclose(got.kinds[0].mass, TABLE.kinds[0].mass, atol=5e-5)


def spoilt(**changes) -> bytes:
    body = json.loads(forecast.written(TABLE, PLAN))
    return json.dumps({**body, **changes}).encode()


@pytest.mark.parametrize(
    "data",
    [
        None,
        b"",
        b"[]",
        b"\xff\xfe",
        forecast.written(TABLE, PLAN)[:-40],
        spoilt(schema="dryline-watch-0"),
        spoilt(kinds=[]),
        spoilt(batches={"b1": [0, "lettuce"]}),
        spoilt(kinds=[{**json.loads(spoilt())["kinds"][0], "drinks": [1, 2]}]),
        spoilt(kinds=[{**json.loads(spoilt())["kinds"][0], "years": [[1]]}]),
        spoilt(kinds=[{**json.loads(spoilt())["kinds"][0], "drinks": [float("nan")] * 49}]),
        spoilt(kinds=[{**json.loads(spoilt())["kinds"][0], "noise": [-1] * 49}]),
        spoilt(other=[["2027-13-01", "shelter"]]),
        spoilt(checks=[1]),
        spoilt(plan=[4, "None", "None", str(PLAN.start), 1]),
    ],
)
def test_of_no_table_a_spoilt_one_or_that_of_another_plan_nothing_is_foretold(tmp_path, data):
    if data is not None:
        (tmp_path / "watch.json").write_bytes(data)
    assert forecast.read(tmp_path, PLAN) is forecast.NOTHING


def test_no_spoilt_table_breaks_an_answer(tmp_path):
    """Digits of a sound table changed at random: nothing is foretold, or some day, and no fault."""
    rng = np.random.default_rng(8)
    sound = forecast.written(TABLE, PLAN)
    answered = 0
    for _ in range(120):
        data = bytearray(sound)
        for at in rng.integers(len(data), size=12):
            if chr(data[at]) in "0123456789.-":
                data[at] = ord(rng.choice(list("0123456789-e")))
        (tmp_path / "watch.json").write_bytes(bytes(data))
        answered += seen(1.3, 5, 9, table=forecast.read(tmp_path, PLAN)) is not None
    assert answered > 10


def test_batches_alike_share_a_kind():
    both = case.plan(BATCH, replace(BATCH, id="b2", tier=2))
    table = foretold(GARDEN, both, mean_years(GARDEN, 3))
    assert len(table.kinds) == 1
    assert table.batches["b1"] == table.batches["b2"] == (0, "lettuce", case.day(10))


def test_years_that_differ_in_level_slope_and_pace_are_told_apart():
    """200 years that differ in level and slope alone, then 4,000 in nothing but single days."""
    rng = np.random.default_rng(3)
    base, growth = np.full(30, 0.1), np.arange(31) / 25
    leaf = np.minimum(growth[:-1], 1.0) - 0.5
    level, slope = rng.normal(0, [[0.1], [0.2]], (2, 200))
    level -= level.mean()
    slope -= slope.mean()
    drinks = base * (1 + level[:, None] + slope[:, None] * leaf)
    kind = kind_of(drinks, np.tile(growth, (200, 1)))
    np.testing.assert_allclose(kind.years[0][0], level.var(ddof=1), rtol=1e-6)
    np.testing.assert_allclose(kind.years[1][1], slope.var(ddof=1), rtol=1e-6)
    np.testing.assert_allclose(kind.years[2][2], 0.0, atol=1e-12)
    np.testing.assert_allclose(kind.noise, 0.0, atol=1e-12)
    # Days that have nothing to do with each other: their variance comes back as it was drawn.
    drinks = base + rng.normal(0, 0.02, (4000, 30))
    kind = kind_of(drinks, np.tile(growth, (4000, 1)))
    assert np.mean(kind.noise) == pytest.approx(0.02**2, rel=0.05)
    # The fits of single years scatter in level by 0.02 / (0.1 * sqrt(30)), 0.037; that is no spread.
    assert np.sqrt(kind.years[0][0]) < 0.01


def test_a_plan_without_batches_in_hand_has_an_empty_table():
    data = forecast.written(forecasts(GARDEN, case.plan()), case.plan())
    assert json.loads(data)["kinds"] == []
