"""One day of a season as lines for a terminal."""

from __future__ import annotations

from datetime import date
from shlex import quote
from typing import Any

from scheduler.garden.model import Garden
from scheduler.plans.model import Plan
from scheduler.watch.day import Due, Today
from scheduler.watch.emergence import said_of_seedlings
from scheduler.watch.judge import CALM, Watched, worst_first
from scheduler.watch.text import as_data, said
from scheduler.words.words import (
    VERB,
    Units,
    _,
    depth_of_rain,
    long_date,
    pad,
    plan_mark,
    plural,
    short_date,
    shown_width,
    tier_label,
    wrap,
)
from scheduler.words.work_kinds import (
    CLEAR,
    HARDEN,
    LEVEL,
    MOVE,
    PICK,
    PROTECT,
    SHADE,
    SHELTER,
    SOW,
    SUPPORT,
    TRANSPLANT,
)

WIDTH = 79


def lines(garden: Garden, plan: Plan, today: Today, units: Units, folder: str) -> list[str]:
    """The day: what alarms, what is to do, what to measure."""
    head = [t for t in (long_date(today.on), garden.name, plan_mark(plan)) if t]
    out = wrap(", ".join(head), WIDTH)
    loud = [w for w in worst_first(today.tiers) if w.verdict != CALM]
    measured = [w for w in loud if w.readings or w.left_out]
    if measured:
        out += ["", _("What the levels foretell")]
        for w in measured:
            out += wrap(said(garden, w, units), WIDTH, "  ", "    ")
    if today.seedlings:
        out += ["", _("Seedlings")]
        for e in today.seedlings:
            out += wrap(said_of_seedlings(garden, e, units), WIDTH, "  ", "    ")
    out += ["", _("To do")]
    work = [w for w in today.work if w.kind != LEVEL]
    if work:
        out += _table([_row(garden, w, units) for w in work])
    elif today.next is not None:
        out += wrap(
            _("Nothing but levels. The next work is on {date}.").format(date=long_date(today.next))
            if any(w.kind == LEVEL for w in today.work)
            else _("Nothing. The next work is on {date}.").format(date=long_date(today.next)),
            WIDTH,
            "  ",
            "  ",
        )
    else:
        out.append("  " + _("Nothing, and nothing is to come."))
    out += _measure(garden, today, units)
    if work:
        day = today.on.isoformat()
        out += [
            "",
            *wrap(
                _("Weights to lift, recipes, cautions: {command}").format(
                    command=f"dryline calendar {quote(folder)} --from {day} --to {day}"
                ),
                WIDTH,
            ),
        ]
    return out


def _measure(garden: Garden, today: Today, units: Units) -> list[str]:
    """Levels that are due, and where else a reading tells most."""
    state = {(w.column, w.tier): w for w in today.tiers}
    due = [w for w in today.work if w.kind == LEVEL]
    open_ = [w for w in due if not w.done]
    out = []
    if open_ or today.first:
        out += ["", _("Measure")]
    if open_:
        # Where a reading tells most comes first: who has little time reads those.
        open_.sort(key=lambda w: -_told(state, w))
        names = ", ".join(_expected(garden, w, state, units) for w in open_)
        out += wrap(_("due: {tiers}").format(tiers=names), WIDTH, "  ", "    ")
    if today.first:
        names = ", ".join(tier_label(w.column, w.tier) for w in today.first)
        text = _("worth measuring too: {tiers}") if open_ else _("worth measuring: {tiers}")
        out += wrap(text.format(tiers=names), WIDTH, "  ", "    ")
    return out


def _told(state: dict[tuple[str, int], Watched], due: Due) -> float:
    w = state.get((due.column, due.tier or 0))
    return 0.0 if w is None else w.told


def _expected(garden: Garden, due: Due, state: dict[tuple[str, int], Watched], units: Units) -> str:
    """A tier and the depth to expect in it, by what was measured so far."""
    label = tier_label(due.column, due.tier)
    w = state.get((due.column, due.tier or 0))
    if w is None or due.tier is None:
        return label
    vessel = garden.vessels[garden.tier(due.column, due.tier).vessel]
    depth = units.depth_text(vessel.depth_at(w.litres))
    if due.meters:
        return _("{tier} (expect {depth}; EC and pH too)").format(tier=label, depth=depth)
    return _("{tier} (expect {depth})").format(tier=label, depth=depth)


