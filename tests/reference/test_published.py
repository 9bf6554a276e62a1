"""Each published value within its bounds, what is known to be off off, and the table as it is."""

from __future__ import annotations

import published


def test_every_value_is_within_its_bounds_or_told_to_be_off() -> None:
    """Four are known to be off, all of them bolting; a row that is mended leaves that list."""
    found = published.rows()
    assert len(found) >= 40
    assert [r.what for r in found if r.within == bool(r.off)] == []
    assert {r.topic for r in found if r.off} == {"bolting"}
    assert sum(bool(r.off) for r in found) == 4


def test_the_bounds_tell_within_from_off() -> None:
    row = published.Row("", "", "d", "", 10, 12, 12.0)
    assert row.within
    assert not published.Row("", "", "d", "", 10, 12, 12.1).within
    assert not published.Row("", "", "d", "", 10, 12, 9.9).within


def test_the_table_is_that_of_the_rows() -> None:
    """Else run tests/reference/published.py."""
    assert published.TABLE.read_text("utf-8") == published.text(published.rows())
