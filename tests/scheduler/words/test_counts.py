"""One of a thing is told in the singular, in both languages."""

from __future__ import annotations

import pytest

from scheduler.words.language import batches_text, long_time, minutes_text, use_language


@pytest.fixture(autouse=True)
def english_after():
    yield
    use_language(None)


@pytest.mark.parametrize(
    ("language", "said"),
    [
        (None, ["1 minute", "26 minutes", "1 batch", "82 batches"]),
        ("de", ["1 Minute", "26 Minuten", "1 Satz", "82 Sätze"]),
    ],
)
def test_one_and_many(language: str | None, said: list[str]) -> None:
    use_language(language)
    assert [minutes_text(1.4), minutes_text(26.0), batches_text(1), batches_text(82)] == said


def test_hours_from_an_hour_and_a_half_on() -> None:
    """Nobody reads "about 1 hours": 89 minutes stay minutes, and 90 are 2 hours."""
    assert [long_time(m) for m in (0.0, 89.0, 90.0, 2580.0)] == [
        "0 minutes",
        "89 minutes",
        "2 hours",
        "43 hours",
    ]
