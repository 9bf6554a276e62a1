"""The page's addresses: look, write down, plan again, accept or discard. No script, no network."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from flask import Flask, Response, redirect, render_template, request, url_for
from werkzeug.exceptions import HTTPException

from scheduler.base.faults import BadInput, DrylineError, Fault
from scheduler.log.set_aside import EARLIER
from scheduler.log.strike import line_text
from scheduler.page import again, changes, views
from scheduler.page.book import Book
from scheduler.page.guard import CALENDAR_POLICY, guard
from scheduler.page.trying import trying
from scheduler.page.writing import writing
from scheduler.solvers.cp_sat import Settings
from scheduler.words.fault_text import error_text
from scheduler.words.words import _, plan_mark, plural, tier_label, use_language

HERE = Path(__file__).parent
LONGEST_SEARCH = 3600.0  # [s] that may be asked for on the page


def create_app(
    folder: str | Path,
    port: int,
    *,
    language: str | None = None,
    units: str | None = None,
    today: Callable[[], date] = date.today,
    settings: Settings | None = None,
) -> Flask:
    """The page of the plan in ``folder``, to be served on ``port`` of this machine.

    Parameters
    ----------
    today : tells the day; settings : of a search; its time limit is what the form begins with.

    Raises
    ------
    BadInput
        No plan in the folder, or faults in it.
    """
    app = Flask("dryline", template_folder=str(HERE / "templates"), static_folder=None)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.globals.update(_=_, plural=plural, tag=tier_label)
    guard(app, port)
    book = Book(Path(folder), today, units)
    book.season()  # raises every fault before the page is served
    desk = again.Desk(book, settings or Settings(time_limit=30.0))
    app.extensions["desk"] = desk

    @app.before_request
    def speak() -> None:
        use_language(language)

    @app.errorhandler(HTTPException)
    def refused(error: HTTPException) -> tuple[str, int]:
        return render_template("problem.html", lines=[error.description]), error.code or 500

    @app.errorhandler(DrylineError)
    def faulty(error: DrylineError) -> tuple[str, int]:
        return render_template("problem.html", lines=error_text(error).splitlines()), 409

    @app.errorhandler(OSError)
    def unwritten(error: OSError) -> tuple[str, int]:
        line = f"{error.filename or ''}: {error.strerror or error}"
        return render_template("problem.html", lines=[line]), 500

    @app.get("/style.css")
    def style() -> Response:
        return Response((HERE / "templates" / "style.css").read_bytes(), mimetype="text/css")

    _looking(app, book, desk)
    writing(app, book, lambda: _frame(book))
    _planning(app, book, desk)
    trying(app, book, desk, lambda: _frame(book))
    return app


def _looking(app: Flask, book: Book, desk: again.Desk) -> None:
    @app.get("/")
    def day() -> str:
        return render_template("day.html", **views.day(book, _day(book, "day")), **_frame(book))

    @app.get("/levels")
    def levels() -> str:
        page = request.args.get("page", 0, type=int)
        shown = views.levels(book, _day(book, "day"), page)
        return render_template("levels.html", **shown, **_frame(book))

    @app.get("/failed")
    def failed() -> str:
        return render_template(
            "failed.html", **views.failed(book, _day(book, "day")), **_frame(book)
        )

    @app.get("/log")
    def log() -> str:
        return render_template("log.html", **views.log(book), **_frame(book))

    @app.get("/calendar")
    def calendar() -> Response:
        from scheduler.outputs import html

        s = book.season()
        made = html.page(s.garden, s.plan, s.items, s.units, back=url_for("day"))
        return Response(made, headers={"Content-Security-Policy": CALENDAR_POLICY})

    @app.get("/calendar.pdf")
    def print_() -> Response:
        from scheduler.outputs import pdf

        s = book.season()
        paper = request.args.get("paper", "letter" if s.units.us else "a4")
        if paper not in pdf.PAPERS:
            raise DrylineError(f"paper {paper!r}; expected {' or '.join(pdf.PAPERS)}")
        made = pdf.document(
            s.garden, s.plan, s.items, s.units, paper, _date_or_none("from"), _date_or_none("to")
        )
        name = {"Content-Disposition": 'inline; filename="calendar.pdf"'}
        return Response(made, mimetype="application/pdf", headers=name)

    @app.get("/cautions")
    def cautions() -> str:
        from scheduler.outputs.cautions import CAUTIONS

        said = [(_(c.name), _(c.full)) for c in CAUTIONS]
        return render_template("cautions.html", cautions=said, **_frame(book))

    @app.get("/print")
    def paper() -> str:
        return render_template("print.html", **views.printing(book), **_frame(book))


def _planning(app: Flask, book: Book, desk: again.Desk) -> None:
    @app.get("/again")
    def ask() -> Any:
        search = desk.search
        if search is None:
            return render_template("again.html", **views.ask(book, desk.settings), **_frame(book))
        if search.is_alive():
            return render_template("running.html", **changes.running(search), **_frame(book))
        if search.outcome is None:
            return render_template(
                "refused_plan.html", lines=search.refused.splitlines(), **_frame(book)
            ), 409
        return render_template("changes.html", **changes.shown(search), **_frame(book))

    @app.post("/again")
    def begin() -> Any:
        wish = _wish(book, desk.settings)
        desk.start(lambda book, settings: again.Search(book, wish, settings))
        return redirect(url_for("ask"), 303)

    @app.post("/again/enough")
    def enough() -> Any:
        desk.halt()
        return redirect(url_for("ask"), 303)

    @app.post("/again/discard")
    def discard() -> Any:
        desk.discard()
        return redirect(url_for("day", kept=1), 303)

    @app.post("/again/accept")
    def accept() -> Any:
        aside = desk.accept()
        return redirect(url_for("day", taken=aside.name), 303)


def _frame(book: Book) -> dict[str, Any]:
    """What every page shows around itself: the garden, and what has just been done."""
    season, args = book.season(), request.args
    notices = []
    if (n := args.get("wrote", 0, type=int)) > 0:
        notices.append(
            plural("{n} line written into the log.", "{n} lines written into the log.", n)
        )
    if args.get("struck"):
        notices.append(_("The line is struck out; it can still be read in the file."))
    if args.get("kept"):
        notices.append(_("The new plan is discarded; the one you know stays."))
    if args.get("taken"):
        notices.append(
            _("The new plan counts from now on. The one before is kept in {folder}.").format(
                folder=f"{EARLIER}/{args['taken']}"
            )
        )
    lines = [int(n) for n in args.get("undo", "").split(",") if n.isdigit()]
    return {
        "undo": [(n, seen) for n in lines if (seen := line_text(book.log_file, n))],
        "garden": season.garden,
        "mark": plan_mark(season.plan),
        "notices": notices,
        "failed_now": bool(args.get("failed")),
    }


def _wish(book: Book, settings: Settings) -> again.Wish:
    """What the form asks for; BadInput names every field that does not do."""
    form, faults = request.form, []

    def number(name: str, least: float, most: float, default: float) -> float:
        text = form.get(name, "").strip().replace(",", ".") or str(default)
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if not least <= value <= most:
            faults.append(Fault(name, None, "", text[:20], f"a number from {least:g} to {most:g}"))
        return value

    freeze = number("freeze", 0, 366, 0)
    grams = number("grams", 0, 100_000, 25)
    seconds = number("seconds", 0.1, LONGEST_SEARCH, settings.time_limit)
    try:
        on = date.fromisoformat(form.get("on") or str(book.today()))
    except ValueError:
        on = book.today()
        faults.append(Fault("on", None, "", form.get("on", "")[:20], "a day as 2027-06-03"))
    if faults:
        raise BadInput(faults)
    return again.Wish(on, int(freeze), grams, seconds)


def _date_or_none(name: str) -> date | None:
    text = request.args.get(name)
    if not text:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise BadInput([Fault(name, None, "", text[:20], "a day as 2027-06-03")]) from None
    if not 1900 <= day.year <= 2200:  # no season lies outside, and the calendar ends somewhere
        raise BadInput([Fault(name, None, "", text[:20], "a day from 1900 to 2200")])
    return day


def _day(book: Book, name: str) -> date:
    return _date_or_none(name) or book.today()
