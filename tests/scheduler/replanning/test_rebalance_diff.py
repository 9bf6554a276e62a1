"""What a new plan changes against the old one, in words and for machines."""

from __future__ import annotations

import json
from dataclasses import replace

import rebalance_case as rc
import verify_case as case
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.garden.weekly import wish
from scheduler.plans.model import CLEARED, FAILED, GROWING
from scheduler.replanning.diff import DROPPED, ENDED, KEPT, MOVED, NEW, diff, lines

GARDEN, OLD = rc.garden(), rc.plan()


def changed(name, **fields):
    return replace(
        OLD, batches=tuple(replace(b, **fields) if b.id == name else b for b in OLD.batches)
    )


def only(new, reasons=None):
    (one,) = [c for c in diff(GARDEN, OLD, new, reasons).changes if c.kind != KEPT]
    return one


def test_nothing_changes():
    found = diff(GARDEN, OLD, OLD)
    assert found.count == 0
    assert len(found.of(KEPT)) == 5
    assert all(w.before == w.after for w in found.weeks)
    assert lines(found)[0] == "Nothing changes."


def test_a_state_alone_is_no_change():
    assert diff(GARDEN, OLD, changed("b001", state=GROWING)).count == 0


def test_a_moved_pick_tells_both_dates_and_why():
    b = next(b for b in OLD.batches if b.id == "b003")
    later = (replace(b.picks[0], date=case.day(43)),)
    one = only(changed("b003", picks=later), {"b003": "dries slower"})
    assert (one.kind, one.why) == (MOVED, "dries slower")
    # Day 40 after 5 April 2027 is 15 May, day 43 18 May.
    assert one.what == "pick 4 on 2027-05-15 -> 4 on 2027-05-18"


def test_another_tier_another_day():
    one = only(changed("b005", column="A", tier=3, transplant=case.day(35)))
    assert one.what == "from B 1 to A 3, transplant 2027-05-09 -> 2027-05-10"
    assert "seedlings" in one.why


def test_dropped_and_new():
    new = replace(OLD, batches=(*OLD.batches[:4], replace(OLD.batches[4], id="b006")))
    found = diff(GARDEN, OLD, new, {"b005": "its tier failed"})
    (gone,), (made,) = found.of(DROPPED), found.of(NEW)
    assert (gone.id, gone.why) == ("b005", "its tier failed")
    assert (made.id, made.why) == ("b006", "400 g of lettuce for 2027-W21 to 2027-W22")
    assert found.count == 1  # what is new was not known before


def test_failed_and_happened():
    lost = only(changed("b003", state=FAILED, picks=()), {"b003": "failed on 2027-05-01: leak"})
    assert (lost.kind, lost.why) == (ENDED, "failed on 2027-05-01: leak")
    b = OLD.batches[0]
    done = only(changed("b001", state=CLEARED, picks=(replace(b.picks[0], date=case.day(31)),)))
    assert (done.kind, done.why) == (MOVED, "as it happened")


def test_weeks_before_and_after():
    # b005 alone feeds weeks 21 and 22 (days 49 to 62) beside b004, picked on day 44 (week 20, 21).
    found = diff(GARDEN, OLD, replace(OLD, batches=OLD.batches[:4]))
    after = {(w.group, w.week): (w.wish, w.before, w.after) for w in found.weeks}
    assert set(after) == set(wish(GARDEN))
    assert after["lettuce", "2027-W22"] == (171, 171, 0)
    text = lines(found)
    assert any(line.startswith("2027-W22  lettuce") for line in text)
    # Of 4 * 300 + 171 and, at weight 2, 2 * 300 g all but the 171 g are met: 2,400 of 2,571.
    assert text[-1] == "met of the wish, by the garden's weights: 100.0 % before, 93.3 % now"


def test_the_same_for_machines():
    body = json.loads(json.dumps(diff(GARDEN, OLD, changed("b001", tier=2)).as_dict()))
    assert body["counts"] == {"moved": 1, "dropped": 0, "new": 0, "failed": 0, "kept": 4}
    assert {"kind", "id", "crop", "column", "tier", "what", "why"} <= set(body["changes"][0])
    assert {"group", "week", "wish", "before", "after"} == set(body["weeks"][0])


@settings(max_examples=60, deadline=None)
@given(st.sets(st.integers(0, 4)), st.sets(st.integers(0, 4)))
def test_every_batch_is_told_once(old, new):
    one = replace(OLD, batches=tuple(OLD.batches[i] for i in sorted(old)))
    two = replace(OLD, batches=tuple(OLD.batches[i] for i in sorted(new)))
    found = diff(GARDEN, one, two)
    assert len(found.of(KEPT)) == len(old & new)
    assert len(found.of(DROPPED)) == len(old - new)
    assert len(found.of(NEW)) == len(new - old)
    assert all(len(line) <= 79 for line in lines(found))
