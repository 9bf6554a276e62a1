"""The addresses that write into the log: entries, a day done as planned, undo, striking out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from flask import Flask, redirect, render_template, request, url_for

from scheduler.base.faults import BadInput, DrylineError, Fault
from scheduler.log.model import Entry
from scheduler.log.strike import strike
from scheduler.page import views
from scheduler.page.book import Book
from scheduler.page.entries import Slip, slips, write
from scheduler.page.glance import as_planned
from scheduler.words.words import _


def writing(app: Flask, book: Book, frame: Callable[[], dict[str, Any]]) -> None:
    """Put the addresses into ``app``; ``frame`` gives what every page shows around itself."""

    @app.post("/write")
    def write_down() -> Any:
        return _written(book, slips(request.form), request.form.get("back", "day"), frame)

    @app.post("/done")
    def done() -> Any:
        season = book.season()
        if request.form.get("plan") != str(season.plan.number):
            raise DrylineError(_("The plan has changed since: look at the day again."))
        try:
            day = date.fromisoformat(request.form.get("date", ""))
        except ValueError:
            seen = request.form.get("date", "")[:20]
            raise BadInput([Fault("date", None, "", seen, "a day as 2027-06-03")]) from None
        numbers = {int(n) for n in request.form.getlist("line") if n.isdigit()}
        return _written(book, as_planned(book, day, numbers), "day", frame)

    @app.post("/undo")
    def undo_entries() -> Any:
        lines = [int(n) if n.isdigit() else 0 for n in request.form.getlist("line")]
        pairs = sorted(zip(lines, request.form.getlist("seen"), strict=False), reverse=True)
        for line, seen in pairs:
            strike(book.log_file, line, seen)
        return redirect(url_for("day", struck=len(pairs)), 303)

    @app.post("/strike")
    def strike_out() -> Any:
        line = request.form.get("line", 0, type=int)
        strike(book.log_file, line, request.form.get("seen", ""))
        return redirect(url_for("log", struck=1), 303)


def _written(
    book: Book, entries: Sequence[Slip], back: str, frame: Callable[[], dict[str, Any]]
) -> Any:
    """Write entries down, and lead to where that shows, or to what was refused."""
    written, refused = write(book, entries)
    if refused or not written:
        shown = views.refused(book, written, refused, back)
        return render_template("refused.html", **shown, **frame()), 422
    target = back if back in ("day", "levels", "log") else "day"
    failed = any(e.what == "failed" for e in written)
    day = "" if target == "log" or failed else str(written[0].date)
    return redirect(
        url_for(
            target,
            wrote=len(written),
            day=day or None,
            failed=1 if failed else None,
            undo=_numbers(written),
        ),
        303,
    )


def _numbers(written: Sequence[Entry]) -> str:
    return ",".join(str(e.line) for e in written)
