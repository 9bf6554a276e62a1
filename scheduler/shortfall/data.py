"""What must give, for machines."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from math import isfinite
from typing import Any

from scheduler.shortfall.answer import Lack, MustGive, OverYears, Tried, served, unmet
from scheduler.shortfall.paired import Paired
from scheduler.shortfall.said import heads
from scheduler.shortfall.wish_weeks import wish_weeks


def data(m: MustGive, against: dict[str, str] | None = None) -> dict[str, Any]:
    """Everything, for machines: weighted grams where it says so, dates ISO 8601."""
    garden = m.garden
    return {
        "garden": garden.name,
        "weighted_grams": {"wish": m.wish, "given": m.given, "met": m.value, "bound": m.bound},
        "over_years": _over(m.over, m.wish),
        "unmet": [_lack(u) for u in unmet(m)],
        "out_of_reach": [
            {
                "group": r.group,
                "weeks": list(r.weeks),
                "grams": r.grams,
                "crop": r.crop,
                "sow": _iso(r.sow),
                "first_pick": _iso(r.first),
                "last_pick": _iso(r.last),
            }
            for r in m.reach
        ],
        "wish_weeks": [
            {
                "group": one.group,
                "spans": [[a.isoformat(), b.isoformat()] for a, b in one.spans],
                "met": one.met,
                "before": one.before,
            }
            for one in wish_weeks(garden, m.plan, served(m))
        ],
        "against": against or {},
        "seconds_each": m.seconds,
        "steps": [_tried(m, t) for t in m.steps],
        "rules": [_tried(m, t) for t in m.rules],
    }


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _lack(u: Lack) -> dict[str, Any]:
    out: dict[str, Any] = {"group": u.group, "week": u.week, "grams": u.grams}
    if u.years is not None:
        out |= {"grams": round(u.grams, 1), "years": round(u.years, 4)}
    return out


def _over(over: OverYears | None, wish: float) -> dict[str, Any] | None:
    """In which years the plans were lived; None: they were not."""
    if over is None:
        return None
    return {
        "planned": over.planned,
        "judged": over.judged,
        "real": over.real,
        "usual": over.usual / max(wish, 1.0),
        "searches": over.searches,
        "apart": over.apart,
    }


def _paired(pair: Paired | None) -> dict[str, Any] | None:
    """The difference year by year [weighted g]."""
    if pair is None:
        return None
    out = {name: round(value, 3) for name, value in asdict(pair).items()}
    return out if isfinite(pair.sure) else out | {"sure": None}


def _tried(m: MustGive, t: Tried) -> dict[str, Any]:
    plan = t.plan or m.plan
    return {
        "text": t.relaxation.text,
        "rule": t.relaxation.rule,
        "family": t.relaxation.family,
        "outcome": t.outcome,
        "gain": t.gain,
        "sure": t.sure,
        "most": t.most,
        "share": t.gain / max(m.wish, 1.0),
        "groups": t.groups,
        "heads": {
            d.group: heads(m.garden, d, plan, t.groups[d.group])
            for d in m.garden.demands
            if t.groups.get(d.group)
        },
        "dates": [d.isoformat() for d in t.dates],
        "times": t.times,
        "amount": t.amount,
        "seconds": round(t.seconds, 2),
        "broken": list(t.broken),
        "paired": _paired(t.paired),
    }
