"""A plan made like one that the grower knows: most of it stays, and a change must pay."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from scheduler.plans.told import matched

if TYPE_CHECKING:
    from scheduler.garden.model import Garden
    from scheduler.garden.model import Season as Days
    from scheduler.plans.model import Batch, Plan
    from scheduler.replanning.diff import Diff
    from scheduler.search.living.known import Known
    from scheduler.search.solve import Season
    from scheduler.solvers.cp_sat import Settings

PRICE = 5.0  # weighted grams that a change must bring, unless told otherwise
KEEP = 0.8  # share of the batches that stay where they can, unless told otherwise
LITTLE = 0.25  # of a change: sown or planted on another of the days told; own judgement


@dataclass(frozen=True)
class Like:
    """The plan to come near to, and what a change must bring.

    Attributes
    ----------
    plan : as the grower knows it.
    price : of a batch dropped or added [weighted g]; a batch in another tier is both, one on
        another of the days told (`plans.told`) costs `LITTLE` of it.
    keep : share of the batches that stay [0..1], if so many can.
    """

    plan: Plan
    price: float = PRICE
    keep: float = KEEP

    @property
    def need(self) -> int:
        """How many batches are to stay."""
        return math.ceil(self.keep * len(self.plan.batches) - 1e-9)

    @property
    def of_years(self) -> bool:
        """Whether the plan was made for weather years, not for their mean."""
        return self.plan.years is None or self.plan.years.planned > 0

    def known(self, garden: Garden) -> Known:
        """The batches for a search that is to change few of them."""
        from scheduler.search.living.known import known_of

        return known_of(garden, self.plan.batches, self.need, self.price, LITTLE * self.price)

    def as_it_was(
        self, garden: Garden, season: Season, settings: Settings
    ) -> tuple[Season, Plan] | None:
        """The plan itself in ``garden``, of which a season was made; None if it breaks a rule."""
        from scheduler.schedule.check import broken
        from scheduler.schedule.problem import Choice, by_tier
        from scheduler.search.living.cohorts import keeps_will
        from scheduler.search.living.known import as_known
        from scheduler.search.solve import make_plan
        from scheduler.usecases.choosing import bounded

        cand = season.cand
        stands = as_known(cand, self.plan.batches)
        problem = by_tier(cand)
        at = {(p.column, p.number): k for k, p in enumerate(problem.places)}
        made = [Choice(problem.decision_of[at[s.column, s.tier], s.row], s.clear) for s in stands]
        all_there = len(stands) == len(self.plan.batches)
        if not all_there or broken(problem, True, made) or not keeps_will(cand, stands):
            return None
        plan = make_plan(garden, cand, stands, settings, bounded(season.plan))
        return replace(season, plan=plan, stands=stands, seconds={}), plan

    def after_changes(self, garden: Garden, batches: Sequence[Batch], worth: float) -> float:
        """What ``batches`` are worth, less what their changes cost [share of the wish]."""
        from scheduler.schedule.assemble import wish_total

        old = {b.id: b for b in self.plan.batches}
        new = {b.id: b for b in batches}
        same = matched(garden.season, self.plan.batches, batches)
        pairs = [(new[mine], old[theirs]) for mine, theirs in same.items()]
        moved = sum((a.sow, a.transplant) != (b.sow, b.transplant) for a, b in pairs)
        changes = len(old) + len(new) - 2 * len(same) + LITTLE * moved
        lacking = max(self.need - len(same), 0)
        return worth - lacking - self.price * changes / max(wish_total(garden), 1.0)


def named_alike(season: Days, old: Plan, new: Plan) -> Plan:
    """The new plan, its batches called as those of the old that they are; others are numbered."""
    same = matched(season, old.batches, new.batches)
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


@dataclass(frozen=True)
class Stays:
    """Of the batches of the old plan: how many stay as they were told, of all, and were to stay."""

    stay: int
    known: int
    wanted: int

    def lines(self) -> list[str]:
        """A sentence, and another where fewer stay than were to; at most 79 characters a line."""
        from scheduler.words.language import _
        from scheduler.words.words import wrap

        text = _("Batches that stay in their tier on the days told: {stay} of {n}.")
        text = text.format(n=self.known, stay=self.stay)
        if self.stay < self.wanted:
            more = _("At least {wanted} were to stay; no plan that keeps so many was found.")
            text += " " + more.format(wanted=self.wanted)
        return wrap(text, 79)


def stays_of(garden: Garden, old: Plan, new: Plan, keep: float) -> Stays:
    """How much of a plan stays in another, its batches called alike (`named_alike`)."""
    same = matched(garden.season, old.batches, new.batches)
    return Stays(len(same), len(old.batches), Like(fitting(garden, old), keep=keep).need)


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
    from scheduler.years.expected import LIVED_TIERS

    plan, garden = read_plan(folder), load_garden(garden_file)
    faults = []
    if garden.today is not None:
        faults.append((garden_file, "season", "under way", "a season that has not begun"))
    tiers = sum(len(column.tiers) for column in garden.columns)
    if tiers > LIVED_TIERS:
        faults.append(
            (garden_file, "columns", f"{tiers} tiers", f"at most {LIVED_TIERS} for --like")
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
