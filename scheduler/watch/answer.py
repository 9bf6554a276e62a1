"""What new entries of the log are answered with: of their tiers, seedlings and solutions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from scheduler.base.faults import Fault
from scheduler.garden.model import Garden
from scheduler.log import amounts
from scheduler.log.model import Entry, Log
from scheduler.log.state import PEST_REST_DAYS, growing_on
from scheduler.log.tracks import Place
from scheduler.plans.model import Batch, Plan
from scheduler.watch import text
from scheduler.watch.emergence import Emergence, emergences, said_of_seedlings
from scheduler.watch.forecast import Foretold
from scheduler.watch.judge import CALM, Watched, watched, worst_first
from scheduler.watch.solution import said_of_solution
from scheduler.words.words import Units, _, short_date, tier_label

_MOST_SAID = 4  # tiers, of entries that are about many
_OF_NO_TIER = (amounts.SOWN, amounts.NOTE, amounts.PEST)  # they bear on nothing foretold
_OF_NURSERY = (amounts.EMERGED, amounts.LOST)


@dataclass(frozen=True)
class Answer:
    """What the log now foretells of what new entries are about, the worst tier first."""

    tiers: tuple[Watched, ...] = ()
    seedlings: tuple[Emergence, ...] = ()
    solutions: tuple[str, ...] = ()
    rests: tuple[str, ...] = ()

    def lines(self, garden: Garden, units: Units) -> list[str]:
        """A sentence or two on each."""
        return [
            *self.solutions,
            *(text.said(garden, w, units) for w in self.tiers),
            *(said_of_seedlings(garden, s, units) for s in self.seedlings),
            *self.rests,
        ]


def answer(
    garden: Garden,
    plan: Plan,
    log: Log,
    table: Foretold,
    entries: Sequence[Entry],
    on: date,
    folder: str,
) -> Answer:
    """What is said of new entries, which stand in ``log``; ``folder``: for commands to type.

    Of a tier that an entry names always; of what is told of a column or of the garden where it is
    not calm. Of tiers nothing without a ``table``.
    """
    rests = tuple(_rests(garden, plan, log, entries))
    of_tub = tuple(solutions(garden, plan, log, entries, folder))
    if not table.batches:
        return Answer(solutions=of_tub, rests=rests)
    of_tier = [e for e in entries if e.what not in _OF_NO_TIER]
    places = {(e.column, e.tier) for e in of_tier if e.tier is not None}
    wide = [e for e in of_tier if e.tier is None and not e.crop]
    tiers = [
        w
        for w in watched(garden, plan, log, table, on, places | _within(garden, wide))
        if (w.column, w.tier) in places or w.verdict != CALM
    ]
    crops = {e.crop for e in entries if e.what in _OF_NURSERY}
    seedlings = tuple(
        s
        for s in (emergences(garden, plan, log, table, on) if crops else ())
        if s.crop in crops or (s.column, s.tier) in places
    )
    return Answer(tuple(worst_first(tiers)[:_MOST_SAID]), seedlings, of_tub, rests)


def _within(garden: Garden, entries: Sequence[Entry]) -> set[Place]:
    """Tiers of the columns, or of the garden, that entries are about."""
    return {
        (c.name, t.number)
        for e in entries
        for c in garden.columns
        if e.column in ("", c.name)
        for t in c.tiers
        # Rain gets into the topmost tier alone, see `log.happenings`.
        if t.number == 1 or e.what != amounts.RAIN
    }


def solutions(
    garden: Garden, plan: Plan, log: Log, entries: Sequence[Entry], folder: str
) -> Iterator[str]:
    """What each measured EC and pH says of its tier's solution."""
    for e in entries:
        if e.what not in (amounts.EC, amounts.PH) or e.tier is None:
            continue
        for batch in _in_tier(garden, plan, log, e):
            if said := said_of_solution(garden, batch, e, folder):
                yield f"{tier_label(e.column, e.tier)}: {said}"


def _rests(garden: Garden, plan: Plan, log: Log, entries: Sequence[Entry]) -> Iterator[str]:
    """Which family waits after a pest, in which tier and up to when."""
    for e in entries:
        if e.what != amounts.PEST or e.tier is None:
            continue
        crops = [e.crop] if e.crop else [b.crop for b in _in_tier(garden, plan, log, e)]
        for crop in crops:
            yield _(
                "{tier}: a re-plan plants no {family} there up to {day}; until then scrub the "
                "vessel, and look at its neighbours."
            ).format(
                tier=tier_label(e.column, e.tier),
                family=garden.crops[crop].family,
                day=short_date(e.date + timedelta(days=PEST_REST_DAYS)),
            )


def _in_tier(garden: Garden, plan: Plan, log: Log, entry: Entry) -> list[Batch]:
    """What stands in an entry's tier, or is to be planted into it that day: then it is the fill."""
    column, tier, day = entry.column, entry.tier, entry.date
    assert tier is not None
    growing = [f.batch for f in growing_on(garden, plan, log, day, {(column, tier)})]
    place = (column, tier, day)
    return growing or [b for b in plan.batches if (b.column, b.tier, b.transplant) == place]


def as_data(file: Path, entry: Entry, others: Sequence[Fault], told: Answer) -> dict[str, Any]:
    """An entry with its answer, for machines."""
    body: dict[str, Any] = {
        **asdict(entry),
        "date": entry.date.isoformat(),
        "file": str(file),
        "other_faults": [asdict(f) for f in others],
    }
    for w in told.tiers:
        if (w.column, w.tier) == (entry.column, entry.tier):
            body["tier_foretold"] = text.as_data(w)
    if told.solutions:
        body["solution"] = list(told.solutions)
    if told.rests:
        body["rests"] = list(told.rests)
    if told.seedlings:
        body["seedlings"] = [
            {n: v.isoformat() if isinstance(v, date) else v for n, v in vars(s).items()}
            for s in told.seedlings
        ]
    return body
