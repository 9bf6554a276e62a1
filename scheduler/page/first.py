"""The page of a folder without a plan: the questions of ``dryline start``, then the first plan.

The same questions in the same order, all on one sheet. What is left empty takes its default; what
cannot be read is asked again, with what was typed. Nothing that is there is overwritten.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from flask import Flask, Response, redirect, render_template, request, url_for
from werkzeug.exceptions import HTTPException

from scheduler.base.faults import DrylineError
from scheduler.beginning.answers import Wrong
from scheduler.beginning.files import (
    GARDEN_FILE,
    SEASON,
    files_of,
    refuse_what_is_there,
    write_files,
)
from scheduler.beginning.questions import Question, of, questions
from scheduler.page.background import Background
from scheduler.page.guard import guard
from scheduler.solvers.cp_sat import Settings
from scheduler.words.fault_text import error_text
from scheduler.words.units import METRIC, US
from scheduler.words.words import _, plural, use_language

HERE = Path(__file__).parent


class First(Background):
    """The first plan being made."""

    def __init__(self, folder: Path, settings: Settings, done: Callable[[Path], None]) -> None:
        super().__init__("first plan")
        self.folder, self.settings, self.done = folder, settings, done

    def do(self) -> None:
        from scheduler.outputs.files import season_files
        from scheduler.plans.folder import write_plan_dir
        from scheduler.usecases import plan_season
        from scheduler.years import PLANNED

        made = plan_season(
            self.folder / GARDEN_FILE,
            self.settings,
            report=self.report,
            stop=self.halt,
            years=PLANNED,
        )
        files = season_files(made.garden, made.plan)
        write_plan_dir(self.folder / SEASON, made.plan, made.sources, files)
        self.done(self.folder / SEASON)


class Start:
    """The folder and what is made in it; one plan at a time."""

    def __init__(self, folder: Path, settings: Settings, done: Callable[[Path], None]) -> None:
        self.folder, self.settings, self.done = folder, settings, done
        self.search: First | None = None
        self.remarks: list[str] = []
        self._lock = threading.Lock()

    @property
    def has_garden(self) -> bool:
        return (self.folder / GARDEN_FILE).exists()

    def plan(self) -> None:
        """Begin to plan, unless that runs already."""
        with self._lock:
            if self.search is None or not self.search.is_alive():
                self.search = First(self.folder, self.settings, self.done)
                self.search.start()

    def discard(self) -> None:
        """End a search that runs."""
        if self.search is not None:
            self.search.halt.set()


def create_first(
    folder: str | Path,
    port: int,
    done: Callable[[Path], None],
    *,
    language: str | None = None,
    units: str | None = None,
    today: Callable[[], date] = date.today,
    settings: Settings | None = None,
) -> Flask:
    """The page to begin with in ``folder``; ``done`` is called with the first plan's folder.

    Raises
    ------
    BadInput
        The folder is a file, or has a climate table or a log without a garden.
    """
    app = Flask("dryline", template_folder=str(HERE / "templates"), static_folder=None)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.globals.update(_=_, plural=plural)
    guard(app, port)
    start = Start(Path(folder), settings or Settings(time_limit=30.0), done)
    if not start.has_garden:
        refuse_what_is_there(start.folder)
    app.extensions["desk"] = start
    system = units or (US if os.environ.get("LANG", "").startswith("en_US") else METRIC)

    @app.before_request
    def speak() -> None:
        use_language(language)

    @app.errorhandler(HTTPException)
    def refused(error: HTTPException) -> tuple[str, int]:
        return render_template("first_problem.html", lines=[error.description]), error.code or 500

    @app.errorhandler(DrylineError)
    def faulty(error: DrylineError) -> tuple[str, int]:
        return render_template("first_problem.html", lines=error_text(error).splitlines()), 409

    @app.errorhandler(OSError)
    def unwritten(error: OSError) -> tuple[str, int]:
        line = f"{error.filename or ''}: {error.strerror or error}"
        return render_template("first_problem.html", lines=[line]), 500

    @app.get("/style.css")
    def style() -> Response:
        return Response((HERE / "templates" / "style.css").read_bytes(), mimetype="text/css")

    @app.get("/")
    def first() -> str:
        if start.search is not None:
            return render_template("first_plan.html", **_running(start))
        if start.has_garden:
            return render_template("first_garden.html", folder=str(start.folder))
        asked, _found = ask(questions(today(), system), {})
        return render_template("first.html", asked=asked, wrong=0, folder=str(start.folder))

    @app.post("/")
    def begin() -> Any:
        asked, found = ask(questions(today(), system), request.form)
        wrong = sum(bool(one["wrong"]) for one in asked)
        if wrong:
            shown = {"asked": asked, "wrong": wrong, "folder": str(start.folder)}
            return render_template("first.html", **shown), 409
        refuse_what_is_there(start.folder)
        files, start.remarks = files_of(of(found))
        write_files(start.folder, files)
        start.plan()
        return redirect(url_for("first"), 303)

    @app.post("/plan")
    def plan() -> Any:
        start.plan()
        return redirect(url_for("first"), 303)

    @app.post("/enough")
    def enough() -> Any:
        start.discard()
        return redirect(url_for("first"), 303)

    return app


def ask(
    list_: tuple[Question, ...], typed: Mapping[str, str]
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Each question as it is shown, and the answers that can be read.

    An answer that cannot be read stands for its default while later questions look at it.
    """
    shown: list[dict[str, Any]] = []
    found: dict[str, Any] = {}
    for one in list_:
        default = one.default(found)
        text, wrong = " ".join(typed.get(one.key, "").split())[:2000], ""
        try:
            found[one.key] = one.read(text or default, found)
        except Wrong as error:
            wrong = str(error)
            found[one.key] = one.read(default, found)
        shown.append(
            {
                "key": one.key,
                "text": one.text,
                "lines": one.lines(found),
                "default": default,
                "typed": text,
                "wrong": wrong,
            }
        )
    return shown, found


def _running(start: Start) -> dict[str, Any]:
    search = start.search
    assert search is not None
    progress = search.progress
    return {
        "seconds": round(time.monotonic() - search.began),
        "limit": round(search.settings.time_limit),
        "stage": "" if progress is None else progress.stage,
        "halting": search.halt.is_set(),
        "refused": search.refused.splitlines(),
        "remarks": start.remarks,
        "folder": str(start.folder),
    }
