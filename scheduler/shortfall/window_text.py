"""Sowing windows as text of at most 80 columns, and as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby
from typing import Any

from crops.development import extremes
from crops.survival import frosts
from crops.years import carried_by
from scheduler.batches.windows import Run, SowWindows, first_seedling, runs
from scheduler.garden.baths import warm_days
from scheduler.garden.model import Garden
from scheduler.shortfall.window_words import (
    FROST_TENTHS,
    day_text,
    days_text,
    frost_text,
    kinds_label,
    warm_text,
    why_text,
)
from scheduler.words.words import WEEKDAYS, Units, _, pad, span, wrap

WIDTH = 80
_DATES = 16  # "28 Sep to 10 Oct"
_REASON = 7 + _DATES + 2


def text(garden: Garden, windows: Sequence[SowWindows], units: Units) -> str:
    """One block a crop; in it kinds of tier whose runs are the same stand together."""
    lines = _head(garden)
    for _name, group in groupby(windows, key=lambda w: w.crop.name):
        lines += ["", *_crop(garden, list(group), units)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _head(garden: Garden) -> list[str]:
    season = garden.season
    name = garden.name + (" " + _("(an invented garden)") if garden.invented else "")
    lines = wrap(_("{name}: sow dates").format(name=name), WIDTH)
    about = span(garden.first, season.end) + ". "
    if len(season.work_days) < 7:
        days = ", ".join(_(WEEKDAYS[d]) for d in sorted(season.work_days))
        about += _("Dates are your work days ({days})").format(days=days)
    else:
        about += _("Dates are your work days (all)")
    if season.away:
        away = _(" and ").join(days_text(s.start, s.end) for s in season.away)
        about += _(", never while you are away ({spans})").format(spans=away)
    about += _(
        ". Tier 1 is the top. A date may still be full: nursery, tiers and lifts are "
        "shared out by the plan."
    )
    years = carried_by(garden.site.weather)
    if years is not None:
        about += " " + _("What grows is what {n} weather years let expect, as in a plan.").format(
            n=len(years.tmin)
        )
    about = " ".join([about, frost_text(garden), *_first_places(garden)])
    return [*lines, *wrap(about, WIDTH)]


def _first_places(garden: Garden) -> list[str]:
    """That a place is still to be chosen, and for which these dates are."""
    text = _("{columns} may stand in {places}: dates are for {first}, until a plan has chosen.")
    return [
        text.format(
            columns=", ".join(choice.columns),
            places=_(" or ").join(place.name for place in choice.places),
            first=choice.places[0].name,
        )
        for choice in garden.may_stand
    ]


def _crop(garden: Garden, windows: Sequence[SowWindows], units: Units) -> list[str]:
    lines = wrap(windows[0].crop.title.upper(), WIDTH)
    before = _seedling_line(garden, windows[0])
    if before:
        lines += wrap(before, WIDTH, "  ", "  ")
    merged: dict[tuple[Any, ...], list[SowWindows]] = {}
    for one in windows:
        key = tuple((run.first, run.last, run.code) for run in runs(one))
        merged.setdefault(key, []).append(one)
    for same in merged.values():
        label = kinds_label(garden, [w.kind for w in same])
        if warm := warm_text(garden, same[0].crop, [w.kind.tier for w in same], units):
            label += " (" + warm + ")"
        lines += wrap(label, WIDTH, "  ", "    ")
        for rows in zip(*(runs(w) for w in same), strict=True):
            lines += _run(rows, units)
    return lines


def _run(rows: Sequence[Run], units: Units) -> list[str]:
    """One run that several kinds share."""
    works = rows[0].days[0].works
    dates = days_text(rows[0].first, rows[0].last)
    if len(dates) <= _DATES:  # longer where the years are named
        dates = pad(dates, _DATES)
    head = f"   {_('sow') if works else ' - ':<3} {dates}  "
    return wrap(
        why_text([d.why for row in rows for d in row.days], units), WIDTH, head, " " * _REASON
    )


def _seedling_line(garden: Garden, windows: SowWindows) -> str:
    """From when there are seedlings, where that is later than the first work day."""
    if not windows.days or windows.days[0].sow != next(_work_days(garden)):
        return ""  # only later dates are shown
    first = first_seedling(windows)
    if first is None:
        return _("no sowing of this season gives seedlings in it")
    return _("first seedlings on {date}; for earlier ones let the season start earlier").format(
        date=day_text(first)
    )


def _work_days(garden: Garden) -> Iterator[date]:
    season = garden.season
    days = (season.date(i) for i in range(season.index(garden.first), season.days))
    return (d for d in days if garden.season.is_work_day(d))


def data(garden: Garden, windows: Sequence[SowWindows], units: Units) -> dict[str, Any]:
    """Everything, for machines. Figures are metric whatever the units of the texts."""
    crops = []
    for name, group in groupby(windows, key=lambda w: w.crop.name):
        mine = list(group)
        first = first_seedling(mine[0])
        crops.append(
            {
                "crop": name,
                "title": mine[0].crop.title,
                "first_seedling": _plain(first),
                "kinds": [_kind(garden, w, units) for w in mine],
            }
        )
    season = garden.season
    return {
        "garden": garden.name,
        "invented": garden.invented,
        "season": {"start": garden.first.isoformat(), "end": season.end.isoformat()},
        "frost": _frost(garden),
        "place_not_chosen": [
            {"columns": list(choice.columns), "dates_are_for": choice.places[0].name}
            for choice in garden.may_stand
        ],
        "crops": crops,
    }


def _frost(garden: Garden) -> dict[str, Any]:
    """Last and first day of frost [of ten years so many]; null: none. Of the mean year its own."""
    low = extremes(garden.site.weather)[0][:, : garden.season.days]
    out: dict[str, Any] = {}
    for tenths in FROST_TENTHS if len(low) > 1 else (10,):
        last, first = frosts(low, tenths / 10 - 1 / len(low))
        out[str(tenths)] = {
            "until": None if last < 0 else garden.season.date(last).isoformat(),
            "from": None if first >= garden.season.days else garden.season.date(first).isoformat(),
        }
    return out


def _warm(garden: Garden, windows: SowWindows) -> dict[str, Any] | None:
    found = warm_days(garden, windows.crop, windows.kind.tier)
    if found is None:
        return None
    first, last = (garden.season.date(d).isoformat() for d in (found.first, found.last))
    return {"share": round(found.share, 3), "first": first, "last": last}


def _kind(garden: Garden, windows: SowWindows, units: Units) -> dict[str, Any]:
    tier = windows.kind.tier
    return {
        "warm_solution": _warm(garden, windows),
        "tiers": [{"column": c, "tier": n} for c, n in windows.kind.places],
        "label": kinds_label(garden, [windows.kind]),
        "vessel": tier.vessel,
        "light": tier.light,
        "plants": tier.plants,
        "runs": [
            {
                "first": run.first.isoformat(),
                "last": run.last.isoformat(),
                "works": run.days[0].works,
                "reason": run.code,
                "text": why_text([d.why for d in run.days], units),
            }
            for run in runs(windows)
        ],
        "sow": [
            {
                "date": d.sow.isoformat(),
                "works": d.works,
                "reason": d.why.code,
                "text": why_text([d.why], units),
                "transplant": _plain(d.transplant),
                "ready": _plain(d.ready),
                "figures": {k: _plain(v) for k, v in d.why.figures.items()},
            }
            for d in windows.days
        ],
        "transplant": [
            {
                "date": day.isoformat(),
                "reason": why.code,
                "text": why_text([why], units),
                "figures": {k: _plain(v) for k, v in why.figures.items()},
            }
            for day, why in windows.transplants
        ],
    }


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    return round(value, 3) if isinstance(value, float) else value
