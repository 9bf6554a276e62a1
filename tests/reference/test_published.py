"""Each published value within its bounds, what is known to be off off, and the table as it is."""

from __future__ import annotations

from collections import Counter

import published

# Topic: how many rows are known to be off. A row that is mended leaves this list.
OFF = {
    "bolting": 4,
    "nursery": 3,
    "emergence": 3,
    "days": 2,
    "temperature": 1,
    "keeping": 2,
    "uptake": 3,
    "growth": 6,
}


def test_every_value_is_within_its_bounds_or_told_to_be_off() -> None:
    found = published.rows()
    assert len(found) >= 130
    assert [r.what for r in found if r.within == bool(r.off)] == []
    assert Counter(r.topic for r in found if r.off) == OFF


def test_the_table_is_not_made_of_one_source() -> None:
    """At most five rows of one table, but for the frosts of the three open series."""
    own = [
        *published.rows_crops.rows(),
        *published.rows_solution.rows(),
        *published.rows_growth.rows(),
        *published.rows_open.rows(),
    ]
    of_source = Counter(r.source for r in own)
    assert len(own) >= 25
    assert len(of_source) >= 8
    assert max(of_source.values()) <= 5


def test_the_bounds_tell_within_from_off() -> None:
    row = published.Row("", "", "d", "", 10, 12, 12.0)
    assert row.within
    assert not published.Row("", "", "d", "", 10, 12, 12.1).within
    assert not published.Row("", "", "d", "", 10, 12, 9.9).within


def test_the_table_is_that_of_the_rows() -> None:
    """Else run tests/reference/published.py."""
    assert published.TABLE.read_text("utf-8") == published.text(published.rows())
