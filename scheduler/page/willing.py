"""The addresses to fix a batch, and to leave a tier empty up to a day."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

from flask import Flask, redirect, request, url_for

from scheduler.base.faults import BadInput, Fault
from scheduler.garden.model import ONE_DAY, Fixed, Garden, Span
from scheduler.garden.will import without
from scheduler.garden.will_text import with_closed, with_fixed, without_fixed
from scheduler.page import again
from scheduler.page.book import Book
from scheduler.plans.folder import GARDEN_FILE
from scheduler.plans.model import PLANNED, SOWN, Batch
from scheduler.solvers.cp_sat import Settings


class Settled(again.Search):
    """The plan of a garden in which the grower has settled something; garden.yaml goes along."""

    def __init__(
        self, book: Book, wish: again.Wish, garden: Garden, text: bytes, settings: Settings
    ) -> None:
        super().__init__(book, wish, settings)
        self.garden, self.garden_text = garden, text


def willing(app: Flask, book: Book, desk: again.Desk, today: Callable[[Book], date]) -> None:
    """Put the addresses into ``app``."""

    def begin(garden: Garden, text: bytes) -> Any:
        wish = again.Wish(today(book), 0, 25.0, desk.settings.time_limit)
        desk.start(lambda book, settings: Settled(book, wish, garden, text, settings))
        return redirect(url_for("ask"), 303)

    @app.post("/keep")
    def keep() -> Any:
        season, raw = book.season(), _text(book)
        garden, b = season.garden, _batch(season.plan.batches, request.form.get("batch", ""))
        known = fixed_as(garden, b)
        if known is not None:
            fixed = tuple(f for f in garden.fixed if f != known)
            return begin(replace(garden, fixed=fixed), without_fixed(raw, known))
        one = Fixed(b.crop, b.column, b.tier, b.transplant)
        return begin(replace(garden, fixed=(*garden.fixed, one)), with_fixed(raw, one))

    @app.post("/close")
    def close() -> Any:
        garden = book.season().garden
        column, tier, days = _closed(garden, request.form, today(book))
        text = with_closed(_text(book), column, tier, days)
        return begin(_without(garden, column, tier, days), text)


def fixed_as(garden: Garden, b: Batch) -> Fixed | None:
    """What fixes a batch; None: nothing does."""
    told = (b.crop, b.column, b.tier, b.transplant)
    return next((f for f in garden.fixed if (f.crop, f.column, f.tier, f.planted_on) == told), None)


def _text(book: Book) -> bytes:
    return (book.folder / GARDEN_FILE).read_bytes()


def _batch(batches: tuple[Batch, ...], name: str) -> Batch:
    found = next((b for b in batches if b.id == name and b.state in (PLANNED, SOWN)), None)
    if found is None:
        raise BadInput([Fault("batch", None, "", name[:20], "a batch that is still to be planted")])
    return found


def _closed(garden: Garden, form: Any, on: date) -> tuple[str, int, Span]:
    """The tier and the days that the form names; BadInput names every field that does not do."""
    faults = []
    number, _dash, level = form.get("place", "").partition("-")
    columns = garden.columns
    known = number.isdigit() and int(number) < len(columns) and level.isdigit()
    if not known or not 1 <= int(level) <= len(columns[int(number)].tiers):
        seen = form.get("place", "")[:20]
        faults.append(Fault("place", None, "", seen, "a tier of the garden"))
    until = None
    try:
        until = date.fromisoformat(form.get("until", "").strip())
    except ValueError:
        seen = form.get("until", "")[:20]
        faults.append(Fault("until", None, "", seen, "a day as 2027-06-03"))
    if until is not None and not on < until <= garden.season.end:
        expected = f"a day from {on + ONE_DAY} to {garden.season.end}"
        faults.append(Fault("until", None, "", str(until), expected))
    if faults or until is None:
        raise BadInput(faults)
    return columns[int(number)].name, int(level), Span(on, until - ONE_DAY)


def _without(garden: Garden, column: str, tier: int, days: Span) -> Garden:
    """The garden with a tier in which nothing may stand on some days."""
    return replace(
        garden,
        columns=tuple(
            replace(
                c,
                tiers=tuple(
                    replace(t, available=without(t.available, garden, days))
                    if t.number == tier
                    else t
                    for t in c.tiers
                ),
            )
            if c.name == column
            else c
            for c in garden.columns
        ),
    )
