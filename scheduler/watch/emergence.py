"""Seedlings that came up: enough for their tier, or by when to sow again and what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.garden.model import Garden
from scheduler.log.model import Log
from scheduler.log.state import seedlings_on
from scheduler.plans.model import Plan
from scheduler.watch.forecast import Foretold
from scheduler.words.words import Units, _, plural, short_date, tier_label


@dataclass(frozen=True)
class Emergence:
    """What came up for a batch that waits in the nursery.

    Attributes
    ----------
    came_up : cells; plants : that its tier takes; on : the day it is told.
    transplant : its day; again_by : last day to sow again for it, None: not known.
    late : days after ``transplant`` on which it would be fit, sown again on ``on``; None: not
        known, or in time. waits : days that those that came up can wait.
    grams : that the missing plants would have given [g].
    """

    batch: str
    crop: str
    column: str
    tier: int
    on: date
    came_up: int
    plants: int
    transplant: date
    again_by: date | None
    late: int | None
    waits: int
    grams: int

    @property
    def enough(self) -> bool:
        return self.came_up >= self.plants


def emergences(
    garden: Garden, plan: Plan, log: Log, foretold: Foretold, on: date
) -> tuple[Emergence, ...]:
    """Of every batch in the nursery of which the log tells how many came up."""
    out = []
    for batch, came_up in seedlings_on(garden, plan, log, on):
        crop = garden.crops[batch.crop]
        lead = foretold.leads.get(batch.id)
        by = None if lead is None else batch.transplant - timedelta(days=lead)
        late = None if by is None or on <= by else (on - by).days
        missing = max(batch.plants - came_up, 0)
        out.append(
            Emergence(
                batch.id,
                batch.crop,
                batch.column,
                batch.tier,
                on,
                came_up,
                batch.plants,
                batch.transplant,
                by,
                late,
                int(crop.nursery_wait),
                round(missing * crop.fresh_mass),
            )
        )
    return tuple(out)


def said_of_seedlings(garden: Garden, e: Emergence, units: Units) -> str:
    """One or two sentences."""
    name = _(garden.crops[e.crop].title)
    head = _("{crop} for {tier}: {n} came up, {plants} are wanted").format(
        crop=name, tier=tier_label(e.column, e.tier), n=e.came_up, plants=e.plants
    )
    if e.enough:
        return head + "."
    head += _("; without the others about {mass} less.").format(mass=units.mass_text(e.grams))
    if e.again_by is None:
        return head
    if e.late is None:
        return f"{head} " + _(
            "Sow again by {by}, so that they are fit on {transplant}, their day."
        ).format(by=short_date(e.again_by), transplant=short_date(e.transplant))
    text = _("Sown again today they are fit {days} after {transplant}, their day.").format(
        days=plural("{n} day", "{n} days", e.late), transplant=short_date(e.transplant)
    )
    if e.late > e.waits:
        text += " " + _("Those that came up cannot wait so long.")
    return f"{head} {text}"
