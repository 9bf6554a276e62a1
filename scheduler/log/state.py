"""Where every batch stands on a day: from the plan, and from the log where the log says otherwise.

What the plan asked for before the day and the log does not mention counts as done as planned, so
that a grower need write down only what went differently. With ``complete`` it counts as not done:
then the log must tell everything.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from scheduler.base.faults import BadInput, Fault
from scheduler.garden.model import ONE_DAY, Garden
from scheduler.log.events import Follower
from scheduler.log.model import Log
from scheduler.log.tracker import Tracker
from scheduler.log.tracks import Change, Fewer, Place, Reading, Sight, Track, Water
from scheduler.plans.model import CLEARED, FAILED, GROWING, PLANNED, SOWN, Batch, Pick, Plan
from scheduler.words.language import _

# After root disease a vessel stands empty, scrubbed and dry, before it is used again, and the crop
# family waits longer. Common practice, no source for the days; both can be set.
DISEASE_OUT_DAYS = 7
DISEASE_REST_DAYS = 56
# After a pest its host's family waits in that tier until what hatches there has found nothing to
# eat. Common practice, no source for the days.
PEST_REST_DAYS = 28
SAME_PICK = timedelta(days=10)  # how far a pick may lie from the planned one it stands for


@dataclass(frozen=True)
class Followed:
    """One batch on the day.

    Attributes
    ----------
    batch : with what really happened: its state, actual dates, the picks made, then those that are
        still planned.
    done : how many of its picks are made.
    readings : measured levels.
    failed_on, note : when it failed, and what was noted.
    cleared : its tier is empty and clean.
    late : work that was due and is not done, one text each.
    spent : nothing is left to pick; a growing batch then waits to be cleared.
    fit, last_transplant : seedlings: first and last day on which they can be transplanted.
    water, changes, sights, fewer : what else the log tells of its tier, by day; ``batch.plants``
        has no plants that were lost.
    emerged : seedlings: cells that came up; None: not told.
    """

    batch: Batch
    done: int = 0
    readings: tuple[Reading, ...] = ()
    failed_on: date | None = None
    note: str = ""
    cleared: bool = False
    late: tuple[str, ...] = ()
    spent: bool = False
    fit: date | None = None
    last_transplant: date | None = None
    water: tuple[Water, ...] = ()
    changes: tuple[Change, ...] = ()
    sights: tuple[Sight, ...] = ()
    fewer: tuple[Fewer, ...] = ()
    emerged: int | None = None

    @property
    def told(self) -> bool:
        """Whether the log tells anything that the table of forecasts could not know."""
        return bool(self.readings or self.water or self.changes or self.sights or self.fewer)

    @property
    def standing(self) -> int:
        """Plants left in the tier; a crop that is cut again keeps its plants."""
        return self.batch.plants - sum(p.plants for p in self.batch.picks[: self.done])


@dataclass(frozen=True)
class State:
    """A garden on the morning of a day.

    Attributes
    ----------
    batches : all that still is or was; lost : seedlings that died, with the reason.
    out : tiers that failed while empty, with the day of the failure.
    assumed : how many things the plan asked for were taken as done without an entry.
    pests : tiers with a pest: place, family that waits, up to when.
    """

    on: date
    batches: tuple[Followed, ...]
    lost: tuple[tuple[Batch, str], ...] = ()
    out: Mapping[Place, date] = field(default_factory=dict)
    assumed: int = 0
    pests: tuple[tuple[Place, str, date], ...] = ()


def is_disease(note: str) -> bool:
    """Whether a note tells of root disease."""
    words = note.lower()
    return any(w in words for w in ("disease", "pythium", "root rot", "rotten root", "rotting"))


def state_on(
    garden: Garden,
    plan: Plan,
    log: Log,
    on: date,
    complete: bool = False,
    rest_days: int = DISEASE_REST_DAYS,
) -> State:
    """The state on the morning of ``on``, and of what the log tells of that day itself.

    Parameters
    ----------
    complete : the log tells everything; what it does not mention was not done.
    rest_days : days the crop family waits in a tier after root disease.

    Raises
    ------
    BadInput
        ``on`` lies outside the season, or entries that cannot be: every one, by line, together
        with the faults of the log itself.
    """
    faults = list(log.faults)
    first, last = garden.first, garden.season.end
    if not first <= on <= last:
        when = "before it begins" if on < first else "over already"
        raise BadInput(
            [
                *faults,
                Fault(
                    "--on",
                    None,
                    "",
                    f"{on}, the season is {when}",
                    f"a day of the season, {first} to {last}",
                ),
            ]
        )
    tracker = Follower(garden, plan, log, on, complete)
    tracker.run()
    faults += tracker.faults
    if faults:
        raise BadInput(faults)
    assumed = 0
    followed, lost = [], []
    for track in tracker.tracks:
        if track.lost:
            lost.append((track.batch, track.lost))
            continue
        one, guessed = _settled(tracker, track, rest_days)
        assumed += guessed
        followed.append(one)
    wait = timedelta(days=PEST_REST_DAYS)
    pests = tuple((place, family, day + wait) for place, family, day in tracker.pests)
    return State(on, tuple(followed), tuple(lost), dict(tracker.out), assumed, pests)


class _Unweighed(Follower):
    """A follower to whom a pick that was not weighed weighs what it would ripe: no arrays."""

    def _mass_share(self, t: Track, day: date) -> float:
        return 1.0


def _followed(garden: Garden, plan: Plan, log: Log, on: date) -> _Unweighed:
    """What the log tells up to a day, followed without arrays."""
    entries = tuple(e for e in log.entries if e.date <= on)
    tracker = _Unweighed(garden, plan, replace(log, entries=entries), on, complete=False)
    tracker.run()
    return tracker


def growing_on(
    garden: Garden, plan: Plan, log: Log, on: date, places: Container[Place] | None = None
) -> tuple[Followed, ...]:
    """What stands in the tiers, or in some, on a day, as `state_on` tells it.

    Entries that cannot be true are left out.

    Only masses of picks that were made and not weighed are other ones: a line of the log does not
    wait for what they need.
    """
    tracker = _followed(garden, plan, log, on)
    found = []
    for t in tracker.tracks:
        over = t.lost or t.failed is not None or t.batch.state in (CLEARED, FAILED)
        wanted = places is None or t.place in places
        if not over and wanted and tracker.moved_on(t) is not None:
            found.append(_settled(tracker, t, DISEASE_REST_DAYS)[0])
    return tuple(f for f in found if f.batch.state == GROWING and not f.cleared)


def seedlings_on(garden: Garden, plan: Plan, log: Log, on: date) -> tuple[tuple[Batch, int], ...]:
    """Batches in the nursery of which the log tells how many cells came up, and how many."""
    tracker = _followed(garden, plan, log, on)
    return tuple(
        (t.batch, t.emerged)
        for t in tracker.tracks
        if t.emerged is not None and not t.lost and tracker.moved_on(t) is None and t.batch.tier
    )


def over_on(garden: Garden, plan: Plan, log: Log, on: date) -> frozenset[str]:
    """Batches of which nothing is to be done any more: failed, lost, or cleared before the day."""
    return frozenset(
        t.batch.id
        for t in _followed(garden, plan, log, on).tracks
        if t.lost
        or t.failed is not None
        or (t.cleared is not None and t.cleared < on)
        or t.batch.state in (CLEARED, FAILED)
    )


def _settled(tracker: Tracker, t: Track, rest_days: int) -> tuple[Followed, int]:
    """A track as a batch with its state; how many facts were assumed."""
    batch, on, guessed = t.batch, tracker.on, 0
    if batch.state in (CLEARED, FAILED):
        clear = t.cleared or (batch.clear if batch.state == CLEARED else max(batch.clear, on))
        return Followed(
            replace(batch, clear=clear),
            len(batch.picks),
            t.readings_by_date(),
            t.failed,
            t.note,
            cleared=t.cleared is not None,
        ), 0
    sown, moved = tracker.sown_on(t), tracker.moved_on(t)
    guessed += (sown is not None and t.sown is None) + (moved is not None and t.moved is None)
    if moved is None:
        return _not_moved(tracker, t, sown), guessed
    batch = replace(
        batch,
        sow=sown or batch.sow,
        transplant=moved,
        state=GROWING,
        plants=t.total,
    )
    batch = _not_yet_picked(batch, t.batch.transplant, on)
    done, ahead, assumed_picks = _picks(tracker, t, list(batch.picks))
    guessed += assumed_picks
    late = []
    if t.failed is None:
        late = [_("pick was due on {date}").format(date=p.date) for p in ahead if p.date < on]
    left = batch.plants - sum(p.plants for p in done)
    cuts = tracker.garden.crops[batch.crop].cuts
    # How often a batch is cut is planned; one that the plan did not know, as often as can be.
    none_due = len(done) >= cuts if t.extra else not ahead
    all_picked = left <= 0 if cuts == 1 else none_due
    cleared = t.cleared
    if cleared is None and t.failed is None and all_picked and done:
        follower = tracker.next_in_tier(t)
        if done[-1].date <= batch.clear < on and not tracker.complete:
            cleared, guessed = batch.clear, guessed + 1
        elif follower is not None and done[-1].date <= follower:
            cleared, guessed = max(done[-1].date, min(batch.clear, follower)), guessed + 1
        elif batch.clear < on:
            late.append(_("clearing was due on {clear}").format(clear=batch.clear))
    if t.failed is not None:
        rest = t.failed + timedelta(days=rest_days) if is_disease(t.note) else batch.rest_until
        batch = replace(
            batch,
            picks=tuple(done),
            state=FAILED,
            rest_until=rest,
            clear=cleared or max(t.failed, on),
        )
    elif cleared is not None:
        batch = replace(batch, picks=tuple(done), state=CLEARED, clear=cleared)
    else:
        batch = replace(batch, picks=(*done, *ahead), clear=max(batch.clear, on))
    spent = all_picked and bool(done)
    return Followed(
        batch,
        len(done),
        t.readings_by_date(),
        t.failed,
        t.note,
        cleared is not None,
        tuple(late),
        spent,
        water=tuple(t.water),
        changes=tuple(t.changes),
        sights=tuple(t.sights),
        fewer=tuple(t.fewer),
    ), guessed


def _not_yet_picked(batch: Batch, planned: date, on: date) -> Batch:
    """Picks planned before ``on`` move with a batch that was transplanted late."""
    delay = batch.transplant - planned
    if delay <= timedelta(0) or all(p.date >= on for p in batch.picks):
        return batch
    picks = tuple(replace(p, date=p.date + delay) for p in batch.picks)
    return replace(batch, picks=picks, clear=batch.clear + delay)


def _not_moved(tracker: Tracker, t: Track, sown: date | None) -> Followed:
    """Seedlings in the nursery, or a batch that is not begun."""
    from scheduler.batches.seedlings import seedling_days  # with arrays

    batch, on = t.batch, tracker.on
    if sown is None:
        late = (_("sowing was due on {sow}").format(sow=batch.sow),) if batch.sow < on else ()
        return Followed(replace(batch, state=PLANNED), note=t.note, late=late)
    late = (
        (_("transplanting was due on {transplant}").format(transplant=batch.transplant),)
        if batch.transplant < on
        else ()
    )
    cells = t.cells or batch.cells
    seeds = cells * tracker.garden.crops[batch.crop].seeds_per_cell if t.cells else batch.seeds
    batch = replace(batch, sow=sown, state=SOWN, cells=cells, seeds=seeds)
    fit, last = seedling_days(tracker.garden, batch.crop, sown)
    return Followed(batch, note=t.note, late=late, fit=fit, last_transplant=last, emerged=t.emerged)


def _picks(tracker: Tracker, t: Track, planned: list[Pick]) -> tuple[list[Pick], list[Pick], int]:
    """Picks made, picks still planned, and how many of those made were assumed.

    A logged pick stands for the planned one nearest to it. A planned one that no entry stands for
    is taken as made, if its day is past and the log need not be complete.
    """
    crop = tracker.garden.crops[t.batch.crop]
    total = t.total
    as_of = tracker.plan.as_of
    if crop.cuts > 1 and total != t.batch.plants:
        planned = [
            replace(p, plants=total, grams=round(p.grams * total / t.batch.plants)) for p in planned
        ]
    end = min((d for d in (t.failed, t.cleared) if d is not None), default=None)
    until = tracker.on if end is None else min(end + ONE_DAY, tracker.on)
    known = [p for p in planned if as_of is not None and p.date < as_of]
    open_ = planned[len(known) :]
    made = list(known)
    logged = sorted(day for day in t.picks if all(p.date != day for p in known))
    for day in logged:
        near = min(open_, key=lambda p: abs(p.date - day), default=None)
        if near is not None and abs(near.date - day) <= SAME_PICK:
            open_.remove(near)
    guessed: list[Pick] = []
    if not tracker.complete:
        guessed = [p for p in open_ if p.date < until]
        open_ = [p for p in open_ if p.date >= until]
    if crop.cuts > 1:
        guessed = guessed[: max(crop.cuts - len(made) - len(logged), 0)]
    else:
        room = total - sum(p.plants for p in made) - sum(t.picks[d][0] or 1 for d in logged)
        while guessed and sum(p.plants for p in guessed) > max(room, 0):
            guessed.pop()
    for day, assumed in sorted(
        [(d, None) for d in logged] + [(p.date, p) for p in guessed], key=lambda pair: pair[0]
    ):
        made.append(assumed or tracker.pick(t, day, *t.picks[day], made))
    if crop.cuts > 1:
        return made, open_[: max(crop.cuts - len(made), 0)], len(guessed)
    left = total - sum(p.plants for p in made)
    return made, _fitted(open_, left, t, crop.fresh_mass), len(guessed)


def _of_plants(pick: Pick, plants: int, fresh_mass: float) -> Pick:
    """The same pick of more or fewer plants; what is picked young has its share of the mass."""
    if plants == pick.plants:
        return pick
    one = pick.grams / pick.plants if pick.young else fresh_mass
    return replace(pick, plants=plants, grams=round(plants * one))


def _fitted(ahead: list[Pick], left: int, t: Track, fresh_mass: float) -> list[Pick]:
    """Picks still planned, taking as many plants as are left; without any left, none.

    Plants that no planned pick takes are due since the last one. Of a batch that the plan did not
    know none is due.
    """
    out: list[Pick] = []
    for p in ahead:
        plants = min(p.plants, left)
        if plants > 0:
            out.append(_of_plants(p, plants, fresh_mass))
            left -= plants
    if left > 0 and out:
        out[-1] = _of_plants(out[-1], out[-1].plants + left, fresh_mass)
    elif left > 0 and not t.extra:
        day = max([p.date for p in t.batch.picks] + list(t.picks), default=t.batch.clear)
        out = [Pick(day, left, round(left * fresh_mass))]
    return out
