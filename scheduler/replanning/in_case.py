"""What would change if a tier were lost, a hot week came, or nobody were there for a week.

For each case by itself the season is continued as planned and by shifting (`replanning.shift`), and
the one that meets more is taken. There is no search: `rebalance` finds better answers.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from scheduler.base.faults import NoPlan
from scheduler.batches.candidates import Candidates, build
from scheduler.garden.model import Garden, Span
from scheduler.log.amounts import FAILED as FAILURE
from scheduler.log.model import Entry, Log
from scheduler.log.state import State, growing_on, state_on
from scheduler.plans.model import FAILED, Batch, Plan
from scheduler.replanning.baseline import go_on_as_planned
from scheduler.replanning.diff import KEPT, Diff, diff
from scheduler.replanning.rebalance import made_of
from scheduler.replanning.shift import shifted
from scheduler.replanning.take_stock import commitments_of

LOST, HOT, AWAY = "lost", "hot", "away"
AHEAD = 14  # days for which the cases are worked out
WEEK = 7  # days of a hot week, and of a week away


@dataclass(frozen=True)
class Case:
    """One case and what it changes.

    Attributes
    ----------
    kind : `LOST`, `HOT` or `AWAY`; first, last : the days of it, both included.
    column, tier, crop : of what is lost.
    lost : picks that are lost with the tier, day and mass [g].
    clear : day on which the lost tier is cleared.
    less : mass picked to the season's end that is missing then [g]; below 0: there is more.
    changes : each batch that changes, as it was and as it would be; None where it is not there.
    impossible : why no way was found; empty where one was.
    """

    kind: str
    first: date
    last: date
    column: str = ""
    tier: int = 0
    crop: str = ""
    lost: tuple[tuple[date, int], ...] = ()
    clear: date | None = None
    less: int = 0
    changes: tuple[tuple[Batch | None, Batch | None], ...] = ()
    impossible: str = ""


@dataclass(frozen=True)
class Cases:
    """All cases worked out, and the tiers for which the time was too short."""

    cases: tuple[Case, ...] = ()
    left_out: tuple[tuple[str, int], ...] = ()


@dataclass
class _Ways:
    """A plan gone on with from a state; what could be planted is worked out once for each day."""

    plan: Plan
    known: dict[tuple[int, date], Candidates] = field(default_factory=dict)

    def on(self, garden: Garden, state: State, name: int) -> tuple[tuple[Batch, ...], Diff]:
        """The batches of the way that meets most, and what they change.

        ``name`` tells gardens of different weather or days away apart.

        Raises
        ------
        NoPlan
            None of the ways keeps what stands.
        """

        def at_hand(resting: Garden, first_day: int) -> Candidates:
            key = (name, state.on)
            if any(t.rests for c in resting.columns for t in c.tiers):
                return build(resting, first_day)[0]
            if key not in self.known:
                self.known[key] = build(resting, first_day)[0]
            return self.known[key]

        held = commitments_of(garden, self.plan, state, built=at_hand)
        kept = go_on_as_planned(held)
        ways = [way for way in (kept, *shifted(held, kept)) if way.whole]
        if not ways:
            raise NoPlan("what stands cannot be brought to an end by shifting alone")
        made = [made_of(garden, self.plan, held, way) for way in ways]
        changed = [diff(garden, self.plan, replace(self.plan, batches=b)) for b in made]
        rank = [(d.met[1] if d.met else 0.0, -d.count) for d in changed]
        best = rank.index(max(rank))
        return made[best], changed[best]


def in_case(
    garden: Garden,
    plan: Plan,
    log: Log,
    on: date,
    hot: Garden | None = None,
    seconds: float = 40.0,
) -> Cases:
    """The cases of the `AHEAD` days from ``on``.

    Parameters
    ----------
    garden : with the weather as it is known on ``on``; hot : with a hot week from then on.
    seconds : no further tier is begun after so long.

    Raises
    ------
    BadInput
        The log has faults, or entries that cannot be.
    """
    began = time.monotonic()
    on = min(max(on, garden.first, plan.as_of or on), garden.season.end)
    last = min(on + timedelta(days=AHEAD - 1), garden.season.end)
    ways = _Ways(plan)
    cases: list[Case] = []
    state = state_on(garden, plan, log, on)
    usual = _mass(ways.on(garden, state, 0)[0])
    if hot is not None:
        week = on, min(on + timedelta(days=WEEK - 1), garden.season.end)
        cases.append(_case(ways, hot, state_on(hot, plan, log, on), Case(HOT, *week), usual, 1))
    for number, start in enumerate((on + timedelta(1), on + timedelta(1 + WEEK))):
        span = Span(start, start + timedelta(days=WEEK - 1))
        if span.end > garden.season.end:
            continue
        season = replace(garden.season, away=(*garden.season.away, span))
        there = replace(garden, season=season)
        cases.append(_case(ways, there, state, Case(AWAY, span.start, span.end), usual, 2 + number))
    left_out = []
    for day, batch in _standing(garden, plan, log, on, last):
        if time.monotonic() - began > seconds:
            left_out.append((batch.column, batch.tier))
            continue
        cases.append(_loss(ways, garden, log, day, batch, usual))
    return Cases(tuple(cases), tuple(left_out))


def _standing(
    garden: Garden, plan: Plan, log: Log, on: date, last: date
) -> Iterator[tuple[date, Batch]]:
    """What stands now, and what is to be planted in these days, with the day of its loss."""
    now = [f.batch for f in growing_on(garden, plan, log, on)]
    yield from ((on, b) for b in sorted(now, key=lambda b: (b.column, b.tier)))
    here = {b.id for b in now}
    later = [b for b in plan.batches if on <= b.transplant < last and b.id not in here]
    yield from ((last, b) for b in sorted(later, key=lambda b: (b.column, b.tier)))


def _loss(ways: _Ways, garden: Garden, log: Log, day: date, batch: Batch, usual: int) -> Case:
    entry = Entry(0, day, FAILURE, batch.column, batch.tier)
    with_it = replace(log, entries=(*log.entries, entry))
    lost = tuple((p.date, p.grams) for p in batch.picks if p.date >= day)
    case = Case(LOST, day, day, batch.column, batch.tier, batch.crop, lost)
    return _case(ways, garden, state_on(garden, ways.plan, with_it, day), case, usual, 0)


def _case(ways: _Ways, garden: Garden, state: State, case: Case, usual: int, name: int) -> Case:
    try:
        made, changed = ways.on(garden, state, name)
    except NoPlan as error:
        return replace(case, impossible=str(error))
    old = {b.id: b for b in ways.plan.batches}
    new = {b.id: b for b in made}
    pairs, clear = [], None
    for change in changed.changes:
        before, after = old.get(change.id), new.get(change.id)
        if (
            case.kind == LOST
            and after is not None
            and after.state == FAILED
            and (after.column, after.tier) == (case.column, case.tier)
            and (before is None or before.state != FAILED)
        ):
            clear = after.clear
        elif change.kind != KEPT:
            pairs.append((before, after))
    return replace(case, clear=clear, less=usual - _mass(made), changes=tuple(pairs))


def _mass(batches: Sequence[Batch]) -> int:
    """What is picked of some batches [g]; of a lost one what was picked before."""
    return sum(p.grams for b in batches for p in b.picks)
