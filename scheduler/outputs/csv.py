"""CSV that opens right in a spreadsheet: ISO dates, units in the header, no formulas.

Lines end in CRLF (RFC 4180). Files begin with `BOM`, without which some spreadsheets misread
letters outside ASCII.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from scheduler.base.weeks import week_of
from scheduler.garden.model import Garden
from scheduler.outputs.weeks import table_weeks
from scheduler.outputs.work import Work
from scheduler.plans.model import Plan
from scheduler.words.words import Units

BOM = "\ufeff"
_ACTIVE = ("=", "+", "-", "@", "\t", "\r", "\n")


def safe(text: str) -> str:
    """Text that no spreadsheet takes for a formula: an apostrophe before what could start one."""
    if text[:1].isalnum():
        return text
    return "'" + text if text.startswith(_ACTIVE) or text.lstrip().startswith(_ACTIVE) else text


def _table(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    # The writer itself leaves cells without a value empty and writes days as ISO dates.
    writer.writerows([safe(v) if isinstance(v, str) else v for v in row] for row in rows)
    return out.getvalue()


def _round(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)


def work_csv(garden: Garden, items: Sequence[Work], units: Units) -> str:
    """The days' work, one row an item, in the order in which it is done."""
    u = units
    header = (
        "date",
        "weekday",
        "week",
        "work",
        "column",
        "tier",
        "batch",
        "crop",
        "plants",
        "seeds",
        "cells",
        f"solution [{u.volume_unit}]",
        f"depth [{u.depth_unit}]",
        f"measured [{u.depth_unit}]",
        "EC [mS/cm]",
        "pH low",
        "pH high",
        f"mass [{u.mass_unit}]",
        "pick",
        f"heaviest lift [{u.weight_unit}]",
        "until",
        "dry date",
        "to weigh",
        "look from",
        "pick from",
        "pick to",
        "share of years",
        "bolts in share of years",
        "dry in share of years",
        "days after transplanting",
        "young from share of mass",
        f"act below [{u.depth_unit}]",
        "EC and pH too",
    )
    # A large garden has hundreds of thousands of items, on few days and with few mixes.
    days = {d: (d.isoformat(), f"{d:%a}", week_of(d)) for d in {w.date for w in items}}
    mixes = {
        m: ", ".join(f"{u.weighed_text(n, unit)} {what}" for what, n, unit in m) or None
        for m in {w.weigh for w in items}
    }
    rows = (
        (
            *days[w.date],
            w.kind,
            w.column,
            w.tier,
            w.batch,
            w.crop,
            w.plants or None,
            w.seeds or None,
            w.cells or None,
            _round(None if w.litres is None else u.volume(w.litres), 2),
            _round(None if w.depth_cm is None else u.depth(w.depth_cm), 2),
            None,
            w.ec,
            *(w.ph or (None, None)),
            _round(u.mass(w.grams), 1) if w.grams else None,
            f"{w.number} of {w.count}" if w.count else None,
            _round(u.weight(w.lift_kg), 1) if w.lift_kg else None,
            w.until,
            w.dry_date,
            mixes[w.weigh],
            w.look_from,
            w.first,
            w.last,
            w.in_years,
            w.bolts,
            w.dries,
            w.age,
            w.young,
            _round(None if w.act_cm is None else u.depth(w.act_cm), 2),
            "yes" if w.meters else None,
        )
        for w in items
    )
    return _table(header, rows)


def batches_csv(garden: Garden, plan: Plan, units: Units) -> str:
    """One row a batch."""
    u = units
    header = (
        "batch",
        "crop",
        "column",
        "tier",
        "plants",
        "seeds",
        "cells",
        "sow",
        "transplant",
        "first pick",
        "last pick",
        "clear",
        f"mass [{u.mass_unit}]",
        f"fill [{u.volume_unit}]",
        "dry date",
        "margin [d]",
        "state",
        "EC of fill [mS/cm]",
        "EC at last pick [mS/cm]",
    )
    rows = (
        (
            b.id,
            b.crop,
            b.column,
            b.tier,
            b.plants,
            b.seeds,
            b.cells,
            b.sow,
            b.transplant,
            b.picks[0].date if b.picks else None,
            b.picks[-1].date if b.picks else None,
            b.clear,
            _round(u.mass(b.grams), 1),
            _round(u.volume(b.fill_litres), 2),
            b.dry_date,
            b.margin_days,
            b.state,
            b.fill_ec,
            b.harvest_ec,
        )
        for b in plan.batches
    )
    return _table(header, rows)


def weeks_csv(garden: Garden, plan: Plan, units: Units) -> str:
    """What will be on the table: one row per week and produce group."""
    u = units
    columns = ("picked", "served", "wish", "short")
    header = ("week", "monday", "group", *(f"{c} [{u.mass_unit}]" for c in columns))
    rows = (
        (r.week, r.monday, r.group, *(_round(u.mass(getattr(r, c)), 1) for c in columns))
        for r in table_weeks(garden, plan)
    )
    return _table(header, rows)
