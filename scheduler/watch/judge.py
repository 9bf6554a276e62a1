"""What stands in the tiers on a day, and what its readings foretell: calm, close or alarming."""

from __future__ import annotations

from collections.abc import Container, Hashable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

from scheduler.garden.model import ONE_DAY, Garden
from scheduler.levels.chances import median, normal, within
from scheduler.levels.estimate import Estimate, Reading
from scheduler.levels.events import drinking, events_of, ruler_error
from scheduler.levels.kind import Kind
from scheduler.log.model import Log
from scheduler.log.state import Followed, growing_on
from scheduler.plans.model import Plan
from scheduler.watch.explain import Found, estimated
from scheduler.watch.forecast import Foretold

# What a reading says of its tier, the worst first.
DRY, ALARM, CLOSE, CALM = "dry", "alarm", "close", "calm"
ORDER = (DRY, ALARM, CLOSE, CALM)
# Chance of being dry by the last pick from which on that is told, and from which on it is close.
# As long as a tier all but surely stands for two weeks another weekly reading comes in time, and
# only a high chance alarms. Set on simulated tiers, so that of those that last three days beyond
# their last pick at most 5 % are ever alarmed, also of crops that are read seldom, and of those
# that dry three days before it most are told five days ahead: 95 % are wanted, the small example
# has 88, as crops drink most at their end (tests/bench/tier_watch.py; other seeds judge).
ALARMING, SURELY, WORTH_TELLING = 0.30, 0.55, 0.10
TIME_LEFT = 14  # days
MOST_SHIFTED = 14  # days that a transplanting may lie from its planned day and be foretold
EARLY = 0.05  # chance of being dry that a pick day advised keeps below


@dataclass(frozen=True)
class Watched:
    """A tier with a crop in it on the morning of ``on``.

    Attributes
    ----------
    verdict : one of `ORDER`; chance : of being dry by its last planned pick [0..1].
    dry, dry_from, dry_to : most likely dry date and 90 % interval, were nothing more picked;
        None: later than is foretold.
    ready : first morning on which it is ripe, rather than not; None: not seen. ripe : it is.
    last : its last planned pick.
    pick : the last work day to pick on, where it should come before ``last``.
    grams : of all that stands, on that day [g]; heads : plants that stand.
    thirst : what it drinks against the expected, as it stands [-: mean, sd].
    readings, left_out : days of readings used, and of those that do not fit the others.
    odds : what may have happened to the last of these, as in `explain.Found`.
    told : chance that a reading today changes what is said of it [0..1].
    litres : expected in it on that morning [L].
    """

    batch: str
    crop: str
    column: str
    tier: int
    on: date
    verdict: str
    chance: float
    dry: date | None
    dry_from: date | None
    dry_to: date | None
    ready: date | None
    ripe: bool
    last: date
    pick: date | None
    grams: int
    heads: int
    thirst: tuple[float, float]
    readings: tuple[date, ...]
    left_out: tuple[date, ...]
    told: float
    litres: float
    odds: tuple[tuple[str, float], ...] = ()


def watched(
    garden: Garden,
    plan: Plan,
    log: Log,
    foretold: Foretold,
    on: date,
    places: Container[tuple[str, int]] | None = None,
    measured: bool = False,
) -> tuple[Watched, ...]:
    """Every tier with a crop still to be picked on a day of the season, by column and tier.

    ``places``: these tiers alone; ``measured``: those alone in which a level was measured.
    """
    on = min(max(on, garden.season.start), garden.season.end)
    if not foretold.batches:
        return ()
    order = {c.name: i for i, c in enumerate(garden.columns)}
    growing = growing_on(garden, plan, log, on, places)
    tiers: list[Watched] = []
    alike: dict[Hashable, Watched | None] = {}  # a garden has many, and all are rained on at once
    for f in growing:
        if measured and not f.told:
            continue
        b = f.batch
        vessel = garden.tier(b.column, b.tier).vessel
        stands = (foretold.batches.get(b.id), vessel, b.crop, b.plants, b.transplant, b.picks)
        told = (f.readings, f.water, f.changes, f.sights, f.fewer)
        key = (stands, f.done, f.spent, told)
        if key not in alike:
            alike[key] = watched_batch(garden, f, foretold, on)
        w = alike[key]
        w = w and replace(w, batch=b.id, column=b.column, tier=b.tier)
        if w is not None:
            tiers.append(w)
    return tuple(sorted(tiers, key=lambda w: (order.get(w.column, len(order)), w.tier)))


