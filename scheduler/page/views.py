"""What the pages show, as plain data for the templates."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from scheduler.base.weeks import week_of, week_start
from scheduler.garden.model import ONE_DAY
from scheduler.log import amounts as log_amounts
from scheduler.log.model import Entry
from scheduler.log.state import over_on
from scheduler.log.strike import line_text
from scheduler.outputs import work
from scheduler.outputs.act import act_note, level_text
from scheduler.outputs.cautions import due
from scheduler.outputs.sentences import crop_title, sentence
from scheduler.outputs.work import Work
from scheduler.page.book import Book, Season
from scheduler.page.entries import Slip, entry_text, place_value, reason, standing_entries
from scheduler.page.foretold import foretold
from scheduler.page.glance import glance, in_short
from scheduler.plans.model import CLEARED, FAILED, Batch
from scheduler.solvers.cp_sat import Settings
from scheduler.words.words import (
    N_,
    VERB,
    Shown,
    _,
    long_date,
    short_date,
    span,
    tier_label,
    top_up,
)

COLUMNS_A_PAGE = 8  # on the page of levels
MOST_ENTRIES = 200  # of the log, newest first; the file holds all

# Which entry of the log an item of work becomes.
ENTRY = {
    work.LEVEL: log_amounts.LEVEL,
    work.PICK: log_amounts.PICKED,
    work.CLEAR: log_amounts.CLEARED,
    work.TRANSPLANT: log_amounts.TRANSPLANTED,
    work.SOW: log_amounts.SOWN,
}
WHAT = {
    log_amounts.SOWN: N_("sown"),
    log_amounts.TRANSPLANTED: N_("transplanted"),
    log_amounts.LEVEL: N_("level"),
    log_amounts.PICKED: N_("picked"),
    log_amounts.CLEARED: N_("cleared"),
    log_amounts.FAILED: N_("failed"),
    log_amounts.EC: N_("EC"),
    log_amounts.PH: N_("pH"),
    log_amounts.EMERGED: N_("emerged"),
    log_amounts.THINNED: N_("thinned"),
    log_amounts.LOST: N_("plants lost"),
    log_amounts.RIPE: N_("looks ripe"),
    log_amounts.WIDTH: N_("width of a head"),
    log_amounts.RAIN: N_("rain"),
    log_amounts.TOPPED: N_("topped up"),
    log_amounts.MOVED: N_("moved"),
    log_amounts.COVERED: N_("covered"),
    log_amounts.SHADED: N_("shaded"),
    log_amounts.UNCOVERED: N_("uncovered"),
    log_amounts.PEST: N_("pest"),
    log_amounts.NOTE: N_("note"),
}
# Written into the log as it stands here (`log.state.is_disease` reads it), shown translated.
REASONS = (
    N_("leak"),
    N_("root disease"),
    N_("ran dry"),
    N_("blown over"),
    N_("eaten"),
    N_("bolted"),
    N_("heat"),
    N_("frost"),
)


def day(book: Book, on: date) -> dict[str, Any]:
    """One day's work, each item with what the log says of it already."""
    s = book.season()
    over = _over(book, on)
    items = [w for w in s.items if w.date == on and not (w.kind == work.LEVEL and w.batch in over)]
    known = standing_entries(book.log().entries, ENTRY)
    after = next((w.date for w in s.items if w.date > on), None)
    before = next((w.date for w in reversed(s.items) if w.date < on), None)
    monday = week_start(week_of(on))
    return {
        "on": on,
        "title": long_date(on),
        "today": book.today(),
        "is_today": on == book.today(),
        "foretold": foretold(book, on),
        "future": on > book.today(),
        "levels": [_level(s, w, known) for w in items if w.kind == work.LEVEL],
        "todo": [_todo(s, w, known) for w in items if w.kind != work.LEVEL],
        "cautions": [(_(c.name), _(c.short)) for c in due(w.kind for w in items)],
        "act": act_note() if any(w.act_cm is not None for w in items) else "",
        "before": before,
        "after": after,
        "before_text": short_date(before) if before else "",
        "after_text": short_date(after) if after else "",
        "week": (monday, monday + timedelta(days=6)),
        "depth_unit": s.units.depth_unit,
        "mass_unit": s.units.mass_unit,
        "number": s.plan.number,
        **in_short(book, on),
        **(glance(book, on) if on == book.today() else {}),
    }


