"""Batches as the calendar told them: which of a new plan are those of an old one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.garden.model import Season
from scheduler.plans.model import Batch

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Told:
    """Days on which a batch can be sown, and planted, and still be the one that was told."""

    sow_first: date
    sow_last: date
    first: date
    last: date

    def holds(self, sow: date, transplant: date) -> bool:
        """Whether both days lie in their spans."""
        return self.sow_first <= sow <= self.sow_last and self.first <= transplant <= self.last


def told(season: Season, batch: Batch) -> Told:
    """The spans of a batch in a season.

    It is sown on its day and planted from its day until the calendar's last (`transplant_until`).
    Where one of its two days is no work day of ``season``, each may be the work day next to it,
    before or after: how old seedlings may be ties them.
    """
    sow, start = (batch.sow, batch.sow), (batch.transplant, batch.transplant)
    if not (season.is_work_day(batch.sow) and season.is_work_day(batch.transplant)):
        sow, start = _beside(season, batch.sow), _beside(season, batch.transplant)
    return Told(*sow, start[0], max(start[1], batch.transplant_until or start[1]))


def _beside(season: Season, day: date) -> tuple[date, date]:
    """The work days next to a day, before it and after it; the day itself at the season's end."""
    before, after = day - ONE_DAY, day + ONE_DAY
    while before >= season.start and not season.is_work_day(before):
        before -= ONE_DAY
    while after <= season.end and not season.is_work_day(after):
        after += ONE_DAY
    return max(before, min(day, season.start)), min(after, max(day, season.end))


def matched(season: Season, old: Sequence[Batch], new: Sequence[Batch]) -> dict[str, str]:
    """Which of the old batches each of the new is, by id: its crop, in its tier, on days told.

    The nearest days of transplanting go together; none is two others.
    """
    spans = {a.id: told(season, a) for a in old}
    pairs = sorted(
        (abs((a.transplant - b.transplant).days), a.transplant, b.id, a.id)
        for a in old
        for b in new
        if (a.crop, a.column, a.tier) == (b.crop, b.column, b.tier)
        and spans[a.id].holds(b.sow, b.transplant)
    )
    out: dict[str, str] = {}
    for *_apart, mine, theirs in pairs:
        if mine not in out and theirs not in out.values():
            out[mine] = theirs
    return out
