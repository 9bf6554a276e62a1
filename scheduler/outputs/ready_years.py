"""When crops are ready, year by year, as text of at most 80 columns and as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from scheduler.batches.ready_years import ReadyYears, Spell
from scheduler.garden.model import Garden
from scheduler.shortfall.window_words import day_text, days_text, kinds_label
from scheduler.words.words import _, plural, table, wrap

WIDTH = 80


def text(garden: Garden, found: Sequence[ReadyYears], notes: Sequence[str]) -> str:
    """A block a crop, a row for about every second week; ``notes`` say how the years were made."""
    lines = wrap(_("{name}: ready dates, year by year").format(name=garden.name), WIDTH)
    first = found[0]
    about = [
        kinds_label(garden, [first.kind]),
        plural("{n} generated year", "{n} generated years", len(first.made)),
    ]
    if first.names:
        about.append(plural("{n} past year", "{n} past years", len(first.names)))
    lines += wrap(", ".join(about) + ". " + _explained(first), WIDTH)
    for one in found:
        lines += ["", *wrap(one.crop.title.upper(), WIDTH), *_rows(garden, one)]
    lines.append("")
    for note in notes:
        lines += wrap(note, WIDTH)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _explained(one: ReadyYears) -> str:
    told = _(
        "The first date is the usual one: by then it is ready in half of the years. In three years "
        "of five it is ready between the two dates after it. Climate: on the mean days of your "
        "climate table alone. Drying and bolting are left out."
    )
    if one.names and one.of_past is None:
        told += " " + _("So few past years tell no spread.")
    return told


def _rows(garden: Garden, one: ReadyYears) -> list[str]:
    past, made = one.of_past, one.of_made
    told: list[list[str]] = []
    for i in _fortnightly(one.planted):
        day = one.planted[i]
        if day + _days((past or made).usual[i]) > garden.season.end:
            continue
        row = [day_text(day)]
        for spell in [s for s in (past, made) if s is not None]:
            row += [_ready(day, spell.usual[i]), _between(day, spell, i)]
        told.append([*row, _ready(day, one.climate[i])])
    if not told:
        return ["  " + _("not ready before the season ends")]
    heads = [_("transplanted")]
    if past is not None:
        heads += [_("past years"), _("between")]
    heads += [_("generated"), _("between"), _("climate")]
    return ["  " + line for line in table(heads, told, "<" * len(heads), WIDTH - 2)]


def _fortnightly(days: Sequence[date]) -> list[int]:
    """The first day of each fortnight."""
    out: list[int] = []
    for i, day in enumerate(days):
        if not out or (day - days[out[-1]]).days >= 14:
            out.append(i)
    return out


def _days(count: float) -> timedelta:
    """A span; one past every season for never."""
    return timedelta(days=round(count) if np.isfinite(count) else 9999)


def _ready(day: date, count: float) -> str:
    return day_text(day + _days(count)) if np.isfinite(count) else _("never")


def _between(day: date, spell: Spell, i: int) -> str:
    early, late = spell.early[i], spell.late[i]
    if not np.isfinite(late):
        return _("from {day}").format(day=_ready(day, early)) if np.isfinite(early) else _("never")
    return days_text(day + _days(early), day + _days(late))


def data(garden: Garden, found: Sequence[ReadyYears], notes: Sequence[str]) -> dict[str, Any]:
    """The same for machines: days from planting until ready; None: not while there is weather."""
    first = found[0]
    return {
        "garden": garden.name,
        "tiers": [list(place) for place in first.kind.places],
        "past_years": list(first.names),
        "generated_years": len(first.made),
        "assumed": list(notes),
        "crops": [_crop_data(one) for one in found],
    }


def _crop_data(one: ReadyYears) -> dict[str, Any]:
    past, made = one.of_past, one.of_made
    rows = []
    for i, day in enumerate(one.planted):
        row: dict[str, Any] = {"planted": day.isoformat(), "climate": _number(one.climate[i])}
        for name, spell in (("past", past), ("generated", made)):
            if spell is not None:
                parts = {"early": spell.early, "usual": spell.usual, "late": spell.late}
                row[name] = {key: _number(values[i]) for key, values in parts.items()}
        row["past_years"] = [_number(v) for v in one.past[:, i]]
        rows.append(row)
    return {"crop": one.crop.name, "planting_days": rows}


def _number(days: float) -> float | None:
    return round(float(days), 1) if np.isfinite(days) else None