def _todo(s: Season, w: Work, known: dict[tuple[Any, ...], list[Entry]]) -> dict[str, Any]:
    tier = w.tier
    entries = known.get((w.date, w.kind, w.column, tier), [])
    if w.kind == work.SOW:
        entries = [*entries, *known.get((w.date, w.kind, "", None), [])]
        entries = [e for e in entries if e.crop in ("", w.crop)]
    return {
        "kind": w.kind,
        "verb": _(VERB[w.kind]),
        "text": sentence(s.garden, w, s.units),
        "tag": "" if w.kind == work.SOW else tier_label(w.column, tier),
        "place": place_value(s.garden, w.column, tier),
        "crop": w.crop,
        "crop_title": crop_title(s.garden, w.crop) if w.crop else "",
        "plants": w.plants,
        "cells": w.cells,
        "expected": s.units.mass_text(w.grams),
        "written": [entry_text(e, s.units) or _(WHAT[e.what]) for e in entries],
    }


def _level(s: Season, w: Work, known: dict[tuple[Any, ...], list[Entry]]) -> dict[str, Any]:
    entries = known.get((w.date, work.LEVEL, w.column, w.tier), [])
    return {
        "tag": tier_label(w.column, w.tier),
        "place": place_value(s.garden, w.column, w.tier),
        "crop_title": crop_title(s.garden, w.crop),
        "due": True,
        "expected": level_text(w, s.units) + (", " + _("EC and pH too") if w.meters else ""),
        "written": [entry_text(e, s.units) for e in entries],
    }


def _over(book: Book, on: date) -> frozenset[str]:
    """Batches that failed or were cleared: none asks for a level any more."""
    s = book.season()
    return over_on(s.garden, s.plan, book.log(), min(max(on, s.plan.start), s.plan.end))


def standing(s: Season, on: date) -> dict[tuple[str, int], Batch]:
    """What stands in each tier on a day, by the plan."""
    return {
        (b.column, b.tier): b
        for b in s.plan.batches
        if b.transplant <= on <= b.clear and b.state not in (FAILED, CLEARED)
    }


