"""What the measured levels foretell, as the day's page and that of the levels show it."""

from __future__ import annotations

from datetime import date

from scheduler.page.book import Book
from scheduler.watch.emergence import emergences, said_of_seedlings
from scheduler.watch.judge import CALM, CLOSE, watched, worst_first
from scheduler.watch.text import said


def foretold(book: Book, on: date) -> list[tuple[str, str]]:
    """What tiers with a reading foretell on a day, or today if later: (verdict, sentence).

    Calm ones only where they were measured on that day.
    """
    s, day = book.season(), min(on, book.today())
    tiers = watched(s.garden, s.plan, book.log(), s.foretold, day, measured=True)
    seedlings = [
        (CLOSE, said_of_seedlings(s.garden, e, s.units))
        for e in emergences(s.garden, s.plan, book.log(), s.foretold, day)
        if not e.enough
    ]
    told = [w for w in worst_first(tiers) if w.verdict != CALM or day in w.readings]
    return [(w.verdict, said(s.garden, w, s.units)) for w in told] + seedlings
