"""Where every batch stands on a day: the plan where the log is silent, the log where it speaks.

Plan (`verify_case.good_plan`), days after 5 April 2027:
b1 lettuce A3 sow 0, transplant 10, picks 30 (2) and 33 (2), clear 33;
b2 chard A1 1, 11, cuts 31 and 38, 39; b3 lettuce B1 10, 20, pick 40, 41;
b4 lettuce A3 24, 34, pick 54, 54; b5 lettuce B2 12, 22, pick 42, 43.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
import verify_case as case
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.base.faults import BadInput
from scheduler.log.model import HEADER, read_log
from scheduler.log.state import DISEASE_REST_DAYS, state_on
from scheduler.plans.model import CLEARED, FAILED, GROWING, PLANNED, SOWN

GARDEN, PLAN = case.garden(), case.good_plan()


def log(*lines: str):
    return read_log("\n".join([HEADER, *lines]).encode(), "log.csv", GARDEN)


def state(on: int, *lines: str, **options):
    return state_on(GARDEN, PLAN, log(*lines), case.day(on), **options)


def by_id(found):
    return {f.batch.id: f for f in found.batches}


def row(day: int, what: str, place: str = "", amount: str = "", crop: str = "", note: str = ""):
    column, tier = (place[0], place[1:]) if place else ("", "")
    return f"{case.day(day)},{what},{column},{tier},{crop},{amount},,{note}"


def bad(on: int, *lines: str, **options):
    with pytest.raises(BadInput) as caught:
        state(on, *lines, **options)
    return [(f.line, f.path, f.expected) for f in caught.value.faults]


# What the plan alone says of day 32: b1 has been picked once, b2 cut once, b3 and b5 grow, b4's
# seedlings are 8 days old.
def test_an_empty_log_means_as_planned():
    got = by_id(state(32))
    states = {name: f.batch.state for name, f in got.items()}
    assert states == {"b1": GROWING, "b2": GROWING, "b3": GROWING, "b4": SOWN, "b5": GROWING}
    assert (got["b1"].done, got["b1"].standing) == (1, 2)
    assert not any(f.late for f in got.values())
    for name, f in got.items():  # nothing but the state is changed
        before = next(b for b in PLAN.batches if b.id == name)
        assert replace(f.batch, state=PLANNED) == before


def test_the_first_day_has_done_nothing():
    found = state(0)
    assert {f.batch.state for f in found.batches} == {PLANNED}
    assert found.assumed == 0


def test_the_last_day_has_done_all():
    assert {f.batch.state for f in state(90).batches} == {CLEARED}


FULL = [
    row(0, "sown", "A3", "4", "lettuce"),
    row(1, "sown", "A1", "7", "chard"),
    row(10, "transplanted", "A3", "4", "lettuce"),
    row(10, "sown", "B1", "4", "lettuce"),
    row(11, "transplanted", "A1"),
    row(12, "sown", "B2", "", "lettuce"),
    row(20, "transplanted", "B1"),
    row(22, "transplanted", "B2"),
    row(24, "sown", "A3"),
    row(30, "picked", "A3", "2"),
    row(31, "picked", "A1"),
    row(33, "picked", "A3", "2"),
    row(33, "cleared", "A3"),
    row(34, "transplanted", "A3"),
    row(38, "picked", "A1"),
    row(39, "cleared", "A1"),
    row(40, "picked", "B1"),
    row(41, "cleared", "B1"),
]


@pytest.mark.parametrize("complete", [False, True])
@pytest.mark.parametrize("on", [1, 11, 32, 34, 41, 42])
def test_a_full_log_that_followed_the_plan_says_the_same_as_none(on, complete):
    lines = [line for line in FULL if date.fromisoformat(line[:10]) < case.day(on)]
    assert state(on, *lines, complete=complete).batches == state(on).batches


def test_a_complete_log_that_is_empty_means_that_nothing_was_done():
    got = by_id(state(32, complete=True))
    assert {f.batch.state for f in got.values()} == {PLANNED}
    assert got["b1"].late == ("sowing was due on 2027-04-05",)


def test_late_work_is_named_in_a_complete_log():
    lines = FULL[:2]
    late = by_id(state(13, *lines, complete=True))["b1"]
    assert late.batch.state == SOWN
    assert late.late == ("transplanting was due on 2027-04-15",)


# Sown on day 0, fit after 10 days, waits 3 more: `verify_case.crop`.
def test_seedlings_keep_crop_cells_age_and_their_last_day():
    found = by_id(state(8))["b1"]
    assert found.batch.state == SOWN
    assert (found.batch.crop, found.batch.cells, found.batch.sow) == ("lettuce", 4, case.day(0))
    assert (found.fit, found.last_transplant) == (case.day(10), case.day(13))


def test_seedlings_delivered_late_are_not_transplanted_as_planned():
    # Sown on day 6: fit on day 16, so nothing was planted on day 10.
    found = by_id(state(14, row(6, "sown", "A3", "4", "lettuce")))["b1"]
    assert (found.batch.state, found.fit) == (SOWN, case.day(16))
    assert found.late == ("transplanting was due on 2027-04-15",)


def test_a_late_transplanting_moves_the_batch():
    found = by_id(state(15, row(12, "transplanted", "A3", "3")))["b1"].batch
    assert (found.state, found.transplant, found.plants) == (GROWING, case.day(12), 3)
    assert sum(p.plants for p in found.picks) == 3


def test_a_batch_that_went_to_another_tier():
    found = by_id(state(15, row(10, "transplanted", "A2", "", "lettuce")))["b1"].batch
    assert (found.column, found.tier, found.state) == ("A", 2, GROWING)


def test_an_unplanned_batch_is_followed_under_a_name_of_its_own():
    found = by_id(state(85, row(84, "transplanted", "A2", "", "chard")))["x001"].batch
    assert (found.crop, found.column, found.tier, found.state) == ("chard", "A", 2, GROWING)


def test_picks_as_they_were_made():
    # Three heads on day 31 instead of two on day 30, weighed.
    lines = (row(31, "picked", "A3", "3"), row(31, "picked", "A3", "280 g"))
    found = by_id(state(32, *lines))["b1"]
    assert [(p.date, p.plants, p.grams) for p in found.batch.picks] == [
        (case.day(31), 3, 280),
        (case.day(33), 1, 100),
    ]
    assert (found.done, found.standing) == (1, 1)


def test_a_failed_tier_keeps_what_was_picked_before():
    found = by_id(state(32, row(31, "failed", "A3", "", "", "leak")))["b1"]
    assert (found.batch.state, found.failed_on) == (FAILED, case.day(31))
    assert [p.plants for p in found.batch.picks] == [2]
    assert found.batch.rest_until is None
    assert not found.cleared


def test_root_disease_makes_the_family_wait():
    found = by_id(state(32, row(31, "failed", "A3", "", "", "Root disease: roots brown")))["b1"]
    assert (found.batch.rest_until - case.day(31)).days == DISEASE_REST_DAYS


def test_a_failed_tier_that_was_cleaned():
    found = by_id(state(33, row(31, "failed", "A3"), row(32, "cleared", "A3")))["b1"]
    assert (found.batch.state, found.batch.clear, found.cleared) == (FAILED, case.day(32), True)


def test_what_was_planned_for_a_failed_tier_is_not_taken_as_done():
    found = by_id(state(36, row(31, "failed", "A3")))
    assert found["b4"].batch.state == SOWN


def test_a_column_lost_takes_empty_tiers_too():
    found = state(25, row(24, "failed", "A"))
    got = by_id(found)
    assert (got["b1"].batch.state, got["b2"].batch.state) == (FAILED, FAILED)
    assert found.out == {("A", 2): case.day(24)}
    assert got["b3"].batch.state == GROWING


def test_an_empty_tier_that_failed_is_out_until_it_is_cleaned():
    lines = (row(20, "failed", "A2"), row(22, "cleared", "A2"))
    assert state(25, lines[0]).out == {("A", 2): case.day(20)}
    assert state(25, *lines).out == {}


def test_seedlings_lost_in_the_nursery():
    found = state(8, row(5, "failed", "", "", "lettuce", "damped off"))
    assert [(b.id, why) for b, why in found.lost] == [
        ("b1", "seedlings lost on 2027-04-10: damped off")
    ]
    assert "b1" not in by_id(found)


def test_readings_are_kept_in_litres_by_date():
    # 2.5 cm a litre: `verify_case.garden`.
    got = by_id(state(20, row(18, "level", "A3", "20 cm"), row(15, "level", "A3", "10 L")))
    assert [(r.date, r.litres) for r in got["b1"].readings] == [
        (case.day(15), 10.0),
        (case.day(18), 8.0),
    ]


@pytest.mark.parametrize(
    ("on", "lines", "path", "expected"),
    [
        (20, [row(21, "level", "A3", "9 L")], "date", "up to 2027-04-25"),
        (20, [row(15, "picked", "A2")], "tier", "a crop in it"),
        (26, [row(25, "picked", "A3", "5")], "amount", "at most 4"),
        (33, [row(31, "failed", "A3"), row(32, "picked", "A3")], "", "failed on"),
        (20, [row(15, "level", "A3", "9 L", "chard")], "crop", "lettuce"),
        (20, [row(15, "transplanted", "A3", "", "chard")], "tier", "empty"),
        (20, [row(15, "sown", "B2")], "", ""),
    ],
)
def test_entries_that_cannot_be_are_named(on, lines, path, expected):
    if not expected:  # a sowing two days from the planned one stands for it
        assert by_id(state(on, *lines))["b5"].batch.sow == case.day(15)
        return
    ((line, got_path, text),) = bad(on, *lines)
    assert (line, got_path) == (1 + len(lines), path)
    assert expected in text


# b1: four heads of lettuce of 100 g, transplanted on day 10, picked on day 30 (`verify_case`).
@pytest.mark.parametrize(
    ("day", "amount", "path", "expected"),
    [
        (30, "2 kg", "", ""),
        (30, "2001 g", "amount", "at most 2.00 kg from the 4 plants"),
        (30, "1000 kg", "amount", "5 times"),
        (19, "", "date", "2027-04-25 on"),
        (20, "", "", ""),
        (10, "2", "date", "was to be transplanted on 2027-04-15"),
    ],
)
def test_what_hardly_can_be_is_refused_unless_confirmed(day, amount, path, expected):
    """Five times the catalogue's mass, and a pick within ten days of transplanting."""
    line = row(day, "picked", "A3", amount)
    if expected:
        ((number, got, text),) = bad(40, line)
        assert (number, got) == (2, path)
        assert expected in text
        assert "'confirmed' into the note" in text
    else:
        state(40, line)
    state(40, line + "weighed twice: Confirmed!")


