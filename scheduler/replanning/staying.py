"""What a grower is told who can stay with the plan, and what to do where something is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import TYPE_CHECKING, NamedTuple

from scheduler.log.state import Followed
from scheduler.plans.model import FAILED, PLANNED, SOWN, Batch
from scheduler.replanning.diff import ENDED
from scheduler.words.language import _
from scheduler.words.words import tier_label

if TYPE_CHECKING:
    from scheduler.replanning.rebalance import Rebalanced


class Names(NamedTuple):
    """How a batch is called, by itself and where its tier is named beside it."""

    batch: Callable[[Batch], str]
    following: Callable[[Batch], str]


def _numbered(b: Batch) -> str:
    return f"{b.id} ({b.crop})"


BY_NUMBER = Names(_numbered, _numbered)


def staying(done: Rebalanced, names: Names = BY_NUMBER) -> Iterator[str]:
    """Sentences: that the old plan may stay, without what is lost, and how to go on with it."""
    ended = {c.id for c in done.diff.of(ENDED)}  # of these the old plan knows nothing
    dead = [f for f in done.state.batches if f.batch.state == FAILED and f.batch.id in ended]
    gone = [*(f.batch for f in dead), *(b for b, _why in done.state.lost)]
    if not gone:
        yield _(
            "Nothing is lost, and letting late work slip brings as much in the years ahead as the "
            "changes below: you can stay with the plan you have."
        )
        return
    lost = ", ".join(map(names.batch, gone))
    yield _(
        "Going on with the plan you have, without {lost} and with late work done as soon as it can "
        "be, brings as much in the years ahead as the changes below: you can stay with it."
    ).format(lost=lost)
    yield _("Pass over what the calendar still asks for {lost}.").format(lost=lost)
    for f in dead:
        yield " ".join(_tier(done, f, names))


def _tier(done: Rebalanced, f: Followed, names: Names) -> Iterator[str]:
    """What to do with the tier of a batch that died, and what comes there next."""
    b = f.batch
    place = tier_label(b.column, b.tier)
    if not f.cleared:
        empty = next(i.batch.clear for i in done.commitments.items if i.batch.id == b.id)
        pause = timedelta(days=done.commitments.garden.limits.turnaround_days)
        yield _(
            "Empty and clean {place}, and log it as cleared: it can be filled again from {day} on."
        ).format(place=place, day=max(empty, done.state.on) + pause)
    following = _next(done, b)
    if following is None:
        yield _("Nothing more is planned for {place}.").format(place=place)
    else:
        yield _("The next one for {place} is {batch}, to be transplanted on {day}.").format(
            place=place, batch=names.following(following), day=following.transplant
        )


def _next(done: Rebalanced, dead: Batch) -> Batch | None:
    """What the old plan puts next into a tier."""
    waiting = [
        f.batch
        for f in done.state.batches
        if f.batch.state in (PLANNED, SOWN)
        and (f.batch.column, f.batch.tier) == (dead.column, dead.tier)
    ]
    return min(waiting, key=lambda b: b.transplant, default=None)
