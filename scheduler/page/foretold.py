"""What the measured levels foretell, as the day's page and that of the levels show it."""

from __future__ import annotations

from datetime import date

from scheduler.page.book import Book
from scheduler.watch.answer import solutions
from scheduler.watch.emergence import emergences, said_of_seedlings
from scheduler.watch.judge import CALM, CLOSE, watched, worst_first
from scheduler.watch.text import said


def foretold(book: Book, on: date) -> list[tuple[str, str]]:
    """What tiers with a reading foretell on a day, or today if later: (verdict, sentence).

    Calm ones only where the log tells of them on that day; what an EC and a pH of it say.
    """
    s, day, log = book.season(), min(on, book.today()), book.log()
    now = [e for e in log.entries if e.date == day]
    places = {(e.column, e.tier) for e in now}
    tiers = watched(s.garden, s.plan, log, s.foretold, day, measured=True)
    told = [w for w in worst_first(tiers) if w.verdict != CALM or (w.column, w.tier) in places]
    seedlings = [
        (CLOSE, said_of_seedlings(s.garden, e, s.units))
        for e in emergences(s.garden, s.plan, log, s.foretold, day)
        if not e.enough
    ]
    measured = solutions(s.garden, s.plan, log, now, str(book.folder))
    return [
        *((w.verdict, said(s.garden, w, s.units)) for w in told),
        *seedlings,
        *((CALM, text) for text in measured),
    ]
