"""Why a transplanting day does not work: each reason just in and just out."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from solver_case import span, tiny
from verify_case import LETTUCE, day

from scheduler.batches import candidates as c
from scheduler.batches.candidates import Candidates, Windows, build
from scheduler.batches.courses import NEVER
from scheduler.garden.model import Garden, Rest


def one(g: Garden, **changes: Any) -> tuple[Candidates, Windows]:
    """Candidates and reasons of the lettuce of a garden with one kind of tier."""
    g = replace(g, crops={"lettuce": replace(LETTUCE, **changes)})
    cand, (windows,) = build(g)
    return cand, windows


def reason(g: Garden, on: int, **changes: Any) -> tuple[str, float]:
    """Reason and figure of transplanting on a day; ``ok`` exactly where candidates are."""
    cand, w = one(g, **changes)
    has = set(cand.table["transplant"])
    for start, why in zip(w.starts.tolist(), w.reason.tolist(), strict=True):
        assert (why == c.OK) == (start in has), (start, why)
    i = int(np.flatnonzero(w.starts == on)[0])
    return str(w.reason[i]), float(w.amount[i])


def with_tier(g: Garden, **changes: Any) -> Garden:
    column = g.columns[0]
    return replace(g, columns=(replace(column, tiers=(replace(column.tiers[0], **changes),)),))


def test_no_seedling() -> None:
    """Fit 10 days after sowing, so not before day 10; where work stops, 13 days on at the latest."""
    g = tiny(70)
    assert reason(g, 9)[0] == c.NO_SEEDLING
    assert reason(g, 10)[0] == c.OK
    # No sowing from day 11 on: the last seedlings, of day 10, are fit on 20 and wait until 23.
    g = replace(g, season=replace(g.season, away=(span(11, 19),)))
    assert reason(g, 23)[0] == c.OK
    assert reason(g, 24)[0] == c.NO_SEEDLING
    assert reason(g, 30)[0] == c.OK  # sown on day 20
    assert reason(g, 23, nursery_wait=2.0)[0] == c.NO_SEEDLING
    assert reason(g, 23, nursery_wait=3.9)[0] == c.OK  # whole days count


def test_the_latest_sow_day_is_taken() -> None:
    """It takes the fewest cells. Work on Mondays, Wednesdays, Saturdays: days 0, 2, 5, 7, ..."""
    _, w = one(tiny(70, work=(0, 2, 5)))
    sow = dict(zip(w.starts.tolist(), w.sow.tolist(), strict=True))
    # Day 12 is ten days after day 2; day 14 eleven after 3 (no work): 2 waits 2 days. Day 19: 9.
    assert (sow[12], sow[14], sow[16], sow[19]) == (2, 2, 5, 9)
    assert sow[9] == NEVER


def test_nursery_indoors_and_out() -> None:
    """Seedlings are fit in 10 days at 20 degC; at 4 degC never, at 12 degC slower."""
    g = tiny(70)
    indoors = replace(g, nursery=replace(g.nursery, temperature=4.0))
    assert reason(indoors, 40)[0] == c.NO_SEEDLING
    cool = replace(g, nursery=replace(g.nursery, temperature=12.0))
    assert reason(cool, 10)[0] == c.NO_SEEDLING
    # The weather outside is 20 degC: the same as 20 degC indoors.
    warm = replace(g, nursery=replace(g.nursery, temperature=20.0))
    for start in (9, 10, 24):
        assert reason(warm, start) == reason(g, start)


def test_not_available() -> None:
    g = with_tier(tiny(70), available=(span(12, 35),))
    assert reason(g, 11)[0] == c.NOT_AVAILABLE
    assert reason(g, 12)[0] == c.OK
    assert reason(g, 15)[0] == c.OK  # ready and picked on day 35
    assert reason(g, 16)[0] == c.NO_DAY
    assert reason(g, 36)[0] == c.NOT_AVAILABLE


def test_available_in_two_spans_is_not_in_their_union() -> None:
    g = with_tier(tiny(90), available=(span(12, 35), span(36, 60)))
    assert reason(g, 16)[0] == c.NO_DAY
    assert reason(g, 36)[0] == c.OK
    g = with_tier(tiny(90), available=(span(12, 40), span(36, 60)))
    assert reason(g, 20)[0] == c.OK
    assert reason(g, 21)[0] == c.NO_DAY
    assert reason(g, 36)[0] == c.OK  # in both: the longer counts


def test_family_rests() -> None:
    g = with_tier(tiny(70), rests=(Rest("Asteraceae", day(20)),))
    assert reason(g, 20) == (c.RESTS, 20)
    assert reason(g, 21)[0] == c.OK
    g = with_tier(tiny(70), rests=(Rest("Brassicaceae", day(20)),))
    assert reason(g, 20)[0] == c.OK


def test_not_ready_in_the_season() -> None:
    assert reason(tiny(31), 10)[0] == c.OK
    assert reason(tiny(31), 11) == (c.LATE, 31)  # ready on day 31 of days 0 to 30


def test_no_work_day_in_the_hold() -> None:
    """Ready on day 30, held to day 35, 2 days before it is dry."""

    def without(first: int, last: int) -> Garden:
        g = tiny(70)
        return replace(g, season=replace(g.season, away=(span(first, last),)))

    assert reason(without(30, 34), 10)[0] == c.OK
    assert reason(without(30, 35), 10)[0] == c.NO_DAY
    assert reason(without(30, 34), 10, hold=4.0)[0] == c.NO_DAY


def test_too_dark() -> None:
    """20 mol under the open sky; at a share of 0.4 it is 8. The target is 10: at 8 it takes 25
    days, and its demand falls with the light, so that it is not dry first."""
    assert reason(with_tier(tiny(70), light=0.4), 10)[0] == c.OK
    why, light = reason(with_tier(tiny(70), light=0.399), 10)
    assert (why, light) == (c.DARK, pytest.approx(7.98))
    assert reason(tiny(70), 10, dli_min=20.0)[0] == c.OK
    assert reason(tiny(70), 10, dli_min=20.01)[0] == c.DARK


def test_light_is_the_mean_from_transplanting_to_the_last_pick() -> None:
    """Dark from day 31 on: with 20 mol to day 30 and none after, days 10 to 30 have 20, to day 31
    20 * 21/22 = 19.09, to day 32 20 * 21/23 = 18.26."""
    g = tiny(70)
    weather = g.site.weather.copy()
    weather.loc[weather.index[31:], "dli"] = 0.0
    g = replace(g, site=replace(g.site, weather=weather))
    # Late picks serve other weeks: day 35 (Monday of the sixth) is offered while it is light.
    for least, picks in ((20.0, {30}), (19.0, {30}), (16.0, {30, 35})):
        cand, _ = one(g, dli_min=least)
        at = cand.table["transplant"] == 10
        assert set(cand.table["first"][at]) | set(cand.table["last"][at]) == picks


def test_bolts() -> None:
    """Bolting days from day 20 on: a batch of day 10 has had ten of them on day 30."""
    g = tiny(70)
    weather = g.site.weather.copy()
    weather.loc[weather.index[20:], "daylength"] = 15.0
    g = replace(g, site=replace(g.site, weather=weather))
    assert reason(g, 10, bolt_daylength=14.5, bolt_days=10.0)[0] == c.OK
    assert reason(g, 10, bolt_daylength=14.5, bolt_days=9.0) == (c.BOLTS, 30)
    assert reason(g, 10, bolt_daylength=15.0, bolt_days=0.0)[0] == c.OK
    # The day of the pick itself does not count; a pick five days on stands five more.
    cand, _ = one(g, bolt_daylength=14.5, bolt_days=10.0)
    assert cand.table["last"][cand.table["transplant"] == 10].max() == 30
    cand, _ = one(g, bolt_daylength=14.5, bolt_days=15.0)
    assert cand.table["last"][cand.table["transplant"] == 10].max() == 35


def test_dry() -> None:
    """12 L are dry on the 27th day; with less in the vessel earlier: 0.9 fill = 0.4 k.

    Fill 10 L: 9 L drunk after 22.5 days, dry on the 23rd morning; 9.7 L: 21.8, on the 22nd;
    9.3 L: 20.9, on the 21st. With 2 days of margin day 20 must be 2 before.
    """

    def filled(litres: float, margin: int) -> Garden:
        g = tiny(70, dry_margin_days=margin)
        return replace(g, vessels={"box": replace(g.vessels["box"], fill_l=litres)})

    assert reason(filled(9.7, 2), 10)[0] == c.OK
    assert reason(filled(9.3, 2), 10) == (c.DRY, 31)
    assert reason(filled(9.3, 1), 10)[0] == c.OK
    # With three of four picked on day 20 the one left has 8.73 - 8 = 0.73 L: 7.3 days, dry on the
    # 28th. It is picked in the next week, from day 22 on: a margin of 3 holds, one of 9 does not.
    assert reason(filled(9.7, 3), 10)[0] == c.OK
    assert reason(filled(9.7, 9), 10) == (c.DRY, 32)
    # Just at the floor counts as dry: 0.9 * 80/9 = 8 L after 20 days; a little more is day 21.
    assert reason(filled(80 / 9, 0), 10)[0] == c.OK
    assert reason(filled(80 / 9 - 0.01, 1), 10) == (c.DRY, 30)
    assert reason(filled(80 / 9 + 0.01, 1), 10)[0] == c.OK


def test_a_keep_level_dries_a_tier_earlier() -> None:
    """10 cm of 20 x 20 cm are 4 L: 8 L drunk, dry on the 20th day; a pick then has no margin."""

    def kept(cm: float, margin: int) -> Garden:
        g = tiny(70, dry_margin_days=margin)
        return replace(g, vessels={"box": replace(g.vessels["box"], keep_cm=cm)})

    assert reason(kept(10.0, 0), 10)[0] == c.OK
    assert reason(kept(10.0, 1), 10) == (c.DRY, 30)
    assert reason(kept(9.9, 1), 10)[0] == c.OK


def test_heads_picked_one_by_one_leave_water_for_the_rest() -> None:
    """Fill 9.9 L: dry on day 23 (8.91 / 0.4 = 22.3); picks to day 21 with a margin of 2.

    Ready on day 20 of standing, a Saturday here, so that the next week begins on day 22: all four
    cannot wait for it, two of them can: 8.91 - 8 = 0.91 L at 0.2 a day last 4.55 days, to day 25.
    One alone can wait longer: 0.91 L at 0.1 a day last 9.1 days, to day 30 (43 of the season).
    """
    g = tiny(70)
    g = replace(g, vessels={"box": replace(g.vessels["box"], fill_l=9.9)})
    cand, _ = one(g)
    at = cand.table["transplant"] == 13  # ready on day 33, a Saturday; Monday is day 35
    picks = {tuple(int(d) for d in days if d < NEVER) for days in cand.pick_day[at.to_numpy()]}
    assert picks == {(33,), (33, 35), (33, 37)}
    halves = at & (cand.table["last"] == 35) & (cand.pick_plants[:, 0] == 2)
    row = int(np.flatnonzero(halves)[0])
    assert cand.pick_plants[row, :2].tolist() == [2, 2]
    assert cand.table["dry"].iat[row] == 13 + 25


def test_reasons_come_in_order() -> None:
    """A day that fails in several ways is told the first: no seedling before all else."""
    g = with_tier(tiny(31, dry_margin_days=20), available=(span(12, 35),), light=0.1)
    assert reason(g, 5)[0] == c.NO_SEEDLING
    assert reason(g, 11)[0] == c.NOT_AVAILABLE
    assert reason(g, 12)[0] == c.LATE