def _row(garden: Garden, w: Due, units: Units) -> tuple[str, str, str]:
    place = "" if w.kind == SOW else tier_label(w.column, w.tier)
    text = _SAY[w.kind](garden, w, units)
    return _(VERB[w.kind]), place, text + (_(" (in the log)") if w.done else "")


def _table(rows: list[tuple[str, str, str]]) -> list[str]:
    """Verb, place and text in columns."""
    verb = max(shown_width(r[0]) for r in rows)
    place = min(max(shown_width(r[1]) for r in rows), 24)
    out = []
    for what, where, text in rows:
        first = f"  {pad(what, verb)}  {pad(where, place)}{'  ' if place else ''}"
        out += wrap(text, WIDTH, first, " " * min(shown_width(first), 40))
    return out


def _title(garden: Garden, crop: str) -> str:
    return _(garden.crops[crop].title) if crop in garden.crops else crop


def _plants(w: Due) -> str:
    return plural("{n} plant", "{n} plants", w.plants)


def _pick(garden: Garden, w: Due, units: Units) -> str:
    text = _("{crop}: {plants}, about {mass}").format(
        crop=_title(garden, w.crop), plants=_plants(w), mass=units.mass_text(w.grams)
    )
    if w.count > 1:
        text += _(" (pick {number} of {count})").format(number=w.number, count=w.count)
    return text


def _clear(garden: Garden, w: Due, units: Units) -> str:
    return _("{crop}: empty, scrub and rinse").format(crop=_title(garden, w.crop))


def _transplant(garden: Garden, w: Due, units: Units) -> str:
    return _("{crop}: {plants}, into {litres}").format(
        crop=_title(garden, w.crop), plants=_plants(w), litres=units.volume_text(w.litres)
    )


def _sow(garden: Garden, w: Due, units: Units) -> str:
    return _("{crop}: {seeds} in {cells}, for {tier} on {date}").format(
        crop=_title(garden, w.crop),
        seeds=plural("{n} seed", "{n} seeds", w.seeds),
        cells=plural("{n} cell", "{n} cells", w.cells),
        tier=tier_label(w.column, w.tier),
        date=_date(w.until),
    )


def _shelter(garden: Garden, w: Due, units: Units) -> str:
    return _(
        "until {until}, whenever more than {rain} of rain is forecast: the roots need their air gap"
    ).format(until=_date(w.until), rain=depth_of_rain(units))


def _move(garden: Garden, w: Due, units: Units) -> str:
    return _("to {place}").format(place=_("the open") if w.crop == "open" else w.crop)


def _protect(garden: Garden, w: Due, units: Units) -> str:
    return _("{crop}: fleece, or bring it in, on cold nights until {date}").format(
        crop=_title(garden, w.crop), date=_date(w.until)
    )


def _shade(garden: Garden, w: Due, units: Units) -> str:
    return _("{crop}: wrap the vessel white, or shade it, until {date}").format(
        crop=_title(garden, w.crop), date=_date(w.until)
    )


def _harden(garden: Garden, w: Due, units: Units) -> str:
    return _("{crop}: out by day until planted on {date}").format(
        crop=_title(garden, w.crop), date=_date(w.until)
    )


def _support(garden: Garden, w: Due, units: Units) -> str:
    return _("{crop}: {plants}, before they are too heavy to stand").format(
        crop=_title(garden, w.crop), plants=_plants(w)
    )


def _date(day: date | None) -> str:
    return "" if day is None else short_date(day)


_SAY = {
    PICK: _pick,
    CLEAR: _clear,
    TRANSPLANT: _transplant,
    SOW: _sow,
    SHELTER: _shelter,
    SUPPORT: _support,
    MOVE: _move,
    PROTECT: _protect,
    SHADE: _shade,
    HARDEN: _harden,
}


def data(today: Today) -> dict[str, Any]:
    """The day for machines."""
    return {
        "on": today.on.isoformat(),
        "work": [
            {**vars(w), "until": None if w.until is None else w.until.isoformat()}
            for w in today.work
        ],
        "tiers": [as_data(w) for w in worst_first(today.tiers)],
        "measure": [
            *(f"{w.column} {w.tier}" for w in today.work if w.kind == LEVEL and not w.done),
            *(f"{w.column} {w.tier}" for w in today.first),
        ],
        "next": None if today.next is None else today.next.isoformat(),
    }
