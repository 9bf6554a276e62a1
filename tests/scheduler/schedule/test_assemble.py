"""From decisions to a plan: tiers for pooled batches, produce week by week, values."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from draws import fixed
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog
from solver_case import rows_of, tiny
from verify_case import batch, day, good_plan, with_stages
from verify_case import garden as verify_garden

from scheduler.garden.model import Demand, Garden
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.plans.model import Batch, Pick
from scheduler.schedule import assemble
from scheduler.schedule.produce import most_even, shared_out
from scheduler.verify import produce, verify


def test_values_of_the_plan_counted_by_hand() -> None:
    """The figures of `verify_case.good_plan`, derived in its docstring."""
    g, p = verify_garden(), good_plan()
    table = assemble.serve(g, p.batches)
    assert assemble.produce_value(g, table) == 2380
    assert assemble.evenness_value(table) == 360
    assert assemble.effort_value(p.batches) == 34
    assert table.unmet() == p.unmet
    # 300 g a week from day 28 to 59, 300 * 4/7 = 171 in its last; chard two weeks at weight 2.
    assert assemble.wish_total(g) == 4 * 300 + 171 + 2 * 2 * 300


def test_a_pick_nobody_wishes_for_is_wasted() -> None:
    g = replace(verify_garden(), demands=())
    table = assemble.serve(g, good_plan().batches)
    assert table.wasted == sum(b.grams for b in good_plan().batches)
    assert table.served == {}


@st.composite
def lots(draw: st.DrawFn) -> tuple[Garden, list[Batch]]:
    """Wishes of one group and picks of one crop on any days, keeping 0 to 20 days."""
    g = tiny(42)
    life = draw(st.sampled_from([0.0, 3.0, 7.0, 12.0, 20.0]))
    crops = {"lettuce": replace(g.crops["lettuce"], storage_life=life)}
    wishes = (
        Demand(
            "lettuce",
            ("lettuce",),
            draw(st.sampled_from([70.0, 210.0, 700.0])),
            day(draw(st.integers(0, 20))),
            day(draw(st.integers(21, 50))),
        ),
    )
    picks = draw(st.lists(st.tuples(st.integers(0, 41), st.integers(1, 900)), max_size=7))
    base = batch("b1", "lettuce", "A1", 0, 10, [(30, 4)], 31)
    made = [
        replace(base, id=f"b{i}", picks=(Pick(day(d), 4, n),)) for i, (d, n) in enumerate(picks)
    ]
    return replace(g, crops=crops, demands=wishes), made


@fixed(60)
@given(lots())
def test_no_way_of_sharing_serves_more(case: tuple[Garden, list[Batch]]) -> None:
    """What spoils first, first, against a transport problem solved by SciPy."""
    g, made = case
    weeks, wishes = season_weeks(g.season), wish(g)
    life = g.crops["lettuce"].storage_life
    arcs = [
        (i, w)
        for i, b in enumerate(made)
        for w in weeks_served(b.picks[0].date, life)
        if w in weeks
    ]
    most = 0.0
    if arcs:
        top = np.zeros((len(made) + len(weeks), len(arcs)))
        for k, (i, w) in enumerate(arcs):
            top[i, k] = top[len(made) + weeks.index(w), k] = 1
        right = [b.grams for b in made] + [wishes.get(("lettuce", w), 0) for w in weeks]
        most = -linprog(-np.ones(len(arcs)), top, right).fun
    table = assemble.serve(g, made)
    served = sum(table.served.values())
    assert served == pytest.approx(most)
    assert served + table.wasted == sum(b.grams for b in made)
    for key, grams in table.served.items():
        assert 0 <= grams <= table.wish[key]


@fixed(80)
@given(
    st.lists(
        st.tuples(
            st.integers(0, 5),
            st.integers(0, 3),
            st.lists(st.sampled_from([0, 1, 90, 400]), min_size=3, max_size=3),
        ),
        max_size=6,
    ),
    st.lists(st.sampled_from([0, 1, 75, 200, 333]), min_size=6, max_size=6),
)
def test_many_years_at_once_are_shared_out_as_each_by_itself(
    there: list[tuple[int, int, list[int]]], wishes: list[int]
) -> None:
    spans = [(a, min(a + more, 5), np.array(grams)) for a, more, grams in there]
    lots = [(first, last, k, grams) for k, (first, last, grams) in enumerate(spans)]
    wish = np.array(wishes)
    for share in (shared_out, lambda lots, wish: (None, most_even(lots, wish))):
        _, got = share(lots, np.tile(wish[:, None], 3))
        assert got.shape == (6, 3)
        for year in range(3):
            alone = [(a, b, k, int(grams[year])) for a, b, k, grams in lots]
            assert share(alone, wish)[1].tolist() == got[:, year].tolist()


def test_what_spoils_first_goes_first() -> None:
    """Worked: 100 g for weeks 0 and 1, 100 g for weeks 0 to 2, 80 g wished a week. Week 0 takes 80
    of the first lot, week 1 its last 20 and 60 of the second, week 2 the 40 that are left."""
    lots = [(0, 2, 7, 100), (0, 1, 8, 100)]
    flow, met = shared_out(lots, np.array([80, 80, 80]))
    assert flow == {(8, 0): 80, (8, 1): 20, (7, 1): 60, (7, 2): 40}
    assert met.tolist() == [80, 80, 40]


@fixed(150)
@given(
    st.lists(st.tuples(st.integers(0, 5), st.integers(0, 3), st.integers(1, 400)), max_size=7),
    st.lists(st.sampled_from([0, 1, 75, 200, 333]), min_size=6, max_size=6),
)
def test_the_most_even_way_to_share_out(
    there: list[tuple[int, int, int]], wishes: list[int]
) -> None:
    """Plan (by handing out), checker (by smallest cuts) and SciPy (one linear program after the
    other) share alike: most in all, then most of the halves, then week after week."""
    spans = [(a, min(a + more, 5), grams) for a, more, grams in there]
    lots = [(first, last, k, grams) for k, (first, last, grams) in enumerate(spans)]
    got = most_even(lots, np.array(wishes)).tolist()
    mine: Counter[tuple[int, int]] = Counter()
    for first, last, grams in spans:
        mine[first, last] += grams
    assert produce._shared(mine, wishes) == got
    arcs = [(k, w) for first, last, k, _ in lots for w in range(first, last + 1)]
    n = len(arcs)
    if not n:
        assert got == [0] * 6
        return
    # Flows, then by week what counts towards its half.
    rows, right = [], []
    for k, (_, _, grams) in enumerate(spans):
        rows.append([float(a == k) for a, _ in arcs] + [0.0] * 6)
        right.append(grams)
    by_week = [[float(w == week) for _, w in arcs] + [0.0] * 6 for week in range(6)]
    for week in range(6):
        rows.append(by_week[week])
        right.append(wishes[week])
        half = [-x for x in by_week[week]]
        half[n + week] = 1.0
        rows.append(half)  # no more of a half than is there
        right.append(0)
    bounds = [(0, None)] * n + [(0, w // 2) for w in wishes]
    for aim in ([1.0] * n + [0.0] * 6, [0.0] * n + [1.0] * 6, *by_week):
        # Whole numbers: a hundredth of a gram of leave keeps the next program from being torn.
        best = round(-linprog([-x for x in aim], rows, right, bounds=bounds).fun)
        rows.append([-x for x in aim])
        right.append(0.01 - best)
        if aim in by_week:
            assert got[by_week.index(aim)] == best
        elif aim[0]:
            assert sum(got) == best
        else:
            assert sum(min(g, w // 2) for g, w in zip(got, wishes, strict=True)) == best


def pooled_rows(days: int, tiers: int, turnaround: int) -> tuple[Garden, object]:
    g = tiny(days, tiers, turnaround_days=turnaround)
    return g, rows_of(g)


@fixed(40)
@given(st.data())
def test_pooled_batches_get_tiers_exactly(data: st.DataObject) -> None:
    """Any batches of which no more overlap than there are tiers: each gets a tier, alone."""
    turnaround = data.draw(st.integers(0, 3))
    _, cand = pooled_rows(80, 3, turnaround)
    start, last = cand.table["transplant"].to_numpy(), cand.table["last"].to_numpy()
    load = np.zeros(100, dtype=int)
    rows: list[int] = []
    for row in data.draw(st.lists(st.integers(0, len(cand) - 1), max_size=25)):
        if load[start[row] : last[row] + turnaround].max() < 3:
            load[start[row] : last[row] + turnaround] += 1
            rows.append(row)
    stands = assemble.spread_over_tiers(cand, rows)
    assert sorted(s.row for s in stands) == sorted(rows)
    by_tier: dict[tuple[str, int], list[tuple[int, int]]] = {}
    for s in stands:
        assert s.clear == last[s.row]
        by_tier.setdefault((s.column, s.tier), []).append((start[s.row], s.clear))
    assert set(by_tier) <= {("A", 1), ("A", 2), ("A", 3)}
    for held in by_tier.values():
        held.sort()
        for (_, end), (begin, _) in pairwise(held):
            assert begin >= end + turnaround


def test_one_batch_too_many_is_refused() -> None:
    _, cand = pooled_rows(40, 2, 1)
    row = int(np.flatnonzero(cand.table["transplant"] == 10)[0])
    assert len(assemble.spread_over_tiers(cand, [row, row])) == 2
    with pytest.raises(AssertionError, match="more batches than tiers"):
        assemble.spread_over_tiers(cand, [row, row, row])


def test_batches_are_by_date_and_hold_their_figures() -> None:
    g, cand = pooled_rows(60, 2, 1)
    start, last = cand.table["transplant"].to_numpy(), cand.table["last"].to_numpy()
    a, b = (int(np.flatnonzero((start == s) & (last == s + 20))[0]) for s in (10, 31))
    made = assemble.batches(cand, [assemble.Stand(b, "A", 1, 53), assemble.Stand(a, "A", 1, 30)])
    assert [x.id for x in made] == ["b001", "b002"]
    first, second = made
    assert (first.sow, first.transplant, first.clear) == (day(0), day(10), day(30))
    assert (first.dry_date, first.margin_days) == (day(37), 7)
    assert (first.cells, first.seeds) == (4, 8)
    # Waits two days to be cleared: the level stays at 4 L, 10 cm.
    assert [(v.litres, v.depth_cm) for v in second.levels[-3:]] == [(4.0, 10.0)] * 3
    assert [v.date for v in second.levels][-1] == day(53)
    from scheduler.plans.model import Plan

    table = assemble.serve(g, made)
    plan = Plan("best_found", (), day(0), day(59), made, table.unmet())
    assert verify(g, with_stages(g, plan)).ok