def test_an_unconfirmed_note_confirms_nothing():
    assert bad(40, row(30, "picked", "A3", "1000 kg") + "unconfirmed")


def test_impossible_and_unreadable_lines_are_told_together():
    found = bad(20, "nonsense,level,A,1,,9,L,", row(15, "picked", "A2"), row(21, "picked", "B1"))
    assert [line for line, _, _ in found] == [2, 3, 4]


@pytest.mark.parametrize(("on", "why"), [(-1, "before it begins"), (91, "over already")])
def test_a_day_outside_the_season(on, why):
    with pytest.raises(BadInput, match=why):
        state(on)


def test_a_second_rebalance_reads_the_same_log_again():
    lines = (row(20, "failed", "A3", "", "", "leak"), row(30, "level", "B1", "9 L"))
    first = state(25, lines[0])
    known = replace(
        PLAN,
        as_of=case.day(25),
        batches=tuple(
            replace(f.batch, clear=case.day(26)) if f.batch.state == FAILED else f.batch
            for f in first.batches
        ),
    )
    again = by_id(state_on(GARDEN, known, log(*lines), case.day(32)))
    assert (again["b1"].batch.state, again["b1"].batch.clear) == (FAILED, case.day(26))
    assert again["b4"].batch.state == SOWN
    assert len(again["b3"].readings) == 1