def watched_batch(
    garden: Garden, followed: Followed, foretold: Foretold, on: date
) -> Watched | None:
    """What one batch's readings foretell; None where nothing is left to pick or is foretold."""
    batch, done = followed.batch, followed.done
    known = foretold.of(batch)
    ahead = batch.picks[done:]
    if known is None or not ahead or followed.spent:
        return None
    kind, planned = known
    today = (on - batch.transplant).days
    if abs((batch.transplant - planned).days) > MOST_SHIFTED or not 0 <= today <= len(kind.drinks):
        return None
    vessel = garden.vessels[garden.tier(batch.column, batch.tier).vessel]
    course = kind.course(drinking(garden, followed))
    seen = events_of(garden, followed, kind, course.days, on)
    found = estimated(course, seen, vessel.fill_l)
    state = found.state
    last = max(ahead[-1].date, on)
    view = View(state, vessel.fill_l - vessel.floor_l, batch.transplant, on, found.states)
    verdict, chance = view.verdict(last)
    crop = garden.crops[batch.crop]
    ripe = state.progress(max(today, state.day))[0] >= 1 - 1e-9 or (crop.cuts > 1 and done > 0)
    ready = state.ready_on()
    pick = None
    if verdict in (DRY, ALARM):
        pick = view.pick_by(garden, min(last, ahead[-1].date) if ahead[-1].date >= on else on)
    left = followed.standing if crop.cuts == 1 else batch.plants
    shares = crop.cut_shares[min(done, len(crop.cut_shares) - 1)] if crop.cuts > 1 else 1.0
    grown = 1.0 if crop.cuts > 1 and done else _mass(kind, state, batch.transplant, pick or last)
    used, unfit = _by_fit(found, [r.day for r in seen if isinstance(r, Reading)], batch.transplant)
    return Watched(
        batch.id,
        batch.crop,
        batch.column,
        batch.tier,
        on,
        verdict,
        chance,
        *view.dry(),
        None if ready is None else batch.transplant + timedelta(days=ready),
        ripe,
        last,
        pick,
        round(left * crop.fresh_mass * shares * grown),
        left,
        state.factor,
        used,
        unfit,
        view.told(last, ruler_error(vessel, vessel.fill_l / 2)),
        max(vessel.fill_l - state.drunk(max(today, state.day))[0], 0.0),
        tuple(found.odds.items()),
    )


def _by_fit(
    found: Found, days: Sequence[int], transplant: date
) -> tuple[tuple[date, ...], tuple[date, ...]]:
    """Days of readings that fit, and of those that do not."""
    unfit = {*found.out, found.suspect}
    dates = [transplant + timedelta(days=d) for d in days]
    return (
        tuple(d for i, d in enumerate(dates) if i not in unfit),
        tuple(d for i, d in enumerate(dates) if i in unfit),
    )


def _mass(kind: Kind, state: Estimate, transplant: date, day: date) -> float:
    at = min((day - transplant).days, state.course.days)
    return kind.mass_at(state.progress(max(at, state.day))[0])


@dataclass(frozen=True)
class View:
    """An estimate looked at from a day on."""

    state: Estimate
    usable: float
    transplant: date
    on: date
    states: Sequence[tuple[float, Estimate]] = ()

    @cached_property
    def chances(self) -> list[float]:
        """Chance of being dry by each morning from ``on`` on, by all that may have happened."""
        today = (self.on - self.transplant).days
        out: list[float] = []
        for share, state in self.states or ((1.0, self.state),):
            known = state.dry_by(self.usable)[max(today - state.day, 0) :]
            out = [x + share * y for x, y in zip(out or [0.0] * len(known), known, strict=False)]
        return out

    def dry(self) -> tuple[date | None, date | None, date | None]:
        chances = self.chances
        days = (median(chances), *within(chances))
        middle, first, last = (None if d is None else self.on + timedelta(days=d) for d in days)
        return middle, first, last

    def verdict(self, last: date) -> tuple[str, float]:
        chances = self.chances
        chance = chances[min((last - self.on).days, len(chances) - 1)]
        if chances[0] >= 0.5:
            return DRY, chance
        first = within(chances)[0]
        waits = first is None or first >= TIME_LEFT
        if chance >= (SURELY if waits else ALARMING):
            return ALARM, chance
        return (CLOSE if chance >= WORTH_TELLING else CALM), chance

    def pick_by(self, garden: Garden, latest: date) -> date:
        """The last work day that is early enough, and not after ``latest``; else ``on``."""
        chances, season, best = self.chances, garden.season, self.on
        day = self.on
        while day <= latest and (day - self.on).days < len(chances):
            if chances[(day - self.on).days] > EARLY:
                break
            if season.is_work_day(day):
                best = day
            day += ONE_DAY
        return best

    def told(self, last: date, error: float) -> float:
        """Chance that a reading today leads to another verdict."""
        today = (self.on - self.transplant).days
        at = min((last - self.transplant).days, self.state.course.days)
        if today <= self.state.day or at <= today:
            return 0.0
        mean, sd = self.state.drunk(at)
        moved = self.state.told_by(today, at, error)
        after = max(sd * sd - moved * moved, 1e-12) ** 0.5
        edge = self.usable + after * _z(ALARMING)  # mean from which on the alarm is given
        return normal(-abs(edge - mean) / max(moved, 1e-9))


def _z(share: float) -> float:
    """The quantile of a standard normal distribution, by halving."""
    low, high = -8.0, 8.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if normal(middle) < share else (low, middle)
    return low


def worst_first(tiers: Sequence[Watched]) -> list[Watched]:
    """The most alarming tiers first, then those that dry soonest."""
    return sorted(tiers, key=lambda w: (ORDER.index(w.verdict), w.dry or date.max, -w.chance))
