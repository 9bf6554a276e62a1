"""Who is too heavy to lift, and when: said once for everything that plans.

A vessel with a batch weighs too much from the day after it was filled until it has drunk down (the
candidates know the day), and again while it waits, picked but not cleared, with too much left. On
its own days of filling and clearing it counts as empty: the lower tier is filled first, the upper
one cleared first. A vessel too heavy even when empty can never be lifted.

Who walks through days (rules of thumb, the re-plan's course) asks `liftable` of the `Standing` of a
column, tidying `heavy` of each batch. Who looks at a whole season at once (model, check, whole
columns) asks `heavy_slots`. `scheduler.verify` weighs every vessel itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from scheduler.batches.courses import NEVER
from scheduler.garden.model import Garden

if TYPE_CHECKING:
    from scheduler.schedule.problem import Problem


@dataclass
class Standing:
    """What stands in a tier, as far as lifting it asks.

    Attributes
    ----------
    number : of the tier, 1 is the top; too_heavy : even empty; stands : whether a batch does.
    start, last : days of its filling and of its last pick.
    light_from : day from which it may be lifted; heavy_after : not any more once it is picked.
    """

    number: int
    too_heavy: bool = False
    stands: bool = False
    start: int = -1
    last: int = -1
    light_from: int = 0
    heavy_after: bool = False

    def fill(self, start: int, last: int, light_from: int, heavy_after: bool) -> None:
        """Let a batch stand in it."""
        self.stands, self.start, self.last = True, start, last
        self.light_from, self.heavy_after = light_from, heavy_after

    def empty(self) -> None:
        """Let nothing stand in it."""
        self.stands = False

    def heavy(self, day: int) -> bool:
        """Whether it weighs too much on ``day``."""
        return self.too_heavy or (
            self.stands
            and heavy(day, self.start, self.last, self.light_from, self.heavy_after, NEVER)
        )


def heavy(day: int, start: int, last: int, light_from: int, heavy_after: bool, clear: int) -> bool:
    """Whether a batch makes its vessel too heavy on ``day``, as in `Standing`.

    ``clear`` is the day of its clearing, `NEVER` while that is not known.
    """
    if not start < day < clear:
        return False
    return day < min(light_from, last) or (day >= last and heavy_after)


def liftable(column: Iterable[Standing], number: int, day: int) -> bool:
    """Whether every vessel above tier ``number`` of a column may be lifted on ``day``."""
    return not any(tier.number < number and tier.heavy(day) for tier in column)


def heavy_slots(problem: Problem) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Slots (work days) on which each decision is too heavy, before its last pick and after it.

    Returns
    -------
    First slot and the slot on which that is over, equal where it never is [v]; and whether it is
    too heavy while it waits from its last pick to its clearing [v].
    """
    last = problem.column("last")
    begin = problem.slot(problem.column("transplant") + 1)
    end = problem.slot(np.minimum(problem.column("heavy_until"), last))
    return begin, np.maximum(begin, end), problem.column("heavy_after").astype(bool)


def never_liftable(garden: Garden, vessel: str) -> bool:
    """Whether a vessel is too heavy even empty."""
    limit = garden.limits.lift_kg
    return limit is not None and garden.vessels[vessel].mass_kg > limit