def levels(book: Book, on: date, page: int) -> dict[str, Any]:
    """Every tier with a crop in it: expected depth, last reading, a blank; some columns a page."""
    s = book.season()
    over = _over(book, on)
    here = {place: b for place, b in standing(s, on).items() if b.id not in over}
    known = standing_entries(book.log().entries, ENTRY)
    last: dict[tuple[str, int | None], Entry] = {
        (e.column, e.tier): e for e in book.log().entries if e.what == log_amounts.LEVEL
    }
    wanted = {(w.column, w.tier) for w in s.items if w.date == on and w.kind == work.LEVEL}
    columns = s.garden.columns
    pages = max(1, -(-len(columns) // COLUMNS_A_PAGE))
    page = min(max(page, 0), pages - 1)
    out = []
    for column in columns[page * COLUMNS_A_PAGE : (page + 1) * COLUMNS_A_PAGE]:
        rows = []
        for tier in column.tiers:
            b = here.get((column.name, tier.number))
            if b is None:
                continue
            level = next((v for v in b.levels if v.date == on), None)
            before = last.get((column.name, tier.number))
            if before is not None and before.date < b.transplant:
                before = None
            rows.append(
                {
                    "tag": tier_label(column.name, tier.number),
                    "place": place_value(s.garden, column.name, tier.number),
                    "crop_title": crop_title(s.garden, b.crop),
                    "expected": s.units.depth_text(level.depth_cm) if level else "",
                    "due": (column.name, tier.number) in wanted,
                    "before": f"{entry_text(before, s.units)}, {short_date(before.date)}"
                    if before
                    else "",
                    "written": [
                        entry_text(e, s.units)
                        for e in known.get((on, work.LEVEL, column.name, tier.number), [])
                    ],
                }
            )
        if rows:
            out.append((column.name, rows))
    names = [
        f"{columns[i * COLUMNS_A_PAGE].name} \u2013 "
        f"{columns[min((i + 1) * COLUMNS_A_PAGE, len(columns)) - 1].name}"
        for i in range(pages)
    ]
    return {
        "on": on,
        "title": long_date(on),
        "columns": out,
        "page": page,
        "pages": names,
        "depth_unit": s.units.depth_unit,
        "volume_unit": s.units.volume_unit,
        "future": on > book.today(),
        "foretold": foretold(book, on),
        "example": f"{Shown(24.5):.1f}",
        "top_up": top_up(s.units),
    }


def places(s: Season, on: date) -> list[tuple[str, list[tuple[str, str]]]]:
    """Columns with their tiers as (value, words), and what stands in each on a day."""
    here = standing(s, on)
    out = []
    for column in s.garden.columns:
        tiers = []
        for tier in column.tiers:
            b = here.get((column.name, tier.number))
            what = crop_title(s.garden, b.crop) if b else _("empty")
            label = f"{tier_label(column.name, tier.number)}: {what}"
            tiers.append((place_value(s.garden, column.name, tier.number), label))
        out.append((column.name, tiers))
    return out


def failed(book: Book, on: date) -> dict[str, Any]:
    """The form for what failed: a tier, a whole column, or seedlings of a crop."""
    s = book.season()
    seedlings = {b.crop for b in s.plan.batches if b.sow <= on < b.transplant}
    return {
        "on": on,
        "title": long_date(on),
        "places": places(s, on),
        "whole": [
            (place_value(s.garden, c.name, None), c.name)
            for c in s.garden.columns
            if len(c.tiers) > 1
        ],
        "seedlings": sorted((c, crop_title(s.garden, c)) for c in seedlings),
        "reasons": [(r, _(r)) for r in REASONS],
    }


def log(book: Book) -> dict[str, Any]:
    """The log, newest first, its faulty lines with the reasons, and a form for anything."""
    s, found = book.season(), book.log()
    entries = [
        {
            "line": e.line,
            "seen": line_text(book.log_file, e.line),
            "date": short_date(e.date),
            "what": _(WHAT[e.what]),
            "tag": tier_label(e.column, e.tier) if e.column else "",
            "crop": crop_title(s.garden, e.crop) if e.crop else "",
            "amount": entry_text(e, s.units),
            "note": _note(e.note),
        }
        for e in sorted(found.entries, key=lambda e: (e.date, e.line), reverse=True)
    ]
    faults = [
        {
            "line": f.line,
            "seen": line_text(book.log_file, f.line or 0),
            "why": reason(f),
        }
        for f in found.faults
    ]
    return {
        "entries": entries[:MOST_ENTRIES],
        "more": max(0, len(entries) - MOST_ENTRIES),
        "faults": faults,
        "slip": Slip(date=book.today().isoformat()),
        **_form(s, book.today()),
    }


def _note(text: str) -> str:
    """A note with what was chosen from `REASONS` in the language in use."""
    return ", ".join(_(part) if part in REASONS else part for part in text.split(", "))


def _form(s: Season, on: date) -> dict[str, Any]:
    """What the fields of a full entry offer."""
    return {
        "places": places(s, on),
        "whole": [
            (place_value(s.garden, c.name, None), c.name)
            for c in s.garden.columns
            if len(c.tiers) > 1
        ],
        "whats": [(k, _(v)) for k, v in WHAT.items()],
        "crops": sorted((c, crop_title(s.garden, c)) for c in s.garden.crops),
        "units": [
            "",
            s.units.depth_unit,
            s.units.volume_unit,
            s.units.mass_unit,
            "plants",
            "cells",
            "seeds",
            "mS/cm",
            *([] if s.units.us else ["mm"]),
        ],
    }


def refused(book: Book, written: list[Entry], slips: list[Slip], back: str) -> dict[str, Any]:
    """What was not taken, with the reason, as forms to mend; how much was taken."""
    s = book.season()
    return {"written": len(written), "slips": slips, "back": back, **_form(s, book.today())}


def printing(book: Book) -> dict[str, Any]:
    """What can be printed: this week, the weeks to come, the season."""
    s, today = book.season(), book.today()
    start = min(max(today, s.plan.start), s.plan.end)
    monday = week_start(week_of(start))
    return {
        "week": (monday, monday + 6 * ONE_DAY),
        "week_text": span(monday, monday + 6 * ONE_DAY),
        "rest": (monday, s.plan.end),
        "season_text": span(s.plan.start, s.plan.end),
        "paper": "letter" if s.units.us else "a4",
    }


def ask(book: Book, settings: Settings) -> dict[str, Any]:
    """The form to plan again, with what the log holds since the plan was made."""
    s, found = book.season(), book.log()
    since = [e for e in found.entries if s.plan.as_of is None or e.date >= s.plan.as_of]
    on = min(max(book.today(), s.plan.start), s.plan.end)
    return {
        "on": on,
        "first": s.plan.start,
        "last": s.plan.end,
        "seconds": f"{settings.time_limit:g}",
        "new": len(since),
        "faults": len(found.faults),
        "failures": [
            f"{short_date(e.date)}: {tier_label(e.column, e.tier) if e.column else e.crop}"
            + (f", {_note(e.note)}" if e.note else "")
            for e in since
            if e.what == log_amounts.FAILED
        ],
    }
