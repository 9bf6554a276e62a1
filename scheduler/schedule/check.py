"""Which rules a fixed schedule breaks, by arithmetic on arrays: what a model of it would refuse.

Everything that concerns one batch alone is settled in the candidates and not looked at again; a
plan's own check, from other code, is `scheduler.verify`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.schedule.access import never_liftable
from scheduler.schedule.problem import Choice, Problem
from scheduler.schedule.resources import Resource

SHOWN = 5  # faults told of each rule; the rest is counted


def broken(problem: Problem, access: bool, choices: Sequence[Choice]) -> list[str]:
    """Every rule that ``choices`` break, a few faults of each, in words; empty if none.

    Parameters
    ----------
    access : whether stack access counts, as in `build_model`. Without it a tier is cleared on the
        day of its last pick.
    choices : where tiers are pooled a decision may come several times.
    """
    s = _Schedule.of(problem, access, choices)
    out: list[str] = []
    for rule in (_committed, _cleared, _occupancy, _shared, _mixed):
        out += rule(s)
    return out + (_access(s) if access else [])


@dataclass(frozen=True)
class _Schedule:
    """The choices as arrays [n]: places, rows, days (sow, transplant, last pick, clear)."""

    problem: Problem
    access: bool
    which: np.ndarray
    place: np.ndarray
    row: np.ndarray
    sow: np.ndarray
    start: np.ndarray
    last: np.ndarray
    clear: np.ndarray
    started: np.ndarray

    @classmethod
    def of(cls, problem: Problem, access: bool, choices: Sequence[Choice]) -> _Schedule:
        which = np.array([c.decision for c in choices], dtype=int)
        table, row = problem.cand.table, problem.row_of[which]
        sow, start, last = (
            table[name].to_numpy(dtype=int)[row] for name in ("sow", "transplant", "last")
        )
        return cls(
            problem,
            access,
            which,
            problem.place_of[which],
            row,
            sow,
            start,
            last,
            np.array([c.clear for c in choices], dtype=int),
            problem.started[which],
        )

    @property
    def slots(self) -> int:
        return len(self.problem.days)

    def per_slot(self, day: np.ndarray, amount: np.ndarray | int = 1) -> np.ndarray:
        """Amounts summed by slot [slots]; what lies past the end is left out."""
        out = np.zeros(self.slots + 1, dtype=int)
        np.add.at(out, self.problem.slot(day), amount)
        return out[: self.slots]

    def services(self, resource: Resource) -> np.ndarray:
        """What fillings and clearings take of a resource, by slot [slots]."""
        above, fresh = self.problem.above[self.place], ~self.started
        out = self.per_slot(self.start[fresh], resource.filling(above[fresh]))
        if self.access and resource.clears:
            out += self.per_slot(self.clear, resource.clearing(above))
        return out

    def held(self, begin: np.ndarray, end: np.ndarray) -> np.ndarray:
        """How many intervals of slots [begin, end) hold each place and slot [places, slots]."""
        change = np.zeros((len(self.problem.places), self.slots + 1), dtype=np.int32)
        np.add.at(change, (self.place, begin), 1)
        np.add.at(change, (self.place, np.maximum(begin, end)), -1)
        return np.cumsum(change, axis=1, dtype=np.int32)[:, : self.slots]

    def on(self, slot: int) -> str:
        return str(self.problem.cand.garden.season.date(int(self.problem.days[slot])))

    def at(self, place: int) -> str:
        p = self.problem.places[place]
        return f"{p.column} {p.number}" if p.column else f"tiers of kind {p.kind}"


def _faults(where: np.ndarray, text: Callable[..., str]) -> list[str]:
    """A few faults in words, and how many more there are. ``where`` as from ``argwhere``."""
    out = [text(*(int(x) for x in np.atleast_1d(found))) for found in where[:SHOWN]]
    if len(where) > SHOWN:
        out.append(f"and {len(where) - SHOWN} more of that kind")
    return out


def _committed(s: _Schedule) -> list[str]:
    taken = np.bincount(s.which, minlength=len(s.problem))
    out = []
    for n, group in enumerate(s.problem.committed):
        count = int(taken[list(group)].sum())
        if count > 1 or (count < 1 and n not in s.problem.optional):
            place = s.at(int(s.problem.place_of[group[0]]))
            out.append(f"a batch that is settled ({place}) is taken {count} times")
    return out


def _cleared(s: _Schedule) -> list[str]:
    """A tier is cleared on a work day, not before its last pick, and while it may be used."""
    days = s.problem.days
    slot = s.problem.slot(s.clear)
    off = slot >= s.slots
    off[~off] = days[slot[~off]] != s.clear[~off]
    out = _faults(
        np.flatnonzero(off | (s.clear < s.last)),
        lambda i: (
            f"{s.at(int(s.place[i]))} is cleared on day {s.clear[i]}, "
            f"last picked on day {s.last[i]}"
        ),
    )
    season, first = s.problem.cand.garden.season, s.problem.slot(s.last)
    kinds = np.array([p.kind for p in s.problem.places], dtype=int)[s.place]
    late = np.zeros(len(s.which), dtype=bool)
    for kind in np.unique(kinds).tolist():
        for span in s.problem.cand.kinds[kind].tier.available:
            final = int(np.searchsorted(days, season.index(span.end), side="right")) - 1
            if final >= 0:
                late |= (kinds == kind) & (first <= final) & (slot > final)
    return out + _faults(
        np.flatnonzero(late),
        lambda i: (
            f"{s.at(int(s.place[i]))} may not be used any more when it is cleared "
            f"on day {s.clear[i]}"
        ),
    )


def _occupancy(s: _Schedule) -> list[str]:
    problem = s.problem
    turnaround = problem.cand.garden.limits.turnaround_days
    begin = np.where(s.started, 0, problem.slot(s.start))
    busy = s.held(begin, problem.slot(s.clear + turnaround))
    count = np.array([p.count for p in problem.places], dtype=int)
    standing = np.zeros(len(count), dtype=int)
    start = problem.column("transplant")
    for group in problem.committed:
        if start[group[0]] < problem.free_from:
            standing[problem.place_of[group[0]]] += 1
    opens = problem.slot(np.array(problem.opens or (0,) * len(count)))
    closed = np.arange(s.slots)[None, :] < opens[:, None]
    room = count[:, None] - closed * (count - standing)[:, None]
    return _faults(
        np.argwhere(busy > room),
        lambda p, w: (
            f"{s.at(p)} holds {busy[p, w]} batches on {s.on(w)}, there is room for {room[p, w]}"
        ),
    )


def _shared(s: _Schedule) -> list[str]:
    """What all batches share: never more of it than there is, but for what is in hand already."""
    out = []
    for resource in s.problem.resources:
        uses = resource.uses_of(s.which)
        now = resource.level(uses, s.slots) + s.services(resource)
        # What is in hand takes what it takes; nothing is begun beside it until there is room.
        hand = uses[resource.begun[uses]]
        fresh = now - resource.level(hand, s.slots) if len(hand) else now
        left = s.problem.left(resource)
        bad = np.flatnonzero((now > np.maximum(left, 0)) & (fresh > 0))
        total = now + resource.limits(s.slots) - left
        out += _faults(
            bad, lambda w, r=resource, n=total: f"{n[w]} {r.name} on {s.on(w)}, at most {r.on(w)}"
        )
    return out


def _mixed(s: _Schedule) -> list[str]:
    found = s.problem.mixed
    if found is None:
        return []
    over = np.flatnonzero(found.broken(s.row))
    return _faults(over, lambda k: f"rule {k} of how crops are mixed is broken")


def _access(s: _Schedule) -> list[str]:
    problem = s.problem
    garden = problem.cand.garden
    if garden.limits.lift_kg is None or not len(problem.places):
        return []
    clear = np.minimum(problem.slot(s.clear), s.slots)
    begin, end, after = (x[s.which] for x in problem.heavy)
    waits = np.where(after, problem.slot(s.last), clear)
    heavy = s.held(begin, end) + s.held(waits, clear) > 0
    service = np.zeros(heavy.shape, dtype=bool)
    inside = clear < s.slots
    service[s.place[inside], clear[inside]] = True
    fill = problem.slot(s.start[~s.started])
    service[s.place[~s.started][fill < s.slots], fill[fill < s.slots]] = True
    at = {(p.column, p.number): i for i, p in enumerate(problem.places)}
    blocked = np.zeros(heavy.shape, dtype=bool)
    for column in garden.columns:
        places = [at.get((column.name, tier.number), -1) for tier in column.tiers]
        if -1 in places:
            continue  # a column settled elsewhere
        for tier, upper, lower in zip(column.tiers, places, places[1:], strict=False):
            if never_liftable(garden, tier.vessel):
                blocked[lower] = True
            else:
                np.logical_or(blocked[upper], heavy[upper], out=blocked[lower])
    return _faults(
        np.argwhere(service & blocked),
        lambda p, w: (
            f"{s.at(p)} is filled or cleared on {s.on(w)} under a vessel too heavy to lift"
        ),
    )
