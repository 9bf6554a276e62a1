"""Words that every part of the answer to ``shortfall`` uses: shares, amounts, lines."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from scheduler.garden.model import Demand, Garden
from scheduler.plans.model import Plan
from scheduler.shortfall.answer import LEAST, MustGive
from scheduler.words import units as show
from scheduler.words.language import _, plural
from scheduler.words.units import mass
from scheduler.words.words import wrap

WIDTH = 79


def lines_of(text: str, first: str = "", rest: str = "") -> list[str]:
    """A sentence in lines of at most `WIDTH`."""
    return wrap(text, WIDTH, first, rest)


def share(m: MustGive, grams: float, up: bool = False) -> str:
    """Weighted grams as a share of all wishes; ``up``: what cannot be exceeded."""
    part = grams / max(m.wish, 1.0)
    return _("under 0.1 %") if 0 < part < LEAST else show.share(part, up)


def heads(garden: Garden, demand: Demand, plan: Plan, grams: float) -> int | None:
    """Grams of a group as heads; None where it has crops that are cut again, or no mass."""
    known = [garden.crops[n] for n in demand.crops if n in garden.crops]
    if not known or any(c.cuts > 1 for c in known):
        return None
    picked = [b for b in plan.batches if b.crop in demand.crops]
    plants = sum(p.plants for b in picked for p in b.picks)
    each = (
        sum(b.grams for b in picked) / plants
        if plants
        else sum(c.fresh_mass for c in known) / len(known)
    )
    return round(abs(grams) / each) if each > 0 else None


def amount(garden: Garden, demand: Demand, plan: Plan, grams: float) -> str:
    text = mass(abs(grams), garden.units)
    count = heads(garden, demand, plan, grams)
    return text if not count else f"{text} ({plural('about {n} head', 'about {n} heads', count)})"


def runs(days: Sequence[date], step: int) -> list[tuple[date, date]]:
    """Days in a row as (first, last)."""
    out: list[tuple[date, date]] = []
    for day in days:
        if out and (day - out[-1][1]).days <= step:
            out[-1] = (out[-1][0], day)
        else:
            out.append((day, day))
    return out


def and_(texts: Sequence[str]) -> str:
    return _(" and ").join([", ".join(texts[:-1]), texts[-1]] if len(texts) > 1 else texts)


def title(garden: Garden, name: str) -> str:
    return _(garden.crops[name].title) if name in garden.crops else name
