"""What a re-plan begins with: batches that are fixed, batches that may move, free candidates."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from scheduler.batches.candidates import Candidates
from scheduler.garden.model import Garden
from scheduler.log.tracks import Place
from scheduler.plans.model import Batch
from scheduler.replanning.measured import Anchor
from scheduler.replanning.outlook import Outlook
from scheduler.replanning.ways_on import Variant


@dataclass(frozen=True)
class Option:
    """A row of the candidates in a tier."""

    place: Place
    row: int


@dataclass
class Item:
    """A batch in hand or planned, and the ways it can go on.

    Attributes
    ----------
    batch : as it stands; options : rows and tiers; as_known : number of the option that changes
        nothing, or None.
    begun : it stands in its tier; frozen : it may not change.
    clear : day index planned for clearing its tier.
    weight : what a change of it counts: the nearer its next work, the more.
    """

    batch: Batch
    options: list[Option]
    as_known: int | None
    begun: bool
    clear: int
    frozen: bool = False
    weight: int = 1


@dataclass
class Commitments:
    """Everything the solver goes on from.

    Attributes
    ----------
    garden : with the rests after disease in its tiers; cand : free candidates, then own rows.
    free : how many rows of ``cand`` are free candidates.
    variants : row to the batch it stands for (own rows only).
    seedling_of : row to the sown batch whose seedlings it plants.
    items : batches to go on with; ended : batches that are over, as they were.
    reasons : why a batch could not go on, by id; opens : first free day index by tier.
    fills, picks : done on the day itself already, as the log tells.
    forgone : by row, grams that an early pick weighs less than the last day to pick it early.
    stock : picks of the past, for `scheduler.schedule.problem.Problem.stock`.
    """

    garden: Garden
    on: date
    cand: Candidates
    free: int
    variants: dict[int, Variant] = field(default_factory=dict)
    seedling_of: dict[int, Batch] = field(default_factory=dict)
    items: list[Item] = field(default_factory=list)
    ended: list[Batch] = field(default_factory=list)
    gone: list[Batch] = field(default_factory=list)
    reasons: dict[str, str] = field(default_factory=dict)
    opens: dict[Place, int] = field(default_factory=dict)
    fills: int = 0
    picks: int = 0
    forgone: dict[int, int] = field(default_factory=dict)
    stock: tuple[tuple[int, int, int, int], ...] = ()
    anchors: dict[str, Anchor] = field(default_factory=dict)
    outlooks: dict[str, Outlook] = field(default_factory=dict)

    @property
    def done_today(self) -> dict[str, int]:
        """What was done on the day itself, by name of the resource that it took from."""
        return {"fills": self.fills, "picks": self.picks}

    @property
    def today(self) -> int:
        return self.garden.season.index(self.on)
