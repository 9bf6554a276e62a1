"""The first screen: the season at a glance, levels with their bands, today's work in short."""

from __future__ import annotations

from datetime import date
from typing import Any

from scheduler.garden.weekly import wish
from scheduler.log import amounts as log_amounts
from scheduler.log.model import Entry
from scheduler.outputs import work
from scheduler.outputs.beside import of_days
from scheduler.outputs.drawing.season import season as season_drawing
from scheduler.outputs.drawing.svg import PATTERNS, frame, line, rect
from scheduler.outputs.sentences import crop_title, met_text
from scheduler.outputs.together import HARD, Line, day_lines
from scheduler.page.book import Book, Season
from scheduler.page.entries import Slip, place_value, standing_entries
from scheduler.plans.model import Batch
from scheduler.watch.judge import CALM, ORDER, watched
from scheduler.words.words import VERB, _, short_date, tier_label

# Which entry of the log ticking a piece of work writes; the rest is done without one.
ENTRY = {
    work.PICK: log_amounts.PICKED,
    work.CLEAR: log_amounts.CLEARED,
    work.TRANSPLANT: log_amounts.TRANSPLANTED,
    work.SOW: log_amounts.SOWN,
}
_WIDE, _HIGH = 200.0, 18.0


def in_short(book: Book, on: date) -> dict[str, Any]:
    """The short list of a day, and what stands beside it: events, what is over."""
    s = book.season()
    return {
        "brief": short_list(book, on),
        "beside": of_days(s.garden, s.plan, s.units).get(on, ()),
    }


def short_list(book: Book, on: date) -> list[dict[str, Any]]:
    """The day's work, like work together; each line with its number and whether the log has it."""
    s = book.season()
    known = standing_entries(book.log().entries, ENTRY)
    rows = []
    for n, one in enumerate(_lines(s, on)):
        open_ = [w for w in one.items if w.kind in ENTRY and not _logged(known, w)]
        kinds = [w for w in one.items if w.kind in ENTRY]
        rows.append(
            {
                "n": n,
                "verb": _(VERB[one.kind]),
                "text": one.text.replace(HARD, " "),
                "open": bool(open_),
                "done": bool(kinds) and not open_,
            }
        )
    return rows


def as_planned(book: Book, on: date, numbers: set[int]) -> list[Slip]:
    """Log entries for these lines of a day, done as planned."""
    s = book.season()
    known = standing_entries(book.log().entries, ENTRY)
    return [
        _slip(s, w)
        for n, one in enumerate(_lines(s, on))
        if n in numbers
        for w in one.items
        if w.kind in ENTRY and not _logged(known, w)
    ]


def _lines(s: Season, on: date) -> list[Line]:
    items = [w for w in s.items if w.date == on and w.kind != work.LEVEL]
    return day_lines(s.garden, items, s.units)


def _logged(known: dict[tuple[Any, ...], list[Entry]], w: work.Work) -> bool:
    entries = known.get((w.date, w.kind, w.column, w.tier), [])
    if w.kind == work.SOW:
        entries = [*entries, *known.get((w.date, w.kind, "", None), [])]
        entries = [e for e in entries if e.crop in ("", w.crop)]
    return bool(entries)


def _slip(s: Season, w: work.Work) -> Slip:
    amount, unit = {
        work.PICK: (str(w.plants), "plants"),
        work.TRANSPLANT: (str(w.plants), "plants"),
        work.SOW: (str(w.cells), "cells"),
    }.get(w.kind, ("", ""))
    crop = w.crop if w.kind in (work.SOW, work.TRANSPLANT) else ""
    place = place_value(s.garden, w.column, w.tier)
    return Slip(w.date.isoformat(), ENTRY[w.kind], place, crop, amount, unit)


def glance(book: Book, on: date) -> dict[str, Any]:
    """What the first screen shows beside the day's work."""
    s = book.season()
    picked = sum(
        e.amount or 0 for e in book.log().entries if e.what == log_amounts.PICKED and e.unit == "g"
    )
    ahead = [w for w in s.items if w.kind == work.PICK and w.date >= on]
    facts = [met_text(s.garden, s.plan, s.units)] if wish(s.garden) else []
    if picked:
        text = _("Picked and weighed so far: {mass}.")
        facts.append(text.format(mass=s.units.mass_text(round(picked))))
    if ahead:
        day = ahead[0].date
        text = _("Next pick: {date}, {crops}.")
        crops = dict.fromkeys(crop_title(s.garden, w.crop) for w in ahead if w.date == day)
        facts.append(text.format(date=short_date(day), crops=", ".join(crops)))
    return {
        "facts": facts,
        "bands": _bands(book, s, on),
        "drawing": season_drawing(s.garden, s.plan, on),
        "patterns": PATTERNS,
    }


def _bands(book: Book, s: Season, on: date) -> list[dict[str, Any]]:
    """Tiers with a crop, what alarms first: a drawing of the level, and the same in words."""
    tiers = watched(s.garden, s.plan, book.log(), s.foretold, on)
    batches = {b.id: b for b in s.plan.batches}
    read: dict[tuple[str, int | None], Entry] = {
        (e.column, e.tier): e
        for e in book.log().entries
        if e.what == log_amounts.LEVEL and e.date <= on
    }
    out = []
    for w in sorted(tiers, key=lambda w: ORDER.index(w.verdict)):
        b = batches[w.batch]
        vessel = s.garden.vessels[s.garden.tier(w.column, w.tier).vessel]
        full, keep = float(vessel.depth(vessel.fill_l)), float(vessel.depth(vessel.floor_l))
        depth, act = float(vessel.depth(w.litres)), _act(s, b, on)
        entry = read.get((w.column, w.tier))
        measured = entry.date if entry is not None and entry.date >= b.transplant else None
        words = [_("expect {depth}").format(depth=s.units.depth_text(depth))]
        if act is not None:
            day, cm = act
            words.append(
                _("act below {depth} on {date}").format(
                    depth=s.units.depth_text(cm), date=short_date(day)
                )
            )
        if measured:
            words.append(_("read on {date}").format(date=short_date(measured)))
        out.append(
            {
                "tag": tier_label(w.column, w.tier),
                "crop": crop_title(s.garden, w.crop),
                "verdict": w.verdict,
                "loud": w.verdict != CALM,
                "words": ", ".join(words),
                "svg": _bar(depth / full, keep / full, act[1] / full if act else None),
            }
        )
    return out


def _act(s: Season, b: Batch, on: date) -> tuple[date, float] | None:
    """The next level the calendar asks for, and the depth to act below then."""
    for days, cm in sorted(s.foretold.checks.get(b.id, {}).items()):
        day = date.fromordinal(b.transplant.toordinal() + days)
        if day >= on and cm is not None:
            return day, cm
    return None


def _bar(depth: float, keep: float, act: float | None) -> str:
    """A vessel lying on its side: the solution to expect, the depth to act below, the keep."""
    out = [rect(0.5, 0.5, _WIDE - 1, _HIGH - 1, "vessel")]
    out.append(rect(1, 1, max(0.0, min(depth, 1.0)) * (_WIDE - 2), _HIGH - 2, "water"))
    out.append(line(keep * _WIDE, 1, keep * _WIDE, _HIGH - 1, "keep"))
    if act is not None:
        out.append(line(act * _WIDE, 0, act * _WIDE, _HIGH, "act-at"))
    return frame(_WIDE, _HIGH, _("level"), out, "band")
