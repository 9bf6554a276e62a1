"""What else the log tells of a tier, in what is foretold of it (`verify_case`).

Four plants drink 0.4 L a day from 12 L; the tier is dry at 1.2 L, on day 27 after transplanting.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
import verify_case as case
from test_judge import BATCH, GARDEN, TABLE, after

from crops.development import mass_share
from scheduler.levels.estimate import Reading as EReading
from scheduler.levels.events import HEAD_G_CM3, drinking
from scheduler.log.amounts import COVERED, MOVED, SHADED, UNCOVERED
from scheduler.log.state import Followed
from scheduler.log.tracks import Change, Fewer, Reading, Sight, Water
from scheduler.plans.model import GROWING
from scheduler.watch.explain import estimated
from scheduler.watch.judge import ALARM, CALM, DRY, watched_batch

START = 10  # the day on which BATCH is transplanted


def tier(on: int, *readings: tuple[int, float], batch=BATCH, **told):
    """What is foretold ``on`` so many days after transplanting; (day, litres) of its levels."""
    rows = tuple(Reading(case.day(START + d), x, 100 + d) for d, x in readings)
    followed = Followed(replace(batch, state=GROWING), 0, rows, **told)
    return watched_batch(GARDEN, followed, TABLE, case.day(START + on))


def day(d: int):
    return case.day(START + d)


def levels(*days: int, plus: float = 0.0, since: int = 0):
    return [(d, 12 - 0.4 * d + (plus if d > since else 0)) for d in days]


def test_what_was_topped_up_lasts_as_much_longer():
    """2 L are five days of 0.4 L: dry on day 32, whether a level was read since or not."""
    topped = (Water(day(10), 2.0, 0.0, 5),)
    for rows in (levels(5, 9), levels(5, 9, 14, 18, plus=2.0, since=10)):
        w = tier(18, *rows, water=topped)
        assert after(w, "dry") == 32
        assert w.litres == pytest.approx(12 - 0.4 * 18 + 2, abs=0.05)
        assert not w.left_out
    assert after(tier(18, *levels(5, 9)), "dry") == 27


def test_a_dry_tier_that_is_topped_up_is_dry_no_longer():
    rows = [(10, 12 - 0.6 * 10), (14, 12 - 0.6 * 14), (19, 0.6)]
    assert tier(19, *rows).verdict == DRY
    # 4 L more last 6 days at 0.6 L: over the pick on the next day.
    assert tier(19, *rows, water=(Water(day(19), 4.0, 0.0, 200),)).verdict == CALM


def test_a_level_read_after_water_came_in_on_its_day_has_it_in():
    """The order of the lines of one day says which was first; levels are those of line 100 on."""
    late = tier(12, *levels(5, 12), water=(Water(day(12), 1.0, 0.0, 999),))
    early = tier(12, *levels(5), (12, 12 - 0.4 * 12 + 1), water=(Water(day(12), 1.0, 0.0, 1),))
    assert late.litres == pytest.approx(early.litres, abs=0.02)
    assert not late.left_out
    assert not early.left_out


def test_rain_that_may_have_got_in_explains_a_high_level():
    """Without word of it 2.4 L too much do not fit; with it they do."""
    rows = [*levels(5, 9), (14, 12 - 0.4 * 14 + 2.4)]
    assert tier(14, *rows).left_out == (day(14),)
    told = tier(14, *rows, water=(Water(day(11), 2.0, 1.0, 5),))
    assert not told.left_out
    assert after(told, "dry") in range(31, 35)  # 0.4 L a day: 2.4 L are six days, or fewer


def test_fewer_plants_drink_less_from_their_day_on():
    """On day 10 8 L are left; two plants drink 0.2 L: 6.8 L to the floor are 34 days: day 44."""
    two = replace(BATCH, plants=2, picks=(replace(BATCH.picks[0], plants=2, grams=200),))
    w = tier(12, *levels(5, 9), batch=two, fewer=(Fewer(day(10), 2, False),))
    assert after(w, "dry") == 44
    assert (w.heads, w.verdict) == (2, CALM)
    f = Followed(replace(two, state=GROWING), 0, (), fewer=(Fewer(day(10), 2, False),))
    assert drinking(GARDEN, f)[8:12] == [4.0, 4.0, 2.0, 2.0]


def test_a_tier_in_shade_drinks_three_quarters():
    """From day 10, 8 L left: 6.8 / 0.3 = 22.7 days, day 33; uncovered on day 20 (5 L left) 3.8 /
    0.4 = 9.5 days, day 30."""
    shaded = Change(day(10), SHADED, 5)
    assert after(tier(12, *levels(5, 9), changes=(shaded,)), "dry") == 33
    f = Followed(
        replace(BATCH, state=GROWING),
        0,
        changes=(shaded, Change(day(15), UNCOVERED, 6)),
    )
    assert drinking(GARDEN, f)[9:17] == [4.0, *[3.0] * 5, 4.0, 4.0]


@pytest.mark.parametrize("what", [MOVED, COVERED, SHADED, UNCOVERED])
def test_what_was_measured_before_a_move_says_less_of_what_follows(what):
    rows = levels(5, 9, 13)
    before, since = tier(13, *rows), tier(13, *rows, changes=(Change(day(11), what, 5),))
    assert since.thirst[1] > before.thirst[1]
    width = [(w.dry_to - w.dry_from).days for w in (before, since)]
    assert width[1] > width[0]


def test_who_looks_ripe_is_ready_sooner_and_its_alarm_says_so():
    """Ripe on day 20 as expected; looking ripe on day 16 it is rather earlier."""
    assert after(tier(16, *levels(5, 9)), "ready") == 20
    w = tier(16, *levels(5, 9), sights=(Sight(day(16), None, 50),))
    assert after(w, "ready") <= 20
    assert after(tier(22, *levels(5, 9), sights=(Sight(day(22), None, 50),)), "dry") == 27


def test_the_width_of_a_head_tells_its_mass_and_so_how_far_it_has_come():
    """A head of 100 g is as wide as (100 / HEAD_G_CM3) to the third; half as heavy is not ripe."""
    kind, _ = TABLE.of(BATCH)
    assert kind.progress_at(float(mass_share(0.5))) == pytest.approx(0.5, abs=0.01)
    wide = (100 / HEAD_G_CM3) ** (1 / 3)
    small = (float(mass_share(0.5)) * 100 / HEAD_G_CM3) ** (1 / 3)
    plain = tier(16, *levels(5, 9))
    assert tier(16, *levels(5, 9), sights=(Sight(day(16), small, 50),)).grams <= plain.grams
    found = tier(16, *levels(5, 9), sights=(Sight(day(16), wide, 50),))
    assert after(found, "ready") <= after(plain, "ready")


def test_a_crop_cut_again_has_no_head_to_measure():
    chard = case.batch("c1", "chard", "A1", 1, 11, [(31, 4), (38, 4)], 39)
    from lived_case import mean_years

    from scheduler.watch.made import foretold

    table = foretold(GARDEN, case.plan(chard), mean_years(GARDEN, 3))
    on = case.day(20)
    bare = Followed(replace(chard, state=GROWING), 0)
    seen = replace(bare, sights=(Sight(on, 60.0, 5),))
    one, two = (watched_batch(GARDEN, f, table, on) for f in (bare, seen))
    assert (one.ready, one.grams) == (two.ready, two.grams)


def test_what_happened_after_the_day_asked_for_is_not_known_on_it():
    topped = (Water(day(10), 2.0, 0.0, 5),)
    assert after(tier(9, *levels(5, 9), water=topped), "dry") == 27


def test_a_misread_level_does_not_hide_an_alarm():
    """1.6 times as thirsty, and one level read as if it were full."""
    rows = [(d, 12 - 0.64 * d) for d in (4, 7, 9)]
    assert tier(9, *rows).verdict == ALARM
    w = tier(11, *rows, (11, 12.0))
    assert w.left_out == (day(11),)
    assert w.verdict == ALARM


def test_the_chance_of_running_dry_counts_all_that_may_have_happened():
    """A last level 3.2 L too low was misread, or it leaks: each has its share in the chance."""
    rows = [*levels(5, 9), (14, 12 - 0.4 * 14 - 3.2)]
    w = tier(14, *rows)
    seen = [EReading(d, 12 - x, 0.254) for d, x in rows]  # 0.635 cm of 0.4 L a centimetre
    found = estimated(TABLE.of(BATCH)[0].course([4.0] * 20), seen, 12.0)
    assert len(found.states) >= 2
    each = [s.dry_by(10.8)[20 - s.day] for _, s in found.states]  # by the last pick, on day 20
    assert max(each) - min(each) > 0.2
    shares = [share for share, _ in found.states]
    assert w.chance == pytest.approx(
        sum(p * x for p, x in zip(shares, each, strict=True)), abs=0.01
    )
    assert dict(w.odds) == pytest.approx(found.odds, abs=0.01)
