"""A plan made like one that the grower knows: as little of it is changed as pays for the change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from scheduler.batches.candidates import Candidates
    from scheduler.garden.model import Garden
    from scheduler.plans.model import Batch, Plan
    from scheduler.replanning.diff import Diff

NEAR = 7  # days by which a batch may be planted sooner or later and be the one that was known
PRICE = 25.0  # weighted grams that a change must bring, unless told otherwise


@dataclass(frozen=True)
class Like:
    """The plan to come near to, and what a change must bring.

    Attributes
    ----------
    plan : as the grower knows it.
    price : of a batch dropped or added [weighted g], moved ones are both.
    """

    plan: Plan
    price: float = PRICE

    def known(self, cand: Candidates) -> list[int]:
        """Rows of the candidates that go on with a batch of the plan as it is, or nearest to it."""
        from scheduler.search.living import taken_over

        return [stand.row for stand in taken_over(cand, self.plan.batches)]

    def cost(self, batches: Sequence[Batch]) -> float:
        """What the changes to ``batches`` must bring together [weighted g]."""
        kept = len(matched(self.plan.batches, batches))
        return self.price * (len(self.plan.batches) + len(batches) - 2 * kept)


def matched(old: Sequence[Batch], new: Sequence[Batch]) -> dict[str, str]:
    """Which of the old batches each of the new is, by id: its crop, in its tier, in its week.

    The nearest days of transplanting go together; none is two others.
    """
    pairs = sorted(
        (abs((a.transplant - b.transplant).days), a.transplant, b.id, a.id)
        for a in old
        for b in new
        if (a.crop, a.column, a.tier) == (b.crop, b.column, b.tier)
        and abs((a.transplant - b.transplant).days) <= NEAR
        and abs((a.sow - b.sow).days) <= NEAR
    )
    out: dict[str, str] = {}
    for *_apart, mine, theirs in pairs:
        if mine not in out and theirs not in out.values():
            out[mine] = theirs
    return out


def named_alike(old: Plan, new: Plan) -> Plan:
    """The new plan, its batches called as those of the old that they are; others are numbered."""
    same = matched(old.batches, new.batches)
    taken = {b.id for b in old.batches}
    number = max((int(name[1:]) for name in taken if name[1:].isdigit()), default=0)
    batches = []
    for batch in new.batches:
        name = same.get(batch.id)
        if name is None:
            number += 1
            name = f"b{number:03d}"
        batches.append(replace(batch, id=name))
    return replace(new, batches=tuple(batches))


def fitting(garden: Garden, plan: Plan) -> Plan:
    """A plan of another garden, as far as its crops and tiers are in this one."""
    tiers = {(c.name, t.number) for c in garden.columns for t in c.tiers}
    days = garden.season
    mine = tuple(
        b
        for b in plan.batches
        if b.crop in garden.crops
        and (b.column, b.tier) in tiers
        and days.start <= b.sow
        and b.transplant <= days.end
    )
    return replace(plan, batches=mine)


def priced(n: int, known: Sequence[int], price: float) -> np.ndarray:
    """What each of ``n`` rows counts for beside what it brings [weighted g]: a change costs."""
    out = np.full(n, -price)
    out[np.asarray(known, dtype=int)] = price
    return out


def plan_like(folder: str, garden_file: str) -> Plan:
    """The plan in a folder, to make another like it.

    Raises
    ------
    BadInput
        It is no plan, or of another season; the new garden's season has begun, or it is large.
    """
    from scheduler.base.faults import BadInput, Fault
    from scheduler.garden.file import load_garden
    from scheduler.plans.folder import read_plan
    from scheduler.usecases.choosing import MOST_TIERS

    plan, garden = read_plan(folder), load_garden(garden_file)
    faults = []
    if garden.today is not None:
        faults.append((garden_file, "season", "under way", "a season that has not begun"))
    tiers = sum(len(column.tiers) for column in garden.columns)
    if tiers > MOST_TIERS:
        faults.append(
            (garden_file, "columns", f"{tiers} tiers", f"at most {MOST_TIERS} for --like")
        )
    if plan.as_of is not None:
        faults.append((folder, "as_of", f"{plan.as_of}", "a plan of a whole season"))
    if plan.end < garden.season.start or plan.start > garden.season.end:
        seen = f"{plan.start} to {plan.end}"
        expected = f"days of {garden.season.start} to {garden.season.end}"
        faults.append((folder, "season", seen, expected))
    if faults:
        raise BadInput([Fault(file, None, path, value, text) for file, path, value, text in faults])
    return plan


def diff_of(garden: Garden, old: Plan, new: Plan) -> Diff:
    """What changes from one plan to the other, as a grower is told after a rebalance."""
    from scheduler.replanning.diff import DROPPED, Change, diff
    from scheduler.words.language import _

    mine = fitting(garden, old)
    found = diff(garden, mine, new)
    there = {b.id for b in mine.batches}
    why = _("its crop, its tier or its days are no longer in the garden")
    gone = tuple(
        Change(DROPPED, b.id, b.crop, b.column, b.tier, why=why)
        for b in old.batches
        if b.id not in there
    )
    return replace(found, changes=(*gone, *found.changes))
