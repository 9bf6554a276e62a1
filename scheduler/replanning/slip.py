"""The old plan, let slip: what is due and not done is done when it can be, all else on its day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from scheduler.log.state import State
from scheduler.plans.model import CLEARED, FAILED, PLANNED, SOWN, Batch, Plan
from scheduler.replanning.commitments import Commitments


def died(plan: Plan, state: State) -> bool:
    """Whether a batch is dead of which the plan does not know it.

    Even where its tier is cleared all cannot go on as planned: something may be planted there.
    """
    known = {b.id for b in plan.batches if b.state == FAILED}
    return any(f.batch.state == FAILED and f.batch.id not in known for f in state.batches)


def slipping(state: State, commitments: Commitments) -> tuple[Batch, ...] | None:
    """The batches of a state for who lives on with them; None where the old plan cannot go on.

    It goes on without what is lost: seedlings that died are not among them, and what failed and
    still stands holds its tier up to the day on which it can be cleaned. It cannot go on where a
    crop would come into a tier in which its family rests, after root disease or a pest.
    Whoever lives them waits with each until it can be done (`scheduler.lived`).
    """
    known = (f.batch.picks or f.batch.state in (CLEARED, FAILED) for f in state.batches)
    if not all(known) or any(not f.batch.column for f in state.batches):
        return None  # of what the plan does not know nothing can be said
    dead = {i.batch.id: i.batch for i in commitments.items if i.batch.state == FAILED}
    out = tuple(
        dead.get(f.batch.id, f.batch)
        if f.batch.state == FAILED
        else _from(f.batch, f.done, state.on)
        for f in state.batches
    )
    return None if any(_rests(commitments, b) for b in out) else out


def _rests(commitments: Commitments, b: Batch) -> bool:
    """Whether what is not planted yet would come into a tier in which its family rests."""
    garden = commitments.garden
    return b.state in (PLANNED, SOWN) and any(
        rest.family == garden.crops[b.crop].family and b.transplant <= rest.until
        for rest in garden.tier(b.column, b.tier).rests
    )


def _from(batch: Batch, done: int, on: date) -> Batch:
    if batch.state == CLEARED:
        return batch
    picks = tuple(
        p if k < done else replace(p, date=max(p.date, on)) for k, p in enumerate(batch.picks)
    )
    batch = replace(batch, picks=picks, clear=max(batch.clear, on))
    if batch.state in (PLANNED, SOWN):
        batch = replace(batch, transplant=max(batch.transplant, on))
    if batch.state == PLANNED:
        batch = replace(batch, sow=max(batch.sow, on))
    return batch
