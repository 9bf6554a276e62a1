"""Tiers that stand empty for weeks, and why, as far as plan and garden tell."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from scheduler.garden.model import ONE_DAY, Garden, Tier
from scheduler.plans.model import Batch, Plan
from scheduler.words.words import _, plural, short_date, short_span, tier_label

LEAST_DAYS = 21  # a shorter gap is a turnaround, or waits for a stack to be light
# Why, the surest first.
AWAY, RESTS, SHORT, EARLY, NONE = (
    "not to be had",
    "rests",
    "too short",
    "before wishes",
    "none found",
)


@dataclass(frozen=True)
class Empty:
    """A tier without a crop from ``first`` to ``last``, and ``why``, one of the names above."""

    column: str
    tier: int
    first: date
    last: date
    why: str


def empty_tiers(garden: Garden, plan: Plan) -> list[Empty]:
    """Spans of at least `LEAST_DAYS` without a crop, by column and tier."""
    out = []
    standing: defaultdict[tuple[str, int], list[Batch]] = defaultdict(list)
    for batch in sorted(plan.batches, key=lambda b: b.transplant):
        standing[batch.column, batch.tier].append(batch)
    for column in garden.columns:
        for tier in column.tiers:
            for first, last, before in _gaps(plan, standing[column.name, tier.number]):
                why = _why(garden, tier, first, last, before)
                out.append(Empty(column.name, tier.number, first, last, why))
    return out


def _gaps(plan: Plan, batches: list[Batch]) -> Iterator[tuple[date, date, Batch | None]]:
    """First and last day of each span, and the batch that stood there before."""
    at, before = plan.as_of or plan.start, None
    for b in batches:
        if (b.transplant - at).days >= LEAST_DAYS:
            yield at, b.transplant - ONE_DAY, before
        at, before = max(at, b.clear + ONE_DAY), b
    if (plan.end - at).days + 1 >= LEAST_DAYS:
        yield at, plan.end, before


def _why(garden: Garden, tier: Tier, first: date, last: date, before: Batch | None) -> str:
    if tier.available and not any(a.start <= last and first <= a.end for a in tier.available):
        return AWAY
    if before is not None and before.rest_until is not None and before.rest_until >= last:
        return RESTS
    if (last - first).days < quickest(garden):
        return SHORT
    if garden.demands and last < min(d.start for d in garden.demands):
        return EARLY
    return NONE


MOST_DAYS = 3  # on which tiers are first filled, named one by one


def quickest(garden: Garden) -> int:
    """Days that the quickest crop of the garden needs in a tier, by the catalogue."""
    return round(min((c.days_to_harvest for c in garden.crops.values()), default=0))


def empty_text(garden: Garden, plan: Plan) -> str:
    """One paragraph on all of them; empty where there are none."""
    by_why: dict[str, dict[tuple[date, date], list[str]]] = {}
    for e in empty_tiers(garden, plan):
        label = tier_label(e.column, e.tier)
        by_why.setdefault(e.why, {}).setdefault((e.first, e.last), []).append(label)
    if not by_why:
        return ""
    days = plural("{n} day", "{n} days", quickest(garden))
    wishes = min((d.start for d in garden.demands), default=plan.start)
    said = {
        AWAY: _("not to be had"),
        RESTS: _("a family of crops waits there after a disease"),
        SHORT: _("shorter than any crop takes by the catalogue, {days}").format(days=days),
        EARLY: _("before the first wish, from {date}").format(date=short_date(wishes)),
        NONE: _("nothing was found that brings more; dryline windows says what could grow"),
    }
    start = plan.as_of or plan.start
    parts = []
    for why in said:
        if why in by_why:
            each = "; ".join(
                _("{tiers} until {date}").format(tiers=", ".join(tiers), date=short_date(span[1]))
                if span[0] == start
                else f"{', '.join(tiers)} {short_span(*span)}"
                for span, tiers in by_why[why].items()
            )
            if why == EARLY and len(by_why[why]) > MOST_DAYS:
                count = sum(len(tiers) for tiers in by_why[why].values())
                each = _("{n} tiers until they are first filled").format(n=count)
            parts.append(f"{each} ({said[why]})")
    return _("Empty for weeks: {tiers}.").format(tiers="; ".join(parts))
