"""The old plan, let slip: what is due and not done is done when it can be, all else on its day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from scheduler.log.state import State
from scheduler.plans.model import CLEARED, FAILED, PLANNED, SOWN, Batch


def slipping(state: State) -> tuple[Batch, ...] | None:
    """The batches of a state for who lives on with them; None where something was lost just now.

    What failed and is cleared is over: from then on the old plan can go on without it.
    Whoever lives them waits with each until it can be done (`scheduler.lived`).
    """
    if state.lost or any(f.batch.state == FAILED and not f.cleared for f in state.batches):
        return None
    known = (f.batch.picks or f.batch.state in (CLEARED, FAILED) for f in state.batches)
    if not all(known) or any(not f.batch.column for f in state.batches):
        return None  # of what the plan does not know nothing can be said
    return tuple(_from(f.batch, f.done, state.on) for f in state.batches)


def _from(batch: Batch, done: int, on: date) -> Batch:
    if batch.state in (CLEARED, FAILED):
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
