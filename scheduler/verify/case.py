"""The plan under check with its garden, and the notes taken on the way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from crops.crop import Crop
from crops.vessel import Vessel
from scheduler.garden import Garden, Tier
from scheduler.plan import CLEARED, FAILED, GROWING, SOWN, Batch, Plan
from scheduler.rules_list import KNOWN, Rule
from scheduler.verify.course import Course, Physics
from scheduler.verify.verdict import Broken

# What has happened to a batch is a fact that no plan can change: it is not judged, but what it
# takes up (its tier, its cells, its place among the day's work) still counts for what is planned.
# The batch's state tells, and the plan's ``as_of``: whatever is dated before it has happened.
HAPPENED = {
    SOWN: frozenset({"sow"}),
    GROWING: frozenset({"sow", "transplant"}),
    CLEARED: frozenset({"sow", "transplant", "pick", "clear"}),
    FAILED: frozenset({"sow", "transplant", "pick", "clear"}),
}


@dataclass(frozen=True)
class Standing:
    """A batch with its crop, tier, vessel, and its course (None outside the weather)."""

    batch: Batch
    crop: Crop
    tier: Tier
    vessel: Vessel
    course: Course | None
    as_of: date | None = None

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
        self.garden, self.plan = garden, plan
        self.physics = Physics(garden)
        self.found: list[Broken] = []
        self.checked: Counter[str] = Counter()
        self.standing: list[Standing] = []
        self.by_tier: dict[tuple[str, int], list[Standing]] = {}
        for batch in plan.batches:
            if self._known(batch):
                crop, tier = garden.crops[batch.crop], garden.tier(batch.column, batch.tier)
                vessel = garden.vessels[tier.vessel]
                course = self.physics.course(batch, crop, tier, vessel)
                self.standing.append(Standing(batch, crop, tier, vessel, course, plan.as_of))
        for s in sorted(self.standing, key=lambda s: (s.batch.transplant, s.batch.clear)):
            self.by_tier.setdefault((s.batch.column, s.batch.tier), []).append(s)

    def check(
        self, rule: Rule, holds: bool, message: str, amount: float = 1,
        witnesses: Iterable[str | date] = (), unit: str = "",
    ) -> None:  # fmt: skip
        """Count one check of a rule, and keep it if the rule is broken."""
        self.checked[rule.name] += 1
        if not holds:
            names = tuple(w.isoformat() if isinstance(w, date) else w for w in witnesses)
            self.found.append(Broken(rule.name, float(amount), names, message, unit))

    def _known(self, batch: Batch) -> bool:
        crop = batch.crop in self.garden.crops
        self.check(KNOWN, crop, f"{batch.id}: crop {batch.crop} is not one of the garden's",
                   witnesses=[batch.id, batch.crop])  # fmt: skip
        place = f"{batch.column} {batch.tier}"
        try:
            self.garden.tier(batch.column, batch.tier)
        except KeyError:
            self.check(KNOWN, False, f"{batch.id}: the garden has no tier {place}",
                       witnesses=[batch.id, place])  # fmt: skip
            return False
        return crop
