"""What a garden can reach at all: for each wish the first and last pick, and weeks none can serve.

Decided by the candidates alone: no plan, however good, picks what is not among them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from scheduler.base.weeks import week_start
from scheduler.batches import window_reasons as reasons
from scheduler.batches.candidates import Candidates
from scheduler.batches.window_reasons import Why
from scheduler.batches.windows import sow_windows
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.garden.weekly import season_weeks, weeks_served, wish
from scheduler.shortfall.window_words import why_text
from scheduler.words.words import Units


@dataclass(frozen=True)
class Reach:
    """One wish.

    Attributes
    ----------
    group : of produce; crops : that count for it and can be picked at all.
    first, last : days of the first and of the last pick there could be; None: there is none.
    crop, sow : the crop of the first pick, and the day on which it is sown.
    gaps : runs of missed weeks after the first pick: first and last day, and what most often stands
        against produce that would be ripe then.
    weeks : weeks with a wish that no pick can serve; grams : their wishes in all [g].
    """

    group: str
    crops: tuple[str, ...]
    first: date | None
    last: date | None
    crop: str
    sow: date | None
    weeks: tuple[str, ...]
    grams: int
    gaps: tuple[tuple[date, date, str], ...] = ()


def reach(cand: Candidates) -> list[Reach]:
    """Reach of every wish of the garden of ``cand``."""
    garden = cand.garden
    season, want = garden.season, wish(garden)
    number = cand.table["crop"].to_numpy(dtype=int)
    first, last = (cand.table[n].to_numpy(dtype=int) for n in ("first", "last"))
    out = []
    for demand in garden.demands:
        served: set[str] = set()
        able = []
        mine = np.zeros(len(cand), dtype=bool)
        for name in demand.crops:
            if name not in cand.crop_names:
                continue
            rows = np.flatnonzero(number == cand.crop_names.index(name))
            if not len(rows):
                continue
            able.append(name)
            mine[rows] = True
            days, grams = cand.pick_day[rows], cand.pick_grams[rows]
            for day in np.unique(days[grams > 0]).tolist():
                life, events = garden.crops[name].storage_life, garden.event_weeks(name)
                served.update(weeks_served(season.date(day), life, events))
        weeks = [w for w in season_weeks(season) if want.get((demand.group, w))]
        missed = [w for w in weeks if w not in served]
        rows = np.flatnonzero(mine)
        soonest = int(rows[np.argmin(first[rows])]) if len(rows) else -1
        out.append(
            Reach(
                demand.group,
                tuple(able),
                season.date(first[rows].min()) if len(rows) else None,
                season.date(last[rows].max()) if len(rows) else None,
                cand.crop_names[number[soonest]] if len(rows) else "",
                season.date(cand.at("sow", soonest)) if len(rows) else None,
                tuple(missed),
                sum(want[demand.group, w] for w in missed),
            )
        )
        if len(rows) and missed:
            out[-1] = replace(out[-1], gaps=_gaps(garden, tuple(able), out[-1], missed))
    return out


def _gaps(
    garden: Garden, crops: tuple[str, ...], one: Reach, missed: Sequence[str]
) -> tuple[tuple[date, date, str], ...]:
    """Runs of missed weeks after the first pick, and what stands against ripe produce in each."""
    spans: list[tuple[date, date]] = []
    for week in missed:
        monday = week_start(week)
        if one.first is None or monday < one.first:
            continue
        if spans and monday - spans[-1][1] == ONE_DAY:
            spans[-1] = (spans[-1][0], monday + 6 * ONE_DAY)
        else:
            spans.append((monday, monday + 6 * ONE_DAY))
    if not spans:
        return ()
    days = [d for w in sow_windows(garden, crops) for d in w.days if d.ready and not d.works]
    out = []
    for first, last in spans:
        whys = [d.why for d in days if d.ready and first - 7 * ONE_DAY <= d.ready <= last]
        out.append((first, last, _commonest(whys, Units(garden.units))))
    return tuple(out)


def _commonest(whys: Sequence[Why], units: Units) -> str:
    """The reason named most often, edges of the season only if there is no other; or nothing."""
    if not whys:
        return ""
    codes = [code for code, _ in Counter(w.code for w in whys).most_common()]
    code = next((c for c in codes if c not in _EDGES), codes[0])
    return why_text([w for w in whys if w.code == code], units)


# Edges of the season: named only where nothing else stands against a crop.
_EDGES = (reasons.BEFORE_SEASON, reasons.LATE)


def against(garden: Garden, crops: Sequence[str], units: Units) -> dict[str, str]:
    """What stands against each crop in most places and on most days, in the grower's words.

    Only of crops that work nowhere; a crop that works somewhere is left out.
    """
    known = [name for name in crops if name in garden.crops]
    if not known or not garden.columns or not garden.season.work_mask.any():
        return {}
    whys: dict[str, list[Why]] = {name: [] for name in known}
    for windows in sow_windows(garden, tuple(known)):
        whys[windows.crop.name] += [why for _, why in windows.transplants]
    out = {}
    for name, found in whys.items():
        if not found or any(w.code == reasons.WORKS for w in found):
            continue
        codes = [code for code, _ in Counter(w.code for w in found).most_common()]
        code = next((c for c in codes if c not in _EDGES), codes[0])
        same = [w for w in found if w.code == code]
        share = f"{len(same)} of {len(found)} possible starts"
        if len(same) == len(found):
            share = "every possible start"
        out[name] = f"{why_text(same, units)} ({share})"
    return out
