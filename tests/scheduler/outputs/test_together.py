"""Like work of a day put together: nothing lost, sums right, no full vessel lifted."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import groupby, pairwise

import calendar_case
import pytest
from not_empty import some

from scheduler.outputs import work
from scheduler.outputs.together import HARD, day_lines, heaviest, legend, notes
from scheduler.outputs.work import work_items
from scheduler.words.words import Units, depth_of_rain

METRIC, US = Units("metric"), Units("us")
GARDEN = calendar_case.garden()
PLAN = calendar_case.plan(GARDEN)
ITEMS = work_items(GARDEN, PLAN)
DAY = date(2027, 5, 5)
SALTS = (("acid", 0.4, "mL"), ("first", 14.0, "g"), ("last", 14.0, "g"))


def fill(column: str, tier: int, crop: str = "pak_choi", **changes: object) -> work.Work:
    made = work.Work(
        DAY, work.FILL, column, tier, f"{column}{tier}", crop, litres=18.0, depth_cm=30.8, ec=1.7
    )
    return replace(made, **{"ph": (6.0, 7.0), "weigh": SALTS, **changes})  # type: ignore[arg-type]


def plant(of: work.Work, **changes: object) -> work.Work:
    made = replace(of, kind=work.TRANSPLANT, plants=4, weigh=(), litres=None, ec=None)
    return replace(made, **changes)  # type: ignore[arg-type]


def told(items, shared=None, units=METRIC) -> list[str]:
    return [line.text.replace(HARD, " ") for line in day_lines(GARDEN, items, units, shared)]


@pytest.mark.parametrize("columns", [1, 3])
def test_fills_of_one_mix_are_one_line_with_the_sum_of_what_is_weighed(columns: int) -> None:
    """18 L takes 0.4 mL + 14 g + 14 g; three of them 54 L, 1.2 mL and twice 42 g."""
    fills = [fill(c, 3) for c in "ABC"[:columns]]
    (line,) = told(fills, legend(fills))
    if columns == 1:
        assert line == "pak choi mix EC 1.7: A 3 with 18.0 L: 0.4 mL + 14 + 14 g"
    else:
        assert line == (
            "pak choi mix EC 1.7: A 3, B 3, C 3 with 18.0 L each; 54.0 L takes 1.2 mL + 42 + 42 g"
        )


def test_what_differs_is_not_put_together() -> None:
    for changes in (
        {"ec": 1.8},
        {"crop": "basil"},
        {"end_ec": 3.3},
        {"ph": (5.5, 6.5)},
        {"weigh": SALTS[1:]},
    ):
        assert len(told([fill("A", 3), fill("B", 3, **changes)])) == 2, changes
    smaller = fill("B", 3, litres=11.0, depth_cm=21.5, weigh=(("acid", 0.2, "mL"), *SALTS[1:]))
    (line,) = told([fill("A", 3), smaller])
    assert "A 3 with 18.0 L (30.8 cm deep); B 3 with 11.0 L (21.5 cm deep); 29.0 L takes" in line
    assert "0.6 mL acid, 28 g first, 28 g last" in line


@pytest.mark.parametrize("tiers", [(3, 1), (3, 2, 1)])
def test_no_tier_is_filled_after_one_above_it(tiers: tuple[int, ...]) -> None:
    """Pak choi, basil, pak choi up one column: the mix is made twice, or a full vessel lifted."""
    crops = ("pak_choi", "basil", "pak_choi")
    fills = [fill("A", t, c) for t, c in zip(tiers, crops, strict=False)]
    lines = day_lines(GARDEN, fills, METRIC)
    order = [w.tier for line in lines for w in line.items]
    assert order == list(tiers)
    assert len(lines) == len(tiers)


def test_a_mix_waits_for_one_below_rather_than_being_made_twice() -> None:
    """Basil first, and all the pak choi after it is one mix."""
    fills = [fill("A", 3), fill("B", 3, "basil"), fill("B", 2)]
    lines = day_lines(GARDEN, fills, METRIC)
    assert [[w.column + str(w.tier) for w in line.items] for line in lines] == [
        ["B3"],
        ["A3", "B2"],
    ]


def test_every_item_of_a_season_stands_in_one_line() -> None:
    shared = legend(ITEMS)
    seen = []
    for _day, items in groupby(ITEMS, key=lambda w: w.date):
        today = list(items)
        lines = day_lines(GARDEN, today, METRIC, shared)
        steps = [work.KINDS.index(line.kind) for line in lines]
        assert steps == sorted(steps)
        for line in lines:
            for w in line.items:
                label = w.column if w.tier is None else f"{w.column}{HARD}{w.tier}"
                assert label in line.text
        filled = [w for line in lines if line.kind == work.FILL for w in line.items]
        for one, after in pairwise(w for w in filled if w.kind == work.FILL):
            assert one.column != after.column or one.tier > after.tier
        seen += [w for line in lines for w in line.items]
    assert sorted(seen, key=lambda w: w.key) == sorted(ITEMS, key=lambda w: w.key)


def test_what_the_fills_have_in_common_is_said_once() -> None:
    shared = legend(ITEMS)
    said = " ".join(notes(GARDEN, ITEMS, shared, METRIC))
    assert "18.0 L is 30.8 cm deep." in said
    names = {tuple(n for n, _a, _u in w.weigh) for w in some(ITEMS, 3) if w.kind == work.FILL}
    assert len(names) == 1
    assert "weigh in this order: " + " + ".join(next(iter(names))) in said
    # One litre at two depths, one more salt, or two ranges of pH for a crop: each fill says it.
    base = [fill("A", 3)]
    assert legend([*base, fill("B", 3, depth_cm=20.0)]).depths == ()
    assert legend([*base, fill("B", 3, weigh=SALTS[1:])]).order == ()
    assert legend([*base, fill("B", 3, ph=(5.5, 6.5))]).ph == ()
    alone = legend(base)
    assert all((alone.depths, alone.order, alone.ph))


def test_dates_that_differ_name_their_tiers() -> None:
    a, b = fill("A", 3), fill("B", 3)
    until, dry = date(2027, 5, 9), date(2027, 6, 15)
    planted = [plant(w, until=until, dry_date=dry, one_in=10) for w in (a, b)]
    (line,) = told([a, b, *planted])
    assert line.endswith("; seedlings keep until 9 May; dry by 15 June in 1 year of 10")
    later = replace(planted[1], dry_date=date(2027, 6, 18))
    (line,) = told([a, b, planted[0], later])
    assert line.endswith("; dry by 15 June (A 3), 18 June (B 3) in 1 year of 10")
    assert "4 plants each" in line


def test_the_heaviest_lift_of_a_day() -> None:
    assert heaviest([]) == 0
    assert heaviest([fill("A", 3, lift_kg=14.4), fill("B", 2, lift_kg=15.5)]) == 15.5


def test_rain_that_asks_for_a_cover() -> None:
    """Half of the late rise of 2 cm (Kratky 2004): 10 mm, 0.39 in; 3/8 in is 0.375."""
    assert (depth_of_rain(METRIC), depth_of_rain(US)) == ("10 mm", "3/8 in")
