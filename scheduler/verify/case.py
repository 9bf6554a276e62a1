"""The plan under check with its garden, and the notes taken on the way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, fields
from datetime import date
from operator import attrgetter

from crops.crop import Crop
from crops.vessel import Vessel
from scheduler.garden.model import Garden, Tier
from scheduler.plans.model import CLEARED, FAILED, GROWING, SOWN, WITH_YEARS, Batch, Pick, Plan
from scheduler.plans.rules import KNOWN, Rule
from scheduler.verify.course import Course, Physics
from scheduler.verify.places import carried
from scheduler.verify.verdict import Broken
from scheduler.words.units import Units

# What has happened to a batch is a fact that no plan can change: it is not judged, but what it
# takes up (its tier, its cells, its place among the day's work) still counts for what is planned.
# The batch's state tells, and the plan's ``as_of``: whatever is dated before it has happened.
HAPPENED = {
    SOWN: frozenset({"sow"}),
    GROWING: frozenset({"sow", "transplant"}),
    CLEARED: frozenset({"sow", "transplant", "pick", "clear"}),
    FAILED: frozenset({"sow", "transplant", "pick", "clear"}),
}

# All that can make a difference to what a batch keeps or breaks by itself: everything but its name
# and place, and what years make of it beside its neighbours, which `verify.spans` checks one by
# one. A field added to these types is a part of it without being listed here.
_of_batch = attrgetter(
    *(
        f.name
        for f in fields(Batch)
        if f.name not in ("id", "column", "tier", "levels", "picks", "chances")
    )
)
_of_pick = attrgetter(*(f.name for f in fields(Pick) if f.name not in WITH_YEARS[Pick]))
_of_tier = attrgetter(*(f.name for f in fields(Tier) if f.name != "number"))


def minutes_there(garden: Garden, day: date) -> float | None:
    """Minutes of all who are there on a day, but those that moves take; None: no limit."""
    total = garden.limits.minutes_per_day
    if garden.limits.helpers:
        total = 0.0
        for helper in garden.limits.helpers:
            if day.weekday() in helper.days:
                total += helper.minutes
    if total is None:
        return None
    for column in garden.columns:
        if carried(garden, column.tiers[0], day):
            total -= garden.limits.labour.move * len(column.tiers)
    return total


@dataclass(frozen=True)
class Standing:
    """A batch with its crop, tier, vessel, and its course (None outside the weather).

    Batches equal in ``alike`` differ in name, place and levels told alone; None: like no other.
    """

    batch: Batch
    crop: Crop
    tier: Tier
    vessel: Vessel
    course: Course | None
    as_of: date | None = None
    alike: Hashable = None

    @property
    def over(self) -> bool:
        """Whether all of it has happened."""
        return self.batch.state in (CLEARED, FAILED)

    def is_fact(self, event: str, day: date) -> bool:
        """Whether its ``sow``, ``transplant``, ``pick`` or ``clear`` on ``day`` has happened."""
        if self.as_of is not None and day != self.as_of:
            return day < self.as_of
        return event in HAPPENED.get(self.batch.state, ())

    @property
    def sown(self) -> bool:
        return self.is_fact("sow", self.batch.sow)

    @property
    def planted(self) -> bool:
        return self.is_fact("transplant", self.batch.transplant)

    @property
    def place(self) -> str:
        return f"{self.batch.column} {self.batch.tier}"

    @property
    def name(self) -> str:
        """The batch in a sentence."""
        return f"{self.batch.id} ({self.crop.title}, {self.place})"


class Case:
    """Garden, plan and the findings.

    Attributes
    ----------
    standing : the batches whose crop and tier the garden knows; the others break a rule at once.
    by_tier : the same by (column, tier), by date of transplanting.
    """

    def __init__(self, garden: Garden, plan: Plan) -> None:
        self.garden, self.plan, self.units = garden, plan, Units(garden.units)
        self.physics = Physics(garden)
        self.found: list[Broken] = []
        self.checked: Counter[str] = Counter()
        self.standing: list[Standing] = []
        self.by_tier: dict[tuple[str, int], list[Standing]] = {}
        sick = {(b.column, b.tier) for b in plan.batches if b.rest_until is not None}
        courses: dict[Hashable, Course | None] = {}
        for batch in plan.batches:
            if not self._known(batch):
                continue
            crop, tier = garden.crops[batch.crop], garden.tier(batch.column, batch.tier)
            vessel = garden.vessels[tier.vessel]
            alike: Hashable = None
            if (batch.column, batch.tier) not in sick:  # there the tier's own story counts
                alike = (_of_batch(batch), tuple(map(_of_pick, batch.picks)), _of_tier(tier))
            if alike is None or alike not in courses:
                courses[alike] = self.physics.at(tier).course(batch, crop, tier, vessel)
            self.standing.append(
                Standing(batch, crop, tier, vessel, courses[alike], plan.as_of, alike)
            )
        for s in sorted(self.standing, key=lambda s: (s.batch.transplant, s.batch.clear)):
            self.by_tier.setdefault((s.batch.column, s.batch.tier), []).append(s)

    def check(
        self,
        rule: Rule,
        holds: bool,
        message: str,
        amount: float = 1,
        witnesses: Iterable[str | date] = (),
        unit: str = "",
    ) -> None:
        """Count one check of a rule, and keep it if the rule is broken."""
        self.checked[rule.name] += 1
        if not holds:
            names = tuple(w.isoformat() if isinstance(w, date) else w for w in witnesses)
            self.found.append(Broken(rule.name, float(amount), names, message, unit))

    def kept(self, rule: Rule, times: int = 1) -> None:
        """Count checks of a rule that hold, where there are too many to find words for each."""
        if times:
            self.checked[rule.name] += times

    def each(
        self,
        look: Callable[[Case, Standing], None],
        also: Callable[[Standing], Hashable] = lambda s: None,
    ) -> None:
        """Let ``look`` check every batch by itself.

        Thousands of tiers may hold the same batch on the same days. Once one has kept every rule,
        those that differ in name and place alone (and agree in ``also``) are counted, not computed
        again. A batch that breaks a rule is never passed over: each is told by its name.
        """
        kept: dict[Hashable, Counter[str]] = {}
        for s in self.standing:
            key = None if s.alike is None else (s.alike, also(s))
            if key is not None and key in kept:
                self.checked.update(kept[key])
                continue
            before, broken = self.checked.copy(), len(self.found)
            look(self, s)
            if key is not None and len(self.found) == broken:
                kept[key] = self.checked - before

    def _known(self, batch: Batch) -> bool:
        crop = batch.crop in self.garden.crops
        self.check(
            KNOWN,
            crop,
            f"{batch.id}: crop {batch.crop} is not one of the garden's",
            witnesses=[batch.id, batch.crop],
        )
        place = f"{batch.column} {batch.tier}"
        try:
            self.garden.tier(batch.column, batch.tier)
        except KeyError:
            self.check(
                KNOWN,
                False,
                f"{batch.id}: the garden has no tier {place}",
                witnesses=[batch.id, place],
            )
            return False
        return crop
