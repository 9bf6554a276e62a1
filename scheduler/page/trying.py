"""The addresses to change a batch by hand, and to try what one more column or days off would do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

from flask import Flask, redirect, render_template, request, url_for

from scheduler.base.faults import BadInput, Fault
from scheduler.garden.model import Column, Garden, Span
from scheduler.outputs.sentences import crop_title
from scheduler.page import again, views
from scheduler.page.book import Book, Season
from scheduler.page.entries import place_value
from scheduler.page.willing import fixed_as, willing
from scheduler.plans.model import GROWING, PLANNED, SOWN, Batch
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import Ask, PlannedAgain
from scheduler.usecases.edited import Edit, edited
from scheduler.words.words import _, plural, short_date, short_span, tier_label

MOST_COLUMNS = 3  # that may be tried at a time


class Check(again.Search):
    """A change by hand, checked by every rule."""

    def __init__(self, book: Book, on: date, edit: Edit, settings: Settings) -> None:
        super().__init__(book, again.Wish(on, 0, 0.0, 0.0), settings)
        self.edit = edit

    def work(self) -> PlannedAgain:
        return edited(
            self.book.folder,
            self.garden,
            self.plan,
            self.log,
            self.wish.on,
            self.edit,
            self.book.today(),
        )


class Trial(again.Search):
    """A plan for a garden that is not there, to compare with the one that is."""

    def __init__(
        self, book: Book, wish: again.Wish, garden: Garden, said: str, settings: Settings
    ) -> None:
        super().__init__(book, wish, settings)
        self.garden, self.trial = garden, said

    def ask(self) -> Ask:
        """Searched even where all can go on as planned: a new column would stay empty else."""
        return replace(super().ask(), search=True)


def trying(app: Flask, book: Book, desk: again.Desk, frame: Callable[[], dict[str, Any]]) -> None:
    """Put the addresses into ``app``; ``frame`` gives what every page shows around itself."""

    @app.get("/change")
    def change() -> str:
        shown = _change(book, request.args.get("batch", ""))
        return render_template("change.html", **shown, **frame())

    @app.post("/change")
    def check() -> Any:
        on = _today(book)
        edit = _edit(book.season(), request.form, on)
        desk.start(lambda book, settings: Check(book, on, edit, settings))
        return redirect(url_for("ask"), 303)

    willing(app, book, desk, _today)

    @app.get("/try")
    def what_if() -> str:
        season = book.season()
        shown = {"first": _today(book), "last": season.plan.end, "most": MOST_COLUMNS}
        return render_template("try.html", **shown, **frame())

    @app.post("/try")
    def attempt() -> Any:
        garden, said = _tried(book.season(), request.form)
        wish = again.Wish(_today(book), 0, 25.0, desk.settings.time_limit)
        desk.start(lambda book, settings: Trial(book, wish, garden, said, settings))
        return redirect(url_for("ask"), 303)


def _today(book: Book) -> date:
    plan = book.season().plan
    return min(max(book.today(), plan.start), plan.end)


def _change(book: Book, name: str) -> dict[str, Any]:
    """What can still be changed; of one batch its days, and the tiers there are."""
    s, on = book.season(), _today(book)
    ahead = [b for b in s.plan.batches if b.state in (PLANNED, SOWN, GROWING) and b.clear >= on]
    ahead.sort(key=lambda b: (b.transplant, b.column, b.tier))
    chosen = next((b for b in ahead if b.id == name), None)
    return {
        "batches": [(b.id, _label(s, b)) for b in ahead],
        "batch": chosen,
        "label": _label(s, chosen) if chosen else "",
        "stands": chosen is not None and (chosen.state == GROWING or chosen.transplant < on),
        "first_pick": _next_pick(chosen, on) if chosen else None,
        "places": views.places(s, on),
        "place": place_value(s.garden, chosen.column, chosen.tier) if chosen else "",
        "first": on,
        "last": s.plan.end,
        "fixed": chosen is not None and fixed_as(s.garden, chosen) is not None,
    }


def _label(s: Season, b: Batch) -> str:
    return _("{tier}: {crop}, planted on {date}").format(
        tier=tier_label(b.column, b.tier),
        crop=crop_title(s.garden, b.crop),
        date=short_date(b.transplant),
    )


def _next_pick(b: Batch, on: date) -> date | None:
    return next((p.date for p in b.picks if p.date >= on), None)


def _edit(s: Season, form: Any, on: date) -> Edit:
    """The change that the form asks for; BadInput names every field that does not do."""
    faults: list[Fault] = []

    def day(name: str) -> date | None:
        text = form.get(name, "").strip()
        try:
            return date.fromisoformat(text) if text else None
        except ValueError:
            faults.append(Fault(name, None, "", text[:20], "a day as 2027-06-03"))
            return None

    transplant, first_pick = day("transplant"), day("first_pick")
    column = tier = None
    if place := form.get("place", ""):
        number, _dash, level = place.partition("-")
        columns = s.garden.columns
        known = number.isdigit() and int(number) < len(columns) and level.isdigit()
        if known and 1 <= int(level) <= len(columns[int(number)].tiers):
            column, tier = columns[int(number)].name, int(level)
        else:
            faults.append(Fault("place", None, "", place[:20], "a tier of the garden"))
    if faults:
        raise BadInput(faults)
    batch = next((b for b in s.plan.batches if b.id == form.get("batch")), None)
    if batch is not None and transplant == batch.transplant:
        transplant = None
    if batch is not None and first_pick == _next_pick(batch, on):
        first_pick = None
    drop = form.get("drop") == "1"
    return Edit(form.get("batch", "")[:20], transplant, column, tier, first_pick, drop)


def _tried(s: Season, form: Any) -> tuple[Garden, str]:
    """The garden to try, and what is tried in words."""
    faults, said = [], []
    garden = s.garden
    text = form.get("columns", "0").strip()
    more = int(text) if text.isdigit() else -1
    if not 0 <= more <= MOST_COLUMNS:
        faults.append(Fault("columns", None, "", text[:20], f"a number from 0 to {MOST_COLUMNS}"))
    days = []
    for name in ("from", "to"):
        text = form.get(name, "").strip()
        try:
            days.append(date.fromisoformat(text) if text else None)
        except ValueError:
            faults.append(Fault(name, None, "", text[:20], "a day as 2027-06-03"))
    if not faults:
        first, last = days[0], days[1] or days[0]
        if first is not None and last is not None:
            if last < first:
                faults.append(Fault("to", None, "", str(last), f"a day from {first} on"))
            span = Span(first, last)
            away = (*garden.season.away, span)
            garden = replace(garden, season=replace(garden.season, away=away))
            said.append(_("off {span}").format(span=short_span(first, last)))
        if more > 0:
            garden = _with_columns(garden, more)
            said.append(plural("{n} more column", "{n} more columns", more))
        if not said:
            faults.append(Fault("columns", None, "", "0", "a column more, or days off"))
    if faults:
        raise BadInput(faults)
    return garden, ", ".join(said)


def _with_columns(garden: Garden, more: int) -> Garden:
    """The garden with columns like its last one."""
    last, names = garden.columns[-1], {c.name for c in garden.columns}
    free = (name for n in range(1, 1000) if (name := f"+{n}") not in names)
    added = tuple(Column(next(free), last.tiers) for _n in range(more))
    return replace(garden, columns=(*garden.columns, *added))