_WHAT = st.sampled_from(
    ["sown", "transplanted", "level", "picked", "cleared", "failed", "ec", "ph"]
)
_ENTRY = st.builds(
    row,
    st.integers(0, 60),
    _WHAT,
    st.sampled_from(["", "A", "A1", "A2", "A3", "B1", "B2"]),
    st.sampled_from(["", "1", "2", "4", "6.5 L", "12 L", "0 L", "20 cm", "150 g", "1.5 mS/cm"]),
    st.sampled_from(["", "lettuce", "chard"]),
    st.sampled_from(["", "root disease"]),
)


@settings(max_examples=300, deadline=None)
@given(st.lists(_ENTRY, max_size=8), st.integers(0, 90), st.booleans())
def test_any_log_gives_a_state_that_holds_together_or_faults(lines, on, complete):
    read = log(*lines)
    try:
        found = state_on(GARDEN, PLAN, read, case.day(on), complete)
    except BadInput as error:
        assert error.faults
        return
    ids = [f.batch.id for f in found.batches] + [b.id for b, _ in found.lost]
    assert len(ids) == len(set(ids))
    assert {b.id for b in PLAN.batches} <= set(ids)
    held: dict[tuple[str, int], list] = {}
    for f in found.batches:
        b, crop = f.batch, GARDEN.crops[f.batch.crop]
        assert all(p.date <= found.on for p in b.picks[: f.done])
        if crop.cuts == 1:
            assert sum(p.plants for p in b.picks) <= b.plants
        if b.state in (GROWING, FAILED, CLEARED):
            assert b.sow < b.transplant <= found.on
            assert all(b.transplant <= p.date for p in b.picks)
        if b.state == GROWING:
            assert b.clear >= found.on
            held.setdefault((b.column, b.tier), []).append(b.id)
        if b.state == PLANNED and not complete:
            assert b.sow >= found.on
    assert all(len(who) == 1 for who in held.values()), held


def test_a_tier_picked_late_was_not_filled_as_planned():
    # b1 in A3 was to be cleared on day 33 and followed by b4 on day 34; its last head went on 35.
    got = by_id(state(36, row(30, "picked", "A3", "3"), row(35, "picked", "A3", "1")))
    assert got["b4"].batch.state == SOWN
    assert got["b4"].late == ("transplanting was due on 2027-05-09",)
